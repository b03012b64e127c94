"""Ways with bends: poses on rails, and the width of ground under cross lines that run along them.

A leg with bends is a polyline with a cross vector at every vertex. The vector lies along the bisector
and is longer by 1/cos(turn/2), so that a strip between two offsets keeps its full width on the straights
and neighbouring strips share their border. Between two vertices the cross line glides from one vector to
the other. Beyond its ends an open way goes on straight.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints
from overlapsim.ground.edges import JUMP, Edges, Ramps, spread
from overlapsim.ground.profile import Profile, profile_of

TURNED_OVER = 1e-9
"""Metres: where a quadrilateral between two poses is shorter than this it holds no ground."""


@dataclass(frozen=True)
class Rails:
    """A polyline with cross vectors.

    Attributes
    ----------
    place : ndarray, shape (n, 2)
        Vertices, metres; a closed way repeats its first vertex at the end.
    cross : ndarray, shape (n, 2)
        To the right, so long that an offset times it keeps its distance from both neighbouring sides.
    way : ndarray, shape (n,)
        Length along the polyline, metres, from 0.
    closed : bool
        Whether the way has neither start nor end.
    """

    place: Floats
    cross: Floats
    way: Floats
    closed: bool

    @property
    def length(self) -> float:
        """Length from the first to the last vertex, metres."""
        return float(self.way[-1])

    def at(self, way: Floats) -> tuple[Floats, Floats]:
        """Places and cross vectors along the way.

        Parameters
        ----------
        way : ndarray, shape (m,)
            Metres; beyond the ends an open way goes on straight, a closed one round.

        Returns
        -------
        place, cross : ndarray, shape (m, 2)
            Metres, and the cross vectors there.
        """
        if self.closed:
            way = np.mod(way, self.length)
        k = np.clip(np.searchsorted(self.way, way, side="right") - 1, 0, len(self.way) - 2)
        step = self.way[k + 1] - self.way[k]
        share = ((way - self.way[k]) / step)[:, None]
        glide = np.clip(share, 0.0, 1.0)
        place = self.place[k] + share * (self.place[k + 1] - self.place[k])
        return place, self.cross[k] + glide * (self.cross[k + 1] - self.cross[k])


def rails(points: Floats, closed: bool) -> Rails:
    """Lay rails along a polyline.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Vertices without repeats, metres; a closed one without its first vertex at the end.
    closed : bool
        Whether the last vertex goes on to the first.

    Returns
    -------
    Rails
        At the ends of an open way the cross vectors are square to it.

    Examples
    --------
    >>> bend = rails(np.array([[0.0, 0.0], [0.0, 10.0], [10.0, 10.0]]), closed=False)
    >>> bend.cross[1].round(6), bend.way
    (array([ 1., -1.]), array([ 0., 10., 20.]))
    """
    place = np.concatenate([points, points[:1]]) if closed else points
    side = np.diff(place, axis=0)
    step = np.hypot(side[:, 0], side[:, 1])
    right = np.stack([side[:, 1], -side[:, 0]], axis=1) / step[:, None]
    if closed:
        before, after = np.concatenate([right[-1:], right]), np.concatenate([right, right[:1]])
    else:
        before, after = np.concatenate([right[:1], right]), np.concatenate([right, right[-1:]])
    middle = before + after
    # n1 + n2 has the length 2 cos(turn/2); dividing by 1 + n1·n2 = 2 cos²(turn/2) gives 1/cos.
    scale = 1.0 + (before * after).sum(axis=1)
    return Rails(place, middle / scale[:, None], np.append(0.0, np.cumsum(step)), closed)


@dataclass(frozen=True)
class Sides:
    """Quadrilaterals between successive poses, of one way or of many.

    Attributes
    ----------
    place_0, place_1, cross_0, cross_1 : ndarray, shape (n, 2)
        Places at start and end, metres, and the cross vectors there.
    begin, step : ndarray, shape (n,)
        Way at the start, and from start to end, metres.
    group : ndarray of int, shape (n,)
        Which way it belongs to.
    """

    place_0: Floats
    place_1: Floats
    cross_0: Floats
    cross_1: Floats
    begin: Floats
    step: Floats
    group: Ints


def width_along(track: Rails, edges: Edges, left: Floats, right: Floats, first: Floats) -> Profile:
    """Work out how much of each band's cross line lies on ground, all along a way.

    Parameters
    ----------
    track : Rails
        The way.
    edges : Edges
        Ground in the same frame, interior on the left.
    left, right : ndarray, shape (b,)
        Borders of the bands, right of the way, metres, sorted, not overlapping.
    first : ndarray, shape (b,)
        Width on ground at the way's start, metres.

    Returns
    -------
    Profile
        Over the way from 0 to its length; its running areas are those of the straightened way.
    """
    sides = Sides(
        track.place[:-1], track.place[1:], track.cross[:-1], track.cross[1:], track.way[:-1],
        np.diff(track.way), np.zeros(len(track.way) - 1, dtype=np.int64),
    )  # fmt: skip
    found = ramps_on(sides, edges, left, right)
    return profile_of(found, len(left), start=(0.0, first), end=track.length)


def ramps_on(sides: Sides, edges: Edges, left: Floats, right: Floats) -> Ramps:
    """Clip edges to the quadrilaterals between successive poses, and these to bands.

    Parameters
    ----------
    sides : Sides
        Of any number of ways.
    edges : Edges
        Ground in the same frame, interior on the left.
    left, right : ndarray, shape (b,)
        Borders of the bands of every way, right of it, metres, sorted, not overlapping.

    Returns
    -------
    Ramps
        Band `j` of way `g` has the number ``g b + j``.
    """
    low, high = float(left[0]), float(right[-1])
    hull = np.concatenate(
        [
            np.stack([place + x * cross for x in (low, high)], axis=1)
            for place, cross in ((sides.place_0, sides.cross_0), (sides.place_1, sides.cross_1))
        ],
        axis=1,
    )
    least, most = hull.min(axis=1), hull.max(axis=1)
    start, end = edges.start, edges.end
    within = np.ones(len(start), dtype=bool)
    for i in range(2):
        within &= np.maximum(start[:, i], end[:, i]) >= least[:, i].min(initial=np.inf)
        within &= np.minimum(start[:, i], end[:, i]) <= most[:, i].max(initial=-np.inf)
    near = np.flatnonzero(within)
    line = np.stack([start[near], end[near]], axis=1)
    tree = shapely.STRtree(shapely.box(*line.min(axis=1).T, *line.max(axis=1).T))
    quad, edge = tree.query(shapely.box(*least.T, *most.T))
    edge = near[edge]
    along = (sides.place_1 - sides.place_0) / sides.step[:, None]
    # Lean of the cross vectors against the square one, at the start and at the end of each side.
    lean_0 = (sides.cross_0 * along).sum(axis=1)[quad]
    lean_1 = (sides.cross_1 * along).sum(axis=1)[quad]
    ahead, step, begin = along[quad], sides.step[quad], sides.begin[quad]
    first_band = sides.group[quad] * len(left)

    def local(xy: Floats) -> tuple[Floats, Floats]:
        rel = xy[edge] - sides.place_0[quad]
        return (
            rel[:, 0] * ahead[:, 0] + rel[:, 1] * ahead[:, 1],
            rel[:, 0] * ahead[:, 1] - rel[:, 1] * ahead[:, 0],
        )

    def beyond(place: Floats, cross: Floats, xy: Floats) -> Floats:
        # The same numbers for the side that ends on a cross line as for the one that begins there: an edge
        # exactly on it belongs to one of them.
        rel = xy[edge] - place[quad]
        return cross[quad, 0] * rel[:, 1] - cross[quad, 1] * rel[:, 0]

    (u0, q0), (u1, q1) = local(edges.start), local(edges.end)
    start_0, start_1 = (beyond(sides.place_0, sides.cross_0, xy) for xy in (edges.start, edges.end))
    end_0, end_1 = (beyond(sides.place_1, sides.cross_1, xy) for xy in (edges.start, edges.end))
    parts = []
    for turned in (1.0, -1.0):
        # Share of the edge, 0 to 1, inside: behind the start line, before the end line, in the swath,
        # and where the quadrilateral is the right way round (or, the second time, turned over).
        limits = [
            (turned * start_0, turned * start_1),
            (-turned * end_0, -turned * end_1),
            (q0 - low, q1 - low),
            (high - q0, high - q1),
            (
                turned * (step + q0 * (lean_1 - lean_0)) - TURNED_OVER,
                turned * (step + q1 * (lean_1 - lean_0)) - TURNED_OVER,
            ),
        ]
        a, b = _inside(limits)
        use = np.flatnonzero(b > a)
        parts.append(
            _by_band(
                u0[use], q0[use], u1[use], q1[use], a[use], b[use], lean_0[use], lean_1[use],
                step[use], begin[use], turned, edges.kind[edge[use]], left, right, first_band[use],
            )
        )  # fmt: skip
    return Ramps(*(np.concatenate(v) for v in zip(*parts, strict=True)))


def _inside(limits: list[tuple[Floats, Floats]]) -> tuple[Floats, Floats]:
    """Share of each line on which all of several linear functions are positive; the first may be zero."""
    a, b = np.zeros(len(limits[0][0])), np.ones(len(limits[0][0]))
    for number, (at_0, at_1) in enumerate(limits):
        with np.errstate(divide="ignore", invalid="ignore"):
            zero = at_0 / (at_0 - at_1)
        a = np.where((at_0 < 0) & (at_1 > 0), np.maximum(a, zero), a)
        b = np.where((at_0 > 0) & (at_1 < 0), np.minimum(b, zero), b)
        # An edge along the start line is inside, along any other limit outside.
        on_start = (at_0 == 0) & (at_1 == 0) & (number == 0)
        b = np.where((at_0 <= 0) & (at_1 <= 0) & ~on_start, -1.0, b)
    return a, b


def _by_band(
    u0: Floats, q0: Floats, u1: Floats, q1: Floats, a: Floats, b: Floats, lean_0: Floats, lean_1: Floats,
    step: Floats, begin: Floats, turned: float, kind: Ints, left: Floats, right: Floats, first_band: Ints,
) -> tuple[Ints, Floats, Floats, Floats, Ints]:  # fmt: skip
    """Split clipped edges at the bands' borders and read the way at both ends of each piece."""
    qa, qb = q0 + a * (q1 - q0), q0 + b * (q1 - q0)
    ua, ub = u0 + a * (u1 - u0), u0 + b * (u1 - u0)
    small, large = np.minimum(qa, qb), np.maximum(qa, qb)
    owner, band = spread(
        np.searchsorted(right, small, side="right"), np.searchsorted(left, large, side="left")
    )
    from_, to = np.maximum(small[owner], left[band]), np.minimum(large[owner], right[band])
    real = to > from_
    owner, band, from_, to = owner[real], band[real], from_[real], to[real]
    slope = (ub - ua)[owner] / (qb - qa)[owner]

    def way(q: Floats) -> Floats:
        u = ua[owner] + slope * (q - qa[owner])
        before = q * lean_0[owner]
        length = step[owner] + q * (lean_1 - lean_0)[owner]
        return begin[owner] + np.clip((u - before) / length, 0.0, 1.0) * step[owner]

    first, last = way(from_), way(to)
    low, high = np.minimum(first, last), np.maximum(first, last)
    square = high - low < JUMP
    middle = (low + high) / 2
    change = np.where((qb > qa)[owner], to - from_, from_ - to) * turned
    band = band + first_band[owner]
    return band, np.where(square, middle, low), np.where(square, middle, high), change, kind[owner]
