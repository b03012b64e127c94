"""Crossings of reference lines with ground, section by section: what commands are made of.

A *chain* is what one (part-)section meets on one leg: stretches of ground one behind the other. Chains
are kept as flat arrays with bounds, so that a whole drive, or many settings at once, is a few array
operations. All places are ways of the reference line along the leg, metres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.shares import on_stretches
from overlapsim.drive.legs import Drive
from overlapsim.ground.columns import common_borders
from overlapsim.ground.crossings import Stretches
from overlapsim.ground.edges import Edges, spread
from overlapsim.ground.profile import Profile, profile
from overlapsim.scenario.rows import RowLayout

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario


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

    def by_rank(self, scenario: Scenario, layout: RowLayout) -> Chains:
        """Split chains by rank where the controller holds an offset for each.

        Parameters
        ----------
        scenario : Scenario
            With one reference offset, or one per rank.
        layout : RowLayout
            Working ranks.

        Returns
        -------
        Chains
            The same ones, or one for every rank.
        """
        if not isinstance(scenario.switching.reference_offset, dict):
            return self
        ranks = np.array(layout.working_ranks)
        count = len(self.leg)
        split = self.take(np.repeat(np.arange(count), len(ranks)))
        return Chains(**{**vars(split), "rank": np.tile(ranks, count)})

    def references(self, scenario: Scenario) -> Floats:
        """Reference offset of every chain.

        Parameters
        ----------
        scenario : Scenario
            With one reference offset, or one per rank.

        Returns
        -------
        ndarray, shape (c,)
            Metres behind the hitch pin.
        """
        offset = scenario.switching.reference_offset
        if not isinstance(offset, dict):
            return np.full(len(self.leg), float(offset))
        return np.array([offset[str(rank)] for rank in self.rank])


def chains_of(scenario: Scenario, drive: Drive, grounds: Sequence[Edges]) -> Chains:
    """Find where every section's reference line crosses edges of the ground to be planted on passes.

    Straight passes lie side by side in the believed plan, so what earlier passes hold as planted only
    touches the line's ends; only the ground's own edges are crossed.

    Parameters
    ----------
    scenario : Scenario
        Switch fraction and edge tolerance; one reference offset, or one per rank.
    drive : Drive
        Legs.
    grounds : sequence of Edges
        Ground to be planted by the passes of each part, less what laps hold as planted, plan frame.

    Returns
    -------
    Chains
        Sorted by leg, section and rank. They depend on no reference offset, time or speed.
    """
    layout, edges = drive.layout, drive.layout.section_edges
    sections = len(edges) - 1
    passes = np.flatnonzero([leg.kind == "pass" for leg in drive.legs])
    legs = np.repeat(passes, sections)
    section = np.tile(np.arange(sections), len(passes))
    way = np.array([leg.direction for leg in drive.legs])[legs]
    across = np.array([leg.across for leg in drive.legs])[legs]
    one, other = common_borders(across + way * edges[section], across + way * edges[section + 1])
    left, right = np.minimum(one, other), np.maximum(one, other)
    fraction, tolerance = scenario.switching.switch_fraction, scenario.controller.edge_tolerance
    found: list[tuple[Ints, Stretches]] = []
    for part, ground in enumerate(grounds):
        own = np.flatnonzero(np.array([leg.part for leg in drive.legs])[legs] == part)
        own = own[np.argsort(left[own])]
        sides = left[own], right[own]

        def seen(edges: Edges, sides: tuple[Floats, Floats] = sides) -> Profile:
            return profile(edges, *sides)

        field, width = drive.plantable[part], sides[1] - sides[0]
        found.append((own, on_stretches(seen, ground, field, width, fraction, tolerance)))
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
    return all_chains.by_rank(scenario, layout)
