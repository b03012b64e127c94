"""Ground planted on headland laps: strips along bends, and what they leave for the rest of the account."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.basics.records import Records
from overlapsim.ground.edges import Edges, edges_of
from overlapsim.ground.overlay import GRID, common, polygons_of, united_apart

ON_BORDER = 1e-6
"""Metres from ground at which a point lies on its border, but for rounding."""

SAME_AREA = 1e-6
"""m²: strips of a leg whose areas add up to their union's within this do not overlap one another."""


@dataclass(frozen=True)
class LapStrips(Records):
    """Strips that rows planted on laps, ground frame.

    Attributes
    ----------
    polygon : ndarray of shapely geometries, shape (n,)
        What each stretch of each row planted; ground that it swept twice is there once.
    leg, row : ndarray of int, shape (n,)
        Index of the leg (from 0) and of the row (from the left, from 0).
    together : ndarray of shapely geometries, shape (n,)
        What the whole leg planted, the same one for all strips of a leg.
    """

    polygon: np.ndarray
    leg: Ints
    row: Ints
    together: np.ndarray


@dataclass(frozen=True)
class LapCover:
    """What laps planted on one part of a field.

    Attributes
    ----------
    planted_m2 : float
        Sum of the strips' areas, m².
    inside_m2 : float
        Sum of the areas that they have on plantable ground, m².
    union_m2 : float
        Plantable ground that they planted at least once, m².
    held : Edges
        Edges of that ground, plan frame, interior on the left.
    union : shapely.Geometry
        All ground that they planted, off the field too, ground frame.
    """

    planted_m2: float
    inside_m2: float
    union_m2: float
    held: Edges
    union: BaseGeometry


def lap_cover(strips: LapStrips, plantable: shapely.Polygon, heading: float) -> LapCover:
    """Account for strips on laps.

    Parameters
    ----------
    strips : LapStrips
        All strips of one part's laps.
    plantable : shapely.Polygon
        The part's plantable ground, ground frame.
    heading : float
        Heading of the plan frame, radians clockwise from north.

    Returns
    -------
    LapCover
        Areas and ground.
    """
    area = shapely.area(strips.polygon)
    shapely.prepare(plantable)
    out = ~shapely.contains_properly(plantable, strips.polygon)
    inside = area.copy()
    inside[out] = shapely.area(shapely.intersection(strips.polygon[out], plantable, grid_size=GRID))
    _, first = np.unique(strips.leg, return_index=True)
    union = united_apart(strips.together[first])
    whole = common(union, plantable)
    return LapCover(
        planted_m2=float(area.sum()),
        inside_m2=float(inside.sum()),
        union_m2=float(whole.area),
        held=edges_of(polygons_of(whole)).in_plan(heading),
        union=union,
    )


def rows_apart(strips: LapStrips) -> Bools:
    """Tell on which legs no two strips overlap.

    Parameters
    ----------
    strips : LapStrips
        Strips, and what each leg planted.

    Returns
    -------
    ndarray of bool, shape (n,)
        For every strip, whether those of its leg lie apart: their areas add up to the leg's.
    """
    legs, first, which = np.unique(strips.leg, return_index=True, return_inverse=True)
    total = np.bincount(which, shapely.area(strips.polygon), minlength=len(legs))
    return (np.abs(total - shapely.area(strips.together[first])) < SAME_AREA)[which]


def strips_lost(cover: LapCover, strips: LapStrips, centre: Floats, leg: Ints) -> int:
    """Check that every piece of every strip lies in its leg's ground, and every leg in the union.

    Parameters
    ----------
    cover : LapCover
        With the union.
    strips : LapStrips
        With what each leg planted.
    centre : ndarray, shape (m, 2)
        A point of every quadrilateral of the raw strips, ground frame, metres.
    leg : ndarray of int, shape (m,)
        Index of its leg.

    Returns
    -------
    int
        Number of points that are missing.
    """
    legs, first = np.unique(strips.leg, return_index=True)
    missing = _outside(cover.union, centre)
    for number, ground in zip(legs, strips.together[first], strict=True):
        own = np.flatnonzero(leg == number)
        missing[own] |= _outside(ground, centre[own])
    return int(missing.sum())


def _outside(ground: BaseGeometry, points: Floats) -> Bools:
    """Points that lie neither on ground nor on its border."""
    shapely.prepare(ground)
    out = ~shapely.intersects_xy(ground, points)
    out[out] = ~shapely.dwithin(ground, shapely.points(points[out]), ON_BORDER)
    return out
