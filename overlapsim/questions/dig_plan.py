"""Where to dig so that offset error and latencies come out as surely as wanted, with the fewest turns."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from overlapsim.basics.errors import Fault, InputError
from overlapsim.basics.frames import Floats
from overlapsim.basics.units import INCH, KMH, MPH, format_speed
from overlapsim.questions.dig_trust import ASSUMED_SPACING, READING, spread_of, trusted_tape
from overlapsim.questions.digs import OFF, ON, Dig, DigModel, half_strip, lag
from overlapsim.questions.dug_turns import Turn, digs_at, minutes_for
from overlapsim.questions.least_squares import Known, student
from overlapsim.questions.loose import loose_directions
from overlapsim.questions.planned import DigPlan
from overlapsim.questions.telling_apart import is_told, not_told_with_fewer, tape
from overlapsim.scenario.scenario import Scenario

Progress = Callable[[int, int, str], None]
"""Called with what is done, what there is to do, and what is being done."""

ROWS = 2
"""Rows of each rank that are dug at a turn, starts and stops (this program's choice)."""

SPREAD = 0.4
"""How much slower and faster than the working speed digs are planned, as a share (this program's choice)."""

OFFSET_WITHIN, TIME_WITHIN = 2 * INCH, 0.1
"""Metres and seconds that 95 % intervals may reach to both sides, unless somebody wants more or less."""

MOST_TURNS = 60
"""Turns beyond which a plan is given up: two days of digging."""

WIDE = 10.0
"""Metres or seconds: what is not told yet counts as known to this, so that first turns compare."""


def digplan(
    scenario: Scenario,
    progress: Progress | None = None,
    *,
    minutes: float | None = None,
    offset_within: float = OFFSET_WITHIN,
    time_within: float = TIME_WITHIN,
    slowest: float | None = None,
    fastest: float | None = None,
    scatter: float | None = None,
    seed_spacing: float | None = None,
    tape_error: float | None = None,
    trust_tape: bool | None = None,
    rank_distance: bool = False,
    drift: bool = False,
) -> DigPlan:
    """Plan which passes to drive and where to dig.

    Parameters
    ----------
    scenario : Scenario
        Machine and settings as entered.
    progress : callable, optional
        Called with steps done, steps in all and what is being done.
    minutes : float, optional
        No more than so many minutes (not SI): the surest plan that fits, at the working speed first.
        Default: as long as it takes.
    offset_within : float
        How far the 95 % interval of the offset error (of drift and rank distances too) may reach, m.
    time_within : float
        How far those of both latencies may reach, s.
    slowest, fastest : float, optional
        Speeds that can be driven, m/s. Default: 40 % less and more than the working speed.
    scatter : float, optional
        Standard deviation of one dig, m. Default: seed spacing over the root of 12, a reading of a quarter
        inch, and updates.
    seed_spacing : float, optional
        In the row, m. Default: the scenario's, or 6 in, marked as assumed.
    tape_error : float, optional
        Standard error of the taped distances, m. Default: the scenario's `tune.as_good`.
    trust_tape : bool, optional
        Whether taped distances count as data. Default: as `correct` takes it.
    rank_distance : bool
        Whether the distances between ranks are unknown too.
    drift : bool
        Whether a displacement along the heading is unknown too.

    Returns
    -------
    DigPlan
        Digs, what they will tell and what they should show.

    Notes
    -----
    Turn by turn the one is added that lowers most the largest of all standard errors over what is wanted of
    them: the same linear model and the same covariance as `correct` uses. Without a time limit the plan
    begins with one turn at each end of the field, slow and fast, so that digs can contradict a tape and
    show a drift.

    References
    ----------
    Atkinson, A. C. and Donev, A. N., "Optimum Experimental Designs" (1992), chapters 10 and 12: minimax over
    standard errors, sequential construction (from memory).

    Examples
    --------
    Ten minutes at one speed, ranks taped to half an inch:

    >>> from overlapsim import Scenario, digplan
    >>> scenario = Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "2 m"}}},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s"},
    ... })
    >>> plan = digplan(scenario, minutes=10, tape_error=0.0127)
    >>> len(plan.digs), len(plan.turns), plan.not_separable
    (6, 1, [])
    >>> digplan(scenario, minutes=7).not_separable
    ['offset_error_m', 'on_latency_s', 'off_latency_s']
    """
    spacing = seed_spacing or scenario.seed.spacing
    model = DigModel(scenario, spacing or ASSUMED_SPACING, 0.0, rank_distance, drift)
    slow, fast = speeds_of(scenario, slowest, fastest)
    sigma = scatter or spread_of(scenario, model.seed_spacing, READING, fast)
    error = trusted_tape(scenario, tape_error, trust_tape)
    wanted = np.array([time_within if name in (ON, OFF) else offset_within for name in model.unknowns])
    search = _Search(model, sigma, error, wanted)
    working = scenario.speed.working
    if minutes is None:
        speeds = [slow, fast, working]
        start = [Turn("far", slow, ROWS), Turn("near", fast, ROWS)]
        turns = search.until_sure(start, [Turn(end, v, ROWS) for v in speeds for end in ("far", "near")])
    else:
        turns = search.within(minutes, [working, slow, fast])
    if progress:
        progress(1, 1, "done")
    digs = digs_at(scenario, turns)
    return DigPlan(
        scenario=scenario, model=model, turns=tuple(turns), digs=tuple(digs),
        should_show=tuple(float(x) for x in should_show(model, digs)),
        unknowns_wanted=dict(zip(model.unknowns, wanted.tolist(), strict=True)),
        standard_errors=search.standard_errors(digs), quantile=search.quantile(digs), scatter=sigma,
        tape_error=error, spacing_assumed=spacing is None,
        with_fewer=tuple(not_told_with_fewer(model, digs, error)),
    )  # fmt: skip


def speeds_of(scenario: Scenario, slowest: float | None, fastest: float | None) -> tuple[float, float]:
    """Choose the slow and the fast speed.

    Parameters
    ----------
    scenario : Scenario
        With its working speed and its units.
    slowest, fastest : float or None
        As wanted, m/s.

    Returns
    -------
    slow, fast : float
        In m/s; what nobody wants otherwise is 40 % off the working speed, in half miles or whole kilometres
        an hour.

    Raises
    ------
    InputError
        If the slow one is not slower than the fast one.
    """
    step = MPH / 2 if scenario.units == "us" else KMH
    working = scenario.speed.working

    def near(speed: float) -> float:
        return max(round(speed / step), 1) * step

    slow, fast = slowest or near(working * (1 - SPREAD)), fastest or near(working * (1 + SPREAD))
    if slow >= fast:
        said, most = (format_speed(speed, scenario.units) for speed in (slow, fast))
        one = "At one speed only a trusted tape tells offset and times apart."
        remedy = "Swapped?" if slow > fast else one
        raise InputError(Fault(f"is not slower than the fastest, {most}", remedy, "slowest", said))
    return slow, fast


def should_show(model: DigModel, digs: Sequence[Dig]) -> Floats:
    """Reckon what digs should show now, measured from what each is measured from.

    Parameters
    ----------
    model : DigModel
        With the scenario's settings and response.
    digs : sequence of Dig
        Planned.

    Returns
    -------
    ndarray, shape (n,)
        Metres beyond the line, the headland row or the flag, positive = farther along the way; half a seed
        spacing is in it.
    """
    scenario = model.scenario
    response, own, half = scenario.response, lag(scenario), half_strip(scenario)
    latency = [
        (response.on_latency if dig.end == "on" else response.off_latency)[dig.rank] + own for dig in digs
    ]
    wanted = [0.0 if dig.origin != "headland row" else half if dig.end == "on" else -half for dig in digs]
    speed = np.array([dig.speed for dig in digs])
    return np.asarray(model.described(digs) + speed * np.array(latency) + np.array(wanted))


@dataclass(frozen=True)
class _Search:
    """Adds turn after turn."""

    model: DigModel
    sigma: float
    tape_error: float | None
    wanted: Floats

    @property
    def known(self) -> Known:
        count = len(self.model.unknowns)
        return Known.nothing(count) if self.tape_error is None else tape(self.model, self.tape_error)

    def information(self, digs: Sequence[Dig]) -> Floats:
        """What digs and tape tell, as the inverse of a covariance."""
        rows, known = self.model.design(digs) / self.sigma, self.known
        told = known.design / known.error[:, None]
        return rows.T @ rows + told.T @ told

    def quantile(self, digs: Sequence[Dig]) -> float:
        rows = np.vstack([self.model.design(digs), self.known.design])
        return student(max(len(rows) - rows.shape[1] + loose_directions(rows).shape[1], 0))

    def standard_errors(self, digs: Sequence[Dig]) -> dict[str, float | None]:
        rows = np.vstack([self.model.design(digs), self.known.design])
        back = np.linalg.pinv(self.information(digs), rcond=1e-12)
        return {
            name: math.sqrt(max(float(back[i, i]), 0.0)) if is_told(name, self.model, rows) else None
            for i, name in enumerate(self.model.unknowns)
        }

    def worst(self, turns: Sequence[Turn]) -> float:
        """Largest 95 % reach over what is wanted of it."""
        digs = digs_at(self.model.scenario, turns)
        back = np.linalg.inv(self.information(digs) + np.eye(len(self.wanted)) / WIDE**2)
        return float((self.quantile(digs) * np.sqrt(np.diag(back)) / self.wanted).max())

    def best_of(self, turns: list[Turn], offers: Sequence[Turn]) -> list[Turn]:
        """The offer that helps most; of equals the one that balances ends and speeds."""

        def rank(offer: Turn) -> tuple[float, int, int]:
            ends = sum(turn.where == offer.where for turn in turns)
            speeds = sum(turn.speed == offer.speed for turn in turns)
            return (float(f"{self.worst([*turns, offer]):.9g}"), ends, speeds)

        return [*turns, min(offers, key=rank)]

    def until_sure(self, turns: list[Turn], offers: Sequence[Turn]) -> list[Turn]:
        """Add turns until all is as sure as wanted."""
        while self.worst(turns) > 1.0 and len(turns) < MOST_TURNS:
            turns = self.best_of(turns, offers)
        return turns

    def within(self, minutes: float, speeds: list[float]) -> list[Turn]:
        """The surest of the plans that fit; with the working speed in it, where the machine will run."""
        found: list[list[Turn]] = []
        scenario, rows = self.model.scenario, range(1, 4)
        for count in rows:
            turns = [Turn("far", speeds[0], count)]
            offers = [Turn(end, v, count) for v in speeds for end in ("near", "far")]
            each = minutes_for(scenario, turns)
            for _ in range(min(int(minutes // each), MOST_TURNS) - 1):
                turns = self.best_of(turns, offers)
            found.append(turns)
        fitting = [turns for turns in found if minutes_for(scenario, turns) <= minutes]
        # Even the shortest takes more than no time at all.
        return min(fitting, key=lambda turns: float(f"{self.worst(turns):.9g}")) if fitting else found[0]
