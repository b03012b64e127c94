"""Running areas of ground under strips on pieces of ways with bends.

Along a bend a strip's outer edge goes farther than the way, its inner edge less far. So a metre of way
holds more or less ground than the strip is wide: widths are multiplied by how far each side stretches the
strip. Within a side that stretch does not change: cross vectors keep their part square to the side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.ground.cover import poses_between
from overlapsim.ground.edges import Edges, Ramps, spread
from overlapsim.ground.profile import Profile, bisect, profile_of
from overlapsim.ground.rails import Rails, Sides, ramps_on

AT_ONCE = 2_000_000
"""Pairs of start lines and edges looked at together: enough to be fast, few enough for little memory."""


@dataclass(frozen=True)
class Slices:
    """Pieces of ways.

    Attributes
    ----------
    owner : ndarray of int, shape (n,)
        Which way each piece belongs to, rising.
    low, high : ndarray, shape (n,)
        Its ends on that way, metres, rising within a way; they may lie beyond a way's ends.
    bounds : ndarray of int, shape (n + 1,)
        Poses of piece `i` are ``bounds[i] .. bounds[i + 1] - 1``.
    way : ndarray, shape (m,)
        Ways of the poses, metres.
    place, cross : ndarray, shape (m, 2)
        Places, metres, and cross vectors.
    """

    owner: Ints
    low: Floats
    high: Floats
    bounds: Ints
    way: Floats
    place: Floats
    cross: Floats

    @property
    def sides(self) -> Sides:
        """Quadrilaterals between successive poses, one piece after the other."""
        first = np.setdiff1d(np.arange(len(self.way)), self.bounds[1:] - 1, assume_unique=True)
        piece = np.repeat(np.arange(len(self.owner)), np.diff(self.bounds))
        return Sides(
            self.place[first], self.place[first + 1], self.cross[first], self.cross[first + 1],
            self.way[first], self.way[first + 1] - self.way[first], piece[first],
        )  # fmt: skip

    def find(self, owner: Ints, way: Floats) -> Ints:
        """Find the piece that holds a place on a way.

        Parameters
        ----------
        owner : ndarray of int, shape (q,)
            Ways.
        way : ndarray, shape (q,)
            Places on them, metres.

        Returns
        -------
        ndarray of int, shape (q,)
            Index of the last piece that begins at or before the place; -1 where there is none.
        """
        first = np.searchsorted(self.owner, owner, side="left")
        last = np.searchsorted(self.owner, owner, side="right")
        found = bisect(self.low, first, last, way) - 1
        return np.where(found >= first, found, -1)


def slices_of(tracks: list[Rails], owner: Ints, low: Floats, high: Floats) -> Slices:
    """Cut pieces out of ways.

    Parameters
    ----------
    tracks : list of Rails
        The ways.
    owner : ndarray of int, shape (n,)
        Index of each piece's way, rising.
    low, high : ndarray, shape (n,)
        Ends of the pieces, metres.

    Returns
    -------
    Slices
        A closed way goes round, an open one goes on straight beyond its ends.
    """
    count = np.zeros(len(owner), dtype=np.int64)
    ways, places, crosses = [], [], []
    for number in np.unique(owner):
        own = np.flatnonzero(owner == number)
        piece, way = poses_between(tracks[number], low[own], high[own])
        place, cross = tracks[number].at(way)
        count[own] = np.bincount(piece, minlength=len(own))
        ways.append(way)
        places.append(place)
        crosses.append(cross)
    empty = np.empty((0, 2))
    return Slices(
        owner, low, high, np.append(0, np.cumsum(count)), np.concatenate([np.empty(0), *ways]),
        np.concatenate([empty, *places]), np.concatenate([empty, *crosses]),
    )  # fmt: skip


def stretch_of(sides: Sides, left: Floats, right: Floats) -> Floats:
    """How much ground a metre of way holds, per metre of a strip's width.

    Parameters
    ----------
    sides : Sides
        Quadrilaterals between poses.
    left, right : ndarray, shape (b,)
        Borders of the strips, right of the way, metres.

    Returns
    -------
    ndarray, shape (n, b)
        m²/m²; 1 on a straight, 0 where the strip runs back over its own ground.
    """
    middle = (left + right)[None, :, None] / 2
    run = (sides.place_1 - sides.place_0)[:, None, :] + middle * (sides.cross_1 - sides.cross_0)[:, None, :]
    cross = ((sides.cross_0 + sides.cross_1) / 2)[:, None, :]
    area = cross[..., 0] * run[..., 1] - cross[..., 1] * run[..., 0]
    return np.maximum(area / sides.step[:, None], 0.0)


def areas_on(slices: Slices, edges: Edges, left: Floats, right: Floats) -> Profile:
    """Work out running areas of ground under strips on pieces of ways.

    Parameters
    ----------
    slices : Slices
        The pieces.
    edges : Edges
        Ground in the same frame, interior on the left.
    left, right : ndarray, shape (b,)
        Borders of the strips, right of the way, metres, sorted, each one's right the next one's left.

    Returns
    -------
    Profile
        Strip `j` on piece `i` is band ``i b + j``; running areas begin at the piece's start.
    """
    borders = np.append(left, right[-1])
    bands = len(slices.owner) * len(left)
    found = ramps_on(slices.sides, edges, left, right)
    at = slices.bounds[:-1]
    first = widths_at(slices.place[at], slices.cross[at], edges, borders)
    start = np.repeat(slices.low, len(left)), first.ravel()
    straight = profile_of(found, bands, start=start, end=np.repeat(slices.high, len(left)))
    return _stretched(straight, slices, left, right)


def all_areas_on(slices: Slices, left: Floats, right: Floats) -> Profile:
    """The same where all is ground.

    Parameters
    ----------
    slices : Slices
        The pieces.
    left, right : ndarray, shape (b,)
        Borders of the strips, right of the way, metres, sorted, each one's right the next one's left.

    Returns
    -------
    Profile
        Strip `j` on piece `i` is band ``i b + j``.
    """
    none = np.empty(0)
    nothing = Ramps(none.astype(np.int64), none, none, none, none.astype(np.int64))
    bands = len(slices.owner) * len(left)
    start = np.repeat(slices.low, len(left)), np.tile(right - left, len(slices.owner))
    straight = profile_of(nothing, bands, start=start, end=np.repeat(slices.high, len(left)))
    return _stretched(straight, slices, left, right)


def widths_at(place: Floats, cross: Floats, edges: Edges, borders: Floats) -> Floats:
    """Measure how much of strips' cross lines lies on ground, without anything known beside them.

    Parameters
    ----------
    place, cross : ndarray, shape (n, 2)
        Poses: places, metres, and cross vectors.
    edges : Edges
        Ground in the same frame, interior on the left.
    borders : ndarray, shape (b + 1,)
        Borders of strips side by side, right of the way, metres.

    Returns
    -------
    ndarray, shape (n, b)
        Metres. Less than nothing where ground that is taken out begins a rounding step before the ground
        itself: what comes next makes up for it.
    """
    result = np.zeros((len(place), len(borders) - 1))
    group = max(1, AT_ONCE // max(1, len(edges.kind)))
    for first in range(0, len(place), group):
        some = slice(first, first + group)
        along = np.stack([-cross[some, 1], cross[some, 0]])
        base = (place[some] * along.T).sum(axis=1)
        ua, ub = edges.start @ along - base, edges.end @ along - base
        edge, pose = np.nonzero((ua > 0) != (ub > 0))
        ua, ub = ua[edge, pose], ub[edge, pose]
        own, right = place[some][pose], cross[some][pose]
        size = (right * right).sum(axis=1)
        qa = ((edges.start[edge] - own) * right).sum(axis=1) / size
        qb = ((edges.end[edge] - own) * right).sum(axis=1) / size
        cut = qa + ua / (ua - ub) * (qb - qa)
        # Interior on the left: an edge that runs backwards has its ground at larger offsets.
        begins = np.where(ub < ua, 1.0, -1.0)
        seen = np.maximum(borders[1:] - np.clip(cut[:, None], borders[:-1], borders[1:]), 0.0)
        np.add.at(result[some], pose, begins[:, None] * seen)
    return result


def _stretched(straight: Profile, slices: Slices, left: Floats, right: Floats) -> Profile:
    """Multiply widths by the stretch of each side; its ends become knots."""
    strips = len(left)
    piece = np.arange(straight.bands) // strips
    owner, pose = spread(slices.bounds[piece] + 1, slices.bounds[piece + 1] - 1)
    way = slices.way[pose]
    _, width, slope = straight.at(owner, way)
    band = np.concatenate([np.repeat(np.arange(straight.bands), np.diff(straight.bounds)), owner])
    knot = np.concatenate([straight.knot, way])
    width, slope = np.concatenate([straight.width, width]), np.concatenate([straight.slope, slope])
    order = np.lexsort((np.repeat([0, 1], [len(straight.knot), len(way)]), knot, band))
    band, knot, width, slope = band[order], knot[order], width[order], slope[order]
    # Where a knot of the profile lies on a pose the profile's own values hold for both.
    of = band // strips
    side = bisect(slices.way, slices.bounds[of], slices.bounds[of + 1], knot) - 1
    side = np.clip(side, slices.bounds[of], slices.bounds[of + 1] - 2) - of
    factor = stretch_of(slices.sides, left, right)[side, band % strips]
    width, slope = width * factor, slope * factor
    bounds = np.searchsorted(band, np.arange(straight.bands + 1))
    step = np.diff(knot, append=np.nan)
    step[bounds[1:][bounds[1:] > bounds[:-1]] - 1] = 0.0
    ground = step * (width + slope * step / 2)
    total = np.append(0.0, np.cumsum(ground))
    area = total[:-1] - np.repeat(total[bounds[:-1]], np.diff(bounds))
    return Profile(bounds, knot, width, slope, area, straight.ramps)
