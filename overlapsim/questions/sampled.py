"""A ledger for headland laps: full simulations at chosen offsets, joined by straight lines.

With laps two moving ends contest the same ground, and areas are no longer sums over single ends. So the
curve is sampled: evenly at first, then where it bends most near its least.
"""

from __future__ import annotations

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.control.curve import Curve
from overlapsim.control.ledger import Ledger
from overlapsim.control.run import simulate
from overlapsim.scenario.scenario import Scenario

EVEN = 9
"""Simulations spread evenly over the range before any is placed by what came out."""

IN_ALL = 26
"""Simulations of one search in all."""

CLOSE = 2e-3
"""Metres between simulations below which nobody could type or tape the difference."""


def sampled_ledger(
    scenario: Scenario, low: float, high: float, moving: frozenset[str] | None = None
) -> tuple[Ledger, dict[str, Floats]]:
    """Sample areas over the reference offset by full simulations.

    Parameters
    ----------
    scenario : Scenario
        All but the offset as it stands; with headland laps.
    low, high : float
        Range of the offset, metres behind the hitch pin.
    moving : frozenset of str, optional
        Ranks whose own offset is varied, where the scenario has one per rank.

    Returns
    -------
    ledger : Ledger
        Exact at the simulated offsets, straight lines between them.
    figures : dict of str to ndarray, shape (k,)
        The simulated offsets under ``"offset_m"``, metres, and all areas and row-end figures there, SI.
    """
    areas: dict[float, dict[str, float]] = {}

    def run(offset: float) -> None:
        held = scenario.switching.reference_offset
        value: object = offset
        if moving is not None and isinstance(held, dict):
            value = {**held, **dict.fromkeys(moving, offset)}
        areas[offset] = simulate(scenario.with_({"switching.reference_offset": value})).areas

    for offset in np.linspace(low, high, EVEN):
        run(float(offset))
    while len(areas) < IN_ALL:
        place = np.array(sorted(areas))
        split = _where_next(place, np.array([areas[r]["combined_m2"] for r in place]))
        if split is None:
            break
        run(split)
    place = np.array(sorted(areas))
    names = list(areas[float(place[0])])
    figures = {name: np.array([areas[float(r)][name] for r in place]) for name in names}
    ledger = Ledger(
        curve=_straight(place, *(figures[n] for n in ("skip_m2", "overlap_m2", "off_field_m2"))),
        combined=_straight(place, figures["combined_m2"]),
        planted=_straight(place, figures["planted_m2"]),
    )
    return ledger, {"offset_m": place, **figures}


def _where_next(place: Floats, height: Floats) -> float | None:
    """Middle of the gap between samples whose straight line is likely to be farthest off, near the least.

    The gaps beside the least sample come first, by turns with those where the slope changes most.
    """
    gap = np.diff(place)
    slope = np.diff(height) / gap
    bend = np.abs(np.diff(slope))
    beside = np.maximum(np.append(0.0, bend), np.append(bend, 0.0)) * gap
    least = int(np.argmin(height))
    near = np.zeros(len(gap), dtype=bool)
    near[max(least - 1, 0) : least + 1] = True
    # A metre up the slope matters less than a metre at the bottom.
    rise = np.minimum(height[:-1], height[1:]) - height[least]
    beside = beside / (1.0 + rise / max(1e-9, float(np.ptp(height)) / 10)) * np.where(near, 2.0, 1.0)
    beside[gap < 2 * CLOSE] = -1.0
    best = int(np.argmax(beside))
    return None if beside[best] < 0 else float(place[best] + place[best + 1]) / 2


def _straight(place: Floats, *values: Floats) -> Curve:
    """Straight lines through samples."""
    height = np.stack(values, axis=1)
    slope = np.diff(height, axis=0) / np.diff(place)[:, None]
    return Curve(place, height[:-1], slope, np.zeros_like(slope))
