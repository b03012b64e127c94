"""A headland that comes with the field: areas, what they mean, and how they are written in a scenario."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from shapely.geometry import Polygon

from overlapsim.basics.errors import FieldError
from overlapsim.scenario.field import Field
from overlapsim.scenario.kinds import Kind, Slip
from overlapsim.scenario.plain import Choice, Text
from overlapsim.scenario.slips import hint

__all__ = ["HEADLAND_FILE_KEYS", "MEANINGS", "Headland", "HeadlandAreas"]

HEADLAND_FILE_KEYS = ("file", "layer", "where", "crs", "is")
"""Keys that name a headland in a file."""

MEANINGS = ("headland", "interior")
"""What areas may be: the headland itself, or the ground inside of it."""

_AREA_KEYS = ("polygon", "exclusions")
_KEYS = (*HEADLAND_FILE_KEYS, *_AREA_KEYS, "parts", "name")
_MEANING = Choice(MEANINGS, example="headland")
_AS_IN = "Write headland = {file = 'headland.geojson'}."


@dataclass(frozen=True)
class Headland:
    """Areas that say where the headland is.

    Attributes
    ----------
    areas : tuple of shapely.Polygon
        Ground frame, m; they may lie on other fields too, and may share ground.
    meaning : str
        One of `MEANINGS`; empty: whichever of the two they can only be.
    file, name : str
        Where they came from; empty where they were written in metres.
    notes : tuple of str
        What was repaired, one sentence each.
    """

    areas: tuple[Polygon, ...]
    meaning: str = ""
    file: str = ""
    name: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class HeadlandAreas(Kind):
    """A headland: polygons in metres, or those of a file that is read elsewhere."""

    def _read(self, value: Any, si: bool) -> Headland:
        """Read areas."""
        if isinstance(value, Headland):
            return value
        if not isinstance(value, Mapping):
            raise Slip("is not a table", _AS_IN)
        for key in value:
            if key not in _KEYS:
                raise Slip("no such key", hint(str(key), _KEYS), at=(str(key),))
        if "polygon" not in value and "parts" not in value:
            if "file" in value:
                raise Slip("files are read by load_scenario", "Write polygon = [[0, 0], [400, 0], …].")
            raise Slip("names no area", _AS_IN)
        parts = value.get("parts", [{key: value[key] for key in _AREA_KEYS if key in value}])
        if not isinstance(parts, list | tuple) or not parts or not all(map(_is_area, parts)):
            raise Slip("is not a list of areas", "Write parts = [{polygon = [[0, 0], [400, 0], [400, 30]]}].")
        try:
            found = [Field.polygon(part["polygon"], part.get("exclusions", ())) for part in parts]
        except FieldError as error:
            raise Slip(error.faults[0].rule, error.faults[0].remedy) from None
        words = {key: Text().read(value[key], si) for key in ("file", "name") if key in value}
        meaning = _MEANING.read(value["is"], si) if "is" in value else ""
        notes = tuple(dict.fromkeys(note for one in found for note in one.notes))
        return Headland(tuple(p for one in found for p in one.parts), meaning, **words, notes=notes)

    def _write(self, value: Headland) -> dict[str, Any]:
        """Write areas; see `Kind.write`."""
        words = {"file": value.file, "name": value.name, "is": value.meaning}
        parts = [
            {"polygon": _points(one.exterior), "exclusions": [_points(ring) for ring in one.interiors]}
            for one in value.areas
        ]
        return {**{key: word for key, word in words.items() if word}, "parts": parts}

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        text, point = Text().schema(), {"type": "array", "items": {"type": "number"}, "minItems": 2}
        ring = {"type": "array", "items": point, "minItems": 3}
        area = {"polygon": ring, "exclusions": {"type": "array", "items": ring}}
        part = {"type": "object", "properties": area, "required": ["polygon"], "additionalProperties": False}
        keys: dict[str, Any] = {**dict.fromkeys(("file", "layer", "crs", "name"), text), **area}
        keys |= {"where": {"type": "object"}, "is": _MEANING.schema()}
        keys["parts"] = {"type": "array", "items": part, "minItems": 1}
        ways = [{"required": [way]} for way in ("file", "polygon", "parts")]
        return {"type": "object", "properties": keys, "additionalProperties": False, "anyOf": ways}


def _is_area(part: Any) -> bool:
    """Whether something may be one polygon with what is left out of it."""
    sound = isinstance(part, Mapping) and "polygon" in part and set(part) <= set(_AREA_KEYS)
    return sound and all(isinstance(part[key], list | tuple) for key in part)


def _points(ring: Any) -> list[list[float]]:
    return [[x, y] for x, y, *_ in ring.coords[:-1]]
