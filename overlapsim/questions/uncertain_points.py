"""What single offsets cost over all draws, and what it costs not to know a quantity well."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.basics.errors import ScenarioError
from overlapsim.basics.frames import Floats
from overlapsim.basics.units import INCH
from overlapsim.control.money import free_ground, money_from
from overlapsim.control.run import Simulation, simulate
from overlapsim.questions.search import with_offset
from overlapsim.questions.uncertain_draws import OFFSET
from overlapsim.questions.uncertain_readers import Extra, Reader, lateness
from overlapsim.questions.uncertain_shared import Apart
from overlapsim.questions.uncertain_stretches import Stretches

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Shares of draws below the figures that are told."""

TENTH_S = 0.1
"""Step of a time, seconds."""

CENTIMETRES = 0.02
"""Step of a length where people are metric, metres: about an inch."""

AROUND = 0.3
"""Metres to both sides of the best offset, and as much as row ends move, within which it is looked for when
one thing changes."""

LOOKED_AT = 65
"""Offsets that are looked at there, a centimetre or two apart."""


def quantiles_of(values: Floats, unit: str) -> dict[str, float]:
    """Sum up a figure over draws.

    Parameters
    ----------
    values : ndarray, shape (n,)
        A figure of each draw, in any unit, that of `unit`.
    unit : str
        Stands behind the names.

    Returns
    -------
    dict of float
        Mean, standard deviation and quantiles, in the figure's unit.
    """
    told = {f"mean_{unit}": float(values.mean()), f"sd_{unit}": float(values.std(ddof=1))}
    places = np.quantile(values, QUANTILES)
    return told | {f"q{q * 100:02.0f}_{unit}": float(v) for q, v in zip(QUANTILES, places, strict=True)}


@dataclass(frozen=True)
class Point:
    """One offset over all draws.

    Attributes
    ----------
    key : str
        ``"now"``, ``"type_in"`` or ``"on_average"``.
    run : Simulation
        Full simulation of the scenario as it stands, at this offset.
    combined : ndarray, shape (n,)
        Combined error of each draw, m².
    money : ndarray, shape (n,), or None
        What it costs, in the scenario's currency; None where no amounts are stated.
    good : float
        Share of draws (0 to 1, no unit) in whose own as-good stretch the offset lies.
    """

    key: str
    run: Simulation
    combined: Floats
    money: Floats | None
    good: float

    def to_dict(self, now: Floats) -> dict[str, Any]:
        """Write it as plain data.

        Parameters
        ----------
        now : ndarray, shape (n,)
            Combined error of each draw as set, m².

        Returns
        -------
        dict
            SI units.
        """
        switching = self.run.scenario.switching
        told: dict[str, Any] = {
            "key": self.key,
            "reference_offset_m": switching.reference_offset,
            "turn_on_time_s": switching.turn_on_time,
            "turn_off_time_s": switching.turn_off_time,
            "combined": quantiles_of(self.combined, "m2"),
            "standard_error_m2": float(self.combined.std(ddof=1) / np.sqrt(len(self.combined))),
            "share_as_good": self.good,
            "share_less_than_now": float((self.combined < now - 1e-9).mean()),
        }
        if self.money is not None:
            told["money"] = {k.removesuffix("_"): v for k, v in quantiles_of(self.money, "").items()}
        return told


def point_at(key: str, run: Simulation, reader: Reader, found: Stretches) -> Point:
    """Read one offset.

    Parameters
    ----------
    key : str
        Its name.
    run : Simulation
        Full simulation of the scenario as it stands, at this offset.
    reader : Reader
        Areas of all draws, with this run's times.
    found : Stretches
        As-good stretches of all draws.

    Returns
    -------
    Point
        The offset over all draws.
    """
    offset = float(run.scenario.switching.reference_offset)  # type: ignore[arg-type]
    areas = reader.areas(np.array([offset]))[:, 0]
    weights = run.scenario.weights
    combined = areas @ np.array([weights.skip, weights.overlap, weights.off_field])
    good = (found.low - 1e-9 <= offset) & (offset <= found.high + 1e-9)
    return Point(key, run, combined, money_over(run, reader, areas, {}), float(good.mean()))


def money_over(run: Simulation, reader: Reader, areas: Floats, extra: Extra) -> Floats | None:
    """Say what draws cost at the offset of a run.

    Parameters
    ----------
    run : Simulation
        Full simulation of the scenario as it stands: where its row ends lie.
    reader : Reader
        How far the row ends of draws are off.
    areas : ndarray, shape (n, 3)
        Skip, overlap and off-field area of each draw, m².
    extra : dict
        By how much row ends come later still, metres.

    Returns
    -------
    ndarray, shape (n,), or None
        In the scenario's currency; None where no amounts are stated.

    Notes
    -----
    Gaps are free or not as the run's row ends are, moved by as much as the draw moves them.
    """
    value = run.scenario.value
    if not value.given:
        return None
    known, free = reader.known, np.zeros(len(areas))
    if value.free_gap:
        own = lateness([run.scenario], run.drive.heading)
        ends, rank = run.ends, run.layout.rank[run.ends.row]
        passes = np.array([leg.kind == "pass" for leg in run.drive.legs])
        ways = np.where(passes, [leg.direction for leg in run.drive.legs], 0)[ends.leg]
        for number, name in enumerate(known.ranks):
            for off in (False, True):
                for way in (-1, 0, 1):
                    some = (rank == name) & (ends.off == off) & (ways == way)
                    by = known.late[:, number, int(off)] - own.late[0, number, int(off)]
                    by = by + reader.draws.offset + extra.get((name, off), 0.0)
                    by = by - way * (known.along - own.along[0])
                    gap = np.where(off, -1.0, 1.0) * ends.error[some]
                    width = run.layout.width[ends.row[some]]
                    free += free_ground(gap, width, value.free_gap, -by if off else by)
    return money_from(value, areas[:, 0], areas[:, 1], areas[:, 2], free)["money"]


def not_known(
    best: float, run: Simulation, reader: Reader, tell: Any = lambda what: None
) -> list[dict[str, Any]]:
    """Say what a mis-measured inch or tenth of a second costs.

    Parameters
    ----------
    best : float
        Best offset on average, metres behind the hitch pin.
    run : Simulation
        Full simulation at the offset that is typed in.
    reader : Reader
        Areas of all draws.
    tell : callable
        Called with what comes next.

    Returns
    -------
    list of dict
        By quantity: `step_m` or `step_s`; by how much the combined error grows where the true quantity is
        more, or less, by a step and the offset stays as typed in (`more_m2`, `less_m2`); and, where draws
        share their ground, by how much it would fall if one knew (`unknown_m2`: mean of both ways, against
        the offset that is then best on average). SI; with amounts also in money.
    """
    scenario = run.scenario
    step = INCH if scenario.units == "us" else CENTIMETRES
    ranks = reader.known.ranks
    machine = {name: f"machine.ranks.{name}.behind_pin" for name in ranks}
    told = []
    for key, size in (
        (OFFSET, step), *((machine[name], step) for name in ranks),
        ("response.on_latency", TENTH_S), ("response.off_latency", TENTH_S),
    ):  # fmt: skip
        tell(key)
        one: dict[str, Any] = {"key": key, "step_s" if key.startswith("response") else "step_m": size}
        if isinstance(reader, Apart):
            one |= _over_draws(key, size, best, run, reader)
        else:
            one |= _as_it_stands(key, size, run)
        told.append(one)
    return told


def _over_draws(key: str, size: float, best: float, run: Simulation, reader: Apart) -> dict[str, Any]:
    """Mean over draws of what changes."""
    offset = np.array([float(run.scenario.switching.reference_offset)])  # type: ignore[arg-type]
    base = reader.areas(offset)[:, 0]
    weights = np.array([getattr(run.scenario.weights, name) for name in ("skip", "overlap", "off_field")])
    paid = money_over(run, reader, base, {})
    one: dict[str, Any] = {}
    unknown = []
    for name, by in (("more", size), ("less", -size)):
        extra = _extra(key, by, reader)
        reach = AROUND + max(float(np.abs(late).max()) for late in extra.values())
        around = np.append(np.linspace(best - reach, best + reach, LOOKED_AT), best)
        areas = reader.areas(offset, extra)[:, 0]
        one[f"{name}_m2"] = float(((areas - base) @ weights).mean())
        if paid is not None:
            then = money_over(run, reader, areas, extra)
            assert then is not None
            one[f"{name}_money"] = float((then - paid).mean())
        curve = reader.combined(around, extra).mean(axis=0)
        unknown.append(float(curve[-1] - curve.min()))
    one["unknown_m2"] = sum(unknown) / 2
    return one


def _extra(key: str, by: float, reader: Reader) -> dict[tuple[str, bool], Floats | float]:
    """By how much later row ends come where a quantity is more by `by`."""
    ranks = reader.known.ranks
    if key == OFFSET:
        return {(rank, off): by for rank in ranks for off in (False, True)}
    if key.startswith("machine."):
        return {(key.split(".")[2], off): -by for off in (False, True)}
    off = "off_latency" in key
    speed = np.array([one.speed.at_off if off else one.speed.at_on for one in reader.scenarios])
    return {(rank, off): by * speed for rank in ranks}


def _as_it_stands(key: str, size: float, run: Simulation) -> dict[str, Any]:
    """What changes for the scenario as it stands, by full simulations."""
    one: dict[str, Any] = {}
    for name, by in (("more", size), ("less", -size)):
        try:
            areas = simulate(_changed(key, run.scenario, by)).areas
        except ScenarioError:  # no machine has that, as a latency below 0 s
            one[f"{name}_m2"] = None
            continue
        one[f"{name}_m2"] = areas["combined_m2"] - run.areas["combined_m2"]
        if "money" in areas:
            one[f"{name}_money"] = areas["money"] - run.areas["money"]
    return one


def _changed(key: str, scenario: Scenario, by: float) -> Scenario:
    if key == OFFSET:
        return with_offset(scenario, float(scenario.switching.reference_offset) + by)  # type: ignore[arg-type]
    if key.startswith("machine."):
        rank = scenario.machine.ranks[key.split(".")[2]]
        return scenario.with_({key: rank.behind_pin + by})
    latency = getattr(scenario.response, key.split(".")[1])
    return scenario.with_({key: {rank: value + by for rank, value in latency.items()}})
