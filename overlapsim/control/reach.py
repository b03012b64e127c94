"""What rows plant at every offset of a range (the core), and where that depends on it (the windows)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.basics.records import Records
from overlapsim.control.chains import Chains
from overlapsim.control.commands import commands, update_phase
from overlapsim.control.pieces import pieces_of
from overlapsim.control.response import Sowing, sow
from overlapsim.drive.legs import Drive
from overlapsim.ground.columns import cells_of
from overlapsim.ground.profile import bisect

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

ROUNDING = 1e-9
"""Metres of way that rounding may add."""


@dataclass(frozen=True)
class Moved:
    """Stretches on which rows drop seed, each over a range of the offset on which it moves evenly.

    Attributes
    ----------
    sowing : Sowing
        The stretches at the middle of their ranges; each range of each chain has a number of its own.
    drift : ndarray, shape (n,)
        Metres of way per metre of offset.
    first, last : ndarray, shape (n,)
        Range of the offset of each stretch, metres behind the hitch pin.
    idle_leg, idle_row : ndarray of int, shape (m,)
        Legs and rows that drop no seed on a range of the offset.
    """

    sowing: Sowing
    drift: Floats
    first: Floats
    last: Floats
    idle_leg: Ints
    idle_row: Ints


def moved(
    scenario: Scenario, drive: Drive, chains: Chains, low: float, high: float, moving: frozenset[str] | None
) -> Moved:
    """Lay stretches of seed for all offsets of a range.

    Parameters
    ----------
    scenario : Scenario
        All but the offset as it stands.
    drive : Drive
        Legs and rows.
    chains : Chains
        Crossings.
    low, high : float
        Range of the offset, metres behind the hitch pin.
    moving : frozenset of str or None
        Ranks whose own offset is varied; None where one offset serves all.

    Returns
    -------
    Moved
        Sorted by row, chain, range and way.
    """
    pieces = pieces_of(scenario, drive, chains, low, high, moving)
    virtual = chains.take(pieces.chain)
    given = commands(scenario, virtual, pieces.reference, pieces.start, update_phase(virtual.leg))
    sowing = sow(scenario, drive.layout, virtual, given)
    piece = sowing.chain
    layout = drive.layout
    rows = np.flatnonzero(~layout.off)
    obeys = virtual.section[None, :] == layout.section_of_row[rows][:, None]
    obeys &= (virtual.rank[None, :] == "") | (virtual.rank[None, :] == layout.rank[rows][:, None])
    number = np.full(len(layout.off), -1)
    number[rows] = np.arange(len(rows))
    obeys[number[sowing.row], piece] = False
    row, idle = np.nonzero(obeys)
    return Moved(
        sowing, pieces.rate[piece], pieces.first[piece], pieces.last[piece], virtual.leg[idle], rows[row]
    )


@dataclass(frozen=True)
class Spans(Records):
    """Parts of rows' ways, sorted by leg, row and way.

    Attributes
    ----------
    leg, row : ndarray of int, shape (n,)
        Index of the leg (from 0) and of the row (from the left, from 0).
    low, high : ndarray, shape (n,)
        Ends on the leg's way, metres; on a closed leg from 0 to its length.
    """

    leg: Ints
    row: Ints
    low: Floats
    high: Floats


def ring_lengths(drive: Drive) -> Floats:
    """Read how long closed legs are.

    Parameters
    ----------
    drive : Drive
        Legs.

    Returns
    -------
    ndarray, shape (l,)
        Metres; 0 for legs that are open.
    """
    return np.array([leg.track.length if leg.closed and leg.track else 0.0 for leg in drive.legs])


def core_and_windows(
    drive: Drive, found: Moved, whole: Spans | None = None, more: float = 0.0
) -> tuple[Spans, Spans]:
    """Tell ground that is planted at every offset from ground that is planted at some.

    Parameters
    ----------
    drive : Drive
        Legs.
    found : Moved
        All stretches, range by range.
    whole : Spans, optional
        Rows that are on all the way round closed legs.
    more : float
        Metres by which windows are made wider at both ends, so that they hold those of other settings too.

    Returns
    -------
    core, windows : Spans
        Apart from one another; together all that is planted at any offset.
    """
    sowing, rows = found.sowing, len(drive.layout.off)
    length = ring_lengths(drive)
    half = np.abs(found.drift) * (found.last - found.first) / 2 + more
    group = sowing.leg * rows + sowing.row
    on, off = sowing.on, sowing.off
    around = length[sowing.leg]
    # Gaps lie between stretches of one row on one range, and before the first and behind the last one.
    fresh: Bools = np.ones(len(on) + 1, dtype=bool)
    fresh[1:-1] = (sowing.chain[1:] != sowing.chain[:-1]) | (sowing.row[1:] != sowing.row[:-1])
    begins, ends = np.flatnonzero(fresh[:-1]), np.flatnonzero(fresh[1:])
    round_ = around > 0
    before: Floats = np.where(round_, 0.0, -np.inf)
    gap_low = np.concatenate([off - half, np.full(len(begins), -np.inf)])
    following = np.append(on[1:] + half[1:], np.inf)[: len(on)]
    following[ends] = np.inf
    # Round a closed leg the last gap ends where the first stretch begins, one round later.
    turn = round_[ends]
    following[ends[turn]] = (on + half)[begins[turn]] + around[ends[turn]]
    gap_high = np.concatenate([following, (on + half)[begins]])
    gap_group = np.concatenate([group, group[begins]])
    keep = np.concatenate([np.ones(len(on), dtype=bool), before[begins] < 0])
    idle = found.idle_leg * rows + found.idle_row
    if whole is not None:
        # They need no commands.
        idle = idle[~np.isin(idle, whole.leg * rows + whole.row)]
    nothing = np.full(len(idle), np.inf)
    gaps = (
        np.concatenate([gap_group[keep], idle]),
        np.concatenate([gap_low[keep], -nothing]),
        np.concatenate([gap_high[keep], nothing]),
    )
    covers = group, on - half, off + half
    if whole is not None:
        rounds = (whole.leg * rows + whole.row, whole.low, whole.high)
        covers = tuple(np.concatenate(v) for v in zip(covers, rounds, strict=True))  # type: ignore[assignment]
    core, windows = _sorted_out(_round(covers, length, rows), _round(gaps, length, rows))
    return tuple(_spans(part, length, rows) for part in (core, windows))  # type: ignore[return-value]


Groups = tuple[Ints, Floats, Floats]


def _round(parts: Groups, length: Floats, rows: int) -> Groups:
    """Repeat parts of closed legs one round before and one behind."""
    group, low, high = parts
    around = length[group // rows]
    closed = np.flatnonzero(around > 0)
    group = np.concatenate([group, group[closed], group[closed]])
    low = np.concatenate([low, low[closed] - around[closed], low[closed] + around[closed]])
    high = np.concatenate([high, high[closed] - around[closed], high[closed] + around[closed]])
    return group, low, high


def _sorted_out(covers: Groups, gaps: Groups) -> tuple[Groups, Groups]:
    """Ground that is covered and no gap, and ground that is both, group by group."""
    group = np.concatenate([covers[0], covers[0], gaps[0], gaps[0]])
    place = np.concatenate([covers[1], covers[2], gaps[1], gaps[2]])
    change = np.repeat([1, -1, 0, 0], [len(covers[0])] * 2 + [len(gaps[0])] * 2)
    open_ = np.repeat([0, 0, 1, -1], [len(covers[0])] * 2 + [len(gaps[0])] * 2)
    order = np.lexsort((place, group))
    group, place = group[order], place[order]
    covered, gap = np.cumsum(change[order])[:-1] > 0, np.cumsum(open_[order])[:-1] > 0
    real = (group[1:] == group[:-1]) & (place[1:] > place[:-1]) & covered
    found = []
    for part in (np.flatnonzero(real & ~gap), np.flatnonzero(real & gap)):
        of, low, high = group[part], place[part], place[part + 1]
        begins: Bools = np.ones(len(part), dtype=bool)
        begins[1:] = (of[1:] != of[:-1]) | (low[1:] > high[:-1])
        last = np.append(np.flatnonzero(begins)[1:] - 1, len(part) - 1)[: begins.sum()]
        found.append((of[begins], low[begins], high[last]))
    return found[0], found[1]


def _spans(parts: Groups, length: Floats, rows: int) -> Spans:
    """Cut parts of closed legs at the seam."""
    group, low, high = parts
    around = length[group // rows]
    closed = around > 0
    low = np.where(closed, np.maximum(low, 0.0), low)
    high = np.where(closed, np.minimum(high, around), high)
    real = high > low
    return Spans(group[real] // rows, group[real] % rows, low[real], high[real])


def near_ends(windows: Spans, beside: float, rings: Floats) -> tuple[Ints, Floats, Floats]:
    """Pieces of legs' ways that hold all rows' windows.

    Parameters
    ----------
    windows : Spans
        Windows row by row.
    beside : float
        Metres that a piece reaches beyond them.
    rings : ndarray, shape (l,)
        Length of each closed leg, 0 for others, metres.

    Returns
    -------
    leg : ndarray of int, shape (n,)
        Legs, rising.
    low, high : ndarray, shape (n,)
        Ends of the pieces, metres. On a closed leg one that holds windows on both sides of the seam goes on
        beyond the length.
    """
    around = rings[windows.leg]
    closed = np.flatnonzero(around > 0)
    cells = cells_of(
        np.concatenate([windows.leg, windows.leg[closed]]),
        np.concatenate([windows.low, windows.low[closed] + around[closed]]) - beside,
        np.concatenate([windows.high, windows.high[closed] + around[closed]]) + beside,
    )
    begins: Bools = np.ones(len(cells.low), dtype=bool)
    begins[1:] = (cells.column[1:] != cells.column[:-1]) | (cells.low[1:] > cells.high[:-1])
    last = np.append(np.flatnonzero(begins)[1:] - 1, len(begins) - 1)[: begins.sum()]
    leg, low, high = cells.column[begins], cells.low[begins], cells.high[last]
    real = (rings[leg] == 0) | (low < rings[leg])
    return leg[real], low[real], high[real]


def lie_within(inner: Spans, outer: Spans, rows: int) -> bool:
    """Tell whether every span lies in one of others.

    Parameters
    ----------
    inner, outer : Spans
        The second ones sorted, and apart from one another.
    rows : int
        Number of rows.

    Returns
    -------
    bool
        True where all of them do, but for rounding.
    """
    group, asked = outer.leg * rows + outer.row, inner.leg * rows + inner.row
    first, last = (np.searchsorted(group, asked, side=side) for side in ("left", "right"))
    found = bisect(outer.low, first, last, inner.low + ROUNDING) - 1
    known = found >= first
    return bool(known.all() and (outer.high[found] >= inner.high - ROUNDING).all())
