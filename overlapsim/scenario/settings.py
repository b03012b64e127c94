"""Settings that hold for the whole job: the plan, speeds, weights, and what counts as just as good."""

from __future__ import annotations

import math
from typing import Annotated

from overlapsim.basics.units import INCH, MPH
from overlapsim.scenario.guidance import GuidanceLine, Line, Spot, Through
from overlapsim.scenario.headland import Headland, HeadlandAreas
from overlapsim.scenario.plain import Choice, Count, Number
from overlapsim.scenario.quantities import Measure
from overlapsim.scenario.tables import Table

__all__ = ["MOST_LAPS", "Plan", "Speed", "Tune", "Weights"]

MOST_LAPS = 6
"""Laps round a field: more than anybody plants (common practice, no source: one to three)."""

# Beyond what planters do (common practice: 3 to 12 mph), on purpose by far.
_SPEED = Measure("speed", 0.1 * MPH, 20 * MPH, likely=(0.8, 5.4), example="5 mph")


class Plan(Table):
    """How the field is driven.

    Attributes
    ----------
    heading : float or "auto"
        Of the first pass, rad clockwise from north.
    headland_laps : int
        Laps round the field; 0 = passes run to the boundary. With `headland_width` or `headland`
        the least that cover it.
    headland_order : {"first", "last"}
        Whether the headland is planted before or after the passes.
    headland_width : float or None
        Where the interior begins, counted from the boundary and from exclusions, m; in place of laps.
    headland : Headland or None
        Areas that came with the field, m: where passes and laps plant; in place of laps.
    line : GuidanceLine or None
        A straight guidance line: a pass runs on it, the others beside it; it gives the heading.
    through : Spot or None
        A place that a pass goes through along the heading: longitude and latitude in degrees.
    start_side : {"left", "right"} or None
        From which side of the interior passes are taken, looking along the heading; None = left.
    exclusion_laps : int or None
        Most laps round exclusions; along those that have had theirs later laps are switched off. None = as
        many as along the boundary.
    drive_through : float or None
        Exclusions smaller than this get no laps: whatever is driven leads through them, switched off, m2.
    """

    heading: Annotated[
        float | str,
        Measure(
            "angle",
            -math.tau,
            math.tau,
            example="12 deg",
            words=(("auto", "auto"),),
        ),
    ] = 0.0
    headland_laps: Annotated[int, Count(0, MOST_LAPS, example=2)] = 0
    headland_order: Annotated[str, Choice(("first", "last"), example="first")] = "first"
    headland_width: Annotated[
        float | None, Measure("length", 1.0, 200.0, likely=(5.0, 80.0), example="80 ft", optional=True)
    ] = None
    headland: Annotated[
        Headland | None, HeadlandAreas(example={"file": "headland.geojson"}, optional=True)
    ] = None
    line: Annotated[GuidanceLine | None, Line(example={"file": "lines.geojson"}, optional=True)] = None
    through: Annotated[Spot | None, Through(example=[12.004, 48.003], optional=True)] = None
    start_side: Annotated[str | None, Choice(("left", "right"), example="left", optional=True)] = None
    exclusion_laps: Annotated[int | None, Count(0, MOST_LAPS, example=1, optional=True)] = None
    drive_through: Annotated[
        float | None, Measure("area", 0.0, 1e6, likely=(1.0, 4000.0), example="0.1 ac", optional=True)
    ] = None


class Speed(Table):
    """Ground speeds.

    Attributes
    ----------
    working : float
        Along the pass, m/s.
    at_on, at_off : float
        Where a row is switched on and off, m/s.
    """

    working: Annotated[float, _SPEED]
    at_on: Annotated[float, _SPEED]
    at_off: Annotated[float, _SPEED]


class Weights(Table):
    """What a square metre of each error counts in the combined error.

    Attributes
    ----------
    skip, overlap, off_field : float
        Not negative.
    """

    skip: Annotated[float, Number(0.0, example=1)] = 1.0
    overlap: Annotated[float, Number(0.0, example=1)] = 1.0
    off_field: Annotated[float, Number(0.0, example=1)] = 1.0


class Tune(Table):
    """What counts as just as good.

    Attributes
    ----------
    as_good : float
        A tape's error, m.
    """

    as_good: Annotated[float, Measure("length", 0.0, 0.5, likely=(0.001, 0.1), example="1/2 in")] = INCH / 2
