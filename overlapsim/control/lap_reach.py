"""Ground of headland laps over a range of offsets: what is always planted, and what moving ends contest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Bools, Floats, Ints, to_ground
from overlapsim.control.reach import Moved, Spans
from overlapsim.drive.legs import Drive
from overlapsim.ground.contested import Contested, Quads, contested
from overlapsim.ground.cover import cover_of, poses_between, quads_of
from overlapsim.ground.edges import spread
from overlapsim.ground.overlay import GRID, common, polygonal, polygons_of, united


def row_borders(drive: Drive) -> tuple[Floats, Floats]:
    """Borders of all row strips, right of the planned line.

    Parameters
    ----------
    drive : Drive
        Rows.

    Returns
    -------
    left, right : ndarray, shape (n,)
        Metres; each one's right is the next one's left, bit for bit.
    """
    layout = drive.layout
    left, right = layout.middle + layout.left_edge, layout.middle + layout.right_edge
    borders = np.append(left, right[-1:])
    return borders[:-1], borders[1:]


def always_planted(drive: Drive, core: Spans) -> BaseGeometry:
    """Ground that laps plant at every offset.

    Parameters
    ----------
    drive : Drive
        Legs.
    core : Spans
        Of one part's laps.

    Returns
    -------
    shapely.Geometry
        Ground frame.
    """
    left, right = row_borders(drive)
    covers = []
    for leg in np.unique(core.leg):
        track, own = drive.legs[leg].track, core.take(core.leg == leg)
        assert track is not None
        covers.append(cover_of(track, left[own.row], right[own.row], own.low, own.high))
    return united(np.array(covers, dtype=object)) if covers else shapely.Polygon()


def lap_quads(drive: Drive, spans: Spans) -> Quads:
    """Cut spans on laps into pieces between poses.

    Parameters
    ----------
    drive : Drive
        Legs.
    spans : Spans
        On laps.

    Returns
    -------
    Quads
        Ground frame.
    """
    left, right = row_borders(drive)
    parts: list[tuple[Floats, ...]] = []
    for leg in np.unique(spans.leg):
        track, own = drive.legs[leg].track, np.flatnonzero(spans.leg == leg)
        assert track is not None
        row, low, high = spans.row[own], spans.low[own], spans.high[own]
        strip, corner = quads_of(track, left[row], right[row], low, high)
        _, way = poses_between(track, low, high)
        last = np.cumsum(np.bincount(strip, minlength=len(own)) + 1) - 1
        begin, end = np.delete(way, last), np.delete(way, last - np.bincount(strip, minlength=len(own)))
        parts.append((corner, begin, end, np.full(len(strip), leg), row[strip]))
    if not parts:
        none = np.empty(0)
        return Quads(np.empty((0, 4, 2)), none, none, none.astype(np.int64), none.astype(np.int64))
    return Quads(*(np.concatenate(v) for v in zip(*parts, strict=True)))


@dataclass(frozen=True)
class Flat:
    """Spans on passes as upright rectangles of the plan.

    Attributes
    ----------
    left, right, low, high : ndarray, shape (n,)
        Borders and ends, plan frame, metres.
    """

    left: Floats
    right: Floats
    low: Floats
    high: Floats

    @property
    def corner(self) -> Floats:
        """Corners in the plan frame, anticlockwise, shape (n, 4, 2), metres."""
        x = np.stack([self.left, self.right, self.right, self.left], axis=1)
        y = np.stack([self.low, self.low, self.high, self.high], axis=1)
        return np.stack([x, y], axis=2)


def flat(drive: Drive, spans: Spans, aside: Floats) -> Flat:
    """Lay spans on passes into the plan.

    Parameters
    ----------
    drive : Drive
        Legs.
    spans : Spans
        On passes.
    aside : ndarray, shape (2,)
        Drift in the plan frame, metres: everything lands at minus this.

    Returns
    -------
    Flat
        Rectangles.
    """
    left, right = row_borders(drive)
    way = np.array([leg.direction for leg in drive.legs])[spans.leg]
    line = np.array([leg.across for leg in drive.legs])[spans.leg] - aside[0]
    one, other = line + way * left[spans.row], line + way * right[spans.row]
    begin, end = way * spans.low - aside[1], way * spans.high - aside[1]
    return Flat(
        np.minimum(one, other), np.maximum(one, other), np.minimum(begin, end), np.maximum(begin, end)
    )


def contested_ground(
    drive: Drive,
    of_laps: Quads,
    passes: Spans,
    aside: Floats,
    taken: Sequence[BaseGeometry],
    field: shapely.Polygon,
) -> Contested:
    """Find points that several moving ends may plant, on ground that nothing plants at every offset.

    Parameters
    ----------
    drive : Drive
        Legs.
    of_laps : Quads
        Windows of laps.
    passes : Spans
        Windows of passes.
    aside : ndarray, shape (2,)
        Drift in the plan frame, metres.
    taken : sequence of shapely.Geometry
        Ground planted at every offset, ground frame.
    field : shapely.Polygon
        Plantable ground, ground frame.

    Returns
    -------
    Contested
        Points, and all windows that hold them.
    """
    rectangles = flat(drive, passes, aside)
    corner = to_ground(rectangles.corner.reshape(-1, 2), drive.heading).reshape(-1, 4, 2)
    hulls = shapely.STRtree(_boxes(of_laps.corner))
    near = np.unique(hulls.query(_boxes(corner))[0])
    way = np.array([leg.direction for leg in drive.legs])[passes.leg[near]]
    # Begin and end are those of the rectangle's own corners, which rise along the plan.
    begin = way * (rectangles.low[near] + aside[1])
    end = way * (rectangles.high[near] + aside[1])
    of_passes = Quads(corner[near], begin, end, passes.leg[near], passes.row[near])
    found = contested(Quads.joined([of_laps, of_passes]), drive.width)
    if not len(found.place):
        return found
    shapely.prepare(field)
    keep: Bools = shapely.contains_xy(field, found.place)
    for ground in taken:
        shapely.prepare(ground)
        keep[keep] = ~shapely.contains_xy(ground, found.place[keep])
    return found.take(keep)


def passes_core_near(
    drive: Drive, core: Spans, aside: Floats, laps: Quads, taken: BaseGeometry, field: shapely.Polygon
) -> BaseGeometry:
    """Ground beside laps' windows that passes plant at every offset.

    Parameters
    ----------
    drive : Drive
        Legs.
    core : Spans
        Of passes.
    aside : ndarray, shape (2,)
        Drift in the plan frame, metres.
    laps : Quads
        Windows of laps.
    taken : shapely.Geometry
        Ground that laps plant at every offset, ground frame.
    field : shapely.Polygon
        Plantable ground, ground frame.

    Returns
    -------
    shapely.Geometry
        Plantable ground that no lap plants at every offset, ground frame.
    """
    if not len(core.leg) or not len(laps.leg):
        return shapely.Polygon()
    rectangles = flat(drive, core, aside)
    corner = rectangles.corner
    turned = shapely.polygons(to_ground(corner.reshape(-1, 2), drive.heading).reshape(-1, 4, 2))
    tree = shapely.STRtree(np.asarray(turned, dtype=object))
    near = np.unique(tree.query(shapely.polygons(laps.corner), predicate="intersects")[1])
    if not len(near):
        return shapely.Polygon()
    # Joined in the plan frame, where borders of neighbouring rows agree.
    whole = shapely.union_all(shapely.polygons(corner[near]), grid_size=GRID)
    ground = [
        shapely.Polygon(
            to_ground(shapely.get_coordinates(p.exterior), drive.heading),
            [to_ground(shapely.get_coordinates(r), drive.heading) for r in p.interiors],
        )
        for p in polygons_of(whole)
    ]
    return polygonal(common(shapely.MultiPolygon(ground), field).difference(taken, grid_size=GRID))


def _boxes(corner: Floats) -> np.ndarray:
    bounds = np.concatenate([corner.min(axis=1), corner.max(axis=1)], axis=1)
    return np.asarray(shapely.box(*bounds.T), dtype=object)


def covered_offsets(
    found: Moved, rows: int, leg: Ints, row: Ints, way: Floats, around: Floats
) -> tuple[Ints, Floats, Floats]:
    """Ranges of the offset at which rows plant places on their ways.

    Parameters
    ----------
    found : Moved
        Stretches.
    rows : int
        Number of rows.
    leg, row : ndarray of int, shape (q,)
        Leg and row.
    way : ndarray, shape (q,)
        Places, metres.
    around : ndarray, shape (l,)
        Length of each closed leg, 0 for others, metres.

    Returns
    -------
    asked : ndarray of int, shape (m,)
        Index of the question.
    first, last : ndarray, shape (m,)
        Ranges, metres behind the hitch pin.
    """
    sowing = found.sowing
    order = np.argsort(sowing.leg * rows + sowing.row, kind="stable")
    group = (sowing.leg * rows + sowing.row)[order]
    wanted = leg * rows + row
    asked, item = spread(np.searchsorted(group, wanted), np.searchsorted(group, wanted, side="right"))
    item = order[item]
    drift, first, last = found.drift[item], found.first[item], found.last[item]
    middle = (first + last) / 2
    result = []
    for turn in (-1.0, 0.0, 1.0) if around.any() else (0.0,):
        place = way[asked] + turn * around[leg[asked]]
        on, off = place - sowing.on[item], place - sowing.off[item]
        with np.errstate(divide="ignore", invalid="ignore"):
            one, other = on / drift + middle, off / drift + middle
        still = drift == 0
        low = np.where(still, np.where((on >= 0) & (off <= 0), first, last), np.minimum(one, other))
        high = np.where(still, last, np.maximum(one, other))
        low, high = np.maximum(low, first), np.minimum(high, last)
        real = (high > low) & ((turn == 0.0) | (around[leg[asked]] > 0))
        result.append((asked[real], low[real], high[real]))
    return tuple(np.concatenate(v) for v in zip(*result, strict=True))  # type: ignore[return-value]
