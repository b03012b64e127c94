"""Rings and polygons taken apart; the words for places and refusals of fields."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.errors import Fault, FieldError

#: One polygon as arrays (n, 2): its shell and its holes.
Rings = tuple[np.ndarray, tuple[np.ndarray, ...]]
#: Turns x, y of the ground frame (m) into the words that name the place to whoever mends it.
Spot = Callable[[float, float], str]


def refuse(rule: str, remedy: str = "", key: str = "", file: str = "") -> FieldError:
    """Make the error that refuses a field, with one fault in words.

    Parameters
    ----------
    rule : str
        What is wrong.
    remedy : str
        What to do about it.
    key, file : str
        Where it stands.

    Returns
    -------
    FieldError
        To be raised by the caller.

    Examples
    --------
    >>> print(refuse("holds a line, not an area", "Ask for a polygon", file="home.kml"))
    home.kml  holds a line, not an area. Ask for a polygon.
    """
    if remedy and not remedy.endswith((".", "?", "!")):
        remedy += "."
    return FieldError(Fault(rule=rule, remedy=remedy, key=key, file=file))


def spot_in_metres(x: float, y: float) -> str:
    """Name a place of the ground frame.

    Parameters
    ----------
    x, y : float
        East and north, m.

    Returns
    -------
    str
        The place in words.

    Examples
    --------
    >>> spot_in_metres(12.34, -5)
    'x 12.34 m, y -5.00 m'
    """
    return f"x {x:.2f} m, y {y:.2f} m"


def rings_of(geometry: BaseGeometry) -> list[Rings]:
    """Take polygons apart into coordinate arrays, heights dropped.

    Parameters
    ----------
    geometry : shapely.Geometry
        Polygon, MultiPolygon or a collection of them; may be invalid.

    Returns
    -------
    list of (shell, holes)
        Closed rings as arrays (n, 2), in the geometry's own coordinates.

    Examples
    --------
    >>> [(shell.shape, len(holes)) for shell, holes in rings_of(shapely.box(0, 0, 1, 1))]
    [((5, 2), 0)]
    """
    return [
        (shapely.get_coordinates(p.exterior), tuple(shapely.get_coordinates(h) for h in p.interiors))
        for p in shapely.get_parts(shapely.get_parts(geometry))
        if not p.is_empty
    ]


def polygon_parts(geometry: BaseGeometry) -> list[Polygon]:
    """Keep the polygons of a geometry, however deep, and drop lines and points.

    Parameters
    ----------
    geometry : shapely.Geometry
        Anything that an overlay may return.

    Returns
    -------
    list of shapely.Polygon
        Its polygons that have area.

    Examples
    --------
    >>> mixed = shapely.GeometryCollection([shapely.box(0, 0, 1, 1), shapely.Point(3, 3)])
    >>> [part.area for part in polygon_parts(mixed)]
    [1.0]
    """
    if isinstance(geometry, Polygon):
        return [geometry] if geometry.area > 0 else []
    found: list[Polygon] = []
    for part in getattr(geometry, "geoms", ()):
        found += polygon_parts(part)
    return found


def must_be_area(geometry: Any, key: str = "", file: str = "") -> None:
    """Refuse what is not a polygon, by what it is instead.

    Parameters
    ----------
    geometry : shapely.Geometry
        What is given as a field.
    key, file : str
        Where it stands, for the fault.

    Raises
    ------
    FieldError
        It is nothing of shapely's, empty, or holds a point or a line.

    Examples
    --------
    >>> must_be_area(shapely.box(0, 0, 1, 1))
    """
    remedy = "Ask for the boundary as a polygon"
    if not isinstance(geometry, BaseGeometry):
        raise refuse(f"a {type(geometry).__name__}, not a shapely polygon", remedy, key, file)
    if geometry.is_empty:
        raise refuse("holds an empty shape, not an area", remedy, key, file)
    kinds = {part.geom_type for part in shapely.get_parts(shapely.get_parts(geometry))}
    other = kinds - {"Polygon"}
    if other:
        names = {"Point": "a point", "LineString": "a line", "LinearRing": "a line"}
        raise refuse(f"holds {names.get(min(other), min(other))}, not an area", remedy, key, file)
