"""What is entered, set and checked for one row setup, item by item."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from overlapsim.questions.search import Best, Offset
from overlapsim.scenario.rows import row_layout, row_strips
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.switching import SwitchFractions

SAME = 1e-9
"""Numbers that differ by less are the same, in SI units of their own (no unit of its own)."""


@dataclass(frozen=True)
class Fact:
    """One item.

    Attributes
    ----------
    key : str
        Its name in results.
    value : Any
        Number in SI, text, list, or a dictionary by rank; None = not said.
    unit : str
        SI unit of the number; empty where it has none.
    kind : {"enter", "machine", "check"}
        Whether it is entered on a screen, done on the machine, or looked at.
    more : dict
        What else is told of it.
    """

    key: str
    value: Any
    unit: str
    kind: str
    more: Mapping[str, Any]


def facts_of(scenario: Scenario, offset: Offset, found: Best) -> list[Fact]:
    """List what belongs to a row setup.

    Parameters
    ----------
    scenario : Scenario
        The row setup as it should be.
    offset : float or dict of str to float
        Recommended reference offset, metres behind the hitch pin.
    found : Best
        The search that it comes from.

    Returns
    -------
    list of Fact
        In the order in which one goes about them.
    """
    machine, switching, seed = scenario.machine, scenario.switching, scenario.seed
    layout = row_layout(scenario)
    setup = machine.setups[machine.setup]
    speed = scenario.speed.working
    per_second = speed / seed.spacing if seed.spacing else None
    latencies = {
        key: {rank: getattr(scenario.response, key)[rank] for rank in layout.working_ranks}
        for key in ("on_latency", "off_latency")
    }
    fraction: Any = switching.switch_fraction
    if isinstance(fraction, SwitchFractions):
        fraction = f"{fraction.boundary:g} inside the boundary, {fraction.planted:g} unplanted"
    told: list[tuple[str, Any, str, str]] = [
        ("working_ranks", list(layout.working_ranks), "", "machine"),
        ("rows_working", len(layout.rank), "rows", "machine"),
        ("hitch_shift", setup.hitch_shift, "m", "machine"),
        ("crop", seed.crop, "", "machine"),
        ("plate", seed.plate, "", "machine"),
        ("entered_setup", switching.entered_setup, "", "enter"),
        ("row_spacing", float(np.median(layout.width)), "m", "enter"),
        ("working_width", layout.working_width, "m", "enter"),
        ("pass_distance", layout.believed_width, "m", "enter"),
        ("lateral_offset", switching.lateral_offset, "m", "enter"),
        ("reference_offset", offset, "m", "enter"),
        ("rows_per_section", rows_per_section(scenario), "rows", "enter"),
        ("switch_fraction", fraction, "", "enter"),
        ("turn_on_time", switching.turn_on_time, "s", "enter"),
        ("turn_off_time", switching.turn_off_time, "s", "enter"),
        ("deliberate_overlap_planted", switching.deliberate_overlap.planted, "m", "enter"),
        ("deliberate_overlap_boundary", switching.deliberate_overlap.boundary, "m", "enter"),
        ("population", seed.population, "1/m2", "enter"),
        ("seed_spacing", seed.spacing, "m", "enter"),
        ("seeds_per_second_and_row", per_second, "1/s", "check"),
        ("working_speed", speed, "m/s", "check"),
        ("on_latency", latencies["on_latency"], "s", "check"),
        ("off_latency", latencies["off_latency"], "s", "check"),
        ("off_centre", layout.middle, "m", "check"),
    ]
    more = {"reference_offset": {"as_good": found.as_good, "bracketed": found.bracketed}}
    return [Fact(*one, more.get(one[0], {})) for one in told]


def rows_per_section(scenario: Scenario) -> list[int]:
    """Count the rows of each section that is entered.

    Parameters
    ----------
    scenario : Scenario
        With its sections and the row setup entered.

    Returns
    -------
    list of int
        From the left.
    """
    sections, entered = scenario.switching.sections, scenario.switching.entered_setup
    rows = len(row_strips(scenario.machine, entered).rank)
    if isinstance(sections, tuple):
        return list(sections)
    count = rows if isinstance(sections, str) else sections
    return [rows // count] * count


def parted(old: list[Fact], new: list[Fact]) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Part what changes between two row setups from what stays.

    Parameters
    ----------
    old, new : list of Fact
        Of both row setups, in the same order.

    Returns
    -------
    changes, stays : list of dict
        ``key``, ``from`` and ``to`` (or ``value``), ``unit``, ``kind``, SI; what is not said of either row
        setup is left out.
    """
    changes, stays = [], []
    for before, after in zip(old, new, strict=True):
        if before.value is None and after.value is None:
            continue
        one = {"unit": after.unit, "kind": after.kind}
        if _same(before.value, after.value):
            stays.append({"key": after.key, "value": after.value, **one, **after.more})
            continue
        more = {f"{key}_{end}": fact.more[key]
                for key in after.more for end, fact in (("from", before), ("to", after))}  # fmt: skip
        changes.append({"key": after.key, "from": before.value, "to": after.value, **one, **more})
    return changes, stays


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return set(one) == set(other) and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) < SAME
    return bool(one == other)
