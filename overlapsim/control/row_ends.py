"""How far from the edge every row starts and stops, along its own centre line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.response import Sowing
from overlapsim.drive.legs import Drive
from overlapsim.ground.edges import EDGE_KINDS, Edges, spread
from overlapsim.ground.profile import bisect


@dataclass(frozen=True)
class RowEnds:
    """Starts and stops of rows, stops behind starts.

    Attributes
    ----------
    leg, row : ndarray of int, shape (n,)
        Index of the leg (from 0) and of the row (from the left, from 0).
    off : ndarray of bool, shape (n,)
        Whether it is a stop.
    way : ndarray, shape (n,)
        Place on the leg's believed way, metres.
    kind : ndarray of int, shape (n,)
        Kind of edge that made the command due.
    error : ndarray, shape (n,)
        Signed distance beyond that edge, metres, positive = late; nan where the row meets no such edge
        within one working width.
    """

    leg: Ints
    row: Ints
    off: np.ndarray
    way: Floats
    kind: Ints
    error: Floats


def row_ends(drive: Drive, sowing: Sowing, legs: Ints, drift: Floats) -> RowEnds:
    """Measure every start and stop from the edge that decided its command.

    Parameters
    ----------
    drive : Drive
        Legs and ground.
    sowing : Sowing
        Stretches of seed.
    legs : ndarray of int, shape (n,)
        Index of the leg of each stretch.
    drift : ndarray, shape (2,)
        Across and along the plan: what the receiver reads too far, metres.

    Returns
    -------
    RowEnds
        Starts, then stops. A start is measured from where ground begins, a stop from where it ends.
    """
    count = len(sowing.row)
    leg, row = np.tile(legs, 2), np.tile(sowing.row, 2)
    off = np.repeat([False, True], count)
    way = np.concatenate([sowing.on, sowing.off])
    kind = np.concatenate([sowing.on_kind, sowing.off_kind])
    direction = np.array([one.direction for one in drive.legs])[leg]
    across = np.array([one.across for one in drive.legs])[leg]
    line = across + direction * (drive.layout.middle + drive.layout.right[row]) - drift[0]
    place = direction * way - drift[1]
    # Ground begins, looking along the plan, at a start with the heading and at a stop against it.
    begins = off == (direction < 0)
    error = np.full(2 * count, np.nan)
    part = np.array([one.part for one in drive.legs])[leg]
    for number, ground in enumerate(drive.ground):
        for edge in range(len(EDGE_KINDS)):
            for upward in (True, False):
                pick = np.flatnonzero((part == number) & (kind == edge) & (begins == upward))
                if len(pick):
                    rightward = ground.end[:, 0] > ground.start[:, 0]
                    own = (ground.kind == edge) & (rightward == upward)
                    chosen = Edges(ground.start[own], ground.end[own], ground.kind[own])
                    error[pick] = _from_nearest(chosen, line[pick], place[pick])
    error = np.where(np.abs(error) <= drive.width, direction * error, np.nan)
    return RowEnds(leg, row, off, way, kind, error)


def _from_nearest(edges: Edges, line: Floats, place: Floats) -> Floats:
    """Distance along the plan from the nearest crossing of edges with upright lines; nan without one."""
    lines, which = np.unique(line, return_inverse=True)
    x0, x1 = edges.start[:, 0], edges.end[:, 0]
    owner, at = spread(
        np.searchsorted(lines, np.minimum(x0, x1), side="left"),
        np.searchsorted(lines, np.maximum(x0, x1), side="left"),
    )
    a, b = edges.start[owner], edges.end[owner]
    crossing = a[:, 1] + (lines[at] - a[:, 0]) / (b[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    order = np.lexsort((crossing, at))
    crossing, at = crossing[order], at[order]
    bounds = np.searchsorted(at, np.arange(len(lines) + 1))
    after = bisect(crossing, bounds[which], bounds[which + 1], place)
    padded = np.concatenate([[np.nan], crossing, [np.nan]])
    below = np.where(after > bounds[which], padded[after], np.nan)
    above = np.where(after < bounds[which + 1], padded[after + 1], np.nan)
    down, up = place - below, above - place
    nearer = np.isnan(up) | (down <= up)
    return np.where(nearer, down, -up)
