"""Steps of a changeover that are easily forgotten: the new row setup with each one left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from overlapsim.basics.errors import ScenarioError
from overlapsim.control.run import Simulation
from overlapsim.questions.search import Offset
from overlapsim.scenario.rows import row_layout
from overlapsim.scenario.scenario import Scenario

SEEN = 5e-4
"""Metres: what moves less sideways or along is no step that could be forgotten (half a millimetre)."""

ALARM_S = 5.0
"""Seconds without seed after which a row monitor is heard: this program's round figure, no source."""

PER_M = 100.0
"""Metres of row for which the price of a row that does not plant is told."""


@dataclass(frozen=True)
class Case:
    """The new row setup with one step left out.

    Attributes
    ----------
    key : str
        Its name in results.
    scenario : Scenario
        As it would then run.
    rank : str
        The rank that it is about; empty where it is about none.
    rows : tuple of str
        Rows that do not plant.
    """

    key: str
    scenario: Scenario
    rank: str = ""
    rows: tuple[str, ...] = field(default=())


def cases_of(old: Scenario, new: Scenario) -> tuple[list[Case], dict[str, str]]:
    """Leave out the steps between two row setups, one at a time.

    Parameters
    ----------
    old, new : Scenario
        Both row setups as they should be, with what is entered for each.

    Returns
    -------
    list of Case
        Only steps that there are: what is alike in both row setups cannot be forgotten.
    dict of str to str
        Steps that cannot be priced, by key, and why.
    """
    changes: dict[str, tuple[dict[str, Any], str, tuple[str, ...]]] = {}
    offset = left_offset(old, new)
    if offset is not None:
        changes["reference_offset_left"] = ({"switching.reference_offset": offset}, "", ())
    changes |= {key: (values, "", ()) for key, values in _sideways(old, new).items()}
    sections = old.switching.sections
    entered = {"switching.entered_setup": old.switching.entered_setup, "switching.sections": sections}
    changes["entered_setup_left"] = (entered, "", ())
    for rank in added_ranks(old, new):
        count = new.machine.ranks[rank].rows
        rows = tuple(f"{rank} {number}" for number in range(1, count + 1))
        one = rows[(count - 1) // 2 : (count - 1) // 2 + 1]
        changes[f"rank_left_up:{rank}"] = ({"machine.rows_off": list(rows)}, rank, rows)
        changes[f"row_locked_up:{rank}"] = ({"machine.rows_off": list(one)}, rank, one)
    times = {key: getattr(old.switching, key) for key in ("turn_on_time", "turn_off_time")}
    if any(abs(value - getattr(new.switching, key)) > 1e-9 for key, value in times.items()):
        changes["times_left"] = ({f"switching.{key}": value for key, value in times.items()}, "", ())
    cases, unpriced = [], {}
    for name, (values, rank, rows) in changes.items():
        key = name.partition(":")[0]
        try:
            cases.append(Case(key, new.with_(values), rank, rows))
        except ScenarioError as error:
            unpriced[name] = "; ".join(f"{one.key} {one.rule}" for one in error.faults)
    for rank in added_ranks(new, old):
        unpriced[f"rank_left_down:{rank}"] = (
            "rows between rows crowd the stand: areas of row strips do not tell what that costs"
        )
    return cases, unpriced


def added_ranks(old: Scenario, new: Scenario) -> list[str]:
    """Name the ranks that work in the new row setup only.

    Parameters
    ----------
    old, new : Scenario
        The two row setups.

    Returns
    -------
    list of str
        In the machine's order.
    """
    return [rank for rank in new.machine.working_ranks if rank not in old.machine.working_ranks]


def left_offset(old: Scenario, new: Scenario) -> Offset | None:
    """Tell the reference offset that stays where nobody enters the new one.

    Parameters
    ----------
    old, new : Scenario
        With the reference offset of each row setup.

    Returns
    -------
    float, dict of str to float or None
        Metres behind the hitch pin; ranks that had none keep their new one. None where both are the same.
    """
    before, now = old.switching.reference_offset, new.switching.reference_offset
    if isinstance(now, Mapping):
        left: dict[str, float] = {
            rank: before.get(rank, value) if isinstance(before, Mapping) else before
            for rank, value in now.items()
        }
        apart = max(abs(left[rank] - value) for rank, value in now.items())
        return left if apart > SEEN else None
    if isinstance(before, Mapping):
        # A controller that held a number for each rank has none for all.
        left = {rank: before.get(rank, now) for rank in new.machine.working_ranks}
        return left if max(abs(value - now) for value in left.values()) > SEEN else None
    return before if abs(before - now) > SEEN else None


def _sideways(old: Scenario, new: Scenario) -> dict[str, dict[str, Any]]:
    """Leave the re-centring out, and do it twice."""
    setup = new.machine.setup
    before, after = (one.machine.setups[one.machine.setup].hitch_shift for one in (old, new))
    was, now = old.switching.lateral_offset, new.switching.lateral_offset
    # To the right: the hitch moves the machine, a lateral offset moves the tractor to the left.
    moved = (after - now) - (before - was)
    if abs(moved) <= SEEN:
        return {}
    left = {
        f"machine.setups.{setup}.hitch_shift": before,
        "switching.lateral_offset": was,
    }
    return {
        "recentring_left": left,
        "recentring_twice": {"switching.lateral_offset": now - moved},
    }


def extra_of(run: Simulation, base: Simulation) -> dict[str, float]:
    """Tell what a forgotten step costs beside the row setup as it should be.

    Parameters
    ----------
    run, base : Simulation
        With the step left out, and as it should be.

    Returns
    -------
    dict of str to float
        Differences of areas, m² and metres; and `unplanted_row_m`: all skipped ground in metres of row, at
        the row spacing, so that bare strips and rows that do not plant count as well as the late starts and
        early stops of `missing_row_m`.
    """
    extra = {key: value - base.areas[key] for key, value in run.areas.items()}
    extra["unplanted_row_m"] = extra["skip_m2"] / row_spacing_m(base)
    return extra


def row_spacing_m(base: Simulation) -> float:
    """Ground that a row has to itself, the middle one of all (median), metres.

    Parameters
    ----------
    base : Simulation
        The row setup.

    Returns
    -------
    float
        Metres.
    """
    return float(np.median(base.layout.width))


def planted_length(base: Simulation, row: str) -> float:
    """Length over which a row drops seed.

    Parameters
    ----------
    base : Simulation
        The row setup as it should be.
    row : str
        As in ``"rear 3"``.

    Returns
    -------
    float
        Metres, over all passes and laps.
    """
    layout = row_layout(base.scenario)
    names = [f"{rank} {number}" for rank, number in zip(layout.rank, layout.number, strict=True)]
    own = base.sowing.row == names.index(row)
    return float((base.sowing.off[own] - base.sowing.on[own]).sum())


def noticed(base: Simulation, extra: Mapping[str, float], row: str) -> dict[str, Any]:
    """Tell what one row that does not plant costs until somebody notices.

    Parameters
    ----------
    base : Simulation
        The row setup as it should be.
    extra : dict
        What the row costs on the whole field.
    row : str
        The row.

    Returns
    -------
    dict
        `per_100_m`: its areas per 100 m of the row; `noticed_after_m`: at the earliest, metres of row, with
        the row in the monitor (:data:`ALARM_S` at the working speed) and without (somebody looks at the end
        of the first pass, which is taken for as long as the longest one).
    """
    length = planted_length(base, row)
    keys = ("unplanted_row_m", "skip_m2", "combined_m2", "money")
    longest = max((one.last - one.first for one in base.drive.legs if one.kind == "pass"), default=0.0)
    monitored = ALARM_S * base.scenario.speed.working
    return {
        "row": row,
        "per_100_m": {k: extra[k] / length * PER_M for k in keys if k in extra} if length else {},
        "noticed_after_m": {
            "monitored": monitored,
            "looked_at_pass_end": longest,
            "sooner": longest - monitored,
            "alarm_s": ALARM_S,
        },
    }
