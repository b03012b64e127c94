"""Where the combined error comes from: the same field, run again with one imperfection more each time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from importlib import import_module
from typing import Any

from overlapsim.control import result
from overlapsim.control.money import MONEY
from overlapsim.control.run import Simulation, simulate
from overlapsim.control.second_count import largest_difference
from overlapsim.ground.layers import Layer
from overlapsim.questions.faultless import (
    at_own_places,
    planting_places,
    row_by_row,
    well_set_up,
    without_latency,
    without_updates,
)
from overlapsim.questions.search import EQUAL_GROUND, EQUAL_SHARE, best_offset, with_offset
from overlapsim.scenario.scenario import Scenario

Progress = Callable[[int, int, str], None]
"""Called with what is done, what there is to do, and what is being done."""

KEYS = ("geometry", "setup", "sections", "stagger", "timing", "offset", "updates")
"""Causes in the order in which they come in."""

NOT_RECKONED = ("trailing",)
"""Causes of which nothing is known while the machine runs on rails: they have no line, not even of 0."""

APART = 1e-9
"""Metres: ranks that stand nearer than this drop their seed at one distance behind the pin."""

STEPS = 12
"""Steps of which progress is told: a dozen runs and searches, where none can be left out."""


@dataclass(frozen=True)
class CausesResult:
    """What each imperfection adds to the combined error of one scenario.

    Attributes
    ----------
    scenario : Scenario
        As set.
    runs : dict of str to Simulation
        By key, in the order of :data:`KEYS`: full simulations with this imperfection and all before it. The
        last one is the scenario as it stands.
    today : tuple of Simulation
        What one number for all ranks costs at today's offset: the run with it, and the one with an offset
        per rank that it is held against.

    Examples
    --------
    One rank, 0.5 m behind its reference offset: four rows of 1 m miss 2 m² at the start of the one pass, and
    plant as much beyond its end.

    >>> from overlapsim import Scenario, causes
    >>> done = causes(Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"}}},
    ...     "field": {"rectangle": ["4 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2.5 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... }))
    >>> round(done.lines["offset"]["skip_m2"], 6), round(done.lines["offset"]["off_field_m2"], 6)
    (2.0, 2.0)
    """

    scenario: Scenario
    runs: dict[str, Simulation]
    today: tuple[Simulation, Simulation]

    @property
    def as_set(self) -> Simulation:
        """The scenario as it stands."""
        return self.runs[KEYS[-1]]

    @cached_property
    def lines(self) -> dict[str, dict[str, float]]:
        """What each cause adds, by key: m² and metres, by the names that areas bear; may be negative."""
        nothing = dict.fromkeys(self.as_set.areas, 0.0)
        before = [nothing, *(run.areas for run in self.runs.values())]
        return {
            key: _more(run.areas, less) for (key, run), less in zip(self.runs.items(), before, strict=False)
        }

    @property
    def compromised(self) -> bool:
        """Whether one number has to serve ranks that stand apart."""
        return self.today[0] is not self.today[1]

    @property
    def stagger(self) -> dict[str, dict[str, float]]:
        """What one number for ranks that stand apart adds, `at_best` and `as_set`, as in `lines`."""
        with_one, with_own = self.today
        return {"at_best": self.lines["stagger"], "as_set": _more(with_one.areas, with_own.areas)}

    @property
    def layers(self) -> dict[str, Layer]:
        """Map layers of the scenario as set."""
        return self.as_set.layers

    @property
    def row_ends(self) -> Layer:
        """Row ends of the scenario as set."""
        return self.as_set.row_ends

    @cached_property
    def largest_witness_difference(self) -> float:
        """Largest relative difference of the second witness over all runs."""
        return largest_difference([*self.runs.values(), *self.today])

    def to_dict(self) -> dict[str, Any]:
        """All results as plain data.

        Returns
        -------
        dict
            What `result.json` holds, SI units, JSON types only.
        """
        shown = [*("skip_m2", "overlap_m2", "off_field_m2", "combined_m2")]
        shown += [name for name in MONEY if name in self.as_set.areas]
        return {
            **result.header("causes", self.scenario),
            **result.body(self.as_set),
            "causes": [
                {
                    "key": key,
                    **{name: self.lines[key][name] for name in shown},
                    "reference_offset_m": _offset(run),
                }
                for key, run in self.runs.items()
            ],
            "total": self.as_set.areas,
            "stagger": self.stagger,
            "not_reckoned": list(NOT_RECKONED),
            "witness": {"largest_relative_difference": self.largest_witness_difference},
        }

    def _repr_png_(self) -> bytes:
        """Picture of the causes, for notebooks."""
        return bytes(import_module("overlapsim.report.pictures").picture("causes.png", self))

    def _repr_html_(self) -> str:
        """The first screen of its page, with its table, for notebooks."""
        return str(import_module("overlapsim.report.page.notebook").shown(self))


def _more(areas: dict[str, float], less: dict[str, float]) -> dict[str, float]:
    return {name: value - less[name] for name, value in areas.items()}


def _offset(run: Simulation) -> Any:
    offset = run.scenario.switching.reference_offset
    return dict(offset) if isinstance(offset, dict) else offset


def causes(scenario: Scenario, progress: Progress | None = None) -> CausesResult:
    """Say where the combined error of a scenario comes from.

    Parameters
    ----------
    scenario : Scenario
        Field, machine, plan, settings as entered today and the machine's real response.
    progress : callable, optional
        Called with steps done, steps in all and what is being done.

    Returns
    -------
    CausesResult
        Lines that add up to the error as it stands; each is the difference of two full simulations.

    Raises
    ------
    ScenarioError
        Where the scenario, or the same with an imperfection taken away, cannot be driven.
    BalanceError
        Where areas do not balance: no result.

    Notes
    -----
    The field is run again with one imperfection more each time, and a line is the increase:

    1. `geometry`: every row switches for itself where its own middle crosses an edge (a section for each
       row, switch fraction 1/2, each rank's reference offset at its own seed), without latency, times 0 s,
       continuous updates; the machine is centred, all rows work, the setup that runs is entered, no overlap
       is wanted. The heading of a plan on "auto" is that of the scenario as it stands, throughout.
    2. `setup`: hitch shift, lateral offset, rows off, entered setup and deliberate overlap as they stand. A
       row of the setup entered is then what switches for itself.
    3. `sections`: sections and switch fraction as they stand, still an offset for each rank at its own seed.
    4. `stagger`: one reference offset for all ranks, the best one, still without latency and times.
    5. `timing`: latencies and times as they stand, the best offset for them (today's, should that be better).
    6. `offset`: today's reference offset.
    7. `updates`: update rate, position delay, minimum times and drift as they stand: the scenario itself.

    A line is negative where it undoes a part of the lines before it (deliberate overlap against sections
    that switch late, times with the position delay in them against no delay): two faults cancel. It is never
    clipped.

    With an offset per rank, or ranks that drop their seed at one distance, nothing is compromised: line 4 is
    0 by definition. With an offset per rank lines 5 and 6 are about those: each rank's best, and today's.

    Stagger at best is line 4. As set it is the same with today's offset: the error with it less that with an
    offset for each rank, at its own seed where today's offset lies between the ranks. Where it lies ahead of
    all of them or behind, the ranks' own offsets are shifted alike by as much, so that what is wrong with the
    number for every rank is not laid at the door of stagger.

    Examples
    --------
    Four and four rows, 1 m apart, times matched, ends square: all there is is stagger, 0.5 m for every row
    end of one pass.

    >>> from overlapsim import Scenario, causes
    >>> done = causes(Scenario.from_dict({
    ...     "machine": {"ranks": {
    ...         "front": {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"},
    ...         "rear": {"rows": 4, "spacing": "1 m", "behind_pin": "3 m", "right": "-0.5 m"}},
    ...         "setups": {"both": {"ranks": ["front", "rear"], "hitch_shift": "0.25 m"}}},
    ...     "field": {"rectangle": ["4 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... }))
    >>> {key: round(line["combined_m2"], 6) for key, line in done.lines.items() if key != "updates"}
    {'geometry': 0.0, 'setup': 0.0, 'sections': 0.0, 'stagger': 4.0, 'timing': 0.0, 'offset': 0.0}
    """
    runs = _Runs(progress)
    as_set = runs.of(scenario, "simulating as set")
    if scenario.plan.heading == "auto":
        scenario = scenario.with_({"plan.heading": as_set.drive.heading})
    steady = without_updates(scenario)
    prompt = without_latency(steady)
    own = at_own_places(prompt)
    alone = row_by_row(own)
    entered = scenario.switching.reference_offset
    found = {
        "geometry": runs.of(well_set_up(alone), "simulating geometry alone"),
        "setup": runs.of(alone, "simulating the row setup"),
        "sections": runs.of(own, "simulating sections"),
    }
    places = planting_places(scenario)
    if isinstance(entered, dict) or places[-1] - places[0] < APART:
        found["stagger"] = found["sections"]
        today = (found["sections"], found["sections"])
    else:
        beyond = entered - min(max(entered, float(places[0])), float(places[-1]))
        today = (
            runs.of(with_offset(prompt, entered), "simulating stagger at today's offset"),
            runs.of(at_own_places(prompt, beyond), "simulating stagger at today's offset"),
        )
        found["stagger"] = _lower(runs.best(prompt, "searching the offset for stagger"), today[0])
    offset = runs.of(steady, "simulating today's offset")
    found["timing"] = _lower(runs.best(steady, "searching the offset for the times"), offset)
    found["offset"] = offset
    found["updates"] = as_set
    done = CausesResult(as_set.scenario, found, today)
    runs.tell("counting a second time")
    _ = done.largest_witness_difference
    if progress:
        progress(STEPS, STEPS, "done")
    return done


def _lower(run: Simulation, today: Simulation) -> Simulation:
    """Of what was found and what is entered today the better one; where they are equal, what was found."""
    found, entered = run.areas["combined_m2"], today.areas["combined_m2"]
    equal = max(EQUAL_SHARE * found, EQUAL_GROUND * run.plantable_m2)
    return today if entered < found - equal else run


class _Runs:
    """Full simulations, each scenario once."""

    def __init__(self, progress: Progress | None) -> None:
        self.progress, self.done = progress, 0
        self.made: list[Simulation] = []

    def tell(self, what: str) -> None:
        if self.progress:
            self.progress(min(self.done, STEPS), STEPS, what)
        self.done += 1

    def of(self, scenario: Scenario, what: str) -> Simulation:
        self.tell(what)
        for run in self.made:
            if run.scenario == scenario:
                return run
        self.made.append(simulate(scenario))
        return self.made[-1]

    def best(self, scenario: Scenario, what: str) -> Simulation:
        self.tell(what)
        return self.of(with_offset(scenario, best_offset(scenario)), "simulating the best offset")
