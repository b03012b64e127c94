"""Does `correct` find what was put in, and is it as sure as it says? Made-up machines, seeds by chance."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy import stats

from overlapsim import Scenario, correct, digplan, simulate, tune
from overlapsim.questions.correction import fit_digs
from overlapsim.questions.digs import Dig, DigModel
from overlapsim.questions.least_squares import Fit
from tests.dig_helpers import SPACING, TRUE, Entered, dug, flow_ends, plan_of, truth, two_ranks
from tests.helpers import INCH, MPH

RUNS = 400
SURE = 4.0  # standard deviations that a check over many runs may be off: once in 16,000
ROUGH = 3 * INCH  # a scatter so large that what seed spacing alone gives never stands in for it


def normal_digs(seed: int) -> list[Dig]:
    """24 digs whose scatter is normal, seeds at their mean place else."""
    chance = np.random.default_rng(seed)
    return [
        replace(d, past=flow_ends(d) + (SPACING if d.end == "on" else -SPACING) / 2 + chance.normal(0, ROUGH))
        for d in plan_of((3, 5, 7))
    ]


def pulls(change: Callable[[Dig], Dig] = lambda dig: dig, spacing: float = SPACING) -> np.ndarray:
    """Estimate less truth, in standard errors, Student's tails bent to normal ones; a row for each run."""
    model = DigModel(two_ranks(), spacing)
    found = []
    for seed in range(RUNS):
        fit = fit_digs(model, [change(dig) for dig in normal_digs(seed)], None)
        student = (fit.value - list(TRUE.values())) / np.sqrt(np.diag(fit.covariance))
        found.append(stats.norm.ppf(np.clip(stats.t.cdf(student, fit.free), 1e-300, 1 - 1e-16)))
    return np.array(found)


def are_pulls(found: np.ndarray) -> bool:
    """Mean 0 and variance 1, for each unknown."""
    mean, spread = found.mean(axis=0), found.var(axis=0)
    fine = np.abs(mean) < SURE / math.sqrt(RUNS), np.abs(spread - 1) < SURE * math.sqrt(2 / RUNS)
    return bool(np.all(fine))


def test_pulls_have_mean_0_and_variance_1() -> None:
    assert are_pulls(pulls())


def swapped(dig: Dig) -> Dig:
    return replace(dig, end="off" if dig.end == "on" else "on")


def test_half_a_spacing_the_wrong_way_would_be_noticed() -> None:
    """A model with the opposite sign takes half a spacing from starts where it lies on top."""
    assert not are_pulls(pulls(spacing=-SPACING))


def test_a_forgotten_seed_spacing_would_be_noticed() -> None:
    assert not are_pulls(pulls(spacing=0.0))


def test_swapped_ends_would_be_noticed() -> None:
    assert not are_pulls(pulls(swapped))


def test_swapped_signs_would_be_noticed() -> None:
    assert not are_pulls(pulls(lambda dig: replace(dig, past=-dig.past)))


def held(fit: Fit, name: int, true: float) -> bool:
    row = np.eye(len(fit.value))[name]
    value, error = fit.of(row)
    return abs(value - true) <= fit.quantile() * error


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """Seeds anywhere in their spacing and a tape read to a quarter inch: 95 % intervals; of 400 runs one may
    miss 5 %, give or take four standard deviations of a count (1.1 %). They may be surer than they say, since
    chance within a spacing has no tails.
    """
    model = DigModel(two_ranks(), SPACING)
    fits = [fit_digs(model, dug(plan_of((3, 5, 7)), seed), None) for seed in range(RUNS)]
    for name, true in enumerate(TRUE.values()):
        share = np.mean([held(fit, name, true) for fit in fits])
        assert share > 0.95 - SURE * math.sqrt(0.95 * 0.05 / RUNS)
        # No more than half as wide again as the scatter of the estimates themselves asks for.
        told = np.mean([math.sqrt(fit.covariance[name, name]) for fit in fits])
        assert told < 1.25 * np.std([fit.value[name] for fit in fits])


FAR_OFF = Entered(offset=60 * INCH, on=0.65, off=0.10)
OFF_KEYS = {"reference_offset": "60 in", "turn_on_time": "0.65 s", "turn_off_time": "0.10 s"}


@cache
def least() -> float:
    """Least area that the true machine can have with one offset and times on their steps, m²."""
    best = truth().with_({"switching.turn_on_time": 0.45, "switching.turn_off_time": 0.25})
    return float(tune(best).best.areas["combined_m2"])


def typed_in(recommended: dict[str, float]) -> Scenario:
    """The true machine with what was recommended typed in."""
    return truth().with_({f"switching.{key.rpartition('_')[0]}": value for key, value in recommended.items()})


@pytest.mark.parametrize("seed", range(6))
def test_a_machine_with_known_errors_is_set_right(seed: int) -> None:
    """Offset and times far off, 24 digs with scatter, three of them grossly wrong. Those three are named; the
    true machine, with what is recommended typed in, loses far less than before: of what can be saved at all
    no more than a fiftieth is left.
    """
    digs = dug(plan_of((3, 5, 7)), seed, entered=FAR_OFF)
    wrong = {5: 0.5, 13: -0.6, 22: 0.45}
    digs = [replace(dig, past=dig.past + wrong.get(dig.line, 0.0)) for dig in digs]
    done = correct(two_ranks(switching=OFF_KEYS), digs, seed_spacing=SPACING)
    assert {digs[i].line for i in done.outliers} == set(wrong)
    before = simulate(truth(switching=OFF_KEYS)).areas["combined_m2"]
    after = simulate(typed_in(done.recommended)).areas["combined_m2"]
    assert before > 1.5 * least()
    assert after <= before
    assert after - least() <= (before - least()) / 50


def test_a_machine_corrected_by_swapped_ends_would_be_noticed() -> None:
    digs = [swapped(dig) for dig in dug(plan_of((3, 5, 7)), 0, entered=FAR_OFF)]
    done = correct(two_ranks(switching=OFF_KEYS), digs, seed_spacing=SPACING)
    before = simulate(truth(switching=OFF_KEYS)).areas["combined_m2"]
    after = simulate(typed_in(done.recommended)).areas["combined_m2"]
    assert after - least() > (before - least()) / 10


def test_ten_minutes_at_one_speed_with_a_trusted_tape_recover_both_times() -> None:
    """Eight starts and eight stops at 5 mph, ranks taped to half an inch: 95 % of the intervals hold the
    times, and no interval is wider than 0.05 s to either side, the step in which they are typed in.
    """
    chance = np.random.default_rng(3)
    model = DigModel(two_ranks(), SPACING)
    plan = plan_of((5,), 2)
    inside, reach = [], []
    for seed in range(RUNS):
        slip = chance.normal(0, INCH / 2)  # what the tape is wrong by
        digs = [replace(dig, past=dig.past - TRUE["dx"] + slip) for dig in dug(plan, seed)]
        fit = fit_digs(model, digs, INCH / 2)
        inside += [held(fit, 1, TRUE["on"]), held(fit, 2, TRUE["off"])]
        reach.append(fit.quantile() * math.sqrt(fit.covariance[1, 1]))
    # The same tape stands behind both times of a run, so that counts are of runs, not of times.
    assert np.mean(inside) > 0.95 - SURE * math.sqrt(0.95 * 0.05 / RUNS)
    assert max(reach) < 0.05


def test_the_ten_minutes_that_digplan_plans_recover_both_times() -> None:
    """`digplan` with ten minutes and the ranks taped to half an inch, one turn at the working speed.

    What it foretells is what `correct` states (the scatter that is found in place of the one foretold: within
    a third on average), and the times come out within it: 95 % of the intervals hold the truth.
    """
    scenario = two_ranks()
    plan = digplan(scenario, minutes=10, seed_spacing=SPACING, tape_error=INCH / 2)
    assert plan.minutes <= 10
    assert {dig.speed for dig in plan.digs} == {5 * MPH}
    chance, model = np.random.default_rng(7), DigModel(scenario, SPACING)
    inside, reach, told = [], [], []
    for seed in range(RUNS):
        slip = chance.normal(0, INCH / 2)
        found = dug(list(plan.digs), seed)
        fit = fit_digs(model, [replace(dig, past=dig.past - TRUE["dx"] + slip) for dig in found], INCH / 2)
        inside.append([held(fit, i, TRUE[name]) for i, name in ((1, "on"), (2, "off"))])
        error = np.sqrt(np.diag(fit.covariance))[1:]
        told.append(error)
        reach.append(fit.quantile() * error.max())
    share = np.mean(inside, axis=0)
    assert (share > 0.95 - SURE * math.sqrt(0.95 * 0.05 / RUNS)).all()
    # What was wanted, 0.1 s, is what the plan foretells and what most runs keep.
    assert plan.quantile * max(v for k, v in plan.standard_errors.items() if k.endswith("_s") and v) < 0.1
    assert np.quantile(reach, 0.9) < 0.1
    foretold = [plan.standard_errors[key] for key in ("on_latency_s", "off_latency_s")]
    assert np.mean(told, axis=0) == pytest.approx(foretold, rel=1 / 3)


def test_a_time_that_is_off_by_a_step_would_be_noticed() -> None:
    """Control of the coverage above: with a turn-on latency 0.1 s longer than told, intervals miss it."""
    model, missed = DigModel(two_ranks(), SPACING), 0
    for seed in range(40):
        fit = fit_digs(
            model, [replace(d, past=d.past - TRUE["dx"]) for d in dug(plan_of((5,), 2), seed)], INCH / 2
        )
        missed += not held(fit, 1, TRUE["on"] + 0.1)
    assert missed == 40


def test_without_a_tape_one_speed_tells_neither() -> None:
    fit = fit_digs(DigModel(two_ranks(), SPACING), dug(plan_of((5,), 2), 1), None)
    assert not any(fit.is_known(row) for row in np.eye(3))


def test_a_tape_that_is_wrong_is_not_believed_blindly() -> None:
    """The tape is 20 cm out: digs at two speeds contradict it, and that is said."""
    digs = [replace(dig, past=dig.past + 0.2) for dig in dug(plan_of((2, 8), 3), 0)]
    done = correct(two_ranks(), digs, seed_spacing=SPACING, tape_error=INCH / 2)
    assert any("contradict" in one for one in done.warnings)


def test_a_hundred_thousand_digs_are_fitted() -> None:
    plan = plan_of((3, 5, 7)) * 4167
    fit = fit_digs(DigModel(two_ranks(), SPACING), dug(plan, 0), None)
    assert len(plan) > 100_000
    assert fit.value == pytest.approx(list(TRUE.values()), abs=SURE * math.sqrt(fit.covariance.max()))
    assert 5 * MPH * math.sqrt(fit.covariance[1, 1]) < 1e-3
