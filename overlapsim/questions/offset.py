"""The main job: which reference offset to type in, what it saves and what stays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.basics.units import INCH, format_length
from overlapsim.control import result
from overlapsim.control.ledger import build_ledger
from overlapsim.control.run import Simulation, simulate
from overlapsim.ground.layers import Layer
from overlapsim.questions.options import alternatives, digging, recommend, typed_shift
from overlapsim.questions.search import Best, Offset, Span, find_best, search_span, with_offset
from overlapsim.questions.sensitivity import sensitivity
from overlapsim.questions.sweep import Sweep, sweep
from overlapsim.scenario.scenario import Scenario

Progress = Callable[[int, int, str], None]
"""Called with what is done, what there is to do, and what is being done."""


NEARLY_NOTHING = 1e-6
"""Share of the plantable area: differences from a combined error below it are taken as shares of it."""


@dataclass(frozen=True)
class Curve:
    """Areas over the reference offset, for pictures.

    Attributes
    ----------
    offset_m : ndarray, shape (n,)
        Metres behind the hitch pin, rising.
    skip_m2, overlap_m2, off_field_m2, combined_m2 : ndarray, shape (n,)
        Areas, m²; `combined_m2` is weighted.
    """

    offset_m: Floats
    skip_m2: Floats
    overlap_m2: Floats
    off_field_m2: Floats
    combined_m2: Floats


@dataclass(frozen=True)
class TuneResult:
    """The outcome of tuning one scenario.

    Attributes
    ----------
    scenario : Scenario
        As set.
    as_set, best, recommended, floor : Simulation
        Full simulations as set, at the least, at what to type in, and at what no setting goes below.
    alternatives : dict of str to Simulation
        Full simulations of the settings that people think of, by key.
    found : Best
        The search behind `best`.
    ledger_relative_difference : float
        Largest difference between ledger and full simulation, as a share of the combined error.
    digging : list of dict
        What digging should show at `recommended`, rank by rank.
    sensitivity : dict
        How far the best moves with latencies, speed and the tape.
    curve : Curve
        Areas over one offset that serves all ranks, also where the scenario has one per rank.
    sweep : Sweep
        The table of combinations and the best offset for each condition.
    as_typed : str
        `recommended` in the form in which it is typed; by rank where there is one per rank.
    """

    scenario: Scenario
    as_set: Simulation
    best: Simulation
    recommended: Simulation
    floor: Simulation
    alternatives: dict[str, Simulation]
    found: Best
    ledger_relative_difference: float
    digging: list[dict[str, Any]]
    sensitivity: dict[str, Any]
    curve: Curve
    sweep: Sweep
    as_typed: str

    @property
    def equal_m(self) -> Span | dict[str, Span]:
        """Stretch of offsets equal to the best but for rounding, metres."""
        return self.found.equal

    @property
    def as_good_m(self) -> Span | dict[str, Span]:
        """Stretch of offsets that is as good for a tape, metres."""
        return self.found.as_good

    @property
    def bracketed(self) -> bool:
        """Whether the best lies within the range that was searched."""
        return self.found.bracketed

    @property
    def sweep_table(self) -> dict[str, np.ndarray]:
        """Columns of the table of combinations."""
        return self.sweep.columns

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
        """Largest relative difference of the second witness over all runs reported."""
        runs = [self.as_set, self.best, self.recommended, self.floor, *self.alternatives.values()]
        return max(run.witness.largest_relative_difference for run in runs)

    def to_dict(self) -> dict[str, Any]:
        """All results as plain data.

        Returns
        -------
        dict
            What `result.json` holds, SI units, JSON types only.
        """
        return {
            **result.header("tune", self.scenario),
            **result.body(self.as_set),
            "best": point(self.best),
            "equal_m": _listed(self.equal_m),
            "as_good_m": _listed(self.as_good_m),
            "bracketed": self.bracketed,
            "ledger_relative_difference": self.ledger_relative_difference,
            "recommended": {**point(self.recommended), "as_typed": self.as_typed},
            "alternatives": [{"key": key, **point(run)} for key, run in self.alternatives.items()],
            "floor": point(self.floor),
            "digging_should_show": self.digging,
            "sensitivity": self.sensitivity,
            "conditions": self.sweep.conditions,
            "witness": {
                "largest_relative_difference": self.largest_witness_difference,
            },
        }

    def _repr_png_(self) -> bytes:
        """Picture of the row ends, for notebooks."""
        from importlib import import_module

        return bytes(import_module("overlapsim.report.pictures").row_ends_png(self))


def point(run: Simulation) -> dict[str, Any]:
    """Settings and areas of one run.

    Parameters
    ----------
    run : Simulation
        The run.

    Returns
    -------
    dict
        `reference_offset_m` (by rank where there is one per rank), both times, and the areas.
    """
    switching = run.scenario.switching
    offset = switching.reference_offset
    return {
        "reference_offset_m": dict(offset) if isinstance(offset, dict) else offset,
        "turn_on_time_s": switching.turn_on_time,
        "turn_off_time_s": switching.turn_off_time,
        **run.areas,
    }


def _listed(stretch: Span | dict[str, Span]) -> Any:
    return {k: list(v) for k, v in stretch.items()} if isinstance(stretch, dict) else list(stretch)


def typed(scenario: Scenario, offset: Offset) -> str:
    """Write a reference offset in the form in which it is typed.

    Parameters
    ----------
    scenario : Scenario
        Entry step, units, and from where the offset is measured.
    offset : float or dict of str to float
        Metres behind the hitch pin.

    Returns
    -------
    str
        As in ``"97.0 in"``; by rank where there is one per rank.
    """
    if isinstance(offset, dict):
        return ", ".join(f"{rank} {typed(scenario, value)}" for rank, value in offset.items())
    value = offset + typed_shift(scenario)
    return format_length(value, "in" if scenario.units == "us" else "m")


def tune(scenario: Scenario, progress: Progress | None = None) -> TuneResult:
    """Find the reference offset with the least combined error, and what the alternatives cost.

    Parameters
    ----------
    scenario : Scenario
        Field, machine, plan, settings as entered today and the machine's real response.
    progress : callable, optional
        Called with steps done, steps in all and what is being done.

    Returns
    -------
    TuneResult
        `best`, `recommended` and all alternatives are full simulations.

    Raises
    ------
    ScenarioError
        Where the scenario cannot be driven.
    BalanceError
        Where areas do not balance: no result.

    Examples
    --------
    Eight rows behind one bar, times matched: the reference belongs on the bar.

    >>> from overlapsim import Scenario, tune
    >>> done = tune(Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "84 in"}}},
    ...     "field": {"rectangle": ["60.96 m", "100 m"]},
    ...     "speed": {"working": "5 mph"},
    ...     "switching": {"reference_offset": "70 in", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s"},
    ... }))
    >>> done.as_typed
    '84.0 in'
    """
    total, done = 10 + _conditions(scenario), 0

    def step(what: str) -> None:
        nonlocal done
        if progress:
            progress(done, total, what)
        done += 1

    step("simulating as set")
    as_set = simulate(scenario)
    step("searching the reference offset")
    found = find_best(scenario)
    best = simulate(with_offset(scenario, found.offset))
    offset = recommend(scenario, found)
    recommended = simulate(with_offset(scenario, offset))
    step("simulating the alternatives")
    others = {key: simulate(other) for key, (other, _) in alternatives(scenario).items()}
    floor = others.pop("floor")
    searched = sensitivity(scenario, lambda: step("searching with conditions changed"))
    table = sweep(scenario, search_span([scenario]), lambda: step("reading the ledger"))
    ends = TuneResult(
        scenario=scenario, as_set=as_set, best=best, recommended=recommended, floor=floor, alternatives=others,
        found=found, ledger_relative_difference=_ledger_difference(found, [as_set, best, recommended]),
        digging=digging(scenario, as_set.layout, offset), sensitivity=searched, curve=_curve(scenario, found), sweep=table,
        as_typed=typed(scenario, offset),
    )  # fmt: skip
    step("counting a second time")
    _ = ends.largest_witness_difference
    if progress:
        progress(total, total, "done")
    return ends


def _conditions(scenario: Scenario) -> int:
    count = 1
    for key, values in scenario.sweep.items():
        count *= len(values) if key != "switching.reference_offset" else 1
    return count


def _ledger_difference(found: Best, runs: list[Simulation]) -> float:
    """Largest difference between what was read and full simulations, as a share of the combined error."""
    worst = 0.0
    for run in runs:
        offset = run.scenario.switching.reference_offset
        if isinstance(offset, dict):
            last = list(found.ledgers)[-1]
            # A rank's ledger holds with the other ranks where the search left them.
            if offset != found.offset:
                continue
            ledger, place = found.ledgers[last], offset[last]
        else:
            ledger, place = found.ledgers[""], offset
        curve = ledger.combined
        if curve.knot[0] <= place <= curve.knot[-1]:
            full = run.areas["combined_m2"]
            scale = max(full, NEARLY_NOTHING * run.plantable_m2)
            worst = max(worst, abs(float(curve.at(np.array([place]))[0, 0]) - full) / scale)
    return worst


def _curve(scenario: Scenario, found: Best) -> Curve:
    """Read the curve of the one offset in steps of half an inch, with its ends."""
    ledger = found.ledgers.get("")
    if ledger is None:
        one = with_offset(scenario, max(found.offset.values()))  # type: ignore[union-attr]
        ledger = build_ledger(one, *search_span([one]))
    low, high = float(ledger.curve.knot[0]), float(ledger.curve.knot[-1])
    place = np.linspace(low, high, max(2, int((high - low) / (INCH / 2)) + 1))
    areas = ledger.curve.at(place)
    return Curve(place, areas[:, 0], areas[:, 1], areas[:, 2], ledger.combined.at(place)[:, 0])
