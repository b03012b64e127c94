"""The main job: which reference offset to type in, what it saves and what stays."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from time import perf_counter

import numpy as np

from overlapsim.basics.units import INCH, format_length
from overlapsim.control.ledger import build_ledger
from overlapsim.control.run import Simulation, simulate
from overlapsim.control.second_count import counting_again
from overlapsim.questions.options import alternatives, digging, recommend, typed_shift
from overlapsim.questions.outcome import Curve, TuneResult, to_count_again
from overlapsim.questions.search import Best, Offset, find_best, search_span, with_offset
from overlapsim.questions.sensitivity import sensitivity
from overlapsim.questions.sweep import searches_of, sweep
from overlapsim.questions.swept import cases_of
from overlapsim.questions.times import Joint, lower, search_times, searches_for_times
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.uncertain import SEED

Progress = Callable[[int, int, str], None]
"""Called with what is done, what there is to do, and what is being done."""

Before = Callable[[str, float], None]
"""Called with what is about to be done, and the seconds that it is likely to take."""

NEARLY_NOTHING = 1e-6
"""Share of the plantable area: differences from a combined error below it are taken as shares of it."""


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


def tune(
    scenario: Scenario,
    progress: Progress | None = None,
    *,
    with_times: bool = False,
    uncertain: bool = False,
    draws: int | None = None,
    seed: int = SEED,
    workers: int = 1,
    before: Before | None = None,
) -> TuneResult:
    """Find the reference offset with the least combined error, and what the alternatives cost.

    Parameters
    ----------
    scenario : Scenario
        Field, machine, plan, settings as entered today and the machine's real response.
    progress : callable, optional
        Called with steps done, steps in all and what is being done.
    with_times : bool
        Whether both times are searched as well; else they stay as entered.
    uncertain : bool
        Whether what may be off is drawn (``[uncertain]``), and every draw read at all offsets.
    draws : int, optional
        How many draws; default: as many as take seconds.
    seed : int
        Chance of the draws, 0 or more: the same seed draws the same.
    workers : int
        Processes for draws that have to be worked out one by one; the result is the same.
    before : callable, optional
        Called before times, conditions or draws are searched, with what will be searched and the seconds that
        it will take: reckoned from how long the first search took.

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
    total, done = 10 + len(cases_of(scenario)), 0
    if uncertain:
        from overlapsim.questions.uncertain import check_draws

        check_draws(scenario, draws, seed)

    def step(what: str) -> None:
        nonlocal done
        if progress:
            progress(done, total, what)
        done += 1

    step("simulating as set")
    as_set = simulate(scenario)
    step("searching the reference offset")
    began = perf_counter()
    found = find_best(scenario, as_set)
    _say_before(scenario, with_times, perf_counter() - began, before)
    joint, entered = None, scenario
    if with_times:
        joint = search_times(scenario, found, _counting(progress, done, total))
        best, recommended = simulate(joint.scenario), simulate(joint.typed)
        entered = joint.typed
    else:
        best = simulate(with_offset(scenario, found.offset))
        recommended = simulate(with_offset(scenario, recommend(scenario, found)))
    offset = recommended.scenario.switching.reference_offset
    step("simulating the alternatives")
    others = {key: simulate(other) for key, other in alternatives(scenario).items()}
    floor = others.pop("floor")
    if scenario.plan.headland_laps:
        if joint:
            own = simulate(with_offset(scenario, found.offset))
            joint, best = lower(joint, best, [own, recommended, *others.values()])
        else:
            found, best = _lowest(found, best, [recommended, *others.values()])
    with counting_again(to_count_again([as_set, best, recommended], [floor, *others.values()])):
        at = recommended if joint else as_set
        searched = sensitivity(at, lambda: step("searching with conditions changed"))
        table = sweep(scenario, search_span([scenario]), lambda: step("searching each condition"), found)
        sure = None
        if uncertain:
            from overlapsim.questions.uncertain import look_at_draws

            sure = look_at_draws(as_set, recommended, draws, seed, workers, progress, before)
    done_with = TuneResult(
        scenario=scenario,
        as_set=as_set,
        best=best,
        recommended=recommended,
        floor=floor,
        alternatives=others,
        found=joint.found if joint else found,
        ledger_relative_difference=_ledger_difference(found, joint, [as_set, best, recommended]),
        digging=digging(entered, as_set.layout, offset),
        sensitivity=searched,
        curve=_curve(entered, joint.typed_found if joint else found),
        sweep=table,
        as_typed=typed(scenario, offset),
        joint=joint,
        uncertain=sure,
    )
    step("counting a second time")
    _ = done_with.largest_witness_difference
    if progress:
        progress(total, total, "done")
    return done_with


def _say_before(scenario: Scenario, with_times: bool, search_s: float, before: Before | None) -> None:
    """Say what takes longer than one search, before it begins."""
    if before and with_times:
        before("the search over both times", searches_for_times(scenario) * search_s)
    if before and searches_of(scenario):
        cases = len(cases_of(scenario))
        before(f"{cases:,} combinations of conditions", searches_of(scenario) * search_s)


def _counting(progress: Progress | None, done: int, total: int) -> Callable[[], None]:
    """Count searches that nobody can number beforehand."""
    count = itertools.count(1)

    def one_more() -> None:
        if progress:
            progress(done, total, f"searching both times, search {next(count)}")

    return one_more


def _lowest(found: Best, best: Simulation, others: list[Simulation]) -> tuple[Best, Simulation]:
    """Where another run with the same times and kind of offset comes out lower, take that one."""
    for run in others:
        now, then = run.scenario.switching, best.scenario.switching
        same = (now.turn_on_time, now.turn_off_time) == (then.turn_on_time, then.turn_off_time)
        alike = isinstance(now.reference_offset, dict) == isinstance(then.reference_offset, dict)
        if same and alike and run.areas["combined_m2"] < best.areas["combined_m2"]:
            best = run
            found = replace(found, offset=now.reference_offset)
    return found, best


def _ledger_difference(found: Best, joint: Joint | None, runs: list[Simulation]) -> float:
    """Largest difference between what was read and full simulations, as a share of the combined error."""
    worst = 0.0
    searches = [found, joint.found, joint.typed_found] if joint else [found] * len(runs)
    for found, run in zip(searches, runs, strict=True):
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
