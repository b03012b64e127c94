"""The machine's response: from commands to the stretches on which each row drops seed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.basics.records import Records
from overlapsim.control.chains import Chains
from overlapsim.control.commands import Commands, in_order
from overlapsim.ground.edges import spread
from overlapsim.scenario.rows import RowLayout, row_layout

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario


@dataclass(frozen=True)
class Sowing(Records):
    """Stretches on which rows drop seed.

    Attributes
    ----------
    chain, leg, row : ndarray of int, shape (n,)
        The chain of commands that a row obeyed (-1: none, it is on all the way round a closed leg), the
        index of the leg (from 0) and the row (from the left, from 0).
    on, off : ndarray, shape (n,)
        Where its seed starts and stops reaching the ground, on the leg's own believed way, metres.
    on_kind, off_kind : ndarray of int, shape (n,)
        Kind of edge that made the command due.
    """

    chain: Ints
    leg: Ints
    row: Ints
    on: Floats
    off: Floats
    on_kind: Ints
    off_kind: Ints


def joined(parts: list[Sowing]) -> Sowing:
    """Put stretches of several runs together.

    Parameters
    ----------
    parts : list of Sowing
        At least one.

    Returns
    -------
    Sowing
        One behind the other.
    """
    return Sowing(*(np.concatenate(v) for v in zip(*(vars(p).values() for p in parts), strict=True)))


def sow(scenario: Scenario, layout: RowLayout, chains: Chains, given: Commands) -> Sowing:
    """Lay every row's stretches of seed.

    Parameters
    ----------
    scenario : Scenario
        Latencies and speeds.
    layout : RowLayout
        Rows and the sections that they obey; rows that are off lay nothing.
    chains : Chains
        Which leg, section and rank a chain stands for.
    given : Commands
        Commands of the same chains.

    Returns
    -------
    Sowing
        A start that is not before its stop, or a stop that is not before the next start, is dropped
        with its fellow.
    """
    row_of, chain_of = [], []
    for one in np.flatnonzero(~layout.off):
        own = chains.section == layout.section_of_row[one]
        own &= (chains.rank == "") | (chains.rank == layout.rank[one])
        members = np.flatnonzero(own)
        chain_of.append(members)
        row_of.append(np.full(len(members), one))
    if not chain_of:
        empty, none = np.empty(0), np.empty(0, dtype=np.int64)
        return Sowing(none, none, none, empty, empty, none, none)
    chain: Ints = np.concatenate(chain_of)
    row: Ints = np.concatenate(row_of)
    count = given.bounds[chain + 1] - given.bounds[chain]
    line, item = spread(given.bounds[chain], given.bounds[chain + 1])
    delay_on, delay_off = (
        np.array([latency[str(name)] for name in layout.rank])
        for latency in (scenario.response.on_latency, scenario.response.off_latency)
    )
    behind = layout.behind_pin[row][line]
    on = given.on[item] + scenario.speed.at_on * delay_on[row][line] - behind
    off = given.off[item] + scenario.speed.at_off * delay_off[row][line] - behind
    keep_on, keep_off = in_order(on, off, np.append(0, np.cumsum(count)))
    return Sowing(
        chain[line][keep_on], chains.leg[chain[line][keep_on]], row[line][keep_on],
        on[keep_on], off[keep_off],
        given.on_kind[item][keep_on], given.off_kind[item][keep_off],
    )  # fmt: skip


def late_by(scenario: Scenario, rank: str) -> tuple[float, float]:
    """How far a rank's row stands late at "on" and "off" where the reference offset is its own.

    Parameters
    ----------
    scenario : Scenario
        Times, latencies, speeds, delay and update rate.
    rank : str
        Name of the rank.

    Returns
    -------
    c_on, c_off : float
        Metres along the way, positive = late; half an update period is the mean lag of updates.
    """
    switching, controller, speed = scenario.switching, scenario.controller, scenario.speed
    lag = controller.position_delay + controller.update_period / 2
    return (
        speed.at_on * (scenario.response.on_latency[rank] - switching.turn_on_time + lag),
        speed.at_off * (scenario.response.off_latency[rank] - switching.turn_off_time + lag),
    )


def offset_for(scenario: Scenario, rank: str) -> float:
    """Reference offset that serves a rank.

    Parameters
    ----------
    scenario : Scenario
        One offset for all ranks, or one per rank.
    rank : str
        Name of the rank.

    Returns
    -------
    float
        Metres behind the hitch pin.
    """
    offset = scenario.switching.reference_offset
    return offset[rank] if isinstance(offset, dict) else offset


@dataclass(frozen=True)
class SquareEnds:
    """What a digger should find on an edge square to the way, row by row.

    Attributes
    ----------
    layout : RowLayout
        The rows.
    on_m, off_m : ndarray, shape (n,)
        Signed distance of each row's first and last seed beyond the edge, metres, positive = late
        (farther along the way of travel).
    """

    layout: RowLayout
    on_m: Floats
    off_m: Floats

    @property
    def worst_m(self) -> float:
        """Largest distance from the edge over working rows and both ends, metres."""
        work = ~self.layout.off
        return float(np.abs(np.append(self.on_m[work], self.off_m[work])).max(initial=0.0))

    @property
    def longest_gap_m(self) -> float:
        """Longest piece of row missing at an end, over working rows, metres."""
        work = ~self.layout.off
        return float(np.append(self.on_m[work], -self.off_m[work]).max(initial=0.0))


def square_ends(scenario: Scenario) -> SquareEnds:
    """Reckon every row's error on a square edge; independent of any field.

    Parameters
    ----------
    scenario : Scenario
        Machine, settings and response.

    Returns
    -------
    SquareEnds
        Rows from left to right.

    Notes
    -----
    ``e_on = (r - a) + c_on - d`` and ``e_off = (r - a) + c_off + d`` with the boundary's deliberate
    overlap d.
    """
    layout = row_layout(scenario)
    wanted = scenario.switching.deliberate_overlap.boundary
    on, off = np.empty(len(layout.rank)), np.empty(len(layout.rank))
    for i, (name, behind) in enumerate(zip(layout.rank, layout.behind_pin, strict=True)):
        c_on, c_off = late_by(scenario, str(name))
        ahead = offset_for(scenario, str(name)) - behind
        on[i], off[i] = ahead + c_on - wanted, ahead + c_off + wanted
    return SquareEnds(layout, on, off)
