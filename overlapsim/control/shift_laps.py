"""What headland laps add to areas over shifts: ends on ways with bends, alone or over one another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.lap_ground import PartGround, lap_ground
from overlapsim.control.lap_ledger import always_on, chains_of_laps, ends_on_pieces
from overlapsim.control.quadrants import Quadrants, union_of
from overlapsim.control.reach import Moved, moved
from overlapsim.control.shift_spots import Book, spots_between
from overlapsim.control.switched import Switched
from overlapsim.drive.legs import Drive
from overlapsim.ground.contested import Contested
from overlapsim.ground.edges import Edges, spread

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario


POINTS = 12_000
"""Points of contested ground that are counted, about."""


def laps_on_shifts(
    scenario: Scenario, drive: Drive, switched: Switched, passes: Moved, book: Book
) -> tuple[Edges, ...]:
    """Enter what ends on laps do.

    Parameters
    ----------
    scenario : Scenario
        With latencies that equal the times.
    drive : Drive
        Legs.
    switched : Switched
        Crossings.
    passes : Moved
        Stretches of passes.
    book : Book
        What is gathered.

    Returns
    -------
    tuple of Edges
        Plantable ground of each part that no lap plants at every shift, plan frame.
    """
    laps = moved(scenario, drive, chains_of_laps(switched), *book.span, None)
    ground = lap_ground(scenario, drive, laps, passes, always_on(drive, switched))
    parts = np.array([leg.part for leg in drive.legs])[laps.sowing.leg]
    for number, part in enumerate(ground.parts):
        own = np.flatnonzero(parts == number)
        _alone(drive, laps, own, part, ground.rings, book)
        _both_ends(drive, laps, own, part, ground.rings, book)
        _together(drive, laps, passes, part.shared, ground.rings, book)
    return tuple(part.free for part in ground.parts)


def _alone(drive: Drive, laps: Moved, own: Ints, part: PartGround, rings: Floats, book: Book) -> None:
    """Changes by single ends, as the ledger has them."""
    sowing, rows = laps.sowing.take(own), len(drive.layout.off)
    for end, way, sign, profiles in (
        (0, sowing.on, -1.0, part.at_starts),
        (1, sowing.off, 1.0, part.at_stops),
    ):
        ends = ends_on_pieces(part.slices, way, sowing.leg, sowing.row, laps, own, rings, rows)
        turns = np.full(len(ends.band), sign)
        for profile, share in zip(profiles, np.eye(3), strict=True):
            book.sweep(end, profile, ends, book.rank[sowing.row], turns, share)


def _together(
    drive: Drive, laps: Moved, passes: Moved, shared: Contested, rings: Floats, book: Book
) -> None:
    """What single ends count too much of the union where several may plant the same spot."""
    # The search counts on all points; some of them are enough for a table whose nodes stand far apart.
    shared = shared.thinned(POINTS)
    on_lap = np.array([leg.kind == "lap" for leg in drive.legs])[shared.leg]
    of_laps, rows_of_laps = _reached(laps, np.flatnonzero(on_lap), shared, rings, book)
    of_passes, _ = _reached(passes, np.flatnonzero(~on_lap), shared, rings, book)
    weight = np.full(len(shared.place), shared.weight)
    every = Quadrants.joined([of_laps, of_passes])
    times = np.bincount(every.spot, minlength=len(weight))
    # Nearly all spots are reached by two stretches: those count what both plant once too often, unless it is
    # one row that runs back, or both are passes, which are taken together already.
    order = np.argsort(every.spot, kind="stable")
    order = order[times[every.spot[order]] == 2]
    one, other = every.take(order[::2]), every.take(order[1::2])
    row = np.append(rows_of_laps, np.full(len(of_passes.spot), -1))
    own = row[order[::2]] != row[order[1::2]]
    met = Quadrants(one.spot, np.minimum(one.start, other.start), np.maximum(one.stop, other.stop)).take(own)
    book.add(met, np.full(len(met.spot), -1.0), weight, 0)
    more_laps, more_passes = (times[found.spot] > 2 for found in (of_laps, of_passes))
    of_laps, of_passes = of_laps.take(more_laps), of_passes.take(more_passes)
    book.add(*union_of(Quadrants.joined([of_laps, of_passes])), weight, 0)
    for terms, sign in (union_of(of_passes), union_of(of_laps, rows_of_laps[more_laps])):
        book.add(terms, -sign, weight, 0)


def _reached(
    moving: Moved, own: Ints, shared: Contested, rings: Floats, book: Book
) -> tuple[Quadrants, Ints]:
    """Stretches over contested spots, and which row of which leg, at which spot, each of them is."""
    sowing, rows = moving.sowing, len(book.rank)
    order = np.argsort(sowing.leg * rows + sowing.row, kind="stable")
    group = (sowing.leg * rows + sowing.row)[order]
    wanted = shared.leg[own] * rows + shared.row[own]
    asked, item = spread(np.searchsorted(group, wanted), np.searchsorted(group, wanted, side="right"))
    item, asked = order[item], own[asked]
    parts = []
    for turn in (-1, 0, 1) if rings.any() else (0,):
        round_ = rings[shared.leg[asked]]
        place = shared.way[asked] + turn * round_
        on, off = place - sowing.on[item], place - sowing.off[item]
        real = (on > -book.half) & (off < book.half) & ((turn == 0) | (round_ > 0))
        parts.append((asked[real], item[real], on[real], off[real]))
    asked, item, on, off = (np.concatenate(v) for v in zip(*parts, strict=True))
    spot, row = shared.point[asked], sowing.row[item]
    legs = int(sowing.leg.max(initial=0)) + 1
    return book.quadrants(spot, row, on, off), (spot * legs + sowing.leg[item]) * rows + row


def _both_ends(drive: Drive, laps: Moved, own: Ints, part: PartGround, rings: Floats, book: Book) -> None:
    """What a row's own ends count wrongly where they pass one another: short pieces and gaps."""
    sowing, count = laps.sowing.take(own), len(own)
    half = book.half + float(np.abs(book.apart).max(initial=0.0))
    start, stop = (
        ends_on_pieces(part.slices, way, sowing.leg, sowing.row, laps, own, rings, len(drive.layout.off))
        for way in (sowing.on, sowing.off)
    )
    band, begin, step = spots_between(
        np.concatenate([start.band, stop.band]), np.concatenate([start.low, stop.low]), half
    )
    if not len(band):
        return
    # All stretches with an end on the same piece of the row's way; the other end may be far off.
    keys = np.unique(np.concatenate([start.band, stop.band]) * count + np.tile(np.arange(count), 2))
    of, stretch = np.divmod(keys, count)
    on = np.where(start.band[stretch] == of, start.low[stretch], -np.inf)
    off = np.where(stop.band[stretch] == of, stop.low[stretch], np.inf)
    spot, item = spread(np.searchsorted(of, band), np.searchsorted(of, band, side="right"))
    place = (begin + step / 2)[spot]
    both = book.quadrants(spot, sowing.row[stretch[item]], place - on[item], place - off[item])
    for quantity, ground in enumerate(part.at_starts):
        weight = ground.area_before(band, begin + step) - ground.area_before(band, begin)
        book.add(*union_of(both), weight, quantity)
        book.take_apart(both, weight, quantity)
