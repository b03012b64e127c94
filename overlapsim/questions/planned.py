"""A plan of digs: where, how sure it makes, and what digging should show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from overlapsim.control import result
from overlapsim.questions.digs import Dig, DigModel
from overlapsim.questions.dug_turns import Turn, minutes_for
from overlapsim.questions.telling_apart import what_would_settle
from overlapsim.scenario.scenario import Scenario


@dataclass(frozen=True)
class DigPlan:
    """Which passes to drive, where to dig, and what that will tell.

    Attributes
    ----------
    scenario : Scenario
        Machine and settings as entered.
    model : DigModel
        What digs show.
    turns : tuple of Turn
        Turns in driving order.
    digs : tuple of Dig
        Row ends in the order in which one digs, nothing measured yet.
    should_show : tuple of float
        What each should show now, m beyond what it is measured from, half a seed spacing in it.
    unknowns_wanted : dict of str to float
        How far the 95 % interval of each unknown may reach, m and s.
    standard_errors : dict of str to float or None
        What to expect, m and s; None = cannot be told apart.
    quantile : float
        Standard errors that a 95 % interval reaches to both sides, ratio.
    scatter : float
        Standard deviation of one dig, m.
    tape_error : float or None
        How well the taped distances are trusted, m; None = not at all.
    spacing_assumed : bool
        Whether nobody has stated the seed spacing.
    with_fewer : tuple of dict
        What could not be told apart if something were left out: `with` and `not_told`.

    Examples
    --------
    Without a tape to trust, slow and fast turns at both ends:

    >>> from overlapsim import Scenario, digplan
    >>> plan = digplan(Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "2 m"}}},
    ...     "speed": {"working": "8 km/h"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s"},
    ... }))
    >>> sorted({round(turn.speed * 3.6, 6) for turn in plan.turns}), plan.is_enough
    ([5.0, 11.0], True)
    """

    scenario: Scenario
    model: DigModel
    turns: tuple[Turn, ...]
    digs: tuple[Dig, ...]
    should_show: tuple[float, ...]
    unknowns_wanted: dict[str, float]
    standard_errors: dict[str, float | None]
    quantile: float
    scatter: float
    tape_error: float | None
    spacing_assumed: bool
    with_fewer: tuple[dict[str, Any], ...]

    @property
    def not_separable(self) -> list[str]:
        """Unknowns that these digs cannot tell apart."""
        return [name for name, error in self.standard_errors.items() if error is None]

    @property
    def settled_by(self) -> list[tuple[str, ...]]:
        """Further digs (or a trusted tape) that would tell them apart: any one of these lists."""
        return what_would_settle(self.model, self.digs, self.tape_error)

    @property
    def minutes(self) -> float:
        """How long it takes one person who knows how: minutes, not SI."""
        return minutes_for(self.scenario, self.turns)

    def reach(self, name: str) -> float | None:
        """Tell how far the 95 % interval of an unknown will reach to both sides.

        Parameters
        ----------
        name : str
            Of the unknown.

        Returns
        -------
        float or None
            In m or s; None where it cannot be told apart.
        """
        error = self.standard_errors[name]
        return None if error is None else self.quantile * error

    @property
    def is_enough(self) -> bool:
        """Whether all unknowns come out as surely as wanted."""
        reaches = {name: self.reach(name) for name in self.standard_errors}
        return all(r is not None and r <= self.unknowns_wanted[name] for name, r in reaches.items())

    def _repr_html_(self) -> str:
        """The first screen of its page, with its table, for notebooks."""
        from importlib import import_module

        return str(import_module("overlapsim.report.page.notebook").shown(self))

    def to_dict(self) -> dict[str, Any]:
        """All results as plain data.

        Returns
        -------
        dict
            What `result.json` holds, SI units, JSON types only.
        """
        head = result.header("digplan", self.scenario)
        if self.spacing_assumed:
            head["assumed"] = [*head["assumed"], "seed.spacing"]
        return {
            **head,
            "digs": [
                {
                    "dig": dig.line,
                    "end": dig.end,
                    "rank": dig.rank,
                    "row": dig.row,
                    "direction": dig.direction,
                    "speed_m_per_s": dig.speed,
                    "from": dig.origin,
                    "should_show_m": shown,
                }
                for dig, shown in zip(self.digs, self.should_show, strict=True)
            ],
            "turns": [{"where": t.where, "speed_m_per_s": t.speed, "rows": t.rows} for t in self.turns],
            "predicted": {
                name: {
                    "standard_error": error,
                    "within": self.reach(name),
                    "wanted": self.unknowns_wanted[name],
                }
                for name, error in self.standard_errors.items()
            },
            "not_separable": self.not_separable,
            "settled_by": [list(one) for one in self.settled_by],
            "with_fewer": [dict(one) for one in self.with_fewer],
            "enough": self.is_enough,
            "minutes": self.minutes,
            "scatter_m": self.scatter,
            "seed_spacing_m": self.model.seed_spacing,
            "tape_error_m": self.tape_error,
        }
