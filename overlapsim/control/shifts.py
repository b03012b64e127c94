"""Areas over any reference offset, speed, time and latency at once, for a page that reckons by itself.

With continuous updates two numbers say all about a rank: by how much its starts and by how much its stops
come later. Each is the reference offset plus what a time leaves of its latency, times the speed. So areas are
sums of functions of one shift each, but for spots that more than one row end may plant: those are a table
over both.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.commands import commands
from overlapsim.control.curve import Curve, summed
from overlapsim.control.quadrants import Nodes
from overlapsim.control.reach import Moved, moved
from overlapsim.control.readings import Change, Ends
from overlapsim.control.response import late_by, offset_for
from overlapsim.control.run import Simulation
from overlapsim.control.shift_laps import laps_on_shifts
from overlapsim.control.shift_spots import Book, spots_of_passes
from overlapsim.control.strips import strips_of
from overlapsim.control.switched import switch_drive
from overlapsim.drive.legs import Drive
from overlapsim.ground.columns import Strips, columns_of
from overlapsim.ground.edges import Edges
from overlapsim.ground.profile import profile
from overlapsim.scenario.rows import row_layout

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

Span = tuple[float, float]

_UNION, _INSIDE, _PLANTED = np.eye(3)


@dataclass(frozen=True)
class Shifts:
    """Union, inside and planted area over the shifts of every rank's starts and stops.

    Attributes
    ----------
    starts, stops : dict of str to Curve
        Rank by rank: what its starts and stops change of the three areas, m², over their shift, metres.
    joint : ndarray, shape (n, m, 3)
        What both shifts change together, m², on `nodes`: over those of the foremost rank, the others being
        as much later as in the run.
    nodes : Nodes
        Where those are.
    constant : ndarray, shape (3,)
        What is to be added, m².
    apart : dict of str to tuple of float
        How much later than the foremost rank's each rank's starts and stops come in the run, metres.
    """

    starts: dict[str, Curve]
    stops: dict[str, Curve]
    joint: Floats
    nodes: Nodes
    constant: Floats
    apart: dict[str, Span]


def carried(scenario: Scenario) -> bool:
    """Tell whether areas are functions of shifts.

    Parameters
    ----------
    scenario : Scenario
        Any scenario.

    Returns
    -------
    bool
        False where commands wait for update ticks, and where with laps least times may put them off: what
        the laps leave to be planted then hangs on times and speeds.
    """
    one = scenario.controller
    lasting = one.minimum_on_time or one.minimum_off_time
    return not (one.update_period or (lasting and scenario.plan.headland_laps))


def shortest(run: Simulation) -> tuple[float, float]:
    """Say how near to one another commands come, to be held against the controller's least times.

    Parameters
    ----------
    run : Simulation
        A full simulation without laps or update ticks.

    Returns
    -------
    stretch, gap : float
        Least way from an on command to the next off command, and from that to the next on command, metres,
        were all commands given at their edges; infinite where there are none. What times add to the one and
        take from the other is left out.
    """
    plain, speed = _matched(run.scenario), run.scenario.speed
    chains = switch_drive(plain, run.drive).chains
    every, none = len(chains.on), np.zeros(len(chains.leg))
    given = commands(plain, chains, none, none, none)
    if len(given.on) < every:
        return 0.0, 0.0
    delay, times = plain.controller.position_delay, plain.switching
    on = given.on - speed.at_on * (delay - times.turn_on_time)
    off = given.off - speed.at_off * (delay - times.turn_off_time)
    chain = np.repeat(np.arange(len(chains.leg)), np.diff(given.bounds))
    gaps = (on[1:] - off[:-1])[chain[1:] == chain[:-1]]
    return float((off - on).min(initial=np.inf)), float(gaps.min(initial=np.inf))


def shifts_of(scenario: Scenario, rank: str) -> tuple[float, float]:
    """Say how much later than at an offset of nothing and matched times a rank's rows start and stop.

    Parameters
    ----------
    scenario : Scenario
        Settings and conditions.
    rank : str
        Name of the rank.

    Returns
    -------
    start, stop : float
        Metres along the way, positive = late.
    """
    on, off = late_by(scenario, rank)
    offset = offset_for(scenario, rank)
    return offset + on, offset + off


def build_shifts(run: Simulation, span: Span) -> Shifts:
    """Work out areas over all shifts of a range.

    Parameters
    ----------
    run : Simulation
        A full simulation; sums go through it.
    span : tuple of float
        Range of both shifts of every rank, metres; it holds those of `run`.

    Returns
    -------
    Shifts
        Exact where no two row ends may plant the same spot and no piece or gap is too short to switch for.
        Which ones are dropped for that is what it is at the run's times and speed; ranks whose shifts differ
        are taken, in the table over both shifts, to differ as they do in the run.
    """
    scenario, drive = run.scenario, run.drive
    layout, speed = row_layout(scenario), scenario.speed
    delay = scenario.controller.position_delay
    # Latencies that equal the times: every start and stop comes later by the offset, and by the delay.
    plain = _matched(scenario)
    switched = switch_drive(plain, drive)
    late = speed.at_on * delay, speed.at_off * delay
    low, high = span[0] - min(late), span[1] - max(late)
    passes = moved(plain, drive, switched.chains, low, high, None)
    first = layout.working_ranks[0]
    own = {rank: shifts_of(scenario, rank) for rank in layout.working_ranks}
    apart = np.array([[own[str(r)][e] - own[first][e] for e in (0, 1)] for r in layout.rank])
    rank = np.array([layout.working_ranks.index(str(name)) for name in layout.rank])
    book = Book(
        rank, (low, high), late, apart, Nodes(*((low + late[e], high + late[e]) for e in (0, 1)))
    )
    free = drive.plantable
    if switched.laps:
        free = laps_on_shifts(plain, drive, switched, passes, book)
    strips = strips_of(plain, drive, passes.sowing)
    parts = np.array([leg.part for leg in drive.legs])[passes.sowing.leg]
    for number, grounds in enumerate(zip(free, drive.plantable, strict=True)):
        _passes(drive, strips, passes, np.flatnonzero(parts == number), grounds, book)
    starts, stops = (
        {name: _curve(book.changes[k, end], low, high, late[end]) for k, name in enumerate(own)}
        for end in (0, 1)
    )
    later = {rank: (own[rank][0] - own[first][0], own[rank][1] - own[first][1]) for rank in own}
    found = Shifts(starts, stops, book.table(), book.nodes, np.zeros(3), later)
    areas = run.areas
    union = run.plantable_m2 - areas["skip_m2"]
    true = np.array([union, union + areas["overlap_m2"], areas["planted_m2"]])
    return replace(found, constant=true - read(found, own))


def _matched(scenario: Scenario) -> Scenario:
    """As if the machine took just the times that are entered, and no least times put commands off."""
    controller = scenario.controller
    least = [f"minimum_{end}_time" for end in ("on", "off") if getattr(controller, f"minimum_{end}_time")]
    return scenario.with_({
        "response.on_latency": scenario.switching.turn_on_time,
        "response.off_latency": scenario.switching.turn_off_time,
        **{f"controller.{key}": None for key in least},
    })  # fmt: skip


def _curve(changes: list[Change], low: float, high: float, late: float) -> Curve:
    place, value, slope, bend = (np.concatenate(found) for found in zip(*changes, strict=True))
    sums = summed(place, value, slope, bend, low, high)
    return Curve(sums.knot + late, sums.value, sums.slope, sums.bend)


def _passes(
    drive: Drive, strips: Strips, passes: Moved, own: Ints, grounds: tuple[Edges, Edges], book: Book
) -> None:  # fmt: skip
    """All ends of passes on one part of the field, each for itself; then spots that several may plant."""
    one = strips.take(own)
    way = np.array([leg.direction for leg in drive.legs], dtype=float)[one.leg]
    columns = columns_of(one.left, one.right, one.leg)
    plantable = profile(grounds[1], columns.left, columns.right)
    free = plantable if grounds[0] is grounds[1] else profile(grounds[0], columns.left, columns.right)
    # What plants free ground once more plants plantable ground once more: one reading where both are one.
    counted = [(free, _INSIDE + _UNION)] if free is plantable else [(free, _UNION), (plantable, _INSIDE)]
    strip, column = columns.under(one.left, one.right)
    ahead = way > 0
    first, last = passes.first[own], passes.last[own]
    rank, nothing = book.rank[one.row], np.zeros((len(own), 3))
    for end, place, turn in (
        (0, np.where(ahead, one.low, one.high)[strip], -1.0),
        (1, np.where(ahead, one.high, one.low)[strip], 1.0),
    ):
        ends = Ends(column, place, place, way[strip], first[strip], last[strip])
        for ground, share in counted:
            book.sweep(end, ground, ends, rank[strip], turn * ends.drift, share)
        laid = (turn * (one.right - one.left))[:, None] * _PLANTED
        book.change(end, rank, (first, nothing, laid, nothing))
    spots_of_passes(one, way, columns, (strip, column), (free, plantable), book)


def read(shifts: Shifts, at: dict[str, Span]) -> Floats:
    """Read the three areas.

    Parameters
    ----------
    shifts : Shifts
        Functions and table.
    at : dict of str to tuple of float
        Shifts of starts and stops of every rank, metres.

    Returns
    -------
    ndarray, shape (3,)
        Planted plantable ground, the same counted as often as it is planted, and all that is planted, m².
    """
    total = shifts.constant.copy()
    for curves, end in ((shifts.starts, 0), (shifts.stops, 1)):
        for rank, curve in curves.items():
            total += curve.at(np.array([at[rank][end]]))[0]
    if shifts.joint.any():
        # Where ranks are apart otherwise than in the run, their mean decides.
        start, stop = (float(np.mean([at[r][end] - shifts.apart[r][end] for r in at])) for end in (0, 1))
        total += shifts.nodes.read(shifts.joint, start, stop)
    return total
