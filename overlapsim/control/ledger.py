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

from overlapsim.basics.errors import Fault, ScenarioError
from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.chains import chains_of
from overlapsim.control.commands import commands, update_phase
from overlapsim.control.curve import Curve, summed
from overlapsim.control.pieces import Pieces, pieces_of
from overlapsim.control.response import sow
from overlapsim.control.strips import strips_of
from overlapsim.drive.plan import plan_drive
from overlapsim.ground.columns import Strips, columns_of
from overlapsim.ground.edges import Edges, spread
from overlapsim.ground.profile import Profile, profile
from overlapsim.scenario.scenario import Scenario

UNION, INSIDE, PLANTED = 0, 1, 2
"""Quantities summed up: planted at least once in the field, in the field as often as planted, everywhere."""


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


@dataclass(frozen=True)
class _Ends:
    """Ends of stretches of columns, each moving linearly over its own range of the offset."""

    column: Ints
    low: Floats
    high: Floats
    drift: Floats
    first: Floats
    last: Floats

    @property
    def middle(self) -> Floats:
        return (self.first + self.last) / 2

    def take(self, chosen: Ints) -> _Ends:
        return _Ends(**{name: values[chosen] for name, values in vars(self).items()})


def build_ledger(
    scenario: Scenario, low: float, high: float, moving: frozenset[str] | None = None
) -> Ledger:
    """Work out areas for all reference offsets of a range at once.

    Parameters
    ----------
    scenario : Scenario
        All but the offset as it stands.
    low, high : float
        Range of the offset, metres behind the hitch pin.
    moving : frozenset of str, optional
        Ranks whose own offset is varied, where the scenario has one per rank; by default the one offset
        that serves all.

    Returns
    -------
    Ledger
        Exact but for rounding.

    Raises
    ------
    ScenarioError
        With headland laps: there two moving ends contest the same ground, which this ledger does not know.
    """
    if scenario.plan.headland_laps:
        raise ScenarioError(
            Fault(
                key="plan.headland_laps",
                value=str(scenario.plan.headland_laps),
                rule="searching over reference offsets is not there yet for headland laps",
                remedy="Write 0 to search, or run this one setting with simulate.",
            )
        )
    drive = plan_drive(scenario)
    chains = chains_of(scenario, drive, drive.ground)
    pieces = pieces_of(scenario, drive, chains, low, high, moving)
    virtual = chains.take(pieces.chain)
    given = commands(scenario, virtual, pieces.reference, pieces.start, update_phase(virtual.leg))
    sowing = sow(scenario, drive.layout, virtual, given)
    strips = strips_of(scenario, drive, sowing)
    direction = np.array([leg.direction for leg in drive.legs])[sowing.leg]
    parts = np.array([leg.part for leg in drive.legs])[sowing.leg]
    changes = []
    for number, ground in enumerate(drive.ground):
        own = np.flatnonzero(parts == number)
        changes += _part_changes(strips, direction, pieces, sowing.chain, own, ground)
    place, value, slope, bend = (np.concatenate(found) for found in zip(*changes, strict=True))
    sums = summed(place, value, slope, bend, low, high)
    return _ledger(scenario, sums)


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
    strips: Strips, direction: Ints, pieces: Pieces, chain: Ints, own: Ints, ground: Edges
) -> list[tuple[Floats, Floats, Floats, Floats]]:
    """All changes of the three sums on one part of the field."""
    one = Strips(**{name: values[own] for name, values in vars(strips).items()})
    piece = chain[own]
    drift = direction[own] * pieces.rate[piece]
    first, last = pieces.first[piece], pieces.last[piece]
    columns = columns_of(one.left, one.right, one.leg)
    field = profile(ground, columns.left, columns.right)
    strip, column = columns.under(one.left, one.right)
    ends = _Ends(column, one.low[strip], one.high[strip], drift[strip], first[strip], last[strip])
    lanes = columns.lanes[column]
    alone, shared = np.flatnonzero(lanes == 1), np.flatnonzero(lanes > 1)
    both = np.array([1.0, 1.0, 0.0])
    found = [
        *_moving(field, ends.take(alone), both),
        *_moving(field, ends.take(shared), np.array([0.0, 1.0, 0.0])),
        _steps(first, one.area, PLANTED),
        _steps(last, -one.area, PLANTED),
    ]
    if len(shared):
        found += _union(field, ends.take(shared))
    return found


def _steps(place: Floats, size: Floats, quantity: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Changes that are jumps of one quantity."""
    value = np.zeros((len(place), 3))
    value[:, quantity] = size
    return place, value, np.zeros_like(value), np.zeros_like(value)


def _moving(
    field: Profile, ends: _Ends, share: Floats
) -> list[tuple[Floats, Floats, Floats, Floats]]:
    """Changes by stretches: the running area at the high end less that at the low end."""
    high = _reading(field, ends.column, ends.high, ends, np.ones(len(ends.column)), share)
    low = _reading(field, ends.column, ends.low, ends, -np.ones(len(ends.column)), share)
    return [*high, *low]


def _reading(
    field: Profile, column: Ints, place: Floats, ends: _Ends, sign: Floats, share: Floats
) -> list[tuple[Floats, Floats, Floats, Floats]]:
    """Changes by a running area that is read at moving places.

    `place` holds at the middle of each range of the offset; it moves by `ends.drift` per metre.
    """
    at_first = place + ends.drift * (ends.first - ends.middle)
    at_last = place + ends.drift * (ends.last - ends.middle)

    def change(when: Floats, area: Floats, width: Floats, slope: Floats, by: Floats, move: Floats) -> tuple:
        scale = by[:, None] * share[None, :]
        first, second = width * move, slope * move**2
        return when, area[:, None] * scale, first[:, None] * scale, second[:, None] * scale

    # An end that moves backwards reads the piece on its left where it starts on a knot.
    begin, finish = field.at(column, at_first), field.at(column, at_last)
    moves = ends.drift != 0
    low, high = np.minimum(at_first, at_last), np.maximum(at_first, at_last)
    first = field.piece(column[moves], low[moves]) + 1
    last = field.piece(column[moves], high[moves]) + 1
    owner, knot = spread(first, last)
    owner = np.flatnonzero(moves)[owner]
    before = knot - 1
    inside = before >= field.bounds[column[owner]]
    step = np.where(inside, field.knot[knot] - field.knot[before], 0.0)
    was_width = np.where(inside, field.width[before] + step * field.slope[before], 0.0)
    was_slope = np.where(inside, field.slope[before], 0.0)
    turn = ends.drift[owner]
    when = ends.middle[owner] + (field.knot[knot] - place[owner]) / turn
    ahead = np.sign(turn)
    nothing = np.zeros(len(owner))
    return [
        change(ends.first, *begin, sign, ends.drift),
        change(ends.last, *finish, -sign, ends.drift),
        change(
            when, nothing, ahead * (field.width[knot] - was_width), ahead * (field.slope[knot] - was_slope),
            sign[owner], turn,
        ),
    ]  # fmt: skip


def _union(field: Profile, ends: _Ends) -> list[tuple[Floats, Floats, Floats, Floats]]:
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
    moving = _Ends(
        ends.column[entries], at[edge], at[edge], ends.drift[entries], first[cells], last[cells]
    )
    return _reading(field, moving.column, at[edge], moving, sign[edge], np.array([1.0, 0.0, 0.0]))


def _orders(ends: _Ends) -> tuple[Ints, Ints, Floats, Floats]:
    """Cut the range of the offset, column by column, where ends pass one another.

    Returns cell and stretch of every pair that is alive in a cell, and each cell's range.
    """
    cell_of, entry_of, first, last = [], [], [], []
    count = 0
    for column in np.unique(ends.column):
        own = np.flatnonzero(ends.column == column)
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


