"""Plain GeoJSON, read without the library that reads everything: that one takes a second to load.

Only what has one reading by the standard is read here; all else is left to that library, and its words.
"""

from __future__ import annotations

import json
import math
import re
from functools import lru_cache
from typing import Any

import shapely
from shapely.geometry import shape as shape_of
from shapely.geometry.base import BaseGeometry

from overlapsim.files.features import Features

#: Names of longitude and latitude on WGS 84, and of systems by number, that a `crs` member has.
#: Howard, B. et al. (2008), The GeoJSON format specification, section 3.1.
_LONGITUDE_FIRST = re.compile(r"urn:ogc:def:crs:OGC:[\d.]*:CRS84|OGC:CRS84")
_NUMBERED = re.compile(r"(?:urn:ogc:def:crs:)?EPSG:(?:[\d.]*:)?(\d+)")
_SHAPES = (
    "Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "GeometryCollection",
)  # fmt: skip


class _Other(Exception):
    """It is not plain GeoJSON."""


@lru_cache(maxsize=1)
def read_geojson(text: bytes) -> tuple[str, Features] | None:
    """Read plain GeoJSON.

    Parameters
    ----------
    text : bytes
        The file.

    Returns
    -------
    name : str
        Name of the layer, where it has one; else empty.
    features : Features
        All features. None instead of both where it is anything but plain GeoJSON.

    References
    ----------
    Butler, H. et al. (2016), The GeoJSON format, RFC 7946.

    Examples
    --------
    >>> name, found = read_geojson(b'{"type": "Feature", "properties": {"name": "Home"}, "geometry": null}')
    >>> found.columns, found.shapes
    ({'name': ('Home',)}, (None,))
    """
    try:
        whole = json.loads(text)
        name, features = _features(whole)
        columns: dict[str, list[Any]] = {}
        for i, feature in enumerate(features):
            for key, value in _attributes(feature).items():
                columns.setdefault(key, [None] * len(features))[i] = value
        shapes = tuple(_shape(_member(feature, "geometry")) for feature in features)
        found = {key: tuple(values) for key, values in columns.items()}
        return name, Features(shapes, found, tuple(range(1, len(features) + 1)), _system(whole))
    except (_Other, ValueError, RecursionError):
        return None


def _features(whole: Any) -> tuple[str, list[dict[str, Any]]]:
    """List what stands in it as features."""
    kind = _member(whole, "type")
    if kind == "FeatureCollection":
        features = _member(whole, "features")
        if not isinstance(features, list) or any(_member(one, "type") != "Feature" for one in features):
            raise _Other
        name = whole.get("name")
        return name if isinstance(name, str) else "", features
    if kind == "Feature":
        return "", [whole]
    if kind in _SHAPES:
        return "", [{"geometry": whole, "properties": None}]
    raise _Other


def _member(one: Any, name: str) -> Any:
    if not isinstance(one, dict) or name not in one:
        raise _Other
    return one[name]


def _attributes(feature: dict[str, Any]) -> dict[str, Any]:
    """Give a feature's properties, lists and tables in them as text; a text that names it is one of them."""
    properties = feature.get("properties")
    if properties is not None and not isinstance(properties, dict):
        raise _Other
    own = {"id": feature["id"]} if isinstance(feature.get("id"), str) else {}
    return {key: _plain(value) for key, value in {**own, **(properties or {})}.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False)
    return None if isinstance(value, float) and math.isnan(value) else value


def _shape(raw: Any) -> BaseGeometry | None:
    """Make a shape of coordinates that are numbers and nothing else."""
    if raw is None:
        return None
    if not isinstance(raw, dict) or raw.get("type") not in _SHAPES:
        raise _Other
    if raw["type"] == "GeometryCollection":
        parts = raw.get("geometries")
        if not isinstance(parts, list):
            raise _Other
        return shapely.GeometryCollection([_shape(part) for part in parts])
    try:
        return shape_of({"type": raw["type"], "coordinates": _numbers(raw.get("coordinates"))})
    except (TypeError, IndexError, AttributeError, OverflowError, shapely.errors.ShapelyError) as error:
        raise _Other from error


def _numbers(coordinates: Any) -> list[Any]:
    """See that there are lists down to places of two or three numbers (more are heights and measures).

    What is not a number becomes infinite, so that a ring of it closes: it is found, with its place, where all
    boundaries are looked through.
    """
    if not isinstance(coordinates, list):
        raise _Other
    if coordinates and isinstance(coordinates[0], list):
        return [_numbers(inner) for inner in coordinates]
    if coordinates and len(coordinates) not in (2, 3):
        raise _Other
    if any(type(number) not in (int, float) for number in coordinates):
        raise _Other
    return [number if number == number else math.inf for number in coordinates]


def _system(whole: dict[str, Any]) -> Any:
    """Give the coordinate system: by the standard longitude and latitude, or what older files state."""
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    if "crs" not in whole:
        return CRS.from_epsg(4326)
    name = _member(_member(whole["crs"], "properties"), "name")
    if not isinstance(name, str):
        raise _Other
    if _LONGITUDE_FIRST.fullmatch(name):
        return CRS.from_epsg(4326)
    numbered = _NUMBERED.fullmatch(name)
    if numbered is None:
        raise _Other
    try:
        return CRS.from_epsg(int(numbered[1]))
    except CRSError as error:
        raise _Other from error
