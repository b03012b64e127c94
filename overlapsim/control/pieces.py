"""Ranges of the reference offset over which a chain's commands move evenly with it.

With continuous updates every command moves along with the offset that serves it. On update ticks a
command stands on its tick, relative to the leg's start, until the offset makes it due at another one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.chains import Chains
from overlapsim.control.commands import ON_TICK, starts_of, update_phase
from overlapsim.control.response import offset_for
from overlapsim.drive.legs import Drive
from overlapsim.ground.edges import PLANTED, spread
from overlapsim.scenario.scenario import Scenario


@dataclass(frozen=True)
class Pieces:
    """One range of the offset for one chain each.

    Attributes
    ----------
    chain : ndarray of int, shape (p,)
        Index of the chain.
    first, last : ndarray, shape (p,)
        The range, metres behind the hitch pin.
    reference, start : ndarray, shape (p,)
        The chain's reference offset and its leg's start at the middle of the range, metres.
    rate : ndarray, shape (p,)
        Metres by which commands move along the way per metre of offset: 1, 0 or -1.
    """

    chain: Ints
    first: Floats
    last: Floats
    reference: Floats
    start: Floats
    rate: Floats


def pieces_of(
    scenario: Scenario,
    drive: Drive,
    chains: Chains,
    low: float,
    high: float,
    moving: frozenset[str] | None,
) -> Pieces:
    """Cut a range of the offset, chain by chain.

    Parameters
    ----------
    scenario : Scenario
        Settings; update rate.
    drive : Drive
        Legs.
    chains : Chains
        Crossings.
    low, high : float
        Range of the offset, metres.
    moving : frozenset of str or None
        Ranks whose own offset is varied; None where one offset serves all.

    Returns
    -------
    Pieces
        Sorted by chain and range.
    """
    varies = np.array([moving is None or str(rank) in moving for rank in chains.rank], dtype=bool)
    ranks = np.unique(chains.rank)
    known = {str(r): 0.0 if moving is None else offset_for(scenario, str(r)) for r in ranks}
    fixed = np.array([known[str(rank)] for rank in chains.rank], dtype=float)
    # A leg starts farther back where the offset exceeds every row and every fixed offset.
    deep = max([float(drive.layout.behind_pin.max()), *fixed[~varies]])
    period = scenario.controller.update_period
    if not period:
        count = len(chains.leg)
        middle = np.full(count, (low + high) / 2)
        return Pieces(
            np.arange(count), np.full(count, low), np.full(count, high),
            np.where(varies, middle, fixed), starts_of(drive, chains.leg, np.maximum(deep, middle)),
            varies.astype(float),
        )  # fmt: skip
    chain, cut = _ticks(scenario, drive, chains, (low, high), varies, fixed, deep)
    every = np.arange(len(chains.leg))
    own = [low, high, *([deep] if low < deep < high else [])]
    chain = np.concatenate([chain, *([every] * len(own))])
    cut = np.concatenate([cut, *(np.full(len(every), v) for v in own)])
    order = np.lexsort((cut, chain))
    chain, cut = chain[order], cut[order]
    real = (chain[1:] == chain[:-1]) & (cut[1:] - cut[:-1] > 1e-12)
    chain, first, last = chain[:-1][real], cut[:-1][real], cut[1:][real]
    middle = (first + last) / 2
    return Pieces(
        chain, first, last, np.where(varies[chain], middle, fixed[chain]),
        starts_of(drive, chains.leg[chain], np.maximum(deep, middle)),
        np.where(middle > deep, -1.0, 0.0),
    )  # fmt: skip


def _ticks(
    scenario: Scenario,
    drive: Drive,
    chains: Chains,
    span: tuple[float, float],
    varies: np.ndarray,
    fixed: Floats,
    deep: float,
) -> tuple[Ints, Floats]:
    """Offsets at which a command comes due at another update: chain and offset of each."""
    low, high = span
    switching, speed, delay = scenario.switching, scenario.speed, scenario.controller.position_delay
    wanted, period = switching.deliberate_overlap, scenario.controller.update_period
    sooner = np.where(chains.on_kind == PLANTED, wanted.planted, wanted.boundary)
    later = np.where(chains.off_kind == PLANTED, wanted.planted, wanted.boundary)
    owner = np.repeat(np.arange(len(chains.leg)), np.diff(chains.bounds))
    phase = update_phase(chains.leg)[owner]
    start = starts_of(drive, chains.leg, np.zeros(len(chains.leg)))[owner]
    found: list[tuple[Ints, Floats]] = []
    for due, pace in (
        (chains.on - sooner + speed.at_on * (delay - switching.turn_on_time), speed.at_on),
        (chains.off + later + speed.at_off * (delay - switching.turn_off_time), speed.at_off),
    ):
        step = pace * period
        # Two ranges: the leg's start stands still, or moves back with the offset.
        for begin, end, moves in ((low, min(high, deep), 0.0), (max(low, deep), high, 1.0)):
            rate = varies[owner] + moves
            use = np.flatnonzero((rate > 0) & (begin < end))
            ref = np.where(varies, 0.0, fixed)[owner][use]
            base = due[use] + ref - start[use] + (0.0 if moves else deep)
            # way = base + rate * offset; due at another tick where way/step - phase passes an integer.
            first = np.ceil((base + rate[use] * begin) / step - phase[use] - ON_TICK)
            last = np.floor((base + rate[use] * end) / step - phase[use] - ON_TICK)
            item, tick = spread(first.astype(np.int64), last.astype(np.int64) + 1)
            place = ((tick + phase[use][item] + ON_TICK) * step - base[item]) / rate[use][item]
            found.append((owner[use][item], place))
    return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])
