"""The section controller: from crossings of its reference lines to commands on and off.

All places are ways of the hitch pin along the leg, metres.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.control.chains import Chains
from overlapsim.drive.legs import Drive
from overlapsim.ground.edges import PLANTED

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

GOLDEN_PHASE = 0.618034
"""Phase step of the update clock from leg to leg, so that pass ends see all phases (a convention)."""

ON_TICK = 1e-9
"""Updates: a command due this little after a tick is given on it."""


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
    Minimum times put a command off by as much way as the machine makes in them at its working speed.
    """
    switching, controller, speed = scenario.switching, scenario.controller, scenario.speed
    count = np.diff(chains.bounds)
    offset = np.repeat(reference, count)
    wanted = switching.deliberate_overlap
    sooner = np.where(chains.on_kind == PLANTED, wanted.planted, wanted.boundary)
    later = np.where(chains.off_kind == PLANTED, wanted.planted, wanted.boundary)
    on = chains.on - sooner + offset + speed.at_on * (controller.position_delay - switching.turn_on_time)
    off = chains.off + later + offset + speed.at_off * (controller.position_delay - switching.turn_off_time)
    begin, shift, period = np.repeat(start, count), np.repeat(phase, count), controller.update_period
    if period:
        on = _next_update(on, begin, shift, speed.at_on * period)
        off = _next_update(off, begin, shift, speed.at_off * period)
    keep_on, keep_off = in_order(on, off, chains.bounds)
    if controller.minimum_on_time or controller.minimum_off_time:

        def tick(place: float, at: int, pace: float) -> float:
            if not period:
                return place
            item = slice(at, at + 1)
            return float(_next_update(np.array([place]), begin[item], shift[item], pace * period)[0])

        times = (controller.minimum_on_time or 0.0, controller.minimum_off_time or 0.0)
        least = (speed.working * times[0], speed.working * times[1])
        ons, offs, steps = (on, keep_on), (off, keep_off), (speed.at_on, speed.at_off)
        on, off, keep_on, keep_off = put_off(ons, offs, chains.bounds, least, steps, tick)
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


def put_off(
    ons: tuple[Floats, Bools],
    offs: tuple[Floats, Bools],
    bounds: Ints,
    least: tuple[float, float],
    speeds: tuple[float, float],
    tick: Callable[[float, int, float], float],
) -> tuple[Floats, Floats, Bools, Bools]:
    """Put off commands that come too soon after the one before.

    Parameters
    ----------
    ons, offs : tuple of ndarray, shape (n,), and ndarray of bool, shape (n,)
        Places of the commands along the way, metres, pair by pair, and which of them are kept so far.
    bounds : ndarray of int, shape (c + 1,)
        Pairs of chain `i` are ``bounds[i] .. bounds[i + 1] - 1``.
    least : tuple of float
        Way for which a section stays on, and off, at the least, metres.
    speeds : tuple of float
        Speeds at on and at off, m/s, handed to `tick`.
    tick : callable
        Puts a place, metres, that was put off on the next update; given its index and speed.

    Returns
    -------
    on, off : ndarray, shape (n,)
        Metres.
    keep_on, keep_off : ndarray of bool, shape (n,)
        A command whose successor falls due before it may be given is dropped with that one.

    Examples
    --------
    A strip of 1 m, to be planted for 3 m at the least, and one 1.5 m behind it:

    >>> every = np.ones(2, dtype=bool)
    >>> ons, offs = (np.array([0.0, 2.5]), every), (np.array([1.0, 9.0]), every)
    >>> put_off(ons, offs, np.array([0, 2]), (3.0, 0.0), (2.0, 2.0), lambda place, *_: place)[2:]
    (array([ True, False]), array([False,  True]))
    """
    places, keeps = (ons[0].copy(), offs[0].copy()), (ons[1].copy(), offs[1].copy())
    for first, last in pairwise(bounds):
        kept: list[tuple[int, int]] = []
        for at, kind in ((i, k) for i in range(first, last) for k in (0, 1) if keeps[k][i]):
            if kept:
                before = places[kept[-1][1]][kept[-1][0]]
                if places[kind][at] <= before:
                    earlier, which = kept.pop()
                    keeps[kind][at] = keeps[which][earlier] = False
                    continue
                earliest = before + least[1 - kind]
                if places[kind][at] < earliest:
                    places[kind][at] = tick(earliest, at, speeds[kind])
            kept.append((at, kind))
    return *places, *keeps


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


