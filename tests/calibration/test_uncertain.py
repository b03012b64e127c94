"""Is the best offset on average as sure as it says? The same made-up machine under many seeds."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from overlapsim import simulate
from overlapsim.questions.search import with_offset
from overlapsim.questions.uncertain import look_at_draws
from overlapsim.questions.uncertain_draws import drawn
from tests.closed_form.test_uncertain import BOTH, S, V, W, folded, scenario

SEEDS, DRAWS = 60, 250
SURE = 4.0  # standard deviations that a check over many seeds may be off: once in 16,000
TRUE = 1.9  # by symmetry: starts 0.2 m later than entered, both ends equally unsure, a = 2 m


@cache
def found() -> tuple[np.ndarray, np.ndarray]:
    """Best on average and its standard error, seed by seed."""
    one = scenario(BOTH, response={"on_latency": "0.6 s"})
    as_set, typed = simulate(one), simulate(with_offset(one, TRUE))
    every = [look_at_draws(as_set, typed, DRAWS, seed) for seed in range(SEEDS)]
    return np.array([e.best for e in every]), np.array([e.standard_error for e in every])


def are_pulls(pulls: np.ndarray) -> bool:
    """Mean 0 and variance 1."""
    mean, spread = pulls.mean(), pulls.var(ddof=1)
    return bool(
        abs(mean) < SURE / math.sqrt(len(pulls)) and abs(spread - 1) < SURE * math.sqrt(2 / len(pulls))
    )


def test_pulls_have_mean_0_and_variance_1() -> None:
    best, error = found()
    assert are_pulls((best - TRUE) / error)


@pytest.mark.parametrize(("by", "times"), [(0.0, 0.6), (0.0, 2.0), (0.01, 1.0)])
def test_errors_that_are_too_small_or_large_and_a_best_that_is_off_are_seen(by: float, times: float) -> None:
    """Control: standard errors of 0.6 and of twice their size, and a best 1 cm beside the true one."""
    best, error = found()
    assert not are_pulls((best + by - TRUE) / (error * times))


def test_the_standard_error_is_the_one_of_least_squares() -> None:
    """The mean of n slopes 24 (sign(x + 0.2 + X) + sign(x + Y)) at the least, over the mean's curvature.

    With u = 0.1/s, s = 0.1 m, slopes have the variance 24² 2 (1 - erf(u/sqrt 2)²), the curvature is
    24 x 4 phi(u)/s (first order: a slope that is off by d moves its zero by d over the curvature). The
    bootstrap comes within a tenth of it."""
    u = 0.1 / S
    slope = math.sqrt(2 * (1 - math.erf(u / math.sqrt(2)) ** 2))
    curvature = 4 * math.exp(-u * u / 2) / math.sqrt(2 * math.pi) / S
    assert np.median(found()[1]) == pytest.approx(slope / curvature / math.sqrt(DRAWS), rel=0.1)


def test_draws_have_the_spread_that_is_stated() -> None:
    """Mean and standard deviation of 10,000 draws; quartiles of the normal at 0.6745 standard deviations."""
    off = drawn(scenario(BOTH), 10_000, 0).off_by
    for values in off.values():
        assert abs(values.mean()) < SURE * 0.05 / 100
        assert abs(values.std() - 0.05) < SURE * 0.05 / math.sqrt(2 * 10_000)
        assert np.quantile(values, 0.75) == pytest.approx(0.6745 * 0.05, rel=0.06)
    one, other = off.values()
    assert abs(np.corrcoef(one, other)[0, 1]) < SURE / 100


def test_seeds() -> None:
    """0 is a seed like any; the same one draws the same; more draws go on from fewer; further spreads
    change none."""
    key = "response.on_latency"
    one = drawn(scenario(BOTH), 100, 0).off_by[key]
    assert (one == drawn(scenario(BOTH), 100, 0).off_by[key]).all()
    assert (one != drawn(scenario(BOTH), 100, 1).off_by[key]).all()
    assert (one[:40] == drawn(scenario(BOTH), 40, 0).off_by[key]).all()
    assert (one == drawn(scenario({key: "0.05 s", "speed.working": "0.1 m/s"}), 100, 0).off_by[key]).all()


def test_normal_draws_keep_within_what_a_quantity_can_be() -> None:
    """Where the latency was set to next to nothing after the spread was stated: none below 0 s, the shape
    kept."""
    one = scenario(BOTH).with_({"response.on_latency": 0.01})
    off = drawn(one, 5000, 2).off_by["response.on_latency"]
    assert off.min() >= -0.01
    assert off.std() > 0.02


def test_the_mean_is_no_more_off_than_its_own_standard_error_says() -> None:
    """C at 1.9 m, seed by seed: mean 24 (E|0.1 + X| + E|-0.1 + Y|), the spread of its mean as stated."""
    one = scenario(BOTH, response={"on_latency": "0.6 s"})
    as_set, typed = simulate(one), simulate(with_offset(one, TRUE))
    told = [look_at_draws(as_set, typed, DRAWS, seed).to_dict()["points"][1] for seed in range(100, 130)]
    pulls = [
        (t["combined"]["mean_m2"] - 2 * W * float(folded(0.05 * V))) / t["standard_error_m2"] for t in told
    ]
    assert are_pulls(np.array(pulls))
