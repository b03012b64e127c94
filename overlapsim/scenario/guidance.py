"""The grower's own line: what a guidance line is, and how it is written in a scenario."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.basics.units import INCH
from overlapsim.scenario.kinds import Kind, Slip
from overlapsim.scenario.plain import Text
from overlapsim.scenario.quantities import Measure, Pair
from overlapsim.scenario.slips import hint

__all__ = ["LINE_FILE_KEYS", "GuidanceLine", "Line", "Spot", "Through", "straight_line"]

LINE_FILE_KEYS = ("file", "name", "layer", "crs")
"""Keys that name a line of a file."""

STRAIGHT = INCH
"""Metres that points of a straight line may lie off it: what a corrected receiver repeats (common practice,
no source)."""

SHORTEST = 1.0
"""Metres: a shorter line gives no direction, since points are known to a centimetre or so."""

_KEYS = (*LINE_FILE_KEYS, "points", "off_straight")
_PLACE = Pair(Measure("length", -30_000.0, 30_000.0), example=("10 m", "20 m"))
_AS_IN = "as in [12.004, 48.003]"
_OFF = Measure("length", 0.0, STRAIGHT, example="0 in")


@dataclass(frozen=True)
class GuidanceLine:
    """A straight guidance line, without end both ways; its points give direction and place.

    Attributes
    ----------
    first, last : tuple of float
        East and north in the ground frame, m; the first pass runs from the first towards the last.
    off_straight : float
        How far points between them lay off the straight line at most, m.
    file, name : str
        Where it came from; empty where it was written in metres.
    """

    first: tuple[float, float]
    last: tuple[float, float]
    off_straight: float = 0.0
    file: str = ""
    name: str = ""

    @property
    def heading(self) -> float:
        """Of the line, rad clockwise from the ground frame's north, from -pi to pi."""
        return math.atan2(self.last[0] - self.first[0], self.last[1] - self.first[1])


@dataclass(frozen=True)
class Spot:
    """A place that a pass goes through.

    Attributes
    ----------
    x, y : float
        Longitude and latitude, degrees; or east and north in the ground frame, m.
    in_metres : bool
        Which of the two.
    """

    x: float
    y: float
    in_metres: bool = False


def straight_line(points: Sequence[Any] | Floats, file: str = "", name: str = "") -> GuidanceLine:
    """Take the straight line from the first point to the last.

    Parameters
    ----------
    points : sequence of (x, y)
        Ground frame, m.
    file, name : str
        Where they came from.

    Returns
    -------
    GuidanceLine
        What lies between them has to lie on it.

    Raises
    ------
    Slip
        No two points, too close to one another, or a curve.

    Examples
    --------
    >>> straight_line([[0, 0], [0, 50], [0, 100]]).heading
    0.0
    """
    try:
        place = np.array([[float(x), float(y)] for x, y in points])
    except (TypeError, ValueError, OverflowError):
        raise Slip("is not a list of points", "Write [[0, 0], [0, 400]], in metres.") from None
    if len(place) < 2 or not np.isfinite(place).all():
        raise Slip("is not two points or more", "Write [[0, 0], [0, 400]], in metres.")
    way = place[-1] - place[0]
    length = float(np.hypot(*way))
    if length < SHORTEST:
        raise Slip(
            f"first and last point lie {length:.2f} m apart, too close to give a direction",
            "Take a straight line along the field.",
        )
    beside = place - place[0]
    off = float(np.abs(beside[:, 0] * way[1] - beside[:, 1] * way[0]).max()) / length
    if off > STRAIGHT:
        raise Slip(
            f"is a curve: it lies up to {off:.2f} m off the straight line from its first to its last point",
            "Passes are straight here: take a straight line, or only these two points of it.",
        )
    (x, y), (u, v) = place[0].tolist(), place[-1].tolist()
    return GuidanceLine((x, y), (u, v), off if off > 1e-3 else 0.0, file, name)


@dataclass(frozen=True)
class Line(Kind):
    """A guidance line: points in metres, or a line of a file that is read elsewhere."""

    def _read(self, value: Any, si: bool) -> GuidanceLine:
        """Read a line."""
        if isinstance(value, GuidanceLine):
            return value
        if not isinstance(value, Mapping):
            raise Slip("is not a table", "Write line = {file = 'lines.geojson', name = \"North\"}.")
        for key in value:
            if key not in _KEYS:
                raise Slip("no such key", hint(str(key), _KEYS), at=(str(key),))
        if "points" not in value:
            if "file" in value:
                raise Slip("files are read by load_scenario", "Write points = [[0, 0], [0, 400]], in metres.")
            raise Slip("names no line", "Write file, or points = [[0, 0], [0, 400]] in metres.")
        words = {key: Text().read(value[key], si) for key in ("file", "name") if key in value}
        line = straight_line(value["points"], **words)
        if "off_straight" not in value:
            return line
        return GuidanceLine(line.first, line.last, _OFF.read(value["off_straight"], si), line.file, line.name)

    def _write(self, value: GuidanceLine) -> dict[str, Any]:
        """Write a line; see `Kind.write`."""
        words = {key: getattr(value, key) for key in ("file", "name") if getattr(value, key)}
        off = {"off_straight": _OFF.write(value.off_straight)} if value.off_straight else {}
        return {**words, "points": [list(value.first), list(value.last)], **off}

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        text = Text().schema()
        point = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
        keys = {**dict.fromkeys(LINE_FILE_KEYS, text), "off_straight": _OFF.schema()}
        keys["points"] = {"type": "array", "items": point, "minItems": 2}
        ways = [{"required": ["file"]}, {"required": ["points"]}]
        return {"type": "object", "properties": keys, "additionalProperties": False, "anyOf": ways}


@dataclass(frozen=True)
class Through(Kind):
    """A place: longitude and latitude in degrees, or two lengths in the ground frame."""

    def _read(self, value: Any, si: bool) -> Spot:
        """Read a place."""
        if isinstance(value, Spot):
            return value
        if not isinstance(value, list | tuple) or len(value) != 2:
            raise Slip("is not a pair", f"Write [longitude, latitude] in degrees, {_AS_IN}.")
        if all(isinstance(part, str) for part in value):
            x, y = _PLACE.read(list(value), si)
            return Spot(x, y, in_metres=True)
        if any(isinstance(part, bool) or not isinstance(part, int | float) for part in value):
            raise Slip("is not two numbers", f"Write [longitude, latitude] in degrees, {_AS_IN}.")
        longitude, latitude = float(value[0]), float(value[1])
        if not (abs(longitude) <= 180.0 and abs(latitude) <= 90.0):
            swapped = abs(longitude) <= 90.0 and abs(latitude) <= 180.0
            metres = 'Metres are written as in ["10 m", "20 m"].'
            raise Slip(
                "is no longitude and latitude in degrees",
                "Longitude comes first: swapped?" if swapped else metres,
            )
        return Spot(longitude, latitude)

    def _write(self, value: Spot) -> list[Any]:
        """Write a place; see `Kind.write`."""
        place = (value.x, value.y)
        return list(_PLACE.write(place)) if value.in_metres else list(place)

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        degrees = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
        return {"anyOf": [degrees, _PLACE.schema()]}
