"""Strips side by side along a way, drawn round as one ring with a stair at either end."""

from __future__ import annotations

import numpy as np
import shapely

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.ground.edges import spread
from overlapsim.ground.poses import poses_between, turning
from overlapsim.ground.rails import Rails

SIDE_BY_SIDE = 1e-6
"""Metres of way that neighbouring strips share at least to be drawn round together."""


def rings_round(track: Rails, left: Floats, right: Floats, low: Floats, high: Floats) -> np.ndarray:
    """Draw neighbouring strips without folds as few polygons.

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
    ndarray of shapely.Polygon
        Valid ones that cover the strips together; they may overlap or share borders.
    """
    found = []
    while True:
        order, block = _blocks(left, right, low, high)
        left, right, low, high = (v[order] for v in (left, right, low, high))
        rings = _outlines(track, left, right, low, high, block)
        begin, end = np.full(len(rings), np.inf), np.full(len(rings), -np.inf)
        np.minimum.at(begin, block, low)
        np.maximum.at(end, block, high)
        # Without folds only what turns by half a circle can meet itself.
        bends = np.flatnonzero(turning(track, begin, end) >= np.pi)
        sound = np.ones(len(rings), dtype=bool)
        sound[bends] = shapely.is_valid(rings[bends])
        found.append(rings[sound])
        if sound.all():
            return np.concatenate(found)
        left, right, low, high = _halved(left, right, low, high, ~sound[block], ((begin + end) / 2)[block])


def _halved(
    left: Floats, right: Floats, low: Floats, high: Floats, chosen: Bools, middle: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Cut the chosen strips in two where they lie over the middles of their blocks."""
    left, right, low, high, middle = (v[chosen] for v in (left, right, low, high, middle))
    ends = np.concatenate([low, np.maximum(low, middle)]), np.concatenate([np.minimum(high, middle), high])
    real = ends[1] > ends[0]
    return np.tile(left, 2)[real], np.tile(right, 2)[real], ends[0][real], ends[1][real]


def _blocks(left: Floats, right: Floats, low: Floats, high: Floats) -> tuple[Ints, Ints]:
    """Order strips so that those drawn round together follow one another, and number these blocks."""
    count = len(left)
    order = np.lexsort((low, left))
    borders, band = np.unique(left, return_inverse=True)
    bounds = np.searchsorted(band[order], np.arange(len(borders) + 1))
    following = np.minimum(np.searchsorted(borders, right), len(borders) - 1)
    meets = borders[following] == right
    strip, at = spread(np.where(meets, bounds[following], 0), np.where(meets, bounds[following + 1], 0))
    other = order[at]
    shared = np.minimum(high[strip], high[other]) - np.maximum(low[strip], low[other])
    strip, other, shared = (v[shared > SIDE_BY_SIDE] for v in (strip, other, shared))
    # To each strip the neighbour on its right with which it shares most way, and to each of these one strip.
    for own in (0, 1):
        best = _longest((strip, other)[own], shared)
        strip, other, shared = strip[best], other[best], shared[best]
    head = np.arange(count)
    head[other] = strip
    while True:
        above = head[head]
        if (above == head).all():
            break
        head = above
    order = np.lexsort((left, head))
    return order, np.cumsum(np.append(0, head[order][1:] != head[order][:-1]))


def _longest(own: Ints, shared: Floats) -> Ints:
    """Index of the longest share of each owner."""
    order = np.lexsort((-shared, own))
    return order[np.append(True, own[order][1:] != own[order][:-1])[: len(order)]]


def _outlines(
    track: Rails, left: Floats, right: Floats, low: Floats, high: Floats, block: Ints
) -> np.ndarray:
    """Go round every block: up the left side, to the right over the far ends, down, and back."""
    every = np.arange(len(block))
    first = np.append(True, block[1:] != block[:-1])
    last = np.append(first[1:], True)
    after, before = np.minimum(every + 1, len(block) - 1), np.maximum(every - 1, 0)
    # At each border the ring runs from the end of one strip to the end of its neighbour.
    offset = np.concatenate([left, right])
    begin = np.concatenate([low, high])
    end = np.concatenate([np.where(first, high, low[before]), np.where(last, low, high[after])])
    turn = np.concatenate([np.where(first, -1, len(block) - every), np.zeros(len(block), dtype=np.int64)])
    order = np.lexsort((np.tile(every, 2), turn, np.tile(block, 2)))
    offset, begin, end = offset[order], begin[order], end[order]
    move, way = poses_between(track, np.minimum(begin, end), np.maximum(begin, end))
    step = np.lexsort((np.where(begin <= end, 1.0, -1.0)[move] * way, move))
    move, way = move[step], way[step]
    place, cross = track.at(way)
    points = place + offset[move][:, None] * cross
    return np.asarray(shapely.polygons(shapely.linearrings(points, indices=np.tile(block, 2)[order][move])))
