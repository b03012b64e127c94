"""Polygons of strips along a way with bends."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.ground.blocks import rings_round
from overlapsim.ground.edges import spread
from overlapsim.ground.overlay import united
from overlapsim.ground.poses import folds, poses_between, turning
from overlapsim.ground.rails import Rails


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
    meet, crossed = _meeting(corner)
    size_left, size_right = _lengths(corner)
    longer = (size_left >= size_right)[:, None]
    wide = np.where(longer, corner[:, 0] + corner[:, 3], corner[:, 1] + corner[:, 2])
    return np.where(crossed[:, None], (meet + wide) / 3, corner.mean(axis=1))


def _lengths(corner: Floats) -> tuple[Floats, Floats]:
    """Lengths of the left and of the right edge."""
    return np.hypot(*(corner[:, 3] - corner[:, 0]).T), np.hypot(*(corner[:, 2] - corner[:, 1]).T)


def _meeting(corner: Floats) -> tuple[Floats, Bools]:
    """Where the cross lines of quadrilaterals meet, and whether they do so between left and right edge."""
    left, right = corner[:, 3] - corner[:, 0], corner[:, 2] - corner[:, 1]
    size_left, size_right = _lengths(corner)
    share = size_left / np.maximum(size_left + size_right, np.finfo(float).tiny)
    meet = corner[:, 0] + share[:, None] * (corner[:, 1] - corner[:, 0])
    return meet, (left * right).sum(axis=1) < 0


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
    mend = folds(track, left, right, low, high)
    bends = np.flatnonzero(~mend & (turning(track, low, high) >= np.pi))
    mend[bends] = ~shapely.is_valid(drawn[bends])
    for i in np.flatnonzero(mend):
        drawn[i] = united(_pieces(corner[first[i] : first[i] + count[i]]))
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


def forward(corner: Floats) -> Bools:
    """Tell which quadrilaterals between successive poses have no edge that runs back.

    Parameters
    ----------
    corner : ndarray, shape (m, 4, 2)
        Left and right at the start, right and left at the end, metres.

    Returns
    -------
    ndarray of bool, shape (m,)
        True where left and right edge both go on.
    """
    left, right = corner[:, 3] - corner[:, 0], corner[:, 2] - corner[:, 1]
    cross = corner[:, 1] - corner[:, 0]
    ahead = np.stack([-cross[:, 1], cross[:, 0]], axis=1)
    return ((left * ahead).sum(axis=1) >= 0) & ((right * ahead).sum(axis=1) >= 0)


def _pieces(corner: Floats) -> np.ndarray:
    """Polygons of one strip: runs of quadrilaterals that go forward as one, the others each for itself."""
    plain = forward(corner)
    begins = np.flatnonzero(plain & ~np.append(False, plain[:-1]))
    ends = np.flatnonzero(plain & ~np.append(plain[1:], False)) + 1
    runs = _rings(corner, begins, ends - begins) if len(begins) else np.empty(0, dtype=object)
    sound = shapely.is_valid(runs)
    _, more = spread(begins[~sound], ends[~sound])
    singles = corner[np.concatenate([np.flatnonzero(~plain), more])]
    meet, crossed = _meeting(singles)
    over = singles[crossed]
    beside = [np.stack([over[:, i], meet[crossed], over[:, j]], axis=1) for i, j in ((0, 3), (1, 2))]
    pieces = np.concatenate(
        [runs[sound], shapely.polygons(singles[~crossed]), *(shapely.polygons(b) for b in beside)]
    )
    return pieces[shapely.area(pieces) > 0]


def cover_of(
    track: Rails, left: Floats, right: Floats, low: Floats, high: Floats, drawn: np.ndarray | None = None
) -> BaseGeometry:
    """Ground under neighbouring strips along a way, all in one.

    Parameters
    ----------
    track : Rails
        The way.
    left, right : ndarray, shape (n,)
        Borders of each strip, right of the way, metres; common borders bit for bit equal.
    low, high : ndarray, shape (n,)
        Ends of each strip along the way, metres.
    drawn : ndarray of shapely geometries, shape (n,), optional
        The strips one by one, as :func:`strips_on` draws them, where they are at hand.

    Returns
    -------
    shapely.Geometry
        A polygon, several in one, or an empty one. Strips side by side are drawn round as one ring; only
        what cannot be drawn so goes through an overlay.
    """
    if not len(low):
        return shapely.Polygon()
    folded = folds(track, left, right, low, high)
    pieces = []
    if not folded.all():
        pieces.append(rings_round(track, *(v[~folded] for v in (left, right, low, high))))
    if drawn is not None:
        pieces.append(drawn[folded])
    elif folded.any():
        strip, corner = quads_of(track, *(v[folded] for v in (left, right, low, high)))
        bounds = np.searchsorted(strip, np.arange(folded.sum() + 1))
        pieces += [_pieces(corner[a:b]) for a, b in pairwise(bounds)]
    together = np.concatenate(pieces)
    return together[0] if len(together) == 1 else united(together)
