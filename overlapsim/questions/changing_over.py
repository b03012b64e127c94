"""From one row setup to another: what changes, what stays, and what each forgotten step costs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from importlib import import_module
from typing import Any

from overlapsim.basics.errors import Fault, InputError
from overlapsim.control import result
from overlapsim.control.run import Simulation, simulate
from overlapsim.control.second_count import largest_difference
from overlapsim.questions.changeover_steps import plain_step, steps_between
from overlapsim.questions.forgotten import Case, cases_of, extra_of, noticed
from overlapsim.questions.offset import typed
from overlapsim.questions.setup_facts import facts_of, parted
from overlapsim.questions.tuned import Tuned, as_it_should_be
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.slips import listed, shown
from overlapsim.scenario.steps import Step

Progress = Callable[[int, int, str], None]
"""Called with what is done, what there is to do, and what is being done."""

STEPS = 9
"""Steps of one way of which progress is told: two searches, a run as it should be, six steps left out."""


@dataclass(frozen=True)
class ChangeoverResult:
    """What changes from one row setup to another, and what each forgotten step costs.

    Attributes
    ----------
    old, new : Tuned
        Both row setups as they should be.
    base : Simulation
        The new row setup as it should be.
    cases : tuple of Case
        The steps left out, dearest first: by metres of row missing, then area, then money.
    runs : tuple of Simulation
        Full simulations of these.
    unpriced : dict of str to str
        Steps without a price, by key, and why.
    way_back : ChangeoverResult or None
        The other way round, where that was asked for.

    Examples
    --------
    Four rows, then four more between them, half a metre behind. Forgotten, the second rank misses half of
    4 m x 100 m.

    >>> from overlapsim import Scenario, changeover
    >>> data = {
    ...     "machine": {"ranks": {
    ...         "front": {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"},
    ...         "rear": {"rows": 4, "spacing": "1 m", "behind_pin": "2.5 m", "right": "-0.5 m"}},
    ...         "setups": {"wide": {"ranks": ["front"]},
    ...                    "narrow": {"ranks": ["front", "rear"], "hitch_shift": "0.25 m"}}},
    ...     "field": {"rectangle": ["4 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... }
    >>> wide, narrow = (
    ...     Scenario.from_dict(data | {"machine": data["machine"] | {"setup": name}})
    ...     for name in ("wide", "narrow")
    ... )
    >>> dearest = changeover(wide, narrow).forgotten[0]
    >>> dearest["key"], round(dearest["extra"]["skip_m2"])
    ('rank_left_up', 200)
    """

    old: Tuned
    new: Tuned
    base: Simulation
    cases: tuple[Case, ...]
    runs: tuple[Simulation, ...]
    unpriced: dict[str, str]
    way_back: ChangeoverResult | None = None

    @property
    def scenario(self) -> Scenario:
        """The new row setup as it should be."""
        return self.new.scenario

    @property
    def as_set(self) -> Simulation:
        """The new row setup as it should be, run."""
        return self.base

    @cached_property
    def facts(self) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
        """What changes and what stays, SI."""
        one, other = (
            facts_of(t.scenario, t.scenario.switching.reference_offset, t.found) for t in (self.old, self.new)
        )
        return parted(one, other)

    @cached_property
    def forgotten(self) -> list[dict[str, Any]]:
        """What each forgotten step costs, dearest first: ``key`` and ``extra``, SI."""
        told = []
        for case, run in zip(self.cases, self.runs, strict=True):
            extra = extra_of(run, self.base)
            one: dict[str, Any] = {"key": case.key, "extra": extra}
            if case.rank:
                one["rank"] = case.rank
            if case.key == "row_locked_up":
                one |= noticed(self.base, extra, case.rows[0])
            told.append(one)
        return told

    @property
    def steps(self) -> list[Step]:
        """Steps on the machine from the old to the new row setup, in order."""
        return steps_between(self.old.scenario, self.new.scenario)

    @property
    def steps_back(self) -> list[Step]:
        """Steps on the machine from the new to the old row setup, in order."""
        return steps_between(self.new.scenario, self.old.scenario)

    @cached_property
    def largest_witness_difference(self) -> float:
        """Largest relative difference of the second witness over all runs."""
        return largest_difference([self.base, *self.runs])

    def to_dict(self) -> dict[str, Any]:
        """All results as plain data.

        Returns
        -------
        dict
            What `result.json` holds, SI units, JSON types only.
        """
        back = self.way_back
        return {
            **result.header("changeover", self.scenario),
            **self._told(),
            **({"back": back._told()} if back else {}),
            "steps": [plain_step(step) for step in self.steps],
            "steps_back": [plain_step(step) for step in self.steps_back],
            "witness": {
                "largest_relative_difference": max(
                    one.largest_witness_difference for one in (self, back) if one
                ),
            },
        }

    def _told(self) -> dict[str, Any]:
        changes, stays = self.facts
        return {
            "from": self.old.scenario.machine.setup,
            "to": self.scenario.machine.setup,
            "changes": changes,
            "stays": stays,
            "reference_offset_as_typed": {
                "from": typed(self.old.scenario, self.old.scenario.switching.reference_offset),
                "to": typed(self.scenario, self.scenario.switching.reference_offset),
            },
            "as_it_should_be": self.base.areas,
            "forgotten": self.forgotten,
            "unpriced": [{"key": key, "why": why} for key, why in self.unpriced.items()],
        }

    def _repr_html_(self) -> str:
        """What to enter, old and new, for notebooks."""
        return str(import_module("overlapsim.report.page.notebook").shown(self))


def changeover(
    old: Scenario, new: Scenario, progress: Progress | None = None, *, back: bool = False
) -> ChangeoverResult:
    """Say what changes from one row setup to another, and what each forgotten step costs in this field.

    Parameters
    ----------
    old, new : Scenario
        One scenario, read with either row setup.
    progress : callable, optional
        Called with steps done, steps in all and what is being done.
    back : bool
        Whether the way back is reckoned as well.

    Returns
    -------
    ChangeoverResult
        Each price is the difference of two full simulations.

    Raises
    ------
    InputError
        Both are the same row setup, or not of one machine.
    ScenarioError
        Where a scenario cannot be driven.
    BalanceError
        Where areas do not balance: no result.

    Notes
    -----
    As it should be: all rows work, the row setup that runs is entered, each with the reference offset that
    tuning recommends in this field; times, sections, hitch shift and lateral offset as the scenario states
    them for it. Forgotten, one at a time: the old reference offset; the old sideways place, and the way from
    there made twice; the old row setup and its sections entered; the added rank left up; one row of it, the
    middle one, locked up or without seed; the old times.

    Examples
    --------
    >>> from overlapsim import Scenario, changeover
    >>> bar = {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"}
    >>> ranks = {"front": bar, "rear": {**bar, "right": "-0.5 m"}}
    >>> setups = {"one": {"ranks": ["front"]}, "both": {"ranks": ["front", "rear"], "hitch_shift": "0.25 m"}}
    >>> typed = {"reference_offset": "2 m", "turn_on_time": "0 s", "turn_off_time": "0 s"}
    >>> one, both = (Scenario.from_dict({
    ...     "machine": {"ranks": ranks, "setups": setups, "setup": name}, "switching": typed,
    ...     "speed": {"working": "2 m/s"}, "field": {"rectangle": ["4 m", "100 m"]},
    ... }) for name in setups)
    >>> [change["key"] for change in changeover(one, both).facts[0] if change["kind"] == "machine"]
    ['working_ranks', 'rows_working', 'hitch_shift']
    """
    _must_differ(old, new)
    total, done = STEPS * (1 + back), 0

    def step(what: str) -> None:
        nonlocal done
        if progress:
            progress(min(done, total), total, what)
        done += 1

    tuned = []
    for one in (old, new):
        step(f"searching the reference offset of {one.machine.setup}")
        tuned.append(as_it_should_be(one))
    there = _one_way(tuned[0], tuned[1], step)
    other = _one_way(tuned[1], tuned[0], step) if back else None
    found = ChangeoverResult(**{**vars(there), "way_back": other})
    step("counting a second time")
    for way in (found, other):
        _ = way.largest_witness_difference if way else None
    if progress:
        progress(total, total, "done")
    return found


def _must_differ(old: Scenario, new: Scenario) -> None:
    """See that there is something to change over, and on one machine."""
    if old.machine.ranks != new.machine.ranks or set(old.machine.setups) != set(new.machine.setups):
        raise InputError(Fault("the two row setups are not of one machine", "Read one file twice."))
    name = new.machine.setup
    if old.machine.setup == name:
        remedy = f"This machine has: {listed(new.machine.setups)}."
        raise InputError(Fault("leads from a row setup to itself: nothing changes", remedy, "", shown(name)))


def _one_way(old: Tuned, new: Tuned, step: Callable[[str], None]) -> ChangeoverResult:
    step(f"simulating {new.scenario.machine.setup} as it should be")
    base = simulate(new.scenario)
    cases, unpriced = cases_of(old.scenario, new.scenario)
    runs = []
    for case in cases:
        step(f"simulating {case.key.replace('_', ' ')}")
        runs.append(simulate(case.scenario))
    order = sorted(range(len(cases)), key=lambda i: _dearness(runs[i], base))
    return ChangeoverResult(
        old, new, base, tuple(cases[i] for i in order), tuple(runs[i] for i in order), unpriced
    )


def _dearness(run: Simulation, base: Simulation) -> tuple[float, ...]:
    """Dearest first: metres of row missing, area, money; what is nothing but rounding ties."""
    extra = extra_of(run, base)
    dear = ("unplanted_row_m", "combined_m2", "money")
    return tuple(-round(extra.get(key, 0.0), 3) + 0.0 for key in dear)
