"""What headland laps add to the ledger: ends that move along ways with bends, alone or over one another.

Ground that laps plant at every offset (the core) is drawn once. What single ends add to it is read from
running areas, like everything on passes; where several ends may plant the same spot, that is too much, and
the excess is counted on points and taken off.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.chains import Chains
from overlapsim.control.lap_ground import PartGround, lap_ground
from overlapsim.control.lap_reach import covered_offsets
from overlapsim.control.reach import Moved, Spans, moved
from overlapsim.control.readings import Change, Ends, reading
from overlapsim.control.switched import Switched
from overlapsim.drive.legs import Drive
from overlapsim.ground.columns import cells_of
from overlapsim.ground.contested import Contested
from overlapsim.ground.edges import Edges
from overlapsim.ground.profile import Profile
from overlapsim.ground.way_areas import Slices

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

RESOLVED = 2e-3
"""Metres of offset between which contested ground is taken to change evenly."""


@dataclass(frozen=True)
class LapReach:
    """Ground of laps over a range of offsets.

    Attributes
    ----------
    free : tuple of Edges
        Plantable ground of each part that no lap plants at every offset, plan frame.
    changes : list of tuple of ndarray
        What moving ends on laps change of union, inside and planted area, m².
    """

    free: tuple[Edges, ...]
    changes: list[Change]


def lap_reach(
    scenario: Scenario, drive: Drive, switched: Switched, passes: Moved, span: tuple[float, float],
    moving: frozenset[str] | None,
) -> LapReach:  # fmt: skip
    """Work out what laps plant at all offsets of a range.

    Parameters
    ----------
    scenario : Scenario
        All but the offset as it stands.
    drive : Drive
        Legs.
    switched : Switched
        Crossings.
    passes : Moved
        Stretches of passes.
    span : tuple of float
        Range of the offset, metres behind the hitch pin.
    moving : frozenset of str or None
        Ranks whose own offset is varied; None where one offset serves all.

    Returns
    -------
    LapReach
        Changes but for a constant: where the sums start is not known.
    """
    laps = moved(scenario, drive, chains_of_laps(switched), *span, moving)
    ground = lap_ground(scenario, drive, laps, passes, always_on(drive, switched))
    changes: list[Change] = []
    for number, part in enumerate(ground.parts):
        changes += _alone(drive, laps, number, part, ground.rings)
        changes.append(_excess(drive, laps, passes, part.shared, ground.rings, span))
    return LapReach(tuple(part.free for part in ground.parts), changes)


def chains_of_laps(switched: Switched) -> Chains:
    """Put the chains of all legs of laps one behind the other.

    Parameters
    ----------
    switched : Switched
        Crossings of a drive with laps.

    Returns
    -------
    Chains
        In driving order.
    """
    every = [run.chains for run in switched.laps]
    counts = np.concatenate([np.diff(c.bounds) for c in every])
    names = ("leg", "section", "rank", "on", "off", "on_kind", "off_kind")
    joined = {name: np.concatenate([getattr(c, name) for c in every]) for name in names}
    return Chains(bounds=np.append(0, np.cumsum(counts)), **joined)


def always_on(drive: Drive, switched: Switched) -> Spans:
    """List the rows that are on all the way round closed legs.

    Parameters
    ----------
    drive : Drive
        Legs.
    switched : Switched
        Crossings.

    Returns
    -------
    Spans
        From nothing to the legs' lengths, metres.
    """
    leg, row, length = [], [], []
    for run in switched.laps:
        rows = np.flatnonzero(run.always[drive.layout.section_of_row] & ~drive.layout.off)
        leg.append(np.full(len(rows), run.leg.number - 1))
        row.append(rows)
        length.append(np.full(len(rows), run.leg.track.length if run.leg.track else 0.0))
    every = np.concatenate(length)
    return Spans(np.concatenate(leg), np.concatenate(row), 0.0 * every, every)


def _alone(drive: Drive, laps: Moved, number: int, part: PartGround, rings: Floats) -> list[Change]:
    """Changes by single ends: of the union by free ground, of the rest by plantable and all ground."""
    parts = np.array([leg.part for leg in drive.legs])
    own = np.flatnonzero(parts[laps.sowing.leg] == number)
    sowing = laps.sowing.take(own)
    changes: list[Change] = []
    for way, sign, profiles in ((sowing.on, -1.0, part.at_starts), (sowing.off, 1.0, part.at_stops)):
        ends = ends_on_pieces(
            part.slices, way, sowing.leg, sowing.row, laps, own, rings, len(drive.layout.off)
        )
        for quantity, profile in enumerate(profiles):
            share = np.zeros(3)
            share[quantity] = 1.0
            changes += _read(profile, ends, sign, share)
    return changes


def ends_on_pieces(
    slices: Slices, way: Floats, leg: Ints, row: Ints, laps: Moved, own: Ints, rings: Floats, rows: int
) -> Ends:
    """Place ends of stretches on the pieces of ways that hold them.

    Parameters
    ----------
    slices : Slices
        Pieces of ways.
    way : ndarray, shape (n,)
        The ends at the middle of their ranges, metres.
    leg, row : ndarray of int, shape (n,)
        Whose they are.
    laps : Moved
        All stretches.
    own : ndarray of int, shape (n,)
        Which of them.
    rings : ndarray, shape (l,)
        Length of each closed leg, 0 for others, metres.
    rows : int
        Number of rows.

    Returns
    -------
    Ends
        Each on a band of the pieces' profiles.
    """
    drift, first, last = laps.drift[own], laps.first[own], laps.last[own]
    least = way - np.abs(drift) * (last - first) / 2
    around = rings[leg]
    turns = np.where(around > 0, np.floor(least / np.where(around > 0, around, 1.0)), 0.0)
    piece = slices.find(leg, least - turns * around)
    place = way - turns * around
    return Ends(piece * rows + row, place, place, drift, first, last)


def _read(profile: Profile, ends: Ends, sign: float, share: Floats) -> list[Change]:
    return reading(profile, ends.band, ends.low, ends, np.full(len(ends.band), sign), share)


def _excess(
    drive: Drive, laps: Moved, passes: Moved, shared: Contested, rings: Floats, span: tuple[float, float]
) -> Change:
    """What single ends count too much of the union where several plant the same spot."""
    rows = len(drive.layout.off)
    on_lap = np.array([leg.kind == "lap" for leg in drive.legs])[shared.leg]
    point, first, last, laid = [], [], [], []
    for found, own in ((laps, np.flatnonzero(on_lap)), (passes, np.flatnonzero(~on_lap))):
        asked, low, high = covered_offsets(
            found, rows, shared.leg[own], shared.row[own], shared.way[own], rings
        )
        # A strip that runs back over a point covers it once.
        row_at = np.unique(
            (shared.point[own] * len(drive.legs) + shared.leg[own]) * rows + shared.row[own],
            return_inverse=True, return_index=True,
        )  # fmt: skip
        cells = cells_of(row_at[2][asked], low, high)
        asked, low, high = row_at[1][cells.column], cells.low, cells.high
        point.append(shared.point[own][asked])
        first.append(low)
        last.append(high)
        laid.append(np.full(len(asked), found is laps))
    of, lap = np.tile(np.concatenate(point), 2), np.tile(np.concatenate(laid), 2)
    at = np.concatenate([*first, *last])
    by = np.repeat([1, -1], len(at) // 2)
    order = np.lexsort((at, of))
    of, at, by, lap = of[order], at[order], by[order], lap[order]
    on_laps, on_passes = np.cumsum(np.where(lap, by, 0)), np.cumsum(np.where(lap, 0, by))
    excess = ((on_laps > 0) & (on_passes == 0)).astype(float) - on_laps
    step = np.diff(excess, prepend=0.0) * shared.weight
    grid = np.linspace(*span, max(2, int((span[1] - span[0]) / RESOLVED) + 1))
    total = np.cumsum(np.bincount(np.searchsorted(grid, at), step, minlength=len(grid) + 1))[: len(grid)]
    slope = np.append(np.diff(total) / np.diff(grid), 0.0)
    value, change = np.zeros((len(grid), 3)), np.zeros((len(grid), 3))
    value[0, 0] = total[0]
    change[:, 0] = np.diff(slope, prepend=0.0)
    return grid, value, change, np.zeros_like(value)
