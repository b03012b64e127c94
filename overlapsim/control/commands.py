"""The section controller: from crossings of its reference lines to commands on and off.

A *chain* is what one (part-)section does on one leg: commands on and off by turns. Chains are kept as
flat arrays with bounds, so that a whole drive, or many settings at once, is a few array operations.
All places are ways of the hitch pin along the leg, metres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.drive.legs import Drive
from overlapsim.ground.columns import common_borders
from overlapsim.ground.crossings import Stretches, needed_width, stretches
from overlapsim.ground.edges import PLANTED, spread
from overlapsim.ground.profile import profile

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

GOLDEN_PHASE = 0.618034
"""Phase step of the update clock from leg to leg, so that pass ends see all phases (a convention)."""

ON_TICK = 1e-9
"""Updates: a command due this little after a tick is given on it."""


@dataclass(frozen=True)
class Chains:
    """Stretches of ground that each section comes over, leg by leg.

    Attributes
    ----------
    leg, section : ndarray of int, shape (c,)
        Index of the leg (from 0) and of the believed section.
    rank : ndarray of str, shape (c,)
        Rank whose rows obey this chain; empty where one reference line serves all ranks.
    bounds : ndarray of int, shape (c + 1,)
        Stretches of chain `i` are ``bounds[i] .. bounds[i + 1] - 1``.
    on, off : ndarray, shape (n,)
        Way of the reference line where the condition comes true and fails, metres.
    on_kind, off_kind : ndarray of int, shape (n,)
        Kind of edge that decided.
    """

    leg: Ints
    section: Ints
    rank: np.ndarray
    bounds: Ints
    on: Floats
    off: Floats
    on_kind: Ints
    off_kind: Ints

    def take(self, chains: Ints) -> Chains:
        """Pick chains, in the given order, with repeats.

        Parameters
        ----------
        chains : ndarray of int, shape (m,)
            Indices of chains.

        Returns
        -------
        Chains
            The picked ones.
        """
        _, item = spread(self.bounds[chains], self.bounds[chains + 1])
        count = self.bounds[chains + 1] - self.bounds[chains]
        return Chains(
            self.leg[chains], self.section[chains], self.rank[chains], np.append(0, np.cumsum(count)),
            self.on[item], self.off[item], self.on_kind[item], self.off_kind[item],
        )  # fmt: skip


def chains_of(scenario: Scenario, drive: Drive) -> Chains:
    """Find where every section's reference line crosses the edges of the ground to be planted.

    Straight passes lie side by side in the believed plan, so what earlier passes hold as planted only
    touches the line's ends; only the ground's own edges are crossed.

    Parameters
    ----------
    scenario : Scenario
        Switch fraction and edge tolerance; one reference offset, or one per rank.
    drive : Drive
        Legs.

    Returns
    -------
    Chains
        Sorted by leg, section and rank. They depend on no reference offset, time or speed.
    """
    layout, edges = drive.layout, drive.layout.section_edges
    sections = len(edges) - 1
    legs = np.repeat(np.arange(len(drive.legs)), sections)
    section = np.tile(np.arange(sections), len(drive.legs))
    way = np.array([leg.direction for leg in drive.legs])[legs]
    across = np.array([leg.across for leg in drive.legs])[legs]
    one, other = common_borders(across + way * edges[section], across + way * edges[section + 1])
    left, right = np.minimum(one, other), np.maximum(one, other)
    level = needed_width(
        right - left, scenario.switching.switch_fraction, scenario.controller.edge_tolerance
    )
    found: list[tuple[Ints, Stretches]] = []
    for part, ground in enumerate(drive.ground):
        own = np.flatnonzero(np.array([leg.part for leg in drive.legs])[legs] == part)
        own = own[np.argsort(left[own])]
        found.append((own, stretches(profile(ground, left[own], right[own]), level[own])))
    chain = np.concatenate([own[s.band] for own, s in found])
    low, high, low_kind, high_kind = (
        np.concatenate([getattr(s, name) for _, s in found])
        for name in ("low", "high", "low_kind", "high_kind")
    )
    ahead = way[chain] > 0
    on, off = np.where(ahead, low, -high), np.where(ahead, high, -low)
    order = np.lexsort((on, chain))
    all_chains = Chains(
        leg=legs, section=section, rank=np.full(len(legs), "", dtype=layout.rank.dtype),
        bounds=np.searchsorted(chain[order], np.arange(len(legs) + 1)),
        on=on[order], off=off[order],
        on_kind=np.where(ahead, low_kind, high_kind)[order],
        off_kind=np.where(ahead, high_kind, low_kind)[order],
    )  # fmt: skip
    if not isinstance(scenario.switching.reference_offset, dict):
        return all_chains
    ranks = np.array(layout.working_ranks)
    by_rank = all_chains.take(np.repeat(np.arange(len(legs)), len(ranks)))
    return Chains(**{**vars(by_rank), "rank": np.tile(ranks, len(legs))})


@dataclass(frozen=True)
class Commands:
    """Commands that were really given, chain by chain.

    Attributes
    ----------
    bounds : ndarray of int, shape (c + 1,)
        Commands of chain `i` are ``bounds[i] .. bounds[i + 1] - 1``.
    on, off : ndarray, shape (n,)
        Way of the hitch pin at the command, metres.
    on_kind, off_kind : ndarray of int, shape (n,)
        Kind of edge that made it due.
    """

    bounds: Ints
    on: Floats
    off: Floats
    on_kind: Ints
    off_kind: Ints


def commands(
    scenario: Scenario, chains: Chains, reference: Floats, start: Floats, phase: Floats
) -> Commands:
    """Give the commands of many chains.

    Parameters
    ----------
    scenario : Scenario
        Times, speeds, deliberate overlap, update rate and position delay.
    chains : Chains
        Crossings.
    reference : ndarray, shape (c,)
        Reference offset of each chain, behind the hitch pin, metres.
    start : ndarray, shape (c,)
        Way of the hitch pin at the leg's start, metres.
    phase : ndarray, shape (c,)
        Phase of the leg's update clock, periods, 0 to 1.

    Returns
    -------
    Commands
        With the pairs dropped in which the later command would not come after the earlier one.

    Notes
    -----
    ``on = s_on - d + r + v_on (delay - turn_on_time)``, rounded up to the next update, and likewise off.
    """
    switching, controller, speed = scenario.switching, scenario.controller, scenario.speed
    count = np.diff(chains.bounds)
    offset = np.repeat(reference, count)
    wanted = switching.deliberate_overlap
    sooner = np.where(chains.on_kind == PLANTED, wanted.planted, wanted.boundary)
    later = np.where(chains.off_kind == PLANTED, wanted.planted, wanted.boundary)
    on = chains.on - sooner + offset + speed.at_on * (controller.position_delay - switching.turn_on_time)
    off = chains.off + later + offset + speed.at_off * (controller.position_delay - switching.turn_off_time)
    if controller.update_period:
        begin, shift = np.repeat(start, count), np.repeat(phase, count)
        on = _next_update(on, begin, shift, speed.at_on * controller.update_period)
        off = _next_update(off, begin, shift, speed.at_off * controller.update_period)
    keep_on, keep_off = in_order(on, off, chains.bounds)
    kept = np.append(0, np.cumsum(keep_on))[chains.bounds]
    return Commands(
        kept, on[keep_on], off[keep_off], chains.on_kind[keep_on], chains.off_kind[keep_off]
    )


def update_phase(legs: Ints) -> Floats:
    """Phase of the update clock on each leg.

    Parameters
    ----------
    legs : ndarray of int, shape (c,)
        Index of the leg, from 0.

    Returns
    -------
    ndarray, shape (c,)
        Share of a period between the leg's start and its first update, 0 to 1.
    """
    return (GOLDEN_PHASE * legs) % 1.0


def _next_update(place: Floats, start: Floats, phase: Floats, step: float) -> Floats:
    ticks = np.ceil((place - start) / step - phase - ON_TICK)
    return start + (np.maximum(ticks, 0.0) + phase) * step


def in_order(on: Floats, off: Floats, bounds: Ints) -> tuple[Bools, Bools]:
    """Drop pairs of events whose later one would not come after the earlier one.

    One pass along each chain: an event that is not after the last one kept removes both. Events
    alternate on and off, so a dropped pair is a piece or a gap too short to switch for.

    Parameters
    ----------
    on, off : ndarray, shape (n,)
        Places of the events along the way, metres; pair by pair.
    bounds : ndarray of int, shape (c + 1,)
        Pairs of chain `i` are ``bounds[i] .. bounds[i + 1] - 1``.

    Returns
    -------
    keep_on, keep_off : ndarray of bool, shape (n,)
        Equally many of both in every chain; the kept ones alternate again.

    Examples
    --------
    A gap of 0.2 m for which "on" would come 0.1 m before "off" is not switched for:

    >>> in_order(np.array([0.0, 9.9]), np.array([10.0, 20.0]), np.array([0, 2]))
    (array([ True, False]), array([False,  True]))
    """
    keep_on, keep_off = np.ones(len(on), dtype=bool), np.ones(len(on), dtype=bool)
    chain = np.repeat(np.arange(len(bounds) - 1), np.diff(bounds))
    wrong = off <= on
    wrong[1:] |= (on[1:] <= off[:-1]) & (chain[1:] == chain[:-1])
    for c in np.unique(chain[wrong]):
        kept: list[tuple[float, int, Bools]] = []
        for i in range(bounds[c], bounds[c + 1]):
            for place, keep in ((on[i], keep_on), (off[i], keep_off)):
                if kept and place <= kept[-1][0]:
                    keep[i] = False
                    _, j, other = kept.pop()
                    other[j] = False
                else:
                    kept.append((place, i, keep))
    return keep_on, keep_off


def starts_of(drive: Drive, legs: Ints, deepest: Floats) -> Floats:
    """Way of the hitch pin at the start of legs, for any reference offset.

    Parameters
    ----------
    drive : Drive
        Legs.
    legs : ndarray of int, shape (c,)
        Index of the leg, from 0.
    deepest : ndarray, shape (c,)
        The larger of the rearmost row's distance and the largest reference offset, metres.

    Returns
    -------
    ndarray, shape (c,)
        Metres.
    """
    first = np.array([leg.first for leg in drive.legs])
    return first[legs] - drive.margin - deepest


