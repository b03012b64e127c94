"""The ground's account for straight strips: columns, cells and exact areas without an overlay engine.

All row strips of one plan are upright rectangles in the plan frame. Their borders cut the plan into
columns; in a column only the way counts, so that "how often was this planted" is a sweep along one
axis, and the field's part of any stretch is read off the column's running area.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.errors import BalanceError
from overlapsim.basics.frames import Floats, Ints
from overlapsim.ground.edges import Edges, spread
from overlapsim.ground.lap_cover import LapCover
from overlapsim.ground.profile import Profile, profile

SAME_BORDER = 1e-9
"""Metres: borders of strips closer than this are one border, written in two ways by rounding."""

BALANCE = 1e-6
"""Share of the plantable area by which the areas may miss their balance."""


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


ROUNDING = 1e-13
"""Share of the plantable area that is rounding: sums of some thousand terms of it, in double precision."""


@dataclass(frozen=True)
class Strips:
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


@dataclass(frozen=True)
class Account:
    """Areas of one run on one part of a field, m².

    Attributes
    ----------
    plantable_m2, planted_m2, skip_m2, overlap_m2, off_field_m2 : float
        As named; a spot planted twice counts twice in `planted_m2`, once in `overlap_m2`.
    columns : Columns
        Columns of the plan.
    cells : Cells
        What was planted how often.
    ground : Profile
        The plantable ground in the columns.
    laps : LapCover or None
        What headland laps planted.
    """

    plantable_m2: float
    planted_m2: float
    skip_m2: float
    overlap_m2: float
    off_field_m2: float
    columns: Columns
    cells: Cells
    ground: Profile
    laps: LapCover | None


def account(strips: Strips, ground: Edges, plantable_m2: float, laps: LapCover | None = None) -> Account:
    """Account for straight strips, and strips on laps, on one part of a field.

    Parameters
    ----------
    strips : Strips
        Planted rectangles, plan frame.
    ground : Edges
        Plantable ground, plan frame, interior on the left.
    plantable_m2 : float
        Its area from elsewhere, m².
    laps : LapCover, optional
        What headland laps planted.

    Returns
    -------
    Account
        Exact but for rounding.

    Raises
    ------
    BalanceError
        Where planted is not plantable - skip + overlap + off field to :data:`BALANCE`, or a negative
        area comes out.
    """
    columns = columns_of(strips.left, strips.right, strips.leg)
    field = profile(ground, columns.left, columns.right)
    strip, column = columns.under(strips.left, strips.right)
    cells = cells_of(column, strips.low[strip], strips.high[strip])
    inside = field.area_before(cells.column, cells.high) - field.area_before(cells.column, cells.low)
    whole = (columns.right - columns.left)[cells.column] * (cells.high - cells.low)
    union, overlap = float(inside.sum()), float(((cells.times - 1) * inside).sum())
    planted, off = float(strips.area.sum()), float((cells.times * (whole - inside)).sum())
    if laps is not None:
        before = profile(laps.held, columns.left, columns.right)
        again = before.area_before(cells.column, cells.high) - before.area_before(cells.column, cells.low)
        union += laps.union_m2 - float(again.sum())
        overlap += laps.inside_m2 - laps.union_m2 + float(again.sum())
        planted += laps.planted_m2
        off += laps.planted_m2 - laps.inside_m2
    result = Account(
        plantable_m2=plantable_m2,
        planted_m2=planted,
        skip_m2=_area(plantable_m2 - union, plantable_m2),
        overlap_m2=_area(overlap, plantable_m2),
        off_field_m2=_area(off, plantable_m2),
        columns=columns,
        cells=cells,
        ground=field,
        laps=laps,
    )
    check_balance(result)
    return result


def _area(value: float, plantable_m2: float) -> float:
    """An area that rounding took below zero is zero; anything more is left for the balance to refuse."""
    return 0.0 if abs(value) <= ROUNDING * plantable_m2 else value


def check_balance(result: Account) -> None:
    """Refuse areas that do not balance.

    Parameters
    ----------
    result : Account
        Areas of a run.

    Raises
    ------
    BalanceError
        With the difference in words.
    """
    areas = (result.skip_m2, result.overlap_m2, result.off_field_m2)
    miss = result.planted_m2 - (result.plantable_m2 - areas[0] + areas[1] + areas[2])
    if not abs(miss) <= BALANCE * result.plantable_m2:
        raise BalanceError(f"planted ground misses the balance of areas by {miss:.6g} m²")
    if min(areas) < -BALANCE * result.plantable_m2:
        raise BalanceError(f"an area comes out negative: skip, overlap, off field = {areas} m²")
