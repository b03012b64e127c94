"""Polygons of strips along a way with bends."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.ground.edges import spread
from overlapsim.ground.overlay import GRID, polygonal, polygons_of, united
from overlapsim.ground.rails import Rails


def poses_between(track: Rails, low: Floats, high: Floats) -> tuple[Ints, Floats]:
    """List the ways of both ends of stretches and of all vertices between them.

    Parameters
    ----------
    track : Rails
        The way; a closed one is unrolled.
    low, high : ndarray, shape (n,)
        Ends of the stretches, metres.

    Returns
    -------
    stretch : ndarray of int, shape (m,)
        The stretch that each pose belongs to.
    way : ndarray, shape (m,)
        Ways, metres, rising within a stretch.
    """
    vertex = track.way
    if track.closed:
        rounds = np.arange(np.floor(low.min() / track.length), np.ceil(high.max() / track.length) + 1)
        vertex = (rounds[:, None] * track.length + track.way[None, :-1]).ravel()
    apart = 1e-9
    first = np.searchsorted(vertex, low + apart, side="right")
    last = np.searchsorted(vertex, high - apart, side="left")
    owner, inner = spread(first, last)
    every = np.arange(len(low))
    stretch = np.concatenate([every, owner, every])
    way = np.concatenate([low, vertex[inner], high])
    order = np.lexsort((way, stretch))
    return stretch[order], way[order]


def quads_of(track: Rails, left: Floats, right: Floats, low: Floats, high: Floats) -> tuple[Ints, Floats]:
    """Cut strips into the quadrilaterals between successive poses.

    Parameters
    ----------
    track : Rails
        The way.
    left, right : ndarray, shape (n,)
        Borders of each strip, right of the way, metres.
    low, high : ndarray, shape (n,)
        Ends of each strip along the way, metres.

    Returns
    -------
    strip : ndarray of int, shape (m,)
        The strip that each quadrilateral belongs to.
    corner : ndarray, shape (m, 4, 2)
        Left and right at its start, right and left at its end, metres; anticlockwise unless turned over.
    """
    stretch, way = poses_between(track, low, high)
    place, cross = track.at(way)
    if track.closed and len(way):
        # A pose on the seam belongs to both sides; `at` reads it as the start, which is the same place.
        place, cross = track.at(np.where(np.isclose(way, track.length, atol=1e-12), 0.0, way))
    a, b = place + left[stretch][:, None] * cross, place + right[stretch][:, None] * cross
    same = stretch[1:] == stretch[:-1]
    corner = np.stack([a[:-1], b[:-1], b[1:], a[1:]], axis=1)[same]
    return stretch[:-1][same], corner


def points_in(corner: Floats) -> Floats:
    """Pick a point on the ground of quadrilaterals between successive poses.

    Parameters
    ----------
    corner : ndarray, shape (m, 4, 2)
        Left and right at the start, right and left at the end, metres.

    Returns
    -------
    ndarray, shape (m, 2)
        Metres. Where left and right edge run against one another the cross lines meet, and the point lies
        in the larger of the two triangles beside them.
    """
    left, right = corner[:, 3] - corner[:, 0], corner[:, 2] - corner[:, 1]
    size_left, size_right = np.hypot(*left.T), np.hypot(*right.T)
    share = size_left / np.maximum(size_left + size_right, np.finfo(float).tiny)
    meet = corner[:, 0] + share[:, None] * (corner[:, 1] - corner[:, 0])
    longer = (size_left >= size_right)[:, None]
    wide = np.where(longer, corner[:, 0] + corner[:, 3], corner[:, 1] + corner[:, 2])
    crossed = ((left * right).sum(axis=1) < 0)[:, None]
    return np.where(crossed, (meet + wide) / 3, corner.mean(axis=1))


def strips_on(track: Rails, left: Floats, right: Floats, low: Floats, high: Floats) -> np.ndarray:
    """Draw strips along a way; ground that a strip sweeps twice is there once.

    Parameters
    ----------
    track : Rails
        The way.
    left, right : ndarray, shape (n,)
        Borders of each strip, right of the way, metres.
    low, high : ndarray, shape (n,)
        Ends of each strip along the way, metres.

    Returns
    -------
    ndarray of shapely geometries, shape (n,)
        Polygons, or several in one.
    """
    if not len(low):
        return np.empty(0, dtype=object)
    strip, corner = quads_of(track, left, right, low, high)
    count = np.bincount(strip, minlength=len(low))
    first = np.cumsum(count) - count
    drawn = _rings(corner, first, count)
    for i in np.flatnonzero(_folded(strip, corner, len(low)) | ~shapely.is_valid(drawn)):
        drawn[i] = _joined(corner[first[i] : first[i] + count[i]])
    return drawn


def _rings(corner: Floats, first: Ints, count: Ints) -> np.ndarray:
    """Draw runs of quadrilaterals as polygons: left edge forward, right edge back."""
    size = 2 * (count + 1)
    owner, step = spread(np.zeros(len(count), dtype=np.int64), size + 1)
    step = np.where(step == size[owner], 0, step)
    ahead = step <= count[owner]
    pose = np.where(ahead, step, size[owner] - 1 - step)
    at_end = pose == count[owner]
    quad = first[owner] + np.minimum(pose, count[owner] - 1)
    column = np.where(ahead, np.where(at_end, 3, 0), np.where(at_end, 2, 1))
    rings = shapely.linearrings(corner[quad, column], indices=owner)
    return np.asarray(shapely.polygons(rings), dtype=object)


def _forward(corner: Floats) -> Bools:
    """Quadrilaterals neither of whose edges runs back."""
    left, right = corner[:, 3] - corner[:, 0], corner[:, 2] - corner[:, 1]
    cross = corner[:, 1] - corner[:, 0]
    ahead = np.stack([-cross[:, 1], cross[:, 0]], axis=1)
    return ((left * ahead).sum(axis=1) >= 0) & ((right * ahead).sum(axis=1) >= 0)


def _folded(strip: Ints, corner: Floats, count: int) -> Bools:
    """Strips with an edge that runs back somewhere: their ring may be simple and yet miss ground."""
    return np.bincount(strip, ~_forward(corner), minlength=count) > 0


def _joined(corner: Floats) -> BaseGeometry:
    """Join quadrilaterals: runs of them that go forward as one ring, the others each for itself."""
    plain = _forward(corner)
    begins = np.flatnonzero(plain & ~np.append(False, plain[:-1]))
    ends = np.flatnonzero(plain & ~np.append(plain[1:], False)) + 1
    runs = _rings(corner, begins, ends - begins) if len(begins) else np.empty(0, dtype=object)
    sound = shapely.is_valid(runs)
    singles = [*np.flatnonzero(~plain)]
    for a, b in zip(begins[~sound], ends[~sound], strict=True):
        singles += range(a, b)
    quads = np.asarray(shapely.make_valid(shapely.polygons(corner[singles])), dtype=object)
    pieces = [*runs[sound], *(p for quad in quads for p in polygons_of(quad) if p.area > 0)]
    return polygonal(shapely.union_all(pieces, grid_size=GRID))


def cover_of(track: Rails, left: Floats, right: Floats, low: Floats, high: Floats) -> BaseGeometry:
    """Ground under neighbouring strips along a way, all in one.

    Parameters
    ----------
    track : Rails
        The way.
    left, right : ndarray, shape (n,)
        Borders of each strip, right of the way, metres; common borders bit for bit equal.
    low, high : ndarray, shape (n,)
        Ends of each strip along the way, metres.

    Returns
    -------
    shapely.Geometry
        A polygon, several in one, or an empty one. Strips side by side are drawn round as one ring; only
        what cannot be drawn so goes through an overlay.
    """
    if not len(low):
        return shapely.Polygon()
    order = np.lexsort((low, left))
    left, right, low, high = left[order], right[order], low[order], high[order]
    _, border = np.unique(left, return_inverse=True)
    single = np.bincount(border)[border] == 1
    strip, corner = quads_of(track, left, right, low, high)
    folded = _folded(strip, corner, len(low))
    single &= ~folded
    joins = np.zeros(len(low), dtype=bool)
    joins[1:] = (
        single[1:] & single[:-1] & (left[1:] == right[:-1])
        & (np.minimum(high[1:], high[:-1]) > np.maximum(low[1:], low[:-1]))
    )  # fmt: skip
    pieces = []
    starts = np.append(np.flatnonzero(~joins), len(low))
    for a, b in pairwise(starts):
        block = slice(a, b)
        ring = shapely.Polygon(_outline(track, left[block], right[block], low[block], high[block]))
        if ring.is_valid and not folded[a]:
            pieces.append(ring)
        else:
            pieces += list(strips_on(track, left[block], right[block], low[block], high[block]))
    if len(pieces) == 1:
        return pieces[0]
    return united(np.array(pieces, dtype=object))


def _outline(track: Rails, left: Floats, right: Floats, low: Floats, high: Floats) -> Floats:
    """Ring round strips side by side, with a stair at either end."""
    offsets, ways = [], []

    def along(offset: float, begin: float, end: float) -> None:
        _, way = poses_between(track, np.array([min(begin, end)]), np.array([max(begin, end)]))
        if begin == end:
            way = way[:1]
        offsets.append(np.full(len(way), offset))
        ways.append(way if begin <= end else way[::-1])

    last = len(low) - 1
    along(left[0], low[0], high[0])
    for i in range(last):
        along(right[i], high[i], high[i + 1])
    along(right[last], high[last], low[last])
    for i in range(last, 0, -1):
        along(left[i], low[i], low[i - 1])
    place, cross = track.at(np.concatenate(ways))
    return place + np.concatenate(offsets)[:, None] * cross
