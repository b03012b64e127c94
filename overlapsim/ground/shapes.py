"""Polygons of what was planted, missed and planted twice, made from an account's cells.

Overlay engines lose abutting strips at slanted headings without a word (GEOS issue 1344). So polygons
are made in the plan frame, where strips are upright and share their borders bit for bit, and straight
strips are drawn round without an overlay; every strip is then checked to lie in the
union, and the polygons' areas are held against the account's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.errors import BalanceError
from overlapsim.basics.frames import Bools, Floats, Ints, to_ground, to_plan
from overlapsim.ground.areas import BALANCE, Account
from overlapsim.ground.columns import Columns, Strips, columns_of
from overlapsim.ground.edges import edges_of
from overlapsim.ground.lap_cover import LapStrips, rows_apart, strips_lost
from overlapsim.ground.outlines import grounds, leg_grounds
from overlapsim.ground.overlay import GRID, common, polygonal, united
from overlapsim.ground.profile import profile
from overlapsim.ground.stack import HAIR, stacked


@dataclass(frozen=True)
class Shapes:
    """Polygons of one run on one part of a field, in the ground frame.

    Attributes
    ----------
    skip, overlap, off_field : ndarray of shapely.Polygon
        Missed ground; ground planted more than once; planted ground that is not plantable.
    overlap_times, off_field_times : ndarray of int
        How often each polygon was planted.
    """

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
    # What was planted at least once, twice, ... by straight strips.
    straight = grounds(result.cells, result.columns) or [shapely.Polygon()]
    _refuse_lost(_lost(strips, np.array([straight[0]])), strips)
    once, more = straight[:1], straight[1:]
    if laps is not None and centres is not None and result.laps is not None:
        lost = strips_lost(result.laps, laps, *centres)
        if lost:
            raise BalanceError(f"the union of strips on laps lost {lost} pieces")
        passes, legs = _on_passes(strips, result.columns)
        # Rows of one pass lie side by side; those of a lap may overlap where it bends.
        more = stacked(
            np.concatenate([passes, turned(laps.polygon, to_plan, heading)]),
            np.concatenate([legs, laps.leg]),
            np.concatenate([np.ones(len(legs), dtype=bool), rows_apart(laps)]),
        )
        once = [*once, turned(np.array([result.laps.union]), to_plan, heading)[0]]
    skip, overlap, off = _drawn(field, once, more)
    drawn = {
        "skip": (float(shapely.area(skip).sum()), result.skip_m2),
        "overlap": (sum((t - 1) * float(shapely.area(p).sum()) for t, p in overlap), result.overlap_m2),
        "off field": (sum(t * float(shapely.area(p).sum()) for t, p in off), result.off_field_m2),
    }
    for name, (polygons, areas) in drawn.items():
        if abs(polygons - areas) > BALANCE * result.plantable_m2:
            raise BalanceError(f"polygons of {name} hold {polygons:.6f} m², the account {areas:.6f} m²")
    return Shapes(
        skip=turned(skip, to_ground, heading),
        overlap=turned(_joined(overlap), to_ground, heading),
        overlap_times=_times(overlap),
        off_field=turned(_joined(off), to_ground, heading),
        off_field_times=_times(off),
    )


def planted_by_legs(
    strips: Strips, columns: Columns, heading: float, laps: LapStrips
) -> tuple[np.ndarray, Ints]:
    """Draw what each leg planted.

    Parameters
    ----------
    strips : Strips
        Straight strips, plan frame.
    columns : Columns
        Columns that they make.
    heading : float
        Heading of the plan frame, radians clockwise from north.
    laps : LapStrips
        Strips on headland laps, ground frame.

    Returns
    -------
    ground : ndarray of shapely geometries, shape (l,)
        Ground frame.
    leg : ndarray of int, shape (l,)
        Index of each leg, from 0.

    Raises
    ------
    BalanceError
        Where a straight strip is not in its leg's ground.
    """
    passes, legs = _on_passes(strips, columns)
    lap_legs, first = np.unique(laps.leg, return_index=True)
    ground = np.concatenate([turned(passes, to_ground, heading), laps.together[first]])
    return ground, np.concatenate([legs, lap_legs])


def _on_passes(strips: Strips, columns: Columns) -> tuple[np.ndarray, Ints]:
    """What each pass planted, plan frame, every strip of it; and the pass."""
    ground, legs = leg_grounds(strips, columns)
    lost = 0.0
    for layer in _side_by_side(strips, legs):
        own = layer[np.searchsorted(legs, strips.leg)]
        some = Strips(**{name: values[own] for name, values in vars(strips).items()})
        lost += _lost(some, ground[layer])
    _refuse_lost(lost, strips)
    return ground, legs


def _drawn(field: shapely.Polygon, once: list[BaseGeometry], more: list[BaseGeometry]) -> tuple:
    """Skip, and overlap and off-field ground by times.

    `once` together is what was planted at all; `more` what was planted at least twice, three times, ...
    """
    # Upright strips need no grid; strips on laps lie at any heading.
    skip: BaseGeometry = field
    for grid, ground in zip((None, GRID), once, strict=False):
        skip = polygonal(skip).difference(ground, grid_size=grid)
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


def _lost(strips: Strips, ground: np.ndarray) -> float:
    """Area of strips that is not in polygons, read off the polygons' own edges."""
    columns = columns_of(strips.left, strips.right, strips.leg)
    strip, column = columns.under(strips.left, strips.right)
    held = profile(edges_of(shapely.get_parts(ground)), columns.left, columns.right)
    area = held.area_before(column, strips.high[strip]) - held.area_before(column, strips.low[strip])
    missing = strips.area - np.bincount(strip, area, minlength=len(strips.left))
    return float(missing[missing > 0].sum())


def _refuse_lost(lost: float, strips: Strips) -> None:
    if lost > BALANCE * float(strips.area.sum()):
        raise BalanceError(f"the union of planted strips lost {lost:.6g} m²")


def _side_by_side(strips: Strips, legs: Ints) -> list[Bools]:
    """Deal legs out into layers in which none lies over another."""
    which = np.searchsorted(legs, strips.leg)
    left, right = np.full(len(legs), np.inf), np.full(len(legs), -np.inf)
    np.minimum.at(left, which, strips.left)
    np.maximum.at(right, which, strips.right)
    layer, ends = np.empty(len(legs), dtype=np.int64), [-np.inf]
    for leg in np.argsort(left):
        free = [k for k, end in enumerate(ends) if end <= left[leg]]
        layer[leg] = free[0] if free else len(ends)
        ends[layer[leg] : layer[leg] + 1] = [right[leg]]
    return [layer == k for k in range(len(ends))]
