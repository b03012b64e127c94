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
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.errors import BalanceError
from overlapsim.basics.frames import Floats, Ints, to_ground, to_plan
from overlapsim.ground.areas import BALANCE, Account
from overlapsim.ground.columns import Strips
from overlapsim.ground.lap_cover import LapStrips, rows_apart, strips_lost
from overlapsim.ground.overlay import GRID, common, polygonal, united
from overlapsim.ground.stack import HAIR, stacked


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


def polygons_in(geometry: BaseGeometry) -> np.ndarray:
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


def shapes(
    result: Account,
    strips: Strips,
    plantable: shapely.Polygon,
    heading: float,
    laps: LapStrips | None = None,
    centres: tuple[Floats, Ints] | None = None,
) -> Shapes:
    """Draw the polygons of an account.

    Parameters
    ----------
    result : Account
        Areas and cells.
    strips : Strips
        The straight strips that were accounted for, plan frame.
    plantable : shapely.Polygon
        Plantable ground, ground frame.
    heading : float
        Heading of the plan frame, radians clockwise from north.
    laps : LapStrips, optional
        The strips on headland laps, ground frame.
    centres : tuple of ndarray, shapes (m, 2) and (m,), optional
        A point of every quadrilateral of the raw strips on laps, ground frame, metres, and its leg.

    Returns
    -------
    Shapes
        In the ground frame.

    Raises
    ------
    BalanceError
        Where a strip is not in the union, or a polygon area differs from the account's by more than
        :data:`~overlapsim.ground.areas.BALANCE` of the plantable area.
    """
    field = turned(np.array([plantable]), to_plan, heading)[0]
    legs = np.unique(strips.leg)
    order = np.argsort(strips.leg, kind="stable")
    bounds = np.append(np.searchsorted(strips.leg[order], legs), len(order))
    raw = shapely.box(strips.left, strips.low, strips.right, strips.high)[order]
    planted = np.array([shapely.union_all(raw[a:b]) for a, b in pairwise(bounds)], dtype=object)
    straight = shapely.union_all(planted)
    _check_union(raw, bounds, planted, straight)
    # Rows of one pass lie side by side; those of a lap may overlap where it bends.
    sheets, leg, apart, once = planted, legs, np.ones(len(legs), dtype=bool), [straight]
    grounds = turned(planted, to_ground, heading)
    if laps is not None and centres is not None and result.laps is not None:
        lost = strips_lost(result.laps, laps, *centres)
        if lost:
            raise BalanceError(f"the union of strips on laps lost {lost} pieces")
        lap_legs, first = np.unique(laps.leg, return_index=True)
        sheets = np.concatenate([sheets, turned(laps.polygon, to_plan, heading)])
        leg = np.concatenate([leg, laps.leg])
        apart = np.concatenate([apart, rows_apart(laps)])
        once = [straight, turned(np.array([result.laps.union]), to_plan, heading)[0]]
        grounds, legs = np.concatenate([grounds, laps.together[first]]), np.concatenate([legs, lap_legs])
    plain = result.laps is None and bool((result.cells.times == 1).all())
    skip, overlap, off = _drawn(field, once, [] if plain else stacked(sheets, leg, apart))
    drawn = {
        "skip": (float(shapely.area(skip).sum()), result.skip_m2),
        "overlap": (sum((t - 1) * float(shapely.area(p).sum()) for t, p in overlap), result.overlap_m2),
        "off field": (sum(t * float(shapely.area(p).sum()) for t, p in off), result.off_field_m2),
    }
    for name, (polygons, areas) in drawn.items():
        if abs(polygons - areas) > BALANCE * result.plantable_m2:
            raise BalanceError(f"polygons of {name} hold {polygons:.6f} m², the account {areas:.6f} m²")
    return Shapes(
        planted=grounds,
        planted_leg=legs,
        skip=turned(skip, to_ground, heading),
        overlap=turned(_joined(overlap), to_ground, heading),
        overlap_times=_times(overlap),
        off_field=turned(_joined(off), to_ground, heading),
        off_field_times=_times(off),
    )


def _drawn(field: shapely.Polygon, once: list[BaseGeometry], more: list[BaseGeometry]) -> tuple:
    """Skip, and overlap and off-field ground by times.

    `once` together is what was planted at all; `more` what was planted at least twice, three times, ...
    """
    # Upright strips need no grid; strips on laps lie at any heading.
    skip = field.difference(once[0])
    for ground in once[1:]:
        skip = polygonal(skip).difference(ground, grid_size=GRID)
    outside = [polygonal(ground.difference(field)) for ground in once]
    whole = outside[0] if len(outside) == 1 else united(np.array(outside, dtype=object))
    off = [whole, *(polygonal(g.difference(field)) for g in more)]
    inside = [common(ground, field) for ground in more]
    return polygons_in(skip), _exactly(inside, 2), _exactly(off, 1)


def _exactly(at_least: list[BaseGeometry], first: int) -> list[tuple[int, np.ndarray]]:
    """From ground covered at least so often to ground covered exactly so often."""
    found = []
    for k, ground in enumerate(at_least):
        if k + 1 < len(at_least):
            ground = ground.difference(at_least[k + 1], grid_size=GRID)
        found.append((first + k, polygons_in(ground)))
    return found


def _joined(groups: list[tuple[int, np.ndarray]]) -> np.ndarray:
    return np.concatenate([np.empty(0, dtype=object), *(polygons for _, polygons in groups)])


def _times(groups: list[tuple[int, np.ndarray]]) -> Ints:
    counts = [np.full(len(polygons), times, dtype=np.int64) for times, polygons in groups]
    return np.concatenate([np.empty(0, dtype=np.int64), *counts])


def _check_union(raw: np.ndarray, bounds: Ints, planted: np.ndarray, straight: BaseGeometry) -> None:
    """Refuse a union that lost a strip: first strips in their leg's union, then legs in the whole."""
    if not len(planted):
        return
    lost = 0.0
    for ground, a, b in zip(planted, bounds[:-1], bounds[1:], strict=True):
        shapely.prepare(ground)
        outside = ~shapely.covers(ground, raw[a:b])
        lost += float(shapely.area(shapely.difference(raw[a:b][outside], ground)).sum())
    lost += float(shapely.area(shapely.difference(planted, straight)).sum())
    _refuse_lost(lost, float(shapely.area(raw).sum()))


def _refuse_lost(lost: float, wanted: float) -> None:
    if lost > BALANCE * wanted:
        raise BalanceError(f"the union of planted strips lost {lost:.6g} m²")
