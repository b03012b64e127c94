"""The fast reader: skip, overlap and off-field area as exact functions of the reference offset.

A setting only moves where rows start and stop on tracks that stay where they are. With straight passes
every end of every strip moves linearly with the offset, so each area is a sum of running areas read at
moving places: a piecewise quadratic whose pieces are known exactly. Update ticks make ends stand still
between jumps; ends of two passes that pass one another change which of them bounds the union. Both are
further knots, nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.curve import Curve, summed
from overlapsim.control.lap_ledger import lap_reach
from overlapsim.control.reach import Moved, moved
from overlapsim.control.readings import Change, Ends, moving, reading, steps
from overlapsim.control.run import Simulation, simulate
from overlapsim.control.strips import strips_of
from overlapsim.control.switched import switch_drive
from overlapsim.drive.legs import Drive
from overlapsim.drive.plan import plan_drive
from overlapsim.ground.columns import Strips, columns_of
from overlapsim.ground.edges import Edges
from overlapsim.ground.profile import Profile, profile
from overlapsim.scenario.scenario import Scenario


@dataclass(frozen=True)
class Ledger:
    """Areas over the reference offset.

    Attributes
    ----------
    curve : Curve
        Skip, overlap and off-field area, m², over the offset behind the hitch pin, metres.
    combined : Curve
        Their weighted sum, m².
    planted : Curve
        Planted area, m².
    """

    curve: Curve
    combined: Curve
    planted: Curve


def build_ledger(
    scenario: Scenario,
    low: float,
    high: float,
    ranks: frozenset[str] | None = None,
    known: Simulation | None = None,
) -> Ledger:
    """Work out areas for all reference offsets of a range at once.

    Parameters
    ----------
    scenario : Scenario
        All but the offset as it stands.
    low, high : float
        Range of the offset, metres behind the hitch pin.
    ranks : frozenset of str, optional
        Ranks whose own offset is varied, where the scenario has one per rank; by default the one offset
        that serves all.
    known : Simulation, optional
        A run of this scenario at an offset of the range: with headland laps sums start from it. A run
        under other conditions of the same drive will do where only differences matter. By default one is
        made.

    Returns
    -------
    Ledger
        Without headland laps exact but for rounding. With them it equals the full simulation at the offset
        of `known`; elsewhere contested ground is counted on points, and on update ticks crossings are
        those of the scenario's own offset.
    """
    drive = plan_drive(scenario)
    switched = switch_drive(scenario, drive)
    passes = moved(scenario, drive, switched.chains, low, high, ranks)
    free, changes = drive.plantable, []
    if switched.laps:
        reach = lap_reach(scenario, drive, switched, passes, (low, high), ranks)
        free, changes = reach.free, reach.changes
    strips = strips_of(scenario, drive, passes.sowing)
    parts = np.array([leg.part for leg in drive.legs])[passes.sowing.leg]
    for number, grounds in enumerate(zip(free, drive.plantable, strict=True)):
        changes += _part_changes(drive, strips, passes, np.flatnonzero(parts == number), grounds)
    place, value, slope, bend = (np.concatenate(found) for found in zip(*changes, strict=True))
    sums = summed(place, value, slope, bend, low, high)
    if switched.laps:
        sums = _through(sums, known or simulate(_within(scenario, low, high, ranks)), ranks)
    return _ledger(scenario, sums)


def _within(scenario: Scenario, low: float, high: float, ranks: frozenset[str] | None) -> Scenario:
    """The scenario itself, or where its offset lies outside of the range the one in its middle."""
    own = scenario.switching.reference_offset
    if isinstance(own, dict):
        outside = [n for n in (ranks if ranks is not None else own) if not low <= own[n] <= high]
        middle = {**own, **dict.fromkeys(outside, (low + high) / 2)}
        return scenario if middle == own else scenario.with_({"switching.reference_offset": middle})
    if low <= own <= high:
        return scenario
    return scenario.with_({"switching.reference_offset": (low + high) / 2})


def _through(sums: Curve, run: Simulation, ranks: frozenset[str] | None) -> Curve:
    """Shift sums so that they go through a full simulation."""
    offset = run.scenario.switching.reference_offset
    place = offset[min(ranks or offset)] if isinstance(offset, dict) else offset
    areas = run.areas
    union = run.plantable_m2 - areas["skip_m2"]
    true = np.array([union, union + areas["overlap_m2"], areas["planted_m2"]])
    shift = true - sums.at(np.clip([place], sums.knot[0], sums.knot[-1]))[0]
    return Curve(sums.knot, sums.value + shift, sums.slope, sums.bend)


def _ledger(scenario: Scenario, sums: Curve) -> Ledger:
    """Turn summed quantities into skip, overlap and off-field area."""
    plantable = scenario.field.plantable_m2

    def part(values: Floats, start: float) -> Floats:
        union, inside, planted = values.T
        return np.stack([start - union, inside - union, planted - inside], axis=1)

    curve = Curve(sums.knot, part(sums.value, plantable), part(sums.slope, 0.0), part(sums.bend, 0.0))
    weights = scenario.weights
    return Ledger(
        curve=curve,
        combined=curve.combined(np.array([weights.skip, weights.overlap, weights.off_field])),
        planted=sums.combined(np.array([0.0, 0.0, 1.0])),
    )


def _part_changes(
    drive: Drive, strips: Strips, passes: Moved, own: Ints, grounds: tuple[Edges, Edges]
) -> list[Change]:
    """All changes of the three sums by passes on one part of the field.

    The union grows on ground that no lap plants at every offset, the other sums on all plantable ground.
    """
    one = strips.take(own)
    direction = np.array([leg.direction for leg in drive.legs])[passes.sowing.leg[own]]
    drift, first, last = direction * passes.drift[own], passes.first[own], passes.last[own]
    columns = columns_of(one.left, one.right, one.leg)
    plantable = profile(grounds[1], columns.left, columns.right)
    free = plantable if grounds[0] is grounds[1] else profile(grounds[0], columns.left, columns.right)
    strip, column = columns.under(one.left, one.right)
    ends = Ends(column, one.low[strip], one.high[strip], drift[strip], first[strip], last[strip])
    lanes = columns.lanes[column]
    alone, shared = np.flatnonzero(lanes == 1), np.flatnonzero(lanes > 1)
    if grounds[0] is grounds[1]:
        # Without laps, ground under one lane counts for both sums alike.
        found = [
            *moving(plantable, ends.take(alone), np.array([1.0, 1.0, 0.0])),
            *moving(plantable, ends.take(shared), np.array([0.0, 1.0, 0.0])),
        ]
    else:
        found = [
            *moving(free, ends.take(alone), np.array([1.0, 0.0, 0.0])),
            *moving(plantable, ends, np.array([0.0, 1.0, 0.0])),
        ]
    found += [
        steps(first, one.area, np.array([0.0, 0.0, 1.0])),
        steps(last, -one.area, np.array([0.0, 0.0, 1.0])),
    ]
    if len(shared):
        found += _union(free, ends.take(shared))
    return found


def _union(ground: Profile, ends: Ends) -> list[Change]:
    """Changes of the union where several lanes lie over a column: its ends by order of place."""
    cell, entry, first, last = _orders(ends)
    middle = (first + last)[cell] / 2
    shift = ends.drift[entry] * (middle - ends.middle[entry])
    at = np.concatenate([ends.low[entry] + shift, ends.high[entry] + shift])
    cells, entries = np.tile(cell, 2), np.tile(entry, 2)
    change = np.repeat([1, -1], len(cell))
    order = np.lexsort((-change, at, cells))
    cells, entries, at, change = cells[order], entries[order], at[order], change[order]
    times = np.cumsum(change)
    sign = ((times - change) > 0).astype(float) - (times > 0)
    edge = np.flatnonzero(sign)
    cells, entries = cells[edge], entries[edge]
    shifted = Ends(
        ends.band[entries], at[edge], at[edge], ends.drift[entries], first[cells], last[cells]
    )
    return reading(ground, shifted.band, at[edge], shifted, sign[edge], np.array([1.0, 0.0, 0.0]))


def _orders(ends: Ends) -> tuple[Ints, Ints, Floats, Floats]:
    """Cut the range of the offset, column by column, where ends pass one another.

    Returns cell and stretch of every pair that is alive in a cell, and each cell's range.
    """
    cell_of, entry_of, first, last = [], [], [], []
    count = 0
    for column in np.unique(ends.band):
        own = np.flatnonzero(ends.band == column)
        middle, drift = ends.middle[own], ends.drift[own]
        line = np.concatenate([ends.low[own] - drift * middle, ends.high[own] - drift * middle])
        speed, begin, end = np.tile(drift, 2), np.tile(ends.first[own], 2), np.tile(ends.last[own], 2)
        i, j = np.nonzero(speed[:, None] > speed[None, :])
        meet = (line[j] - line[i]) / (speed[i] - speed[j])
        alive = (meet > np.maximum(begin[i], begin[j])) & (meet < np.minimum(end[i], end[j]))
        cuts = np.unique(np.concatenate([ends.first[own], ends.last[own], meet[alive]]))
        low, high = cuts[:-1], cuts[1:]
        mid = (low + high) / 2
        entry, cell = np.nonzero(
            (ends.first[own][:, None] <= mid[None, :]) & (mid[None, :] <= ends.last[own][:, None])
        )
        cell_of.append(cell + count)
        entry_of.append(own[entry])
        first.append(low)
        last.append(high)
        count += len(low)
    return tuple(np.concatenate(v) for v in (cell_of, entry_of, first, last))  # type: ignore[return-value]


