"""What draws of everything that may be off came to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from overlapsim.basics.frames import Floats
from overlapsim.questions.uncertain_points import Point, quantiles_of
from overlapsim.questions.uncertain_stretches import Stretches
from overlapsim.scenario.scenario import Scenario

BAND = (0.05, 0.95)
"""Shares of draws between which the band of the curve lies."""


@dataclass(frozen=True)
class Uncertain:
    """The outcome over all draws.

    Attributes
    ----------
    scenario : Scenario
        As it stands, with its spreads, at the offset and times that are typed in.
    assumed : bool
        Whether the spreads are assumed, for want of a table.
    seed : int
        Chance.
    draws : int
        How many.
    shared : bool
        Whether all draws were read from ground that they share (exact), or each was worked out for itself.
    best : float
        The offset that is best on average, metres behind the hitch pin.
    standard_error : float
        What sampling leaves open of it, metres.
    as_good : tuple of float
        Offsets that are just as good on average, metres behind the hitch pin.
    found : Stretches
        Best offset and as-good stretch of each draw.
    points : tuple of Point
        Now, typed in, best on average.
    unknown : list of dict
        What a mis-measured inch or tenth of a second costs.
    offset_m, mean_m2, low_m2, high_m2 : ndarray, shape (m,)
        Offsets, metres behind the hitch pin, and over the draws the mean of the combined error and the
        borders of :data:`BAND`, m².
    """

    scenario: Scenario
    assumed: bool
    seed: int
    draws: int
    shared: bool
    best: float
    standard_error: float
    as_good: tuple[float, float]
    found: Stretches
    points: tuple[Point, ...]
    unknown: list[dict[str, Any]]
    offset_m: Floats
    mean_m2: Floats
    low_m2: Floats
    high_m2: Floats

    def to_dict(self) -> dict[str, Any]:
        """Write it as plain data.

        Returns
        -------
        dict
            SI units, JSON types only.
        """
        now = self.points[0].combined
        return {
            "draws": self.draws,
            "seed": self.seed,
            "assumed": self.assumed,
            "read": "from ground that all draws share" if self.shared else "draw by draw",
            "spreads": [
                {"key": key, "spread": list(one.sizes), "shape": one.shape}
                for key, one in self.scenario.uncertain.items()
            ],
            "best": {
                "reference_offset_m": self.best,
                "standard_error_m": self.standard_error,
                "as_good_m": list(self.as_good),
            },
            "best_over_draws": quantiles_of(self.found.best, "m"),
            "points": [one.to_dict(now) for one in self.points],
            "not_known": self.unknown,
            "curve": {
                "reference_offset_m": self.offset_m,
                "mean_m2": self.mean_m2,
                "q05_m2": self.low_m2,
                "q95_m2": self.high_m2,
            },
        }
