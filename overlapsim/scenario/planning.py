"""The plan against field and machine: where the guidance line lies, how many laps a headland needs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import shapely

from overlapsim.basics.errors import Fault
from overlapsim.basics.unit_text import format_angle, format_length
from overlapsim.scenario.field import Field
from overlapsim.scenario.guidance import Spot
from overlapsim.scenario.headland_ground import headland_ground
from overlapsim.scenario.kinds import Slip
from overlapsim.scenario.rows import row_strips
from overlapsim.scenario.settings import MOST_LAPS, Plan
from overlapsim.scenario.tables import fault

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

__all__ = ["believed_width", "guide_place", "headland_notes", "laps_for", "settle_plan"]

SPARE = 1e-3
"""Metres: what a headland is wider than laps needs no lap of its own below this."""

_FAR = 50_000.0
"""Metres: a guidance line that begins farther from the field is another field's."""

_SAME = math.radians(0.01)
"""Headings that differ less are one: half of the last digit in which reports print them, rounded up."""


def laps_for(width: float, lap: float) -> int:
    """Count the laps that cover a headland.

    Parameters
    ----------
    width : float
        Of the headland, m.
    lap : float
        Working width, m.

    Returns
    -------
    int
        The least number; the innermost lap reaches into the interior where the width is no multiple.

    Examples
    --------
    >>> laps_for(24.384, 12.192), laps_for(24.384, 9.144)
    (2, 3)
    """
    return max(1, math.ceil((width - SPARE) / lap))


def guide_place(plan: Plan, field: Field) -> tuple[float, float] | None:
    """Find a place that the middle of a pass goes through.

    Parameters
    ----------
    plan : Plan
        With a guidance line, or a place.
    field : Field
        Its plane turns degrees into metres.

    Returns
    -------
    tuple of float or None
        East and north in the ground frame, m; None where passes begin flush with the interior.
    """
    if plan.line is not None:
        return plan.line.first
    if plan.through is None:
        return None
    return _spot(plan.through, field)


def _spot(spot: Spot, field: Field) -> tuple[float, float]:
    if spot.in_metres:
        return spot.x, spot.y
    assert field.plane is not None
    return field.plane.ground_place(spot.x, spot.y)


def settle_plan(scenario: Scenario, stated: Mapping[str, Any]) -> tuple[Plan, list[Fault]]:
    """Work out heading and number of laps where they follow from a line and from a width.

    Parameters
    ----------
    scenario : Scenario
        Machine, field and plan.
    stated : mapping
        Keys of the plan that were written.

    Returns
    -------
    plan : Plan
        With heading and laps as they are driven.
    faults : list of Fault
        Keyed below ``plan``.
    """
    plan, faults = scenario.plan, []
    settled: dict[str, Any] = {}
    if plan.line is not None:
        heading = plan.line.heading
        settled["heading"] = heading
        if plan.through is not None:
            faults.append(fault(("plan", "through"), "says the same as line", "Keep one of the two."))
        if "heading" in stated and (plan.heading == "auto" or _differ(float(plan.heading), heading)):
            rule = f"says otherwise than the line, which runs at {format_angle(heading)}"
            faults.append(fault(("plan", "heading"), rule, "Leave heading out.", stated["heading"]))
    faults += _place_faults(plan, scenario.field)
    key, laps, more = _laps(scenario, stated)
    faults += more
    if key and not more:
        settled["headland_laps"] = laps
        if stated.get("headland_laps", laps) != laps:
            rule = f"does not go with {key}, which needs {laps} of {_lap_words(scenario)}"
            remedy = "Keep one of the two."
            faults.append(fault(("plan", "headland_laps"), rule, remedy, stated["headland_laps"]))
    return plan.model_copy(update=settled) if settled else plan, faults


def _laps(scenario: Scenario, stated: Mapping[str, Any]) -> tuple[str, int, list[Fault]]:
    """Count laps where something else than their number says how deep the headland is; and name its key."""
    plan = scenario.plan
    if plan.headland is not None:
        for other in ("headland_width", "exclusion_laps", "drive_through"):
            if getattr(plan, other) is not None:
                rule = "does not go with headland, which says where laps are wanted"
                wrong = fault(("plan", other), rule, "Keep one of the two.", stated.get(other))
                return "headland", 0, [wrong]
        try:
            parts = headland_ground(plan.headland, scenario.field, believed_width(scenario)).parts
        except Slip as slip:
            file = plan.headland.file or None
            return "headland", 0, [fault(("plan", "headland"), slip.rule, slip.remedy, file)]
        return "headland", max(part.laps for part in parts), []
    if plan.headland_width is None:
        return "", 0, []
    laps = laps_for(plan.headland_width, believed_width(scenario))
    if laps <= MOST_LAPS:
        return "headland_width", laps, []
    rule = f"needs {laps} laps of {_lap_words(scenario)}, more than {MOST_LAPS}"
    wide = stated.get("headland_width")
    return "headland_width", 0, [fault(("plan", "headland_width"), rule, "Write a narrower headland.", wide)]


def believed_width(scenario: Scenario) -> float:
    """Working width as entered, by which passes and laps are laid.

    Parameters
    ----------
    scenario : Scenario
        Machine and the row setup that the controller thinks it drives.

    Returns
    -------
    float
        Metres.
    """
    return row_strips(scenario.machine, scenario.switching.entered_setup).working_width


def _lap_words(scenario: Scenario) -> str:
    return format_length(believed_width(scenario), "ft" if scenario.units == "us" else "m")


def headland_notes(scenario: Scenario) -> tuple[str, ...]:
    """Say what was tolerated of a headland that came with the field.

    Parameters
    ----------
    scenario : Scenario
        Validated.

    Returns
    -------
    tuple of str
        One sentence each.
    """
    headland = scenario.plan.headland
    if headland is None:
        return ()
    settled = headland_ground(headland, scenario.field, believed_width(scenario))
    return (*(f"Headland: {note}." for note in headland.notes), *settled.notes)


def _differ(one: float, other: float) -> bool:
    return abs(math.remainder(one - other, math.tau)) > _SAME


def _place_faults(plan: Plan, field: Field) -> list[Fault]:
    """See that line or place lie by the field."""
    key = "line" if plan.line is not None else "through"
    spot = plan.through
    if key == "through" and spot is not None and not spot.in_metres and field.plane is None:
        rule = "is in degrees, but the field's place on the earth is not known"
        return [fault(("plan", key), rule, 'Write metres, as in ["10 m", "20 m"].', [spot.x, spot.y])]
    place = guide_place(plan, field)
    if place is None:
        return []
    apart = shapely.distance(shapely.multipolygons(list(field.parts)), shapely.Point(place))
    if apart <= _FAR:
        return []
    remedy = "Longitude comes first: swapped?" if key == "through" else "Another field's line?"
    return [fault(("plan", key), f"lies {apart / 1000:,.0f} km from the field", remedy)]
