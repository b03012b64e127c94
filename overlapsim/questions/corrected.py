"""What digs told about one scenario, as a result to read, to print and to write."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from importlib import import_module
from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.control import result
from overlapsim.control.run import Simulation
from overlapsim.control.second_count import largest_difference
from overlapsim.questions.digs import Dig, DigModel
from overlapsim.questions.found_machine import settings_for
from overlapsim.questions.least_squares import Fit
from overlapsim.questions.telling_apart import Together, known_together, what_would_settle
from overlapsim.scenario.scenario import Scenario

OUTLIER = 3.0
"""Standard deviations of one dig beyond which it is named: one good dig of 370 (this program's choice)."""


@dataclass(frozen=True)
class CorrectResult:
    """What digs of one scenario told.

    Attributes
    ----------
    scenario : Scenario
        As it was entered when the digs were made.
    digs : tuple of Dig
        What was measured.
    model : DigModel
        What they should show.
    fit : Fit
        The unknowns, in the order of `model.unknowns`.
    tape_error : float or None
        How well the taped distances are trusted, m; None = not at all.
    spacing_assumed : bool
        Whether nobody has stated the seed spacing.
    before, after : Simulation or None
        The machine as the digs show it, with the settings entered and with those recommended; None where the
        digs do not tell enough.
    warnings : tuple of str
        What to beware of.

    Examples
    --------
    One rank that stands 0.2 m nearer the pin than the offset entered, its on latency 0.1 s longer than the
    time, dug without scatter at two speeds, seeds 0.1 m apart:

    >>> from overlapsim import Scenario, correct
    >>> from overlapsim.questions.digs import Dig
    >>> scenario = Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "2 m"}}},
    ...     "field": {"rectangle": ["60.96 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0.4 s", "turn_off_time": "0.3 s"},
    ... })
    >>> digs = [Dig("on", "bar", "out", v, 0.2 + 0.1 * v + 0.05) for v in (1.5, 2.5)]
    >>> digs += [Dig("off", "bar", "out", v, 0.2 - 0.05) for v in (1.5, 2.5)]
    >>> done = correct(scenario, digs, seed_spacing=0.1)
    >>> {key: round(one["value"], 6) for key, one in done.estimates.items()}
    {'offset_error_m': 0.2, 'on_latency_s': 0.5, 'off_latency_s': 0.3}
    >>> done.recommended["turn_on_time_s"]
    0.5
    """

    scenario: Scenario
    digs: tuple[Dig, ...]
    model: DigModel
    fit: Fit
    tape_error: float | None
    spacing_assumed: bool
    before: Simulation | None
    after: Simulation | None
    warnings: tuple[str, ...]

    @cached_property
    def estimates(self) -> dict[str, dict[str, float | None]]:
        """Value, standard error and 95 % interval of every unknown; None for what cannot be told apart.

        In metres and seconds.
        """
        names = self.model.unknowns
        rows = np.eye(len(names))
        return {name: self.stated(row) for name, row in zip(names, rows, strict=True)}

    def stated(self, combination: Floats) -> dict[str, float | None]:
        """Tell a combination of the unknowns with its interval.

        Parameters
        ----------
        combination : ndarray, shape (p,)
            Its coefficients.

        Returns
        -------
        dict
            `value`, `standard_error`, and `low` and `high`, the ends of the 95 % interval.
        """
        if not self.fit.is_known(combination):
            return dict.fromkeys(("value", "standard_error", "low", "high"))
        value, error = self.fit.of(combination)
        reach = self.fit.quantile() * error
        return {"value": value, "standard_error": error, "low": value - reach, "high": value + reach}

    @cached_property
    def together(self) -> list[Together]:
        """Combinations that are known where their parts are not."""
        return known_together(self.model, self.digs, self.fit)

    @cached_property
    def settled_by(self) -> list[tuple[str, ...]]:
        """Digs (or a trusted tape) that would tell apart what now cannot be: any one of these lists."""
        return what_would_settle(self.model, self.digs, self.tape_error)

    @property
    def outliers(self) -> list[int]:
        """Indices of digs that lie too far from all others to be believed."""
        return [i for i, far in enumerate(self._far) if far]

    @property
    def _far(self) -> list[bool]:
        return [bool(far) for far in np.abs(self.fit.residual) > OUTLIER * self.fit.sigma]

    @property
    def recommended(self) -> dict[str, Any]:
        """What to type in: metres and seconds; None where the digs do not tell."""
        if self.after is not None:
            switching = self.after.scenario.switching
            offset = switching.reference_offset
            return {
                "reference_offset_m": dict(offset) if isinstance(offset, dict) else offset,
                "turn_on_time_s": switching.turn_on_time,
                "turn_off_time_s": switching.turn_off_time,
            }
        times = settings_for(self.scenario, {k: one["value"] for k, one in self.estimates.items()})
        return {"reference_offset_m": None, **{f"{key}_s": value for key, value in times.items()}}

    @property
    def largest_witness_difference(self) -> float:
        """Largest relative difference of the second witness over both runs."""
        return largest_difference([run for run in (self.before, self.after) if run is not None])

    def to_dict(self) -> dict[str, Any]:
        """All results as plain data.

        Returns
        -------
        dict
            What `result.json` holds, SI units, JSON types only.
        """
        head = result.header("correct", self.scenario)
        if self.spacing_assumed:
            head["assumed"] = [*head["assumed"], "seed.spacing"]
        return {
            **head,
            "warnings": [*head["warnings"], *self.warnings],
            "estimates": self.estimates,
            "covariance": self.fit.covariance.tolist(),
            "known_together": [
                {"coefficients": one.coefficients, **self.stated(one.row)} for one in self.together
            ],
            "settled_by": [list(one) for one in self.settled_by],
            "scatter_m": self.fit.sigma,
            "degrees_of_freedom": self.fit.free,
            "seed_spacing_m": self.model.seed_spacing,
            "tape_error_m": self.tape_error,
            "digs": [
                {
                    "line": dig.line, "end": dig.end, "rank": dig.rank, "direction": dig.direction,
                    "speed_m_per_s": dig.speed, "past_line_m": float(past), "residual_m": float(residual),
                    "weight": float(weight), "outlier": far,
                }
                for dig, past, residual, weight, far in zip(
                    self.digs, self.model.past_line(self.digs), self.fit.residual, self.fit.weight, self._far,
                    strict=True,
                )
            ],
            "recommended": self.recommended,
            "before": self.before.areas if self.before else None,
            "after": self.after.areas if self.after else None,
            "witness": {
                "largest_relative_difference": self.largest_witness_difference if self.before else None
            },
        }  # fmt: skip

    def _repr_html_(self) -> str:
        """The first screen of its page, with its table, for notebooks."""
        return str(import_module("overlapsim.report.page.notebook").shown(self))

    def _repr_png_(self) -> bytes:
        """Picture of the digs, for notebooks."""
        return bytes(import_module("overlapsim.report.pictures").picture("digs.png", self))
