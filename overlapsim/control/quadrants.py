"""Ground over two shifts: when starts come by one shift later and stops by another one.

A spot is planted by a stretch of seed where the start has not come past it and the stop has: where the
starts' shift is at most one number and the stops' shift at least another. In the plane of both shifts that is
a quadrant. What several stretches plant together is a union of quadrants, a staircase.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.basics.records import Records

STEP = 0.04
"""Metres between the nodes of a table over both shifts."""


@dataclass(frozen=True)
class Quadrants(Records):
    """Spots, and for each of them the shifts at which stretches plant it.

    Attributes
    ----------
    spot : ndarray of int, shape (n,)
        Spot of each pair of a spot and a stretch.
    start : ndarray, shape (n,)
        Largest shift of starts at which the stretch still plants the spot, metres.
    stop : ndarray, shape (n,)
        Least shift of stops at which it plants it, metres.
    """

    spot: Ints
    start: Floats
    stop: Floats


def union_of(quadrants: Quadrants, group: Ints | None = None) -> tuple[Quadrants, Floats]:
    """Write unions of quadrants as sums of quadrants with signs.

    Parameters
    ----------
    quadrants : Quadrants
        Spots and their quadrants.
    group : ndarray of int, shape (n,), optional
        Pairs that are joined; by default all of one spot.

    Returns
    -------
    terms : Quadrants
        Quadrants to be added up.
    sign : ndarray, shape (m,)
        1 or -1, no unit.

    Notes
    -----
    By falling `start` every quadrant adds the ground between its `stop` and the least `stop` so far.

    Examples
    --------
    >>> both = Quadrants(np.array([0, 0]), np.array([1.0, 2.0]), np.array([-1.0, 0.0]))
    >>> terms, sign = union_of(both)
    >>> sorted(zip(terms.start.tolist(), terms.stop.tolist(), sign.tolist()))
    [(1.0, -1.0, 1.0), (1.0, 0.0, -1.0), (2.0, 0.0, 1.0)]
    """
    of = quadrants.spot if group is None else group
    if (np.diff(of) > 0).all():
        return quadrants, np.ones(len(of))
    order = np.lexsort((-quadrants.start, of))
    of, start, stop = of[order], quadrants.start[order], quadrants.stop[order]
    fresh: Bools = np.ones(len(of), dtype=bool)
    fresh[1:] = of[1:] != of[:-1]
    begin = np.flatnonzero(fresh)
    before: Floats = np.full(len(of), np.inf)
    at, last = begin + 1, np.append(begin[1:], len(of))
    while (goes_on := at < last).any():
        at, last = at[goes_on], last[goes_on]
        before[at] = np.minimum(before[at - 1], stop[at - 1])
        at = at + 1
    gains = stop < before
    takes = gains & np.isfinite(before)
    spot = quadrants.spot[order]
    terms = Quadrants(
        np.concatenate([spot[gains], spot[takes]]),
        np.concatenate([start[gains], start[takes]]),
        np.concatenate([stop[gains], before[takes]]),
    )
    return terms, np.repeat([1.0, -1.0], [int(gains.sum()), int(takes.sum())])


@dataclass(frozen=True)
class Nodes:
    """Nodes of a table over both shifts.

    Attributes
    ----------
    start, stop : tuple of float
        Ranges of both shifts, metres.
    """

    start: tuple[float, float]
    stop: tuple[float, float]

    @property
    def shape(self) -> tuple[int, int]:
        """How many nodes there are along both shifts; they stand :data:`STEP` apart."""
        one, other = (int(np.ceil((b - a) / STEP - 1e-9)) + 1 for a, b in (self.start, self.stop))
        return one, other

    def table(self, terms: Quadrants, weight: Floats) -> Floats:
        """Add up quadrants on all nodes.

        Parameters
        ----------
        terms : Quadrants
            What is added up.
        weight : ndarray, shape (n,)
            Ground of each, m².

        Returns
        -------
        ndarray, shape `shape`
            m²; each node holds the mean over half a step to either side, so that values read between nodes
            are right on average.
        """
        rows, columns = self.shape
        along = np.clip((terms.start - self.start[0]) / STEP + 0.5, 0.0, rows)
        across = np.clip((terms.stop - self.stop[0]) / STEP + 0.5, 0.0, columns)
        j, k = along.astype(np.int64), across.astype(np.int64)
        f, g = along - j, across - k
        total = np.zeros((rows + 2) * (columns + 2))
        # A start serves all nodes up to its own, a stop all nodes from its own on.
        for dj, part in ((0, 1.0 - f), (1, f)):
            for dk, share in ((0, 1.0 - g), (1, g)):
                at = (j + dj) * (columns + 2) + k + dk
                total += np.bincount(at, weight * part * share, minlength=len(total))
        every = np.cumsum(np.cumsum(total.reshape(rows + 2, columns + 2)[::-1], axis=0)[::-1], axis=1)
        return np.asarray(every[1 : rows + 1, :columns])

    def read(self, table: Floats, start: float, stop: float) -> Floats:
        """Read a table between its nodes.

        Parameters
        ----------
        table : ndarray, shape (n, m, q)
            On all nodes, in any unit.
        start, stop : float
            Both shifts, within their ranges, metres.

        Returns
        -------
        ndarray, shape (q,)
            In the table's unit.
        """
        rows, columns = self.shape
        u, v = (start - self.start[0]) / STEP, (stop - self.stop[0]) / STEP
        j, k = min(max(int(u), 0), rows - 2), min(max(int(v), 0), columns - 2)
        f, g = u - j, v - k
        one = (1 - g) * table[j, k] + g * table[j, k + 1]
        other = (1 - g) * table[j + 1, k] + g * table[j + 1, k + 1]
        return np.asarray((1 - f) * one + f * other)
