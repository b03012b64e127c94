"""At which reference offset each row end would stand on a square edge, and what a metre of it costs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.control.response import late_by
from overlapsim.control.run import Simulation
from overlapsim.scenario.rows import row_layout
from overlapsim.scenario.scenario import Scenario


@dataclass(frozen=True)
class RowTargets:
    """For each working row and end: the offset at which it errs by nothing, and its strip's width.

    Attributes
    ----------
    target : ndarray, shape (2 n,)
        Metres behind the hitch pin; starts, then stops, on a square edge.
    weight : ndarray, shape (2 n,)
        Strip widths, metres.
    """

    target: Floats
    weight: Floats

    @property
    def middle(self) -> float:
        """Offset with the smallest worst row, metres."""
        return float(self.target.min() + self.target.max()) / 2

    def worst(self, offset: float) -> float:
        """Largest distance of a row end from a square edge.

        Parameters
        ----------
        offset : float
            Metres behind the hitch pin.

        Returns
        -------
        float
            Metres.
        """
        return float(np.abs(offset - self.target).max())

    def squares(self, offset: float) -> float:
        """Sum of squared distances, weighted by strip width.

        Parameters
        ----------
        offset : float
            Metres behind the hitch pin.

        Returns
        -------
        float
            m³ (m² of distance, m of width).
        """
        return float((self.weight * (offset - self.target) ** 2).sum())

    def best_of(self, offsets: Iterable[float]) -> float:
        """Pick the offset with the smallest worst row, then sum of squares, then the smallest offset.

        Parameters
        ----------
        offsets : iterable of float
            Candidates, metres behind the hitch pin.

        Returns
        -------
        float
            One of them, metres behind the hitch pin.
        """
        return min(offsets, key=lambda r: (round(self.worst(r), 9), round(self.squares(r), 9), r))


def row_targets(scenario: Scenario, ranks: frozenset[str] | None = None) -> RowTargets:
    """Work out at which offset each row end would stand on a square edge.

    Parameters
    ----------
    scenario : Scenario
        Machine, times, latencies.
    ranks : frozenset of str, optional
        Only rows of these ranks.

    Returns
    -------
    RowTargets
        Of the rows that work; where none of them does, of all.
    """
    layout = row_layout(scenario)
    wanted = scenario.switching.deliberate_overlap.boundary
    use = np.ones(len(layout.rank), dtype=bool) if layout.off.all() else ~layout.off
    if ranks is not None:
        chosen = np.isin(layout.rank, sorted(ranks))
        use = use & chosen if (use & chosen).any() else chosen
    target_on, target_off = [], []
    for name, behind in zip(layout.rank[use], layout.behind_pin[use], strict=True):
        c_on, c_off = late_by(scenario, str(name))
        target_on.append(behind - c_on + wanted)
        target_off.append(behind - c_off - wanted)
    return RowTargets(np.array(target_on + target_off), np.tile(layout.width[use], 2))


def row_end_cost(run: Simulation, ranks: frozenset[str] | None = None) -> float:
    """What one metre costs if every row end of a run pays it.

    Parameters
    ----------
    run : Simulation
        A run.
    ranks : frozenset of str, optional
        Only row ends of these ranks.

    Returns
    -------
    float
        m² of combined error per metre.
    """
    weights = run.scenario.weights
    row = run.ends.row
    if ranks is not None:
        row = row[np.isin(run.layout.rank[row], sorted(ranks))]
    return float(run.layout.width[row].sum()) * (weights.skip + max(weights.overlap, weights.off_field)) / 2
