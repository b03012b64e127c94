"""Straight passes: parallel lines a working width apart, in alternating direction."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from overlapsim.basics.errors import Fault, ScenarioError
from overlapsim.basics.frames import Floats, to_ground
from overlapsim.drive.legs import Drive, Leg
from overlapsim.ground.edges import Edges, edges_of, ramps
from overlapsim.scenario.rows import RowLayout, row_layout

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

SPARE_STRIP = 1e-3
"""Metres: a last strip of ground narrower than this gets no pass of its own."""

RUN_OUT = 1.0
"""Metres that a leg runs on after all that is reckoned has happened (a convention, no source)."""


def plan_heading(scenario: Scenario) -> float:
    """Heading of the first pass.

    Parameters
    ----------
    scenario : Scenario
        With a stated heading, or ``"auto"``: along the long side of the smallest rectangle round
        the ground that passes plant, in [0, 180) degrees.

    Returns
    -------
    float
        Radians clockwise from north.
    """
    if scenario.plan.heading != "auto":
        return float(scenario.plan.heading)
    ground = shapely.union_all([shapely.convex_hull(p) for p in scenario.field.parts])
    corners = shapely.get_coordinates(shapely.oriented_envelope(ground))
    sides = np.diff(corners[:3], axis=0)
    x, y = sides[np.argmax(np.hypot(*sides.T) + [1e-9, 0.0])]
    heading = math.atan2(x, y) % math.pi
    return 0.0 if math.pi - heading < 1e-12 else heading


def largest_offset(scenario: Scenario) -> float:
    """Largest reference offset entered, behind the hitch pin.

    Parameters
    ----------
    scenario : Scenario
        With one offset, or one per rank.

    Returns
    -------
    float
        Metres.
    """
    offset = scenario.switching.reference_offset
    return max(offset.values()) if isinstance(offset, dict) else offset


def run_out(scenario: Scenario) -> float:
    """How far a leg runs beyond the ground, besides the deepest of rows and reference offsets.

    Parameters
    ----------
    scenario : Scenario
        Speeds, times, latencies, delay, update period and deliberate overlap.

    Returns
    -------
    float
        Metres.
    """
    speed = max(scenario.speed.at_on, scenario.speed.at_off)
    controller, switching, response = scenario.controller, scenario.switching, scenario.response
    seconds = max(
        switching.turn_on_time,
        switching.turn_off_time,
        *response.on_latency.values(),
        *response.off_latency.values(),
        controller.position_delay + controller.update_period,
    )
    wanted = switching.deliberate_overlap
    return speed * seconds + max(wanted.planted, wanted.boundary) + RUN_OUT


def plan_drive(scenario: Scenario) -> Drive:
    """Lay out the drive over a field.

    Parameters
    ----------
    scenario : Scenario
        Validated scenario.

    Returns
    -------
    Drive
        Legs in driving order, in the plan frame of its heading.

    Raises
    ------
    ScenarioError
        Where the field is smaller than one working width both ways, or asks for what is not there yet.
    """
    layout = row_layout(scenario)
    _refuse(scenario, layout.believed_width)
    heading = plan_heading(scenario)
    ground = tuple(edges_of([part]).in_plan(heading) for part in scenario.field.parts)
    margin = run_out(scenario)
    deepest = max(float(layout.behind_pin.max()), largest_offset(scenario))
    legs: list[Leg] = []
    for part, edges in enumerate(ground):
        legs += _passes(scenario, layout, heading, edges, part, deepest + margin, len(legs))
    return Drive(heading, layout.believed_width, layout, tuple(legs), ground, 0, 0.0, margin)


def _refuse(scenario: Scenario, width: float) -> None:
    faults = []
    if scenario.plan.headland_laps:
        faults.append(
            Fault(
                key="plan.headland_laps",
                value=str(scenario.plan.headland_laps),
                rule="headland laps are not available in this version",
                remedy="Write 0: passes run to the boundary.",
            )
        )
    if len(scenario.field.parts) != 1:
        faults.append(
            Fault(
                key="field",
                value=scenario.field.name,
                rule=f"has {len(scenario.field.parts)} parts; this version plans fields of one part",
                remedy="Choose one part, or save each part as a field of its own.",
            )
        )
    else:
        corners = shapely.get_coordinates(shapely.oriented_envelope(scenario.field.parts[0]))
        sides = np.hypot(*np.diff(corners[:3], axis=0).T)
        if sides.max(initial=0.0) < width:
            faults.append(
                Fault(
                    key="field",
                    value=scenario.field.name or "polygon",
                    rule=f"is {sides.max(initial=0.0):.3g} m long, less than a pass is wide: {width:.3g} m",
                    remedy="Check the field's unit and coordinate system.",
                )
            )
    if faults:
        raise ScenarioError(faults)


def _passes(
    scenario: Scenario,
    layout: RowLayout,
    heading: float,
    ground: Edges,
    part: int,
    margin: float,
    before: int,
) -> list[Leg]:
    """Lay parallel lines from the leftmost point of the ground rightward."""
    width = layout.believed_width
    left = float(ground.start[:, 0].min())
    extent = float(ground.start[:, 0].max()) - left
    count = max(1, math.ceil((extent - SPARE_STRIP) / width))
    borders = left + width * np.arange(count + 1)
    under = ramps(ground, borders[:-1], borders[1:])
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, under.band, under.low)
    np.maximum.at(high, under.band, under.high)
    drift = np.array(scenario.controller.drift)
    legs: list[Leg] = []
    for line in np.flatnonzero(high > low):
        direction = -1 if len(legs) % 2 else 1
        across = float(borders[line] + borders[line + 1]) / 2
        first, last = (low[line], high[line]) if direction > 0 else (-high[line], -low[line])
        start, end = first - margin, last + margin

        def on_ground(x: float, start: float = start, end: float = end, way: int = direction) -> Floats:
            return to_ground(np.array([[x, way * start], [x, way * end]]), heading)

        legs.append(
            Leg(
                number=before + len(legs) + 1,
                part=part,
                kind="pass",
                closed=False,
                direction=direction,
                across=across,
                first=float(first),
                last=float(last),
                start=float(start),
                end=float(end),
                believed=on_ground(across),
                true=on_ground(across - direction * scenario.switching.lateral_offset) - drift,
            )
        )
    return legs
