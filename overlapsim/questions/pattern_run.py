"""One way to drive a field: what it loses at today's reference offset and at its own best, and its length."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from overlapsim.basics.errors import BalanceError
from overlapsim.control.run import Simulation, simulate
from overlapsim.drive.legs import Drive
from overlapsim.ground.edges import ramps
from overlapsim.questions.pattern_cases import Pattern, with_pattern
from overlapsim.questions.search import EQUAL_GROUND, EQUAL_SHARE, find_best, with_offset
from overlapsim.scenario.scenario import Scenario

CORNERS = "straight-on"
"""How laps are driven round a sharp corner: each leg goes straight on, out of the lap's own band."""

PASS_ORDER = "neighbouring"
"""In which order passes are driven: one beside the other, there and back."""


def run_pattern(scenario: Scenario, pattern: Pattern) -> dict[str, Any]:
    """Drive a field one way: a function of its arguments and of nothing else.

    Parameters
    ----------
    scenario : Scenario
        As it is driven today.
    pattern : Pattern
        How to drive it.

    Returns
    -------
    dict
        JSON types only, SI units: what results tell of one pattern, but for what is told by comparing it.
        Where areas do not balance, which is a fault of this program, `error` stands in place of figures.
    """
    one = with_pattern(scenario, pattern)
    try:
        as_set = simulate(one)
        found = find_best(one)
        best = _lower(simulate(with_offset(one, found.offset)), as_set)
        difference = max(run.witness.largest_relative_difference for run in (as_set, best))
    except BalanceError as error:
        return {"key": pattern.key, "error": str(error)}
    drive = as_set.drive
    return {
        "key": pattern.key,
        "headland_laps": pattern.laps,
        "headland_order": pattern.order,
        "heading_deg": _degrees(drive),
        "corners": CORNERS,
        "pass_order": PASS_ORDER,
        "lap_count": as_set.lap_count,
        "pass_count": as_set.pass_count,
        "working_m": working_length(drive),
        "as_set": _areas(as_set),
        "best": {"reference_offset_m": _offset(best), **_areas(best)},
        "bracketed": found.bracketed,
        "unreached_m2": float(drive.unreached_m2),
        "witness": {"largest_relative_difference": float(difference)},
    }


def _lower(best: Simulation, as_set: Simulation) -> Simulation:
    """With laps the search reads what lies between full simulations: today's offset may come out lower."""
    found, today = best.areas["combined_m2"], as_set.areas["combined_m2"]
    alike = max(EQUAL_SHARE * abs(found), EQUAL_GROUND * best.plantable_m2)
    return as_set if today < found - alike else best


def _degrees(drive: Drive) -> float:
    # Twelve digits: radians and back would leave 4.000000000000001.
    return float(f"{math.degrees(drive.heading):.12g}")


def _areas(run: Simulation) -> dict[str, float]:
    return {key: float(value) for key, value in run.areas.items()}


def _offset(run: Simulation) -> Any:
    offset = run.scenario.switching.reference_offset
    if isinstance(offset, dict):
        return {rank: float(value) for rank, value in offset.items()}
    return float(offset)


def working_length(drive: Drive) -> float:
    """Length driven with the machine down.

    Parameters
    ----------
    drive : Drive
        Laps and passes.

    Returns
    -------
    float
        Metres, over all legs.
    """
    return float(sum(last - first for first, last in working_stretches(drive)))


def working_stretches(drive: Drive) -> list[tuple[float, float]]:
    """Where on each leg the machine is down.

    Parameters
    ----------
    drive : Drive
        Laps and passes.

    Returns
    -------
    list of (first, last)
        Places on each leg's own way, metres: of a lap its legs from end to end, out of the lap's band at
        sharp corners; of a pass from where its swath first meets the interior to where it last leaves it.
    """
    found = [(leg.first, leg.last) for leg in drive.legs]
    for part, interior in enumerate(drive.interior):
        own = [i for i, leg in enumerate(drive.legs) if leg.kind == "pass" and leg.part == part]
        # From the left, as bands are; neighbouring swaths share a border to the last bit.
        own.sort(key=lambda i: drive.legs[i].across)
        lines = np.array([drive.legs[i].across for i in own])
        right = lines + drive.width / 2
        left = np.maximum(lines - drive.width / 2, np.append(-np.inf, right[:-1]))
        under = ramps(interior, left, right)
        low, high = np.full(len(own), np.inf), np.full(len(own), -np.inf)
        np.minimum.at(low, under.band, under.low)
        np.maximum.at(high, under.band, under.high)
        for i, a, b in zip(own, low.tolist(), high.tolist(), strict=True):
            found[i] = (a, b) if drive.legs[i].direction > 0 else (-b, -a)
    return found
