"""The whole drive over a field: headland laps and passes, part by part."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from overlapsim.basics.errors import Fault, ScenarioError
from overlapsim.basics.frames import Floats, to_plan
from overlapsim.drive.laps import BEYOND, LapLeg, kinds_on, lap_legs
from overlapsim.drive.legs import Drive, Leg
from overlapsim.drive.passes import largest_offset, lay_passes, run_out
from overlapsim.drive.zones import ZONE_ERROR, Zones, zones
from overlapsim.ground.edges import PLANTED, Edges, edges_of
from overlapsim.scenario.erosion import Around
from overlapsim.scenario.headland_ground import headland_ground
from overlapsim.scenario.planning import guide_place
from overlapsim.scenario.rows import row_layout

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario


def plan_heading(scenario: Scenario, interior: list[shapely.Polygon]) -> float:
    """Heading of the first pass.

    Parameters
    ----------
    scenario : Scenario
        With a stated heading, or ``"auto"``: along the long side of the smallest rectangle round the
        interior, in [0, 180) degrees, one for all parts.
    interior : list of shapely.Polygon
        Ground left for passes, of all parts, ground frame; where there is none, all plantable ground.

    Returns
    -------
    float
        Radians clockwise from north.
    """
    if scenario.plan.heading != "auto":
        return float(scenario.plan.heading)
    hulls = shapely.multipolygons(shapely.convex_hull(np.array(interior, dtype=object)))
    corners = shapely.get_coordinates(shapely.oriented_envelope(hulls))
    sides = np.diff(corners[:3], axis=0)
    x, y = sides[np.argmax(np.hypot(*sides.T) + [1e-9, 0.0])]
    heading = math.atan2(x, y) % math.pi
    return 0.0 if math.pi - heading < 1e-12 else heading


def plan_drive(scenario: Scenario) -> Drive:
    """Lay out the drive over a field.

    Parameters
    ----------
    scenario : Scenario
        Validated scenario.

    Returns
    -------
    Drive
        Legs in driving order, each part of the field driven alone.

    Raises
    ------
    ScenarioError
        Where a whole field is smaller than one working width both ways.
    """
    layout = row_layout(scenario)
    width, plan, parts = layout.believed_width, scenario.plan, scenario.field.parts
    _refuse_specks(scenario, width)
    found = _zones(scenario, width)
    heading = plan_heading(scenario, [p for z in found for p in z.interior] or list(parts))
    place = guide_place(plan, scenario.field)
    guide = None if place is None else float(to_plan(np.array(place), heading)[0])
    margin = run_out(scenario)
    beyond = max(float(layout.behind_pin.max()), largest_offset(scenario)) + margin
    legs: list[Leg] = []
    grounds, wholes, interiors = [], [], []
    for part, (zone, field) in enumerate(zip(found, parts, strict=True)):
        plantable = edges_of([field]).in_plan(heading)
        interior = _interior(zone, plantable, plan.headland_laps, heading)
        last = plan.headland_order == "last"
        ground = interior if last else plantable
        grounds.append(ground)
        wholes.append(plantable)
        interiors.append(interior)
        laps = [
            leg
            for number, lap in sorted(enumerate(zone.laps), reverse=last)
            for leg in lap_legs(number, lap, width, heading)
        ]
        if not last:
            legs += _lap_legs(scenario, laps, part, beyond, len(legs))
        legs += lay_passes(scenario, width, heading, ground, interior, part, beyond, len(legs), guide)
        if last:
            legs += _lap_legs(scenario, laps, part, beyond, len(legs))
    return Drive(
        heading, width, layout, tuple(legs), tuple(grounds), tuple(wholes), tuple(interiors), found, margin
    )


def _zones(scenario: Scenario, width: float) -> tuple[Zones, ...]:
    """Part each part of the field into headland and interior."""
    plan, field = scenario.plan, scenario.field
    count = plan.headland_laps
    if plan.headland is not None:
        given = headland_ground(plan.headland, field, width).parts
        return tuple(
            zones(part, count, width, list(one.interior), one.along)
            for part, one in zip(field.parts, given, strict=True)
        )
    most = math.inf if plan.exclusion_laps is None else plan.exclusion_laps
    around, deep = Around(most, plan.drive_through or 0.0), plan.headland_width
    if deep is None:
        return tuple(zones(part, count, width, None, around) for part in field.parts)
    beside = min(deep, most * width)
    return tuple(
        zones(part, count, width, around.left(part, deep, beside, ZONE_ERROR), around) for part in field.parts
    )


def _interior(zone: Zones, plantable: Edges, laps: int, heading: float) -> Edges:
    """Edges of the ground left for passes; with a headland they are borders to ground of other legs."""
    if not laps:
        return plantable
    edges = edges_of(zone.interior)
    if zone.field is not None:
        return kinds_on(edges, zone.field).in_plan(heading)
    edges = edges.in_plan(heading)
    return Edges(edges.start, edges.end, np.full(len(edges.kind), PLANTED))


def _lap_legs(scenario: Scenario, laps: list[LapLeg], part: int, beyond: float, before: int) -> list[Leg]:
    """Number the legs of laps and say how far the machine runs on them."""
    shift = scenario.switching.lateral_offset
    legs: list[Leg] = []
    for leg in laps:
        track = leg.track
        on: Floats = track.place
        more, spare = (0.0, 0.0) if track.closed else (beyond, BEYOND)
        first, last = spare, track.length - spare
        legs.append(
            Leg(
                number=before + len(legs) + 1, part=part, kind="lap", closed=track.closed, direction=1,
                across=math.nan, first=first, last=last, start=first - more, end=last + more,
                believed=on, true=on - shift * track.cross, lap=leg.lap, track=track,
            )
        )  # fmt: skip
    return legs


def _refuse_specks(scenario: Scenario, width: float) -> None:
    """Refuse a field that is smaller than one working width both ways."""
    sides = [0.0]
    for part in scenario.field.parts:
        corners = shapely.get_coordinates(shapely.oriented_envelope(part))
        sides.append(float(np.hypot(*np.diff(corners[:3], axis=0).T).max(initial=0.0)))
    if max(sides) < width:
        raise ScenarioError(
            Fault(
                key="field",
                value=scenario.field.name or "polygon",
                rule=f"is {max(sides):.3g} m long, less than a pass is wide: {width:.3g} m",
                remedy="Check the field's unit and coordinate system.",
            )
        )
