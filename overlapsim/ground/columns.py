"""Straight strips as columns and cells: how often each place was planted, without an overlay engine.

All row strips of one plan are upright rectangles in the plan frame. Their borders cut the plan into
columns; in a column only the way counts, so that "how often was this planted" is a sweep along one
axis, and the field's part of any stretch is read off the column's running area.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.basics.records import Records
from overlapsim.ground.edges import spread

SAME_BORDER = 1e-9
"""Metres: borders of strips closer than this are one border, written in two ways by rounding."""


def common_borders(*values: Floats) -> tuple[Floats, ...]:
    """Give borders that differ by rounding alone the same value, bit for bit.

    Parameters
    ----------
    *values : ndarray
        Borders across the plan, metres.

    Returns
    -------
    tuple of ndarray
        The same arrays with equal values where they lie within :data:`SAME_BORDER`.

    Examples
    --------
    >>> common_borders(np.array([0.1 + 0.2]), np.array([0.3]))
    (array([0.3]), array([0.3]))
    """
    flat = np.concatenate([v.ravel() for v in values])
    if not len(flat):
        return values
    order = np.argsort(flat, kind="stable")
    fresh = np.append(True, np.diff(flat[order]) > SAME_BORDER)
    same = flat[order][np.flatnonzero(fresh)][np.cumsum(fresh) - 1]
    result = np.empty_like(flat)
    result[order] = same
    return tuple(
        part.reshape(v.shape)
        for part, v in zip(np.split(result, np.cumsum([v.size for v in values])[:-1]), values, strict=True)
    )


@dataclass(frozen=True)
class Strips(Records):
    """Rectangles of planted ground in the plan frame, one for each stretch of each row.

    Attributes
    ----------
    left, right : ndarray, shape (n,)
        Borders across, metres, common borders bit for bit equal.
    low, high : ndarray, shape (n,)
        Ends along the plan, metres.
    leg, row : ndarray of int, shape (n,)
        Index of the leg (from 0) and of the row (from the left, from 0).
    """

    left: Floats
    right: Floats
    low: Floats
    high: Floats
    leg: Ints
    row: Ints

    @property
    def area(self) -> Floats:
        """Area of each rectangle, m²."""
        return (self.right - self.left) * (self.high - self.low)


@dataclass(frozen=True)
class Columns:
    """Columns of the plan between neighbouring borders of strips, where there is a strip.

    Attributes
    ----------
    left, right : ndarray, shape (c,)
        Borders across, metres, sorted.
    lanes : ndarray of int, shape (c,)
        How many different strips across the plan lie over the column.
    """

    left: Floats
    right: Floats
    lanes: Ints

    def under(self, left: Floats, right: Floats) -> tuple[Ints, Ints]:
        """List the columns under strips.

        Parameters
        ----------
        left, right : ndarray, shape (n,)
            Borders of strips, taken from those that made the columns.

        Returns
        -------
        strip, column : ndarray of int, shape (m,)
            Pairs of indices.
        """
        return spread(np.searchsorted(self.left, left), np.searchsorted(self.left, right))


def columns_of(left: Floats, right: Floats, leg: Ints) -> Columns:
    """Cut the plan into columns at the borders of strips.

    Parameters
    ----------
    left, right : ndarray, shape (n,)
        Borders of strips across, metres, common borders equal; the same strip may come repeatedly.
    leg : ndarray of int, shape (n,)
        Which leg laid the strip: the same ground under two legs is two lanes.

    Returns
    -------
    Columns
        Only those under at least one strip.
    """
    distinct = np.unique(np.stack([left, right, leg], axis=1), axis=0).reshape(-1, 3)[:, :2]
    borders = np.unique(distinct)
    change = np.zeros(len(borders) + 1, dtype=np.int64)
    np.add.at(change, np.searchsorted(borders, distinct[:, 0]), 1)
    np.add.at(change, np.searchsorted(borders, distinct[:, 1]), -1)
    lanes = np.cumsum(change)[: max(len(borders) - 1, 0)]
    used = lanes > 0
    return Columns(borders[:-1][used], borders[1:][used], lanes[used])


@dataclass(frozen=True)
class Cells:
    """Stretches of columns that were planted equally often.

    Attributes
    ----------
    column, times : ndarray of int, shape (n,)
        Column, and how many strips cover the cell (1 or more).
    low, high : ndarray, shape (n,)
        Ends along the plan, metres.
    """

    column: Ints
    times: Ints
    low: Floats
    high: Floats


def cells_of(column: Ints, low: Floats, high: Floats) -> Cells:
    """Sweep stretches along their columns and count how many cover each place.

    Parameters
    ----------
    column : ndarray of int, shape (n,)
        Column of each stretch.
    low, high : ndarray, shape (n,)
        Its ends along the plan, metres.

    Returns
    -------
    Cells
        Sorted by column and place.

    Examples
    --------
    >>> found = cells_of(np.array([0, 0]), np.array([0.0, 8.0]), np.array([10.0, 20.0]))
    >>> found.times, found.high - found.low
    (array([1, 2, 1]), array([ 8.,  2., 10.]))
    """
    at = np.concatenate([low, high])
    of = np.concatenate([column, column])
    change = np.concatenate([np.ones(len(low), dtype=np.int64), -np.ones(len(high), dtype=np.int64)])
    order = np.lexsort((at, of))
    at, of, times = at[order], of[order], np.cumsum(change[order])
    real = (times[:-1] > 0) & (of[1:] == of[:-1]) & (at[1:] > at[:-1])
    return Cells(of[:-1][real], times[:-1][real], at[:-1][real], at[1:][real])
