"""Several fields side by side, each of them its own: one setting, areas added up."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.errors import Fault, FieldError
from overlapsim.scenario.boundary import LARGEST_EXTENT_M, SAME_GROUND, Sound, sound_polygons
from overlapsim.scenario.field import Field
from overlapsim.scenario.placing import place, spot_on
from overlapsim.scenario.plane import Plane, degrees
from overlapsim.scenario.rings import must_be_area, refuse, rings_of

#: Share of the smaller of two fields from which on their common ground is no matter of how boundaries were
#: drawn any more: one of them is a part of the other, or the same field twice.
ONE_AND_THE_SAME = 0.5
#: Difference between a far field's north and the plane's, deg, from which on it is said: a tenth, below what
#: anybody types in as a heading.
NORTH_OFF_DEG = 0.1
#: Mean radius of the earth, m (GRS 80: Moritz, 2000, Geodetic Reference System 1980, Journal of Geodesy 74).
EARTH_M = 6_371_008.8


def side_by_side(
    fields: Mapping[str, BaseGeometry],
    crs: Any = None,
    name: str = "",
    *,
    origin: Mapping[str, Any] | None = None,
    key: str = "",
    file: str = "",
) -> Field:
    """Take several fields together; each is planned alone, whatever it borders on.

    Parameters
    ----------
    fields : mapping of str to shapely.Geometry
        Polygon or MultiPolygon by the field's name; holes are exclusions. x is longitude or easting.
    crs : str or pyproj.CRS, optional
        Their coordinate system; None means metres in one ground frame.
    name : str
        What people call them together.
    origin : dict, optional
        Where they came from, JSON-able.
    key, file : str
        Where they stand, for faults.

    Returns
    -------
    Field
        On one plane through their middle; `part_names` tells which part belongs to which field.

    Raises
    ------
    FieldError
        With a fault for everything that is wrong with any of them; where one covers another; where they lie
        too far apart for one plane.

    Examples
    --------
    >>> home, creek = shapely.box(0, 0, 100, 200), shapely.box(100, 0, 150, 200)
    >>> both = side_by_side({"Home": home, "Creek": creek})
    >>> both.part_names, [part.area for part in both.parts]
    (('Home', 'Creek'), [20000.0, 10000.0])
    """
    plane, words, notes = _plane(fields, crs, key, file)

    spot = spot_on(plane)
    sound: dict[str, Sound] = {}
    faults: list[Fault] = []
    for one, geometry in fields.items():
        try:
            must_be_area(geometry, key, file)
            ground = shapely.force_2d(geometry)
            rings = rings_of(ground if plane is None else plane.to_ground(ground))
            sound[one] = sound_polygons(rings, spot, key, file)
        except FieldError as error:
            faults += [replace(fault, rule=f"{one}: {fault.rule}") for fault in error.faults]
    if faults:
        raise FieldError(faults)
    parts = tuple(part for each in sound.values() for part in each.parts)
    owners = tuple(one for one, each in sound.items() for _ in each.parts)
    _near_enough(_extent(parts), key, file)
    said = [f"{one}: {note}" for one, each in sound.items() for note in each.notes]
    said += _common_ground(parts, owners, key, file)
    said += _norths(parts, plane)
    return Field(parts, name, {**(origin or {}), **words}, plane, (*notes, *said), part_names=owners)


def _plane(
    fields: Mapping[str, BaseGeometry], crs: Any, key: str, file: str
) -> tuple[Plane | None, dict[str, Any], tuple[str, ...]]:
    """Lay one plane through the middle of all."""
    if not fields:
        raise refuse("holds no field", "Ask for the boundaries as polygons", key, file)
    if crs is None:
        return None, {}, ()
    shapes = [geometry for geometry in fields.values() if not geometry.is_empty]
    if not shapes:
        raise refuse("holds an empty shape, not an area", "Ask for the boundary as a polygon", key, file)
    first = place(shapes[0], crs, key, file)[0]
    middles = [degrees(first.crs_wkt, *shape.envelope.centroid.coords[0]) for shape in shapes]
    _near_enough(max(_distance(middles[0], middle) for middle in middles), key, file)
    return place(shapely.GeometryCollection(shapes), crs, key, file)


def _distance(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Distance of two places (longitude, latitude, degrees) on a sphere, m: the haversine formula."""
    (east, north), (to_east, to_north) = np.radians(one), np.radians(other)
    half = np.sin((to_north - north) / 2) ** 2
    half += np.cos(north) * np.cos(to_north) * np.sin((to_east - east) / 2) ** 2
    return float(2 * EARTH_M * np.arcsin(np.sqrt(min(half, 1.0))))


def _near_enough(apart: float, key: str, file: str) -> None:
    if apart > LARGEST_EXTENT_M:
        raise refuse(
            f"its fields lie {apart / 1000:.0f} km apart, one plane serves {LARGEST_EXTENT_M / 1000:.0f} km",
            "Choose fields near one another with where, or write one scenario for each",
            key,
            file,
        )


def _extent(parts: tuple[Polygon, ...]) -> float:
    """Larger side of the upright rectangle round all parts, m."""
    west, south, east, north = shapely.total_bounds(np.array(parts, dtype=object))
    return float(max(east - west, north - south))


def _common_ground(parts: tuple[Polygon, ...], owners: tuple[str, ...], key: str, file: str) -> list[str]:
    """Say where fields share ground, which then counts in each; refuse a field within another."""
    found: list[tuple[float, str]] = []
    pairs = shapely.STRtree(parts).query(np.array(parts, dtype=object), predicate="intersects").T
    for i, j in sorted((int(i), int(j)) for i, j in pairs if i < j and owners[i] != owners[j]):
        both, smaller = parts[i].intersection(parts[j]).area, min(parts[i].area, parts[j].area)
        if both > ONE_AND_THE_SAME * smaller:
            raise refuse(
                f"{owners[i]} and {owners[j]} share {both:.0f} m2, {both / smaller:.0%} of the smaller one: "
                "the same field twice, or an exclusion given as a field?",
                "Choose with where, or give an exclusion as a hole",
                key,
                file,
            )
        if both > SAME_GROUND * smaller:
            found.append((both, f"{owners[i]} and {owners[j]}"))
    if not found:
        return []
    most = max(found)
    where = most[1] if len(found) == 1 else f"{len(found)} pairs of fields, most of it {most[1]},"
    return [f"{where} share {sum(both for both, _ in found):.0f} m2: counted in each"]


def _norths(parts: tuple[Polygon, ...], plane: Plane | None) -> list[str]:
    """Say by how much a far field's own north differs from the plane's."""
    if plane is None:
        return []
    middles = [plane.longitude_latitude(part.centroid.x, part.centroid.y) for part in parts]
    # Convergence of the meridians of a transverse Mercator plane, leading term.
    off = max(
        abs((longitude - plane.longitude + 180.0) % 360.0 - 180.0) * abs(math.sin(math.radians(latitude)))
        for longitude, latitude in middles
    )
    if off < NORTH_OFF_DEG:
        return []
    return [f"the fields lie far apart: headings count from north in their middle, {off:.1f} degrees off"]
