"""Lost ground in money, at the amounts that the user states."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.basics.frames import Floats

if TYPE_CHECKING:
    from overlapsim.control.run import Simulation
    from overlapsim.scenario.value import Value

MONEY = ("money", "money_lost_stand", "money_seed", "money_double_planting")
"""Keys of what lost ground costs: all of it, then its parts."""


def money_of(run: Simulation, skip_m2: float, overlap_m2: float, off_field_m2: float) -> dict[str, float]:
    """Reckon what a run's lost ground costs.

    Parameters
    ----------
    run : Simulation
        The run, with the amounts of its scenario.
    skip_m2, overlap_m2, off_field_m2 : float
        Its areas, m².

    Returns
    -------
    dict of str to float
        In the scenario's currency, by the names of :data:`MONEY`, no unit; empty where no amount is stated.

    Notes
    -----
    Lost stand: skipped ground, less the free gaps; a gap is free where a row starts late or stops early by
    less than `free_gap`, and counts with the width of its row strip. Bare strips beside passes and rows that
    are missing altogether are never free. Seed: ground planted twice (as often as it is more than once) and
    off the field. Double planting: ground planted twice. Weights have no part in it. Seed that was saved on
    skipped ground is not credited: where that matters, state `lost_stand` less the seed.
    """
    value = run.scenario.value
    if not value.given:
        return {}
    ends = run.ends
    gap = np.where(ends.off, -ends.error, ends.error)
    free = free_ground(gap, run.layout.width[ends.row], value.free_gap, np.zeros(1))[0]
    found = money_from(value, skip_m2, overlap_m2, off_field_m2, float(free))
    return {key: float(amount) for key, amount in found.items()}


def free_ground(gap: Floats, width: Floats, free_gap: float, longer: Floats) -> Floats:
    """Add up the gaps that cost nothing.

    Parameters
    ----------
    gap : ndarray, shape (k,)
        Length of the gap at each row end, metres; negative where there is none, nan where it is not known.
    width : ndarray, shape (k,)
        Width of each row's strip, metres.
    free_gap : float
        Gaps shorter than this are free, metres.
    longer : ndarray, shape (n,)
        Cases: by how much all gaps are longer, metres.

    Returns
    -------
    ndarray, shape (n,)
        Ground in free gaps, m².

    Examples
    --------
    >>> free_ground(np.array([0.1, 0.4]), np.array([0.5, 0.5]), 0.3, np.array([0.0, 0.1])).round(9)
    array([0.05, 0.1 ])
    """
    known = np.isfinite(gap)
    order = np.argsort(gap[known], kind="stable")
    gap, width = gap[known][order], width[known][order]
    first = np.searchsorted(gap, -longer, side="right")
    last = np.maximum(np.searchsorted(gap, free_gap - longer, side="left"), first)
    ground, across = (np.append(0.0, np.cumsum(v)) for v in (gap * width, width))
    return ground[last] - ground[first] + longer * (across[last] - across[first])


def money_from(
    value: Value, skip_m2: Any, overlap_m2: Any, off_field_m2: Any, free_m2: Any
) -> dict[str, Any]:
    """Turn areas into money.

    Parameters
    ----------
    value : Value
        The amounts.
    skip_m2, overlap_m2, off_field_m2, free_m2 : float or ndarray
        Areas, and what of the skipped one costs nothing, m².

    Returns
    -------
    dict
        In the currency of the amounts, by the names of :data:`MONEY`, no unit; arrays where areas are.
    """
    lost = (value.lost_stand or 0.0) * np.maximum(skip_m2 - free_m2, 0.0)
    seed = (value.seed or 0.0) * (overlap_m2 + off_field_m2)
    double = (value.double_planting or 0.0) * overlap_m2
    return dict(zip(MONEY, (lost + seed + double, lost, seed, double), strict=True))
