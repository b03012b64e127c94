"""How far from the edge every row starts and stops, along its own centre line."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Bools, Floats, Ints, to_plan
from overlapsim.basics.records import Records
from overlapsim.control.headland import LapRun
from overlapsim.control.response import Sowing
from overlapsim.control.switched import Switched
from overlapsim.drive.legs import Drive
from overlapsim.ground.edges import Edges, spread
from overlapsim.ground.profile import bisect

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

STEP = 1e-3
"""Metres to either side over which a row's direction is read on a lap."""

ONE_PLACE = 1e-6
"""Metres: edges that a row meets this close together are met at one place."""

TOGETHER = 32
"""Row ends, one after the other along the way, for which edges are looked up together (no unit)."""


@dataclass(frozen=True)
class RowEnds(Records):
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


def row_ends(scenario: Scenario, drive: Drive, switched: Switched, sowing: Sowing) -> RowEnds:
    """Measure every start and stop from the edge that decided its command.

    Parameters
    ----------
    scenario : Scenario
        For its drift.
    drive : Drive
        Legs and rows.
    switched : Switched
        Ground that each leg had to plant.
    sowing : Sowing
        Stretches of seed.

    Returns
    -------
    RowEnds
        Starts, then stops. A start is measured from where ground begins, a stop from where it ends.
    """
    sowing = sowing.take(sowing.chain >= 0)
    count = len(sowing.row)
    leg, row = np.tile(sowing.leg, 2), np.tile(sowing.row, 2)
    off = np.repeat([False, True], count)
    way = np.concatenate([sowing.on, sowing.off])
    kind = np.concatenate([sowing.on_kind, sowing.off_kind])
    error = np.full(2 * count, np.nan)
    straight = np.array([one.kind == "pass" for one in drive.legs], dtype=bool)[leg]
    ends = RowEnds(leg, row, off, way, kind, error)
    error[straight] = _on_passes(scenario, drive, switched, ends.take(straight))
    for run in switched.laps:
        own = leg == run.leg.number - 1
        if own.any():
            error[own] = _on_lap(drive, run, ends.take(own))
    return RowEnds(leg, row, off, way, kind, np.where(np.abs(error) <= drive.width, error, np.nan))


def _on_passes(scenario: Scenario, drive: Drive, switched: Switched, ends: RowEnds) -> Floats:
    """Errors along straight rows, metres, late positive; nan where there is no edge."""
    legs = drive.legs
    direction = np.array([one.direction for one in legs], dtype=np.int64)[ends.leg]
    across = np.array([one.across for one in legs], dtype=float)[ends.leg]
    part = np.array([one.part for one in legs], dtype=np.int64)[ends.leg]
    drift = to_plan(np.array(scenario.controller.drift), drive.heading)
    line = across + direction * (drive.layout.middle + drive.layout.right[ends.row]) - drift[0]
    place = direction * ends.way - drift[1]
    # Ground begins, looking along the plan, at a start with the heading and at a stop against it.
    begins = ends.off == (direction < 0)
    error = np.full(len(ends.way), np.nan)
    for number, ground in enumerate(switched.grounds):
        mine = np.flatnonzero(part == number)
        lines, which = np.unique(line[mine], return_inverse=True)
        at, crossing, kind, rises = _borders(ground, lines)
        for edge in np.unique(ends.kind[mine]):
            for upward in (True, False):
                pick = np.flatnonzero((ends.kind[mine] == edge) & (begins[mine] == upward))
                own = (kind == edge) & (rises == upward)
                error[mine[pick]] = _from_nearest(
                    at[own], crossing[own], len(lines), which[pick], place[mine[pick]]
                )
    return direction * error


def _on_lap(drive: Drive, run: LapRun, ends: RowEnds) -> Floats:
    """Errors on a lap's leg, along the row's own direction at its start or stop."""
    track = run.leg.track
    assert track is not None
    offset = drive.layout.middle + drive.layout.right[ends.row]
    place, cross = track.at(ends.way)
    place = place + offset[:, None] * cross
    ahead, _ = track.at(ends.way + STEP)
    behind, _ = track.at(ends.way - STEP)
    forward = (ahead - behind) / np.hypot(*(ahead - behind).T)[:, None]
    error = np.full(len(ends.way), np.nan)
    order = np.argsort(ends.way, kind="stable")
    for some in np.array_split(order, math.ceil(len(order) / TOGETHER)):
        error[some] = _from_border(
            run.ground, place[some], forward[some], drive.width, ends.off[some], ends.kind[some]
        )
    return error


def _from_border(
    ground: Edges, place: Floats, forward: Floats, reach: float, off: Bools, kind: Ints
) -> Floats:
    """Distance along each row's direction from the nearest place where ground truly begins or ends."""
    near = np.ones(len(ground.kind), dtype=bool)
    for i in range(2):
        near &= np.maximum(ground.start[:, i], ground.end[:, i]) >= place[:, i].min() - reach
        near &= np.minimum(ground.start[:, i], ground.end[:, i]) <= place[:, i].max() + reach
    start, end, kinds = ground.start[near], ground.end[near], ground.kind[near]
    right = np.stack([forward[:, 1], -forward[:, 0]], axis=1)
    q0, q1 = (right @ v.T - (place * right).sum(axis=1)[:, None] for v in (start, end))
    event, edge = np.nonzero((q0 > 0) != (q1 > 0))
    q0, q1 = q0[event, edge], q1[event, edge]
    met = start[edge] + (q0 / (q0 - q1))[:, None] * (end - start)[edge]
    at = ((met - place[event]) * forward[event]).sum(axis=1)
    # Ground begins where an edge runs to the right, ends where it runs to the left.
    gain = np.where(q1 > q0, 1, -1)
    order = np.lexsort((at, event))[: len(at)]
    order = order[np.abs(at[order]) <= reach]
    event, edge, at, gain = event[order], edge[order], at[order], gain[order]
    own = _true_borders(event, at, gain) & ((gain < 0) == off[event]) & (kinds[edge] == kind[event])
    event, at = event[own], at[own]
    order = np.lexsort((np.abs(at), event))
    first = order[np.append(True, event[order][1:] != event[order][:-1])[: len(order)]]
    error = np.full(len(off), np.nan)
    error[event[first]] = -at[first]
    return error


def _borders(ground: Edges, lines: Floats) -> tuple[Ints, Floats, Ints, Bools]:
    """Where ground truly begins (rises) or ends along upright lines: line, place, kind of edge."""
    x0, x1 = ground.start[:, 0], ground.end[:, 0]
    owner, at = spread(
        np.searchsorted(lines, np.minimum(x0, x1), side="left"),
        np.searchsorted(lines, np.maximum(x0, x1), side="left"),
    )
    a, b = ground.start[owner], ground.end[owner]
    crossing = a[:, 1] + (lines[at] - a[:, 0]) / (b[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    order = np.lexsort((crossing, at))
    at, crossing, owner = at[order], crossing[order], owner[order]
    rises = (x1 > x0)[owner]
    real = _true_borders(at, crossing, np.where(rises, 1, -1))
    return at[real], crossing[real], ground.kind[owner[real]], rises[real]


def _true_borders(line: Ints, place: Floats, gain: Ints) -> Bools:
    """Of edges met along lines, in order, those that together begin or end ground as each alone would.

    Where ground and what is taken out of it end together, nothing begins or ends.
    """
    fresh: Bools = np.ones(len(place), dtype=bool)
    fresh[1:] = (line[1:] != line[:-1]) | (np.diff(place) > ONE_PLACE)
    of = np.cumsum(fresh) - 1
    real: Bools = np.bincount(of, gain, minlength=1)[of] * gain > 0
    return real


def _from_nearest(at: Ints, crossing: Floats, lines: int, which: Ints, place: Floats) -> Floats:
    """Distance along the plan from the nearest crossing on one's own line; nan without one."""
    bounds = np.searchsorted(at, np.arange(lines + 1))
    after = bisect(crossing, bounds[which], bounds[which + 1], place)
    padded = np.concatenate([[np.nan], crossing, [np.nan]])
    below = np.where(after > bounds[which], padded[after], np.nan)
    above = np.where(after < bounds[which + 1], padded[after + 1], np.nan)
    down, up = place - below, above - place
    nearer = np.isnan(up) | (down <= up)
    return np.where(nearer, down, -up)
