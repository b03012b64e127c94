"""Corners of a lap's path: where it is cut into legs."""

from __future__ import annotations

import math

import numpy as np

from overlapsim.basics.frames import Floats, Ints

SHARP = math.radians(60.0)
"""Turn of the heading, within half a working width of way, above which a lap is cut (a convention)."""


def turns(points: Floats) -> Floats:
    """Turn of the heading at every vertex of a closed path.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Vertices without repeats, metres.

    Returns
    -------
    ndarray, shape (n,)
        Radians, positive to the left.
    """
    side = np.roll(points, -1, axis=0) - points
    before = np.roll(side, 1, axis=0)
    cross = before[:, 0] * side[:, 1] - before[:, 1] * side[:, 0]
    return np.arctan2(cross, (before * side).sum(axis=1))


def cuts(points: Floats, width: float) -> Ints:
    """Find the vertices at which a closed path is cut.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Vertices without repeats, metres, in driving order.
    width : float
        Working width, metres.

    Returns
    -------
    ndarray of int, shape (k,)
        Vertices, rising; empty where the path has no corner.

    Notes
    -----
    All windows of half a working width in which the heading turns by more than :data:`SHARP` are found
    (not one vertex alone: that would depend on how the boundary was digitised); windows that overlap join
    into one bend, cut where half of its turn is done.

    Examples
    --------
    >>> cuts(np.array([[0.0, 0.0], [0.0, 99.0], [50.0, 99.0], [50.0, 0.0]]), 12.0)
    array([0, 1, 2, 3])
    """
    count = len(points)
    turn = turns(points)
    step = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    place = np.append(0.0, np.cumsum(step)[:-1])
    length = float(step.sum())
    window = min(width / 2, length / 2)
    # Three rounds, so that windows and bends across the seam need no special case.
    places = np.concatenate([place - length, place, place + length])
    turned = np.append(0.0, np.cumsum(np.tile(turn, 3)))
    starts = np.unique(np.concatenate([place, np.mod(place - window, length)]))
    between = (starts + np.append(starts[1:], starts[0] + length)) / 2
    starts = np.unique(np.concatenate([starts, np.mod(between, length), [0.0]]))
    first = np.searchsorted(places, starts - 1e-9, side="left")
    last = np.searchsorted(places, starts + window + 1e-9, side="right")
    sharp = np.abs(turned[last] - turned[first]) > SHARP
    if not sharp.any():
        return np.empty(0, dtype=np.int64)
    bends = _joined(starts[sharp], window, length)
    found = []
    for begin, end in bends:
        inside = np.arange(
            np.searchsorted(places, begin - 1e-9, side="left"),
            np.searchsorted(places, end + 1e-9, side="right"),
        )
        done = np.cumsum(np.tile(turn, 3)[inside])
        half = np.abs(done) >= abs(done[-1]) / 2 - 1e-12
        found.append(inside[int(np.argmax(half))] % count)
    return np.unique(np.array(found, dtype=np.int64))


def _joined(starts: Floats, window: float, length: float) -> list[tuple[float, float]]:
    """Join overlapping windows on a closed way into bends."""
    bends: list[list[float]] = []
    for start in np.sort(starts):
        if bends and start < bends[-1][1]:
            bends[-1][1] = start + window
        else:
            bends.append([float(start), float(start + window)])
    if len(bends) > 1 and bends[-1][1] - length > bends[0][0]:
        first = bends.pop(0)
        bends[-1][1] = max(bends[-1][1], first[1] + length)
    return [(a, min(b, a + length)) for a, b in bends]
