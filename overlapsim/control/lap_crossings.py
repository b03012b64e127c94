"""Crossings on one leg of a headland lap, its own planted ground included where the leg comes back to it."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Bools, Floats
from overlapsim.drive.laps import outer_less
from overlapsim.ground.cover import cover_of, quads_of
from overlapsim.ground.crossings import Stretches
from overlapsim.ground.edges import Edges, edges_of
from overlapsim.ground.overlay import common, polygons_of
from overlapsim.ground.profile import Profile
from overlapsim.ground.rails import Rails, width_along
from overlapsim.ground.way_areas import widths_at

Conditions = Callable[[Callable[[Edges], Profile], Edges], Stretches]

BEHIND = 2.0
"""Working widths: a leg's own ground counts as held only where it lies more way behind (a convention)."""

MEETS = 1e-2
"""m²: quadrilaterals of one leg that share less than this do not meet."""

ONE = 1e-9
"""Metres: stretches that end and begin this close are one."""


def lap_stretches(
    track: Rails, ground: Edges, area: Callable[[], BaseGeometry], borders: Floats, conditions: Conditions
) -> Stretches:
    """Find where sections come onto a lap's ground and leave it, along one leg.

    Parameters
    ----------
    track : Rails
        The leg's way.
    ground : Edges
        Ground to be planted as earlier legs left it, interior on the left.
    area : callable
        Gives the same ground as polygons; asked only where the leg meets its own ground again.
    borders : ndarray, shape (s + 1,)
        Borders of the sections, right of the way, metres.
    conditions : callable
        Finds where sections' conditions hold, given how ground is seen along the way, and the ground.

    Returns
    -------
    Stretches
        Along the leg's way; exact, but that own ground is taken off in steps of one working width.
    """
    width = float(borders[-1] - borders[0])
    later, earlier = _meetings(track, borders, width)
    if not len(later):
        return _on(track, ground, borders, conditions)
    count = max(1, int(np.ceil(track.length / width)))
    cuts = np.linspace(0.0, track.length, count + 1)
    # Steps that meet no own ground go on as one.
    under = (later[:, :1] < cuts[None, 1:]) & (later[:, 1:] > cuts[None, :-1])
    meets: Bools = np.asarray(under.any(axis=0))
    keep = np.append(True, meets[1:] | meets[:-1])
    cuts = np.append(cuts[:-1][keep], cuts[-1])
    found: list[Stretches] = []
    whole = area()
    for low, high in pairwise(cuts):
        here = ground
        near = earlier[(later[:, 0] < high) & (later[:, 1] > low)]
        if len(near):
            first = max(0.0, high + BEHIND * width - track.length) if track.closed else 0.0
            span = max(first, float(near.min())), min(low - BEHIND * width, float(near.max()))
            held = _own(track, found, borders, *span)
            here = outer_less(ground, edges_of(polygons_of(common(held, whole))))
        piece = _on(_slice(track, low, high), here, borders, conditions)
        moved = piece.low + low, piece.high + low
        found.append(Stretches(piece.band, *moved, piece.low_kind, piece.high_kind))
    return _joined(found)


def _on(track: Rails, ground: Edges, borders: Floats, conditions: Conditions) -> Stretches:
    def seen(edges: Edges) -> Profile:
        first = widths_at(track.place[:1], track.cross[:1], edges, borders)[0]
        return width_along(track, edges, borders[:-1], borders[1:], first)

    return conditions(seen, ground)


def _meetings(track: Rails, borders: Floats, width: float) -> tuple[Floats, Floats]:
    """Where a leg's swath comes back to its own ground more than two working widths on.

    Returns the ranges of way of the later and of the earlier quadrilateral, shape (n, 2) each.
    """
    ends = np.array([0.0]), np.array([track.length])
    _, corner = quads_of(track, borders[:1], borders[-1:], *ends)
    four = np.repeat(np.arange(len(corner)), 4)
    points = shapely.multipoints(corner.reshape(-1, 2), indices=four)
    quads = np.asarray(shapely.convex_hull(points), dtype=object)
    a, b = shapely.STRtree(quads).query(quads, predicate="intersects")
    begin, end = track.way[:-1], track.way[1:]
    gap = begin[a] - end[b]
    if track.closed:
        gap = np.minimum(gap, track.length + begin[b] - end[a])
    far = gap > BEHIND * width
    a, b = a[far], b[far]
    real = shapely.area(shapely.intersection(quads[a], quads[b])) > MEETS
    a, b = a[real], b[real]
    return np.stack([begin[a], end[a]], axis=1), np.stack([begin[b], end[b]], axis=1)


def _own(
    track: Rails, found: list[Stretches], borders: Floats, first: float, last: float
) -> BaseGeometry:
    """Ground that the leg itself has planted on a range of its way."""
    if not found or last <= first:
        return shapely.Polygon()
    band = np.concatenate([f.band for f in found])
    low = np.maximum(np.concatenate([f.low for f in found]), first)
    high = np.minimum(np.concatenate([f.high for f in found]), last)
    real = high > low
    band = band[real]
    return cover_of(track, borders[band], borders[band + 1], low[real], high[real])


def _slice(track: Rails, low: float, high: float) -> Rails:
    """A piece of a way with the cross vectors that it has there."""
    inner = (track.way > low + ONE) & (track.way < high - ONE)
    ends, cross = track.at(np.array([low, min(high, track.length - 1e-12) if track.closed else high]))
    return Rails(
        np.concatenate([ends[:1], track.place[inner], ends[1:]]),
        np.concatenate([cross[:1], track.cross[inner], cross[1:]]),
        np.concatenate([[low], track.way[inner], [high]]) - low,
        False,
    )


def _joined(found: list[Stretches]) -> Stretches:
    """Join stretches that go on from one step to the next."""
    names = ("band", "low", "high", "low_kind", "high_kind")
    band, low, high, low_kind, high_kind = (np.concatenate([getattr(f, n) for f in found]) for n in names)
    order = np.lexsort((low, band))
    band, low, high, low_kind, high_kind = (v[order] for v in (band, low, high, low_kind, high_kind))
    fresh: Bools = np.ones(len(band), dtype=bool)
    fresh[1:] = (band[1:] != band[:-1]) | (low[1:] - high[:-1] > ONE)
    last = np.append(np.flatnonzero(fresh)[1:] - 1, len(band) - 1)[: fresh.sum()]
    return Stretches(band[fresh], low[fresh], high[last], low_kind[fresh], high_kind[last])


def over_the_seam(found: Stretches, length: float, sections: int) -> tuple[Stretches, Bools]:
    """Join stretches of a closed leg over its seam.

    Parameters
    ----------
    found : Stretches
        As if the way were open.
    length : float
        Length of the way, metres.
    sections : int
        Number of sections.

    Returns
    -------
    joined : Stretches
        A stretch over the seam ends beyond the length.
    always : ndarray of bool, shape (s,)
        Sections whose condition holds all the way round.
    """
    high, high_kind = found.high.copy(), found.high_kind.copy()
    keep = np.ones(len(high), dtype=bool)
    always = np.zeros(sections, dtype=bool)
    for section in np.unique(found.band):
        own = np.flatnonzero(found.band == section)
        first, last = own[0], own[-1]
        if found.low[first] > ONE or high[last] < length - ONE:
            continue
        keep[first] = False
        always[section] = first == last
        high[last], high_kind[last] = high[first] + length, high_kind[first]
    joined = Stretches(
        found.band[keep], found.low[keep], high[keep], found.low_kind[keep], high_kind[keep]
    )
    return joined, always
