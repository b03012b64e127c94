"""Spots on passes that more than one row end may plant, counted on short pieces of columns."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.control.quadrants import Nodes, Quadrants, union_of
from overlapsim.control.readings import Change, Ends, swept
from overlapsim.ground.columns import Columns, Strips, cells_of
from overlapsim.ground.edges import spread
from overlapsim.ground.profile import Profile

FINEST = 0.02
"""Metres of column that one spot stands for, at least."""

SPOTS = 150_000
"""Spots aimed at in all."""


@dataclass
class Book:
    """What is gathered while areas over shifts are worked out.

    Attributes
    ----------
    rank : ndarray of int, shape (n,)
        Rank of every row, 0 the foremost.
    span : tuple of float
        Range of the offset at matched times, metres.
    late : tuple of float
        By how much starts and stops come later than that offset, metres (position delay).
    apart : ndarray, shape (n, 2)
        How much later than the foremost rank's each row's starts and stops come, metres.
    nodes : Nodes
        Nodes of the table over both shifts.
    changes : dict of (int, int) to list of Change
        By rank and end (0 start, 1 stop): what they change of union, inside and planted area, m².
    joint : dict of int to list
        By quantity (0 union, 1 inside, 2 planted): quadrants that both shifts change together, and the ground
        of each, m².
    """

    rank: Ints
    span: tuple[float, float]
    late: tuple[float, float]
    apart: Floats
    nodes: Nodes
    changes: dict[tuple[int, int], list[Change]] = field(default_factory=lambda: defaultdict(list))
    joint: dict[int, list[tuple[Quadrants, Floats]]] = field(default_factory=lambda: defaultdict(list))

    @property
    def half(self) -> float:
        """Half of the range, metres."""
        return (self.span[1] - self.span[0]) / 2

    def change(self, end: int, rank: Ints, changes: Change) -> None:
        """Enter what ends change, each for itself.

        Parameters
        ----------
        end : int
            0 start, 1 stop.
        rank : ndarray of int, shape (n,)
            Whose they are.
        changes : tuple of ndarray
            Over the offset at matched times.
        """
        for one in range(int(self.rank.max()) + 1):
            mine = np.flatnonzero(rank == one)
            when, value, slope, bend = (part.take(mine, axis=0) for part in changes)
            self.changes[one, end].append((when, value, slope, bend))

    def sweep(
        self, end: int, ground: Profile, ends: Ends, rank: Ints, sign: Floats, share: Floats
    ) -> None:  # fmt: skip
        """Enter what ends change of a running area.

        Parameters
        ----------
        end : int
            0 start, 1 stop.
        ground : Profile
            Running areas.
        ends : Ends
            The ends, as their lower ones.
        rank : ndarray of int, shape (n,)
            Whose they are.
        sign : ndarray, shape (n,)
            1 where ground is won as the setting grows, else -1, no unit.
        share : ndarray, shape (3,)
            How much of the area union, inside and planted take, m²/m².
        """
        owner, when, *amounts = swept(ground, ends.band, ends.low, ends, sign)
        value, slope, bend = (amount[:, None] * share for amount in amounts)
        self.change(end, rank[owner], (when, value, slope, bend))

    def quadrants(self, spot: Ints, row: Ints, past_start: Floats, past_stop: Floats) -> Quadrants:
        """Say at which shifts of the foremost rank stretches plant spots.

        Parameters
        ----------
        spot, row : ndarray of int, shape (n,)
            Spot and row of each pair.
        past_start, past_stop : ndarray, shape (n,)
            How far along the way the spot lies beyond the stretch's start and stop at the middle of the
            range, metres.

        Returns
        -------
        Quadrants
            Those that plant their spot at any shifts of the range.
        """
        middle = (self.span[0] + self.span[1]) / 2
        start = middle + self.late[0] + past_start - self.apart[row, 0]
        stop = middle + self.late[1] + past_stop - self.apart[row, 1]
        return Quadrants(spot, start, stop)

    def add(self, terms: Quadrants, sign: Floats, weight: Floats, quantity: int) -> None:
        """Enter quadrants into the table.

        Parameters
        ----------
        terms : Quadrants
            What is added.
        sign : ndarray, shape (n,)
            1 or -1, no unit.
        weight : ndarray, shape (spots,)
            Ground of each spot, m².
        quantity : int
            0 union, 1 inside, 2 planted.
        """
        self.joint[quantity].append((terms, sign * weight[terms.spot]))

    def table(self) -> Floats:
        """Add up the table.

        Returns
        -------
        ndarray, shape (n, m, 3)
            What both shifts change together of union, inside and planted area, m².
        """
        joint = np.zeros((*self.nodes.shape, 3))
        for quantity, entered in self.joint.items():
            terms, weight = zip(*entered, strict=True)
            joint[:, :, quantity] = self.nodes.table(Quadrants.joined(terms), np.concatenate(weight))
        return joint

    def take_apart(self, stretches: Quadrants, weight: Floats, quantity: int) -> None:
        """Take off what starts and stops count of spots each for itself.

        Parameters
        ----------
        stretches : Quadrants
            One for each stretch over each spot.
        weight : ndarray, shape (spots,)
            Ground of each spot, m².
        quantity : int
            0 union, 1 inside, 2 planted.
        """
        always = np.full(len(stretches.spot), np.inf)
        minus = np.full(len(stretches.spot), -1.0)
        self.add(Quadrants(stretches.spot, stretches.start, -always), minus, weight, quantity)
        self.add(Quadrants(stretches.spot, always, stretches.stop), minus, weight, quantity)


def spots_between(
    column: Ints, place: Floats, half: float, shared: Bools | None = None
) -> tuple[Ints, Floats, Floats]:
    """Cut columns into short pieces where more than one end may come.

    Parameters
    ----------
    column : ndarray of int, shape (n,)
        Column of each end.
    place : ndarray, shape (n,)
        Where it stands at the middle of the range, metres.
    half : float
        How far it may come to either side, metres.
    shared : ndarray of bool, shape (c,), optional
        Columns of which all pieces count that any end may come to.

    Returns
    -------
    column : ndarray of int, shape (m,)
        Column of each piece.
    begin, length : ndarray, shape (m,)
        Where it begins, and how long it is, metres.
    """
    cells = cells_of(column, place - half, place + half)
    meet = cells.times > 1 if shared is None else (cells.times > 1) | shared[cells.column]
    low, length = cells.low[meet], (cells.high - cells.low)[meet]
    count = np.ceil(length / max(FINEST, float(length.sum()) / SPOTS)).astype(np.int64)
    cell, number = spread(np.zeros(len(count), dtype=np.int64), count)
    step = (length / count)[cell]
    return cells.column[meet][cell], low[cell] + number * step, step


def spots_of_passes(
    one: Strips, way: Floats, columns: Columns, under: tuple[Ints, Ints], grounds: tuple[Profile, Profile],
    book: Book,
) -> None:  # fmt: skip
    """Enter what ends of passes do where they meet: over one another, or both ends of a short piece or gap.

    Parameters
    ----------
    one : Strips
        Strips of one part of the field at the middle of the range, plan frame.
    way : ndarray, shape (n,)
        1 or -1 for each strip: driven along the plan or against it, no unit.
    columns : Columns
        Columns of the plan.
    under : tuple of ndarray of int
        Strip and column of each pair.
    grounds : tuple of Profile
        Running areas of free and of plantable ground.
    book : Book
        What is gathered.
    """
    strip, column = under
    # A rank that is shifted otherwise has its window elsewhere: wide enough for all.
    half = book.half + float(np.abs(book.apart).max(initial=0.0))
    band, begin, step = spots_between(
        np.tile(column, 2), np.concatenate([one.low[strip], one.high[strip]]), half, columns.lanes > 1
    )
    if not len(band):
        return
    middle = begin + step / 2
    free, plantable = (g.area_before(band, begin + step) - g.area_before(band, begin) for g in grounds)
    all_ground = (columns.right - columns.left)[band] * step
    # Every strip of the column that may reach the spot.
    order = np.argsort(column, kind="stable")
    spot, item = spread(
        np.searchsorted(column[order], band), np.searchsorted(column[order], band, side="right")
    )
    s = strip[order[item]]
    reaches = (middle[spot] > one.low[s] - half) & (middle[spot] < one.high[s] + half)
    spot, s = spot[reaches], s[reaches]
    turn = way[s]
    place = turn * middle[spot]
    start = np.where(turn > 0, one.low[s], -one.high[s])
    stop = np.where(turn > 0, one.high[s], -one.low[s])
    stretches = book.quadrants(spot, one.row[s], place - start, place - stop)
    lanes = spot * (int(one.leg.max()) + 1) + one.leg[s]
    # A row that starts again before it has stopped plants once: its command pair was dropped.
    of_rows = union_of(stretches, lanes * len(book.rank) + one.row[s])
    for quantity, weight, terms in (
        (0, free, union_of(stretches)), (1, plantable, of_rows), (2, all_ground, of_rows),
    ):  # fmt: skip
        book.add(*terms, weight, quantity)
        book.take_apart(stretches, weight, quantity)
