"""What lies between two places of a way with bends: vertices, bends, and folds of strips along it."""

from __future__ import annotations

import numpy as np

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.ground.edges import spread
from overlapsim.ground.rails import TURNED_OVER, Rails


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


def folds(track: Rails, left: Floats, right: Floats, low: Floats, high: Floats) -> Bools:
    """Tell which strips have an edge that runs back somewhere.

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
    ndarray of bool, shape (n,)
        The ring round such a strip may be simple and yet miss ground.
    """
    side, step = np.diff(track.place, axis=0), np.diff(track.way)
    # The parallel at an offset q is as long as the side itself and q times this.
    growth = (np.diff(track.cross, axis=0) * side).sum(axis=1) / step
    back_left = step + left.min() * growth < TURNED_OVER
    back_right = step + right.max() * growth < TURNED_OVER
    if not (back_left | back_right).any():
        return np.zeros(len(left), dtype=bool)
    first, last = _sides(track, low, high)
    strip, number = spread(first, last + 1)
    number %= len(step)
    shortest = step[number] + np.minimum(left[strip] * growth[number], right[strip] * growth[number])
    return np.bincount(strip, shortest < TURNED_OVER, minlength=len(left)) > 0


def turning(track: Rails, low: Floats, high: Floats) -> Floats:
    """How far the way turns on stretches, left and right added up.

    Parameters
    ----------
    track : Rails
        The way.
    low, high : ndarray, shape (n,)
        Ends of the stretches, metres.

    Returns
    -------
    ndarray, shape (n,)
        Radians. Below half a turn a strip whose edges do not run back cannot meet itself.
    """
    side = np.diff(track.place, axis=0)
    before = np.roll(side, 1, axis=0)
    cross = before[:, 0] * side[:, 1] - before[:, 1] * side[:, 0]
    turn = np.abs(np.arctan2(cross, (before * side).sum(axis=1)))
    if not track.closed:
        turn[0] = 0.0
    first, last = _sides(track, low, high)
    rounds, total = len(turn), np.cumsum(turn)
    return total[last % rounds] - total[first % rounds] + total[-1] * (last // rounds - first // rounds)


def _sides(track: Rails, low: Floats, high: Floats) -> tuple[Ints, Ints]:
    """First and last side under stretches; those of a closed way are counted on, round after round."""
    count = len(track.way) - 1
    if not track.closed:
        first = np.searchsorted(track.way[1:-1], low, side="right")
        return first, np.maximum(first, np.searchsorted(track.way[1:-1], high, side="left"))
    round_low, round_high = np.floor(low / track.length), np.floor(high / track.length)
    first = np.searchsorted(track.way[1:-1], low - round_low * track.length, side="right")
    last = np.searchsorted(track.way[1:-1], high - round_high * track.length, side="left")
    first = first + count * round_low.astype(np.int64)
    return first, np.maximum(first, last + count * round_high.astype(np.int64))
