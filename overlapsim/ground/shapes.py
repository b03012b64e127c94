"""Polygons of what was planted, missed and planted twice, made from an account's cells.

Overlay engines lose abutting strips at slanted headings without a word (GEOS issue 1344). So polygons
are made in the plan frame, where strips are upright and share their borders bit for bit; every strip is
then checked to lie in the union, and the polygons' areas are held against the account's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from overlapsim.basics.errors import BalanceError
from overlapsim.basics.frames import Floats, Ints, to_ground, to_plan
from overlapsim.ground.columns import BALANCE, Account, Strips

HAIR = 1e-6
"""Metres: a piece of polygon that is nowhere wider than this is rounding between strips and edges."""


@dataclass(frozen=True)
class Shapes:
    """Polygons of one run on one part of a field, in the ground frame.

    Attributes
    ----------
    planted : ndarray of shapely geometries, shape (l,)
        What each leg planted.
    planted_leg : ndarray of int, shape (l,)
        Index of the leg, from 0.
    skip, overlap, off_field : ndarray of shapely.Polygon
        Missed ground; ground planted more than once; planted ground that is not plantable.
    overlap_times, off_field_times : ndarray of int
        How often each polygon was planted.
    """

    planted: np.ndarray
    planted_leg: Ints
    skip: np.ndarray
    overlap: np.ndarray
    overlap_times: Ints
    off_field: np.ndarray
    off_field_times: Ints


def polygons_in(geometry: shapely.Geometry) -> np.ndarray:
    """Keep the polygons of any geometry, dropping lines, points and hairlines.

    Parameters
    ----------
    geometry : shapely.Geometry
        Of any kind, collections in collections included.

    Returns
    -------
    ndarray of shapely.Polygon
        Those wider than :data:`HAIR`, by area over half the perimeter.
    """
    parts = np.array([geometry])
    while (shapely.get_type_id(parts) >= 4).any():
        parts = shapely.get_parts(parts)
    parts = parts[(shapely.get_type_id(parts) == 3) & ~shapely.is_empty(parts)]
    return parts[shapely.area(parts) > HAIR * shapely.length(parts) / 2]


def turned(geometry: np.ndarray, turn: Callable[[Floats, float], Floats], heading: float) -> np.ndarray:
    """Turn geometries between the ground frame and a plan frame.

    Parameters
    ----------
    geometry : ndarray of shapely geometries
        To be turned.
    turn : callable
        `to_ground` or `to_plan`.
    heading : float
        Radians clockwise from north.

    Returns
    -------
    ndarray of shapely geometries
        Turned copies.
    """
    return shapely.transform(geometry, lambda xy: turn(xy, heading))


def shapes(result: Account, strips: Strips, plantable: shapely.Polygon, heading: float) -> Shapes:
    """Draw the polygons of an account.

    Parameters
    ----------
    result : Account
        Areas and cells.
    strips : Strips
        The strips that were accounted for, plan frame.
    plantable : shapely.Polygon
        Plantable ground, ground frame.
    heading : float
        Heading of the plan frame, radians clockwise from north.

    Returns
    -------
    Shapes
        In the ground frame.

    Raises
    ------
    BalanceError
        Where a strip is not in the union, or a polygon area differs from the account's by more than
        :data:`~overlapsim.ground.columns.BALANCE` of the plantable area.
    """
    field = turned(np.array([plantable]), to_plan, heading)[0]
    cells, columns = result.cells, result.columns
    box = shapely.box(columns.left[cells.column], cells.low, columns.right[cells.column], cells.high)
    union = shapely.union_all(box)
    legs, bounds = np.unique(strips.leg, return_index=True)
    order = np.argsort(strips.leg, kind="stable")
    bounds = np.append(np.searchsorted(strips.leg[order], legs), len(order))
    raw = shapely.box(strips.left, strips.low, strips.right, strips.high)[order]
    planted = [shapely.union_all(raw[a:b]) for a, b in pairwise(bounds)]
    _check_union(raw, bounds, planted, union)
    overlap, off = [], []
    for times in np.unique(cells.times):
        ground = union if (cells.times == 1).all() else shapely.union_all(box[cells.times == times])
        off.append((times, polygons_in(ground.difference(field))))
        if times > 1:
            overlap.append((times, polygons_in(ground.intersection(field))))
    skip = polygons_in(field.difference(union))
    drawn = {
        "skip": (float(shapely.area(skip).sum()), result.skip_m2),
        "overlap": (sum((t - 1) * float(shapely.area(p).sum()) for t, p in overlap), result.overlap_m2),
        "off field": (sum(t * float(shapely.area(p).sum()) for t, p in off), result.off_field_m2),
    }
    for name, (polygons, areas) in drawn.items():
        if abs(polygons - areas) > BALANCE * result.plantable_m2:
            raise BalanceError(f"polygons of {name} hold {polygons:.6f} m², the account {areas:.6f} m²")
    return Shapes(
        planted=turned(np.array(planted, dtype=object), to_ground, heading),
        planted_leg=legs,
        skip=turned(skip, to_ground, heading),
        overlap=turned(_joined(overlap), to_ground, heading),
        overlap_times=_times(overlap),
        off_field=turned(_joined(off), to_ground, heading),
        off_field_times=_times(off),
    )


def _joined(groups: list[tuple[int, np.ndarray]]) -> np.ndarray:
    return np.concatenate([np.empty(0, dtype=object), *(polygons for _, polygons in groups)])


def _times(groups: list[tuple[int, np.ndarray]]) -> Ints:
    counts = [np.full(len(polygons), times, dtype=np.int64) for times, polygons in groups]
    return np.concatenate([np.empty(0, dtype=np.int64), *counts])


def _check_union(raw: np.ndarray, bounds: Ints, planted: list, union: shapely.Geometry) -> None:
    """Refuse a union that lost a strip: first strips in their leg's union, then legs in the whole."""
    wanted = shapely.area(raw).sum()
    lost = 0.0
    for ground, a, b in zip(planted, bounds[:-1], bounds[1:], strict=True):
        shapely.prepare(ground)
        outside = ~shapely.covers(ground, raw[a:b])
        lost += float(shapely.area(shapely.difference(raw[a:b][outside], ground)).sum())
    lost += float(shapely.area(shapely.difference(np.array(planted, dtype=object), union)).sum())
    if lost > BALANCE * wanted:
        raise BalanceError(f"the union of planted strips lost {lost:.6g} m²")
