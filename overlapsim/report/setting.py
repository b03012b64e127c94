"""What was simulated, in words: field, row setup, what is entered, and where its numbers come from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.units import FOOT, format_angle, format_time
from overlapsim.report.amiss import amiss
from overlapsim.report.rounding import plain
from overlapsim.report.words import Words
from overlapsim.scenario.rows import RowLayout

Offset = float | dict[str, float]

CAUTION = (
    "machine stopped, engine off, key out, lowered or blocked; nobody near it when it starts again; gloves "
    "for treated seed; the operator's manual and local rules come first."
)

if TYPE_CHECKING:
    from overlapsim.control.run import Simulation
    from overlapsim.scenario.scenario import Scenario
"""What everybody who digs up seed behind a planter must know (29 CFR 1928.57(a)(6); seed tags)."""

def typed(scenario: Scenario, offset: Offset) -> Offset:
    """Turn a reference offset into the number that is typed in.

    Parameters
    ----------
    scenario : Scenario
        Tells from where its controller measures, and how far the rear axle is from the hitch pin.
    offset : float or dict of float
        Behind the hitch pin, metres; by rank where there is one per rank.

    Returns
    -------
    float or dict of float
        Behind the hitch pin or behind the tractor's rear axle, metres.
    """
    more = measured_from(scenario)
    if isinstance(offset, dict):
        return {rank: value + more for rank, value in offset.items()}
    return float(offset) + more


def measured_from(scenario: Scenario) -> float:
    """Tell how far ahead of the hitch pin lies the point from which offsets are typed in.

    Parameters
    ----------
    scenario : Scenario
        With its machine and controller.

    Returns
    -------
    float
        Metres: nothing, or the way from the tractor's rear axle back to the hitch pin.
    """
    if scenario.controller.measured_from != "rear axle":
        return 0.0
    # A scenario that measures from the rear axle without this length is refused.
    return float(scenario.machine.axle_to_pin or 0.0)


def behind_what(scenario: Scenario) -> str:
    """Say from where the reference offset is measured.

    Parameters
    ----------
    scenario : Scenario
        With its controller.

    Returns
    -------
    str
        ``"behind the hitch pin"`` or ``"behind the rear axle"``.
    """
    return f"behind the {scenario.controller.measured_from}"


def offset_number(scenario: Scenario, offset: Offset, words: Words) -> str:
    """Write what is typed in, without its unit.

    Parameters
    ----------
    scenario : Scenario
        Tells from where its controller measures.
    offset : float or dict of float
        Behind the hitch pin, metres.
    words : Words
        Units.

    Returns
    -------
    str
        As in ``"97"``, or ``"84/119"`` where there is one offset per rank.
    """
    entered = typed(scenario, offset)
    if isinstance(entered, dict):
        return "/".join(words.short_number(value) for value in entered.values())
    return words.short_number(entered)


def entered_words(scenario: Scenario, words: Words) -> str:
    """Write all that is entered in one line.

    Parameters
    ----------
    scenario : Scenario
        With its settings.
    words : Words
        Units.

    Returns
    -------
    str
        Reference offset and both times.
    """
    at = offset_words(scenario, scenario.switching.reference_offset, words)
    return f"reference offset {at} {behind_what(scenario)}, {times_entered(scenario)}"


def offset_words(scenario: Scenario, offset: Offset, words: Words) -> str:
    """Write what is typed in, with its unit and, where there are several, its ranks.

    Parameters
    ----------
    scenario : Scenario
        Tells from where its controller measures.
    offset : float or dict of float
        Behind the hitch pin, metres.
    words : Words
        Units.

    Returns
    -------
    str
        As in ``"97 in"`` or ``"front 84 in, rear 119 in"``.
    """
    entered = typed(scenario, offset)
    if isinstance(entered, dict):
        return ", ".join(f"{rank} {words.short(value)}" for rank, value in entered.items())
    return words.short(entered)


def field_words(scenario: Scenario, heading: float, words: Words) -> str:
    """Say which field was planted, and how.

    Parameters
    ----------
    scenario : Scenario
        Field and plan.
    heading : float
        Of the first pass, rad clockwise from north.
    words : Words
        Units.

    Returns
    -------
    str
        One sentence without a full stop.
    """
    field, plan = scenario.field, scenario.plan
    name = field.name or "Field"
    if field.textbook:
        west, south, east, north = field.parts[0].bounds
        sides = " x ".join(
            f"{plain(side / (FOOT if words.us else 1.0))} {words.long_unit}"
            for side in (east - west, north - south)
        )
        name = f"No field given: a textbook field, {sides} (east x north)"
    laps = f"{plan.headland_laps} headland lap{'' if plan.headland_laps == 1 else 's'} {plan.headland_order}"
    if plan.headland_width is not None:
        laps += f" for a headland of {words.long(plan.headland_width)}"
    if plan.headland is not None:
        laps += f" on the headland {f'of {plan.headland.file}' if plan.headland.file else 'given'}"
    headland = f"{laps}, passes" if plan.headland_laps else "no headland laps, passes run to the boundary"
    along = f"{format_angle(heading)}{' (the long side)' if plan.heading == 'auto' else ''}"
    if plan.line is not None:
        along += f" on the guidance line {plan.line.name}".rstrip()
    if plan.start_side is not None:
        along += f", taken from the {plan.start_side}"
    count = len(set(field.part_names))
    land = f"{count} fields, " * (count > 1) + words.land(field.plantable_m2)
    return f"{name}: {land}, {headland} at {along}"


def machine_words(scenario: Scenario, layout: RowLayout, words: Words) -> str:
    """Say which rows work, how wide, and how fast.

    Parameters
    ----------
    scenario : Scenario
        Machine and speeds.
    layout : RowLayout
        Its rows.
    words : Words
        Units.

    Returns
    -------
    str
        One sentence without a full stop.
    """
    count, gaps = len(layout.rank), np.diff(layout.right)
    rows = f"{count} row{'' if count == 1 else 's'}"
    if count > 1:
        low, high = words.short_number(float(gaps.min())), words.short_number(float(gaps.max()))
        rows += f" {low if low == high else f'{low} to {high}'} {words.short_unit} apart"
    speed = scenario.speed
    how_fast = words.speed(speed.working)
    if (speed.at_on, speed.at_off) != (speed.working, speed.working):
        how_fast += f" ({words.speed(speed.at_on)} at starts, {words.speed(speed.at_off)} at stops)"
    return f"Row setup {scenario.machine.setup}: {rows}, {words.long(layout.working_width)} wide; {how_fast}"


def times_entered(scenario: Scenario) -> str:
    """Say which times are entered.

    Parameters
    ----------
    scenario : Scenario
        With its switching.

    Returns
    -------
    str
        As in ``"turn-on time 0.40 s, turn-off time 0.25 s"``.
    """
    on, off = (format_time(t) for t in (scenario.switching.turn_on_time, scenario.switching.turn_off_time))
    return f"turn-on time {on}, turn-off time {off}"


def beware(run: Simulation, layout: RowLayout, words: Words) -> list[str]:
    """Say what no reference offset cures, and what was noticed on the way in.

    Parameters
    ----------
    run : Simulation
        The scenario as set, run.
    layout : RowLayout
        Its rows.
    words : Words
        Units.

    Returns
    -------
    list of str
        Sentences; empty where nothing is amiss.
    """
    scenario = run.scenario
    said = amiss(scenario, layout, words)
    if run.drive.unreached_m2 > 0.0:
        said.append(f"No lap reaches {words.land(run.drive.unreached_m2)} of the headland.")
    return [*said, *scenario.warnings]


def heading_lines(scenario: Scenario) -> list[str]:
    """Say for whom and by whom, as the scenario has it.

    Parameters
    ----------
    scenario : Scenario
        With its ``[about]`` table.

    Returns
    -------
    list of str
        One line, or none.
    """
    about = {key: value for key, value in scenario.about.items() if value}
    return ["; ".join(f"{key}: {value}" for key, value in about.items())] if about else []
