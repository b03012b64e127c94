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
from overlapsim.ground.overlay import GRID
from overlapsim.ground.pieces import deeper, joined, left_of, pieces_of, shared
from overlapsim.ground.profile import profile
from overlapsim.ground.stack import HAIR, stacked

CLOSE = 1e-9
"""Share of the plantable area: polygons whose areas are as close as this to the account's lost nothing, even
where they were overlaid without a grid, which takes half of the time."""

Drawn = list[tuple[int, np.ndarray]]
"""Polygons by how often they were planted."""


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
    # What was planted at least once, twice, ... by straight strips, and on laps.
    straight = grounds(result.cells, result.columns) or [shapely.Polygon()]
    _refuse_lost(_lost(strips, np.array([straight[0]])), strips)
    around: list[BaseGeometry] = []
    if laps is not None and centres is not None and result.laps is not None:
        lost = strips_lost(result.laps, laps, *centres)
        if lost:
            raise BalanceError(f"the union of strips on laps lost {lost} pieces")
        around = [result.laps.union, *stacked(laps.polygon, laps.leg, rows_apart(laps))]
    straight_pieces, lap_pieces = (
        [pieces_of(np.array([ground])) for ground in depths]
        for depths in (straight, turned(np.array(around, dtype=object), to_plan, heading))
    )
    try:
        skip, overlap, off = _drawn(field, straight_pieces, lap_pieces, None)
        made = _in_ground_frame(skip, overlap, off, heading)
        if not _differences(result, skip, overlap, off, CLOSE) and _sound(made):
            return made
    except shapely.errors.GEOSException:
        pass
    skip, overlap, off = _drawn(field, straight_pieces, lap_pieces, GRID)
    differences = _differences(result, skip, overlap, off, BALANCE)
    if differences:
        raise BalanceError("; ".join(differences))
    return _in_ground_frame(skip, overlap, off, heading)


def _in_ground_frame(skip: np.ndarray, overlap: Drawn, off: Drawn, heading: float) -> Shapes:
    return Shapes(
        skip=turned(skip, to_ground, heading),
        overlap=turned(_together(overlap), to_ground, heading),
        overlap_times=_times(overlap),
        off_field=turned(_together(off), to_ground, heading),
        off_field_times=_times(off),
    )


def _sound(made: Shapes) -> bool:
    return all(shapely.is_valid(some).all() for some in (made.skip, made.overlap, made.off_field))


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
        some = strips.take(own)
        lost += _lost(some, ground[layer])
    _refuse_lost(lost, strips)
    return ground, legs


def _drawn(
    field: shapely.Polygon, straight: list[np.ndarray], laps: list[np.ndarray], grid: float | None
) -> tuple[np.ndarray, Drawn, Drawn]:
    """Skip, and overlap and off-field ground by times, from what was planted at least once, twice, ..."""
    whole = np.array([field])
    skip = left_of(whole, straight[0], None)
    off = [left_of(straight[0], whole, None)]
    if laps:
        skip = left_of(skip, laps[0], grid)
        off = [joined([*off, left_of(laps[0], whole, None)], grid)]
    more = deeper(straight, laps, grid)
    off += [left_of(ground, whole, grid) for ground in more]
    inside = [shared(ground, whole, grid) for ground in more]
    return _wide(skip), _exactly(inside, 2, grid), _exactly(off, 1, grid)


def _exactly(at_least: list[np.ndarray], first: int, grid: float | None) -> Drawn:
    """From ground covered at least so often to ground covered exactly so often."""
    oftener = [*at_least[1:], np.empty(0, dtype=object)]
    return [
        (first + k, _wide(left_of(ground, more, grid)))
        for k, (ground, more) in enumerate(zip(at_least, oftener, strict=False))
    ]


def _wide(pieces: np.ndarray) -> np.ndarray:
    """Leave out hairs: pieces that are not wider than :data:`HAIR`, by area over half the perimeter."""
    return pieces[shapely.area(pieces) > HAIR * shapely.length(pieces) / 2]


def _differences(result: Account, skip: np.ndarray, overlap: Drawn, off: Drawn, share: float) -> list[str]:
    """Say where polygons hold another area than the account, by more than a share of the plantable ground."""
    drawn = {
        "skip": (float(shapely.area(skip).sum()), result.skip_m2),
        "overlap": (sum((t - 1) * float(shapely.area(p).sum()) for t, p in overlap), result.overlap_m2),
        "off field": (sum(t * float(shapely.area(p).sum()) for t, p in off), result.off_field_m2),
    }
    return [
        f"polygons of {name} hold {polygons:.6f} m², the account {areas:.6f} m²"
        for name, (polygons, areas) in drawn.items()
        if abs(polygons - areas) > share * result.plantable_m2
    ]


def _together(groups: Drawn) -> np.ndarray:
    return np.concatenate([np.empty(0, dtype=object), *(polygons for _, polygons in groups)])


def _times(groups: Drawn) -> Ints:
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
