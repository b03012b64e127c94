"""Overlays of polygons at any heading, as far as they can be trusted."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.scenario.erosion import GRID

CLOSE = 1e-6
"""Metres: grounds farther apart than this do not meet, on the grid or off it."""

POLYGON, SEVERAL = 3, 4
"""Type numbers of geometries: a polygon, and from which on they hold others."""


def polygonal(geometry: BaseGeometry) -> BaseGeometry:
    """Keep the polygons of an overlay's outcome, which may bring lines and points along.

    Parameters
    ----------
    geometry : shapely.Geometry
        Of any kind.

    Returns
    -------
    shapely.Geometry
        A polygon, several in one, or an empty one.
    """
    if geometry.geom_type in ("Polygon", "MultiPolygon"):
        return geometry
    parts = polygons_of(geometry)
    return shapely.MultiPolygon(parts)


def united(polygons: np.ndarray) -> BaseGeometry:
    """Union of strips at any headings.

    Parameters
    ----------
    polygons : ndarray of shapely geometries
        Polygons, or several in one each.

    Returns
    -------
    shapely.Geometry
        A polygon, several in one, or an empty one.
    """
    return polygonal(shapely.union_all(polygons, grid_size=GRID))


def united_apart(grounds: np.ndarray) -> BaseGeometry:
    """Union of large grounds of which each meets few others, as those of legs do.

    Parameters
    ----------
    grounds : ndarray of shapely geometries
        Polygons, or several in one each.

    Returns
    -------
    shapely.Geometry
        A polygon, several in one, or an empty one.

    Notes
    -----
    Grounds that do not meet make one sheet together, and few sheets are needed. So each corner goes through
    few overlays; :func:`united` joins two and two, and takes the largest through one after another (three
    times as long on fields with many exclusions).
    """
    parts = np.array([p for ground in grounds for p in polygons_of(ground)], dtype=object)
    if not len(parts):
        return shapely.Polygon()
    parts = parts[np.argsort(-shapely.get_num_coordinates(parts), kind="stable")]
    one, other = shapely.STRtree(parts).query(parts, predicate="dwithin", distance=CLOSE)
    sheet = np.full(len(parts), -1)
    for i in range(len(parts)):
        taken = set(sheet[other[one == i]].tolist())
        sheet[i] = next(k for k in range(i + 1) if k not in taken)
    sheets = [shapely.multipolygons(parts[sheet == k]) for k in range(sheet.max() + 1)]
    # The smallest first: they go through most overlays.
    sheets.sort(key=shapely.get_num_coordinates)
    whole = sheets[0]
    for more in sheets[1:]:
        whole = polygonal(shapely.union(whole, more, grid_size=GRID))
    return whole


def common(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    """Common ground of two areas.

    Parameters
    ----------
    a, b : shapely.Geometry
        Polygons, or several in one.

    Returns
    -------
    shapely.Geometry
        A polygon, several in one, or an empty one.
    """
    return polygonal(shapely.intersection(a, b, grid_size=GRID))


def polygons_of(geometry: BaseGeometry) -> list[shapely.Polygon]:
    """Take a polygonal geometry apart.

    Parameters
    ----------
    geometry : shapely.Geometry
        A polygon, several in one, or an empty one.

    Returns
    -------
    list of shapely.Polygon
        Its polygons that hold ground.
    """
    parts = np.array([geometry], dtype=object)
    while (shapely.get_type_id(parts) >= SEVERAL).any():
        parts = shapely.get_parts(parts)
    return list(parts[(shapely.get_type_id(parts) == POLYGON) & ~shapely.is_empty(parts)])
