"""Uncertain settings on square ends, where the mean over draws can be written down.

One rank of 8 rows of 1 m, `a` = 2 m behind the pin, on 24 m by 100 m: 3 passes. At 2 m/s, with times equal to
the stated latencies, a reference offset x too far behind and latencies that are really X/v and Y/v longer:
every row starts x + X and stops x + Y late. Whether late or early, each metre costs a metre of row once
(skip, or seed beyond the boundary), so the combined error of a draw is

    C(x) = 24 m (|x + X| + |x + Y|).

For X normal with mean 0 and standard deviation s

    E|x + X| = s sqrt(2/pi) exp(-x²/(2 s²)) + x erf(x / (s sqrt 2)),

since E|Z| of a normal Z with mean x is the integral of |z| over its density: x (2 Phi(x/s) - 1) + 2 s
phi(x/s). Of one draw the best x is any between -X and -Y, and the least 24 |X - Y|; beyond them the cost
rises by 48 m² per metre, which is just what a metre of tape is worth (48 m of row ends), so the as-good
stretch of a draw is that very stretch.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from overlapsim import Scenario, ScenarioError, TuneResult, tune
from overlapsim.questions.uncertain_draws import drawn
from tests.helpers import merge

A, V, W = 2.0, 2.0, 24.0
S = 0.05 * V  # 0.05 s at 2 m/s


def scenario(spreads: dict[str, Any], **tables: Any) -> Scenario:
    base = {
        "title": "By hand",
        "machine": {"ranks": {"bar": {"rows": 8, "spacing": "1 m", "behind_pin": "2 m"}}},
        "field": {"rectangle": ["24 m", "100 m"]},
        "speed": {"working": "2 m/s"},
        "switching": {"reference_offset": "2.05 m", "turn_on_time": "0.5 s", "turn_off_time": "0.5 s"},
        "response": {"on_latency": "0.5 s", "off_latency": "0.5 s"},
        "uncertain": spreads,
    }
    return Scenario.from_dict(merge(base, tables))


def done(spreads: dict[str, Any], draws: int = 2000, seed: int = 1, **tables: Any) -> TuneResult:
    return tune(scenario(spreads, **tables), uncertain=True, draws=draws, seed=seed)


def folded(x: Any, s: float = S) -> Any:
    """E|x + X| of the docstring."""
    erf = np.vectorize(math.erf)(np.asarray(x) / (s * math.sqrt(2)))
    return s * math.sqrt(2 / math.pi) * np.exp(-(np.asarray(x) ** 2) / (2 * s * s)) + x * erf


ON = {"response.on_latency": "0.05 s"}
BOTH = {"response.on_latency": "0.05 s", "response.off_latency": "0.05 s"}


def test_the_mean_is_the_mean_of_the_draws_own_areas() -> None:
    """To rounding (areas of 1e3 m², a thousand additions): C(x) of the docstring at every draw's own X."""
    result = done(ON, draws=50).uncertain
    assert result is not None
    late = V * drawn(scenario(ON), 50, 1).off_by["response.on_latency"]
    x = result.offset_m - A
    by_hand = W * (np.abs(x[None, :] + late[:, None]).mean(axis=0) + np.abs(x))
    assert result.mean_m2 == pytest.approx(by_hand, abs=1e-8)


def test_the_mean_follows_the_folded_normal() -> None:
    """Within 5 standard errors of sampling at every offset: |x + X| has the variance x² + s² - E²."""
    result = done(ON).uncertain
    assert result is not None
    x = result.offset_m - A
    expected, error = W * (folded(x) + np.abs(x)), W * np.sqrt((x**2 + S * S - folded(x) ** 2) / 2000)
    off = np.abs(result.mean_m2 - expected)
    assert (off <= 5 * error + 1e-9).all()
    # A spread that is read a tenth too large is seen: the middle then lies 0.1 s sqrt(2/pi) 24 m² = 0.19 m²
    # high.
    assert W * (folded(0.0, 1.1 * S) - folded(0.0)) > 5 * error[np.abs(x).argmin()]


def test_with_one_latency_unsure_the_sure_end_decides() -> None:
    """d/dx 24 (E|x + X| + |x|) = 24 (erf + sign x) changes its sign at x = 0 only: the sure end's own
    place."""
    result = done(ON).uncertain
    assert result is not None
    assert result.best == pytest.approx(A, abs=1e-6)


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_two_ends_equally_unsure_share(seed: int) -> None:
    """The machine answers 0.1 s later at starts than is entered: 24 (E|x + 0.2 + X| + E|x + Y|) is even about
    x = -0.1, and convex: the best on average is 1.9 m. Within 4 of its own standard errors."""
    result = done(BOTH, seed=seed, response={"on_latency": "0.6 s"}).uncertain
    assert result is not None
    assert 1e-4 < result.standard_error < 0.01
    assert abs(result.best - 1.9) < 4 * result.standard_error


def test_two_ranks_of_equal_rows_share() -> None:
    """Ranks 2 m and 3 m behind the pin, both tapes 0.2 m unsure: even about 2.5 m."""
    machine = {
        "ranks": {
            "bar": None,
            "front": {"rows": 4, "spacing": "2 m", "behind_pin": "2 m"},
            "rear": {"rows": 4, "spacing": "2 m", "behind_pin": "3 m", "right": "-1 m"},
        },
        "setups": {"both": {"ranks": ["front", "rear"], "hitch_shift": "0.5 m"}},
    }
    spreads = {f"machine.ranks.{rank}.behind_pin": "0.2 m" for rank in ("front", "rear")}
    result = done(spreads, machine=machine).uncertain
    assert result is not None
    assert abs(result.best - 2.5) < 4 * result.standard_error
    assert result.standard_error < 0.05


def test_spreads_that_make_ranks_change_places_are_refused() -> None:
    machine = {
        "ranks": {
            "bar": None,
            "front": {"rows": 4, "spacing": "2 m", "behind_pin": "2 m"},
            "rear": {"rows": 4, "spacing": "2 m", "behind_pin": "2.4 m", "right": "-1 m"},
        },
        "setups": {"both": {"ranks": ["front", "rear"], "hitch_shift": "0.5 m"}},
    }
    with pytest.raises(
        ScenarioError, match=r"uncertain  makes a machine that none is: .* Swapped|not behind"
    ):
        done({"machine.ranks.front.behind_pin": "0.5 m"}, machine=machine)


@pytest.mark.parametrize("now", ["2.05 m", "1.95 m"])
def test_how_sure(now: str) -> None:
    """Typed in is 2 m, x = 0, in every draw's as-good stretch from 0 to -X.

    Now is 2.05 m: there where X <= -0.05, Phi(-0.5) = 0.3085 of the draws; and it costs more than 2 m in all
    draws but those. 1.95 m likewise.
    """
    result = done(ON, switching={"reference_offset": now})
    told = result.to_dict()["uncertain"]
    now, typed, _ = told["points"]
    assert result.recommended.scenario.switching.reference_offset == pytest.approx(2.0, abs=0.005)
    error = math.sqrt(0.3085 * 0.6915 / 2000)
    assert now["share_as_good"] == pytest.approx(0.3085, abs=4 * error)
    assert typed["share_as_good"] == 1.0
    assert typed["share_less_than_now"] == pytest.approx(1 - 0.3085, abs=4 * error)
    # Half of all draws are off by more than 0.6745 s (quartiles of the normal), the best lies midway: -X/2.
    best = told["best_over_draws"]
    assert best["sd_m"] == pytest.approx(S / 2, rel=4 / math.sqrt(2 * 2000))
    assert best["q75_m"] - best["q25_m"] == pytest.approx(0.6745 * S, rel=0.1)


def test_an_offset_that_acts_elsewhere_than_typed_is_a_tape_that_is_wrong() -> None:
    """x is moved in all rows alike: 48 E|x + X|, least at x = 0."""
    result = done({"switching.reference_offset": "0.1 m"}).uncertain
    assert result is not None
    x = result.offset_m - A
    error = 48 * 0.1 / math.sqrt(2000)
    assert result.mean_m2 == pytest.approx(48 * folded(x, 0.1), abs=5 * error)
    assert abs(result.best - A) < 4 * result.standard_error


def test_an_even_spread() -> None:
    """X anywhere within h: E|x + X| = (x² + h²)/(2h) for |x| <= h, else |x|."""
    h = 0.1 * V
    result = done({"response.on_latency": {"spread": "0.1 s", "shape": "even"}}).uncertain
    assert result is not None
    x = result.offset_m - A
    expected = W * (np.where(np.abs(x) <= h, (x * x + h * h) / (2 * h), np.abs(x)) + np.abs(x))
    assert np.abs(result.mean_m2 - expected).max() < 5 * W * h / math.sqrt(3 * 2000)
    assert float(np.abs(drawn(scenario(ON), 5, 1).off_by["response.on_latency"]).max()) > 0


def test_nothing_unsure_is_the_search_itself() -> None:
    """Spreads of nothing: all draws alike, the best the search's own, no doubt left."""
    result = done({"response.on_latency": "0 s"}, draws=5)
    sure = result.uncertain
    assert sure is not None
    assert sure.best == pytest.approx(result.best.scenario.switching.reference_offset, abs=1e-6)
    assert sure.standard_error == pytest.approx(0.0, abs=1e-9)
    assert sure.points[1].combined == pytest.approx(result.recommended.areas["combined_m2"], abs=1e-8)


def test_drift_along_the_passes_shifts_both_ways_oppositely() -> None:
    """The receiver reads D too far north: with the heading rows start and stop D early, against it D late;
    each end of each pass costs |x - D| or |x + D|. Passes 1 and 3 go out, 2 back: 2 x 8 (2 |x - D| + |x +
    D|). At x = 0 it is 48 |D|, as for any machine that is off by D."""
    result = done({"controller.drift": ["0 m", "0.1 m"]}).uncertain
    assert result is not None
    assert result.shared
    at = np.abs(result.offset_m - A).argmin()
    assert abs(result.offset_m[at] - A) < 0.0064
    assert result.mean_m2[at] == pytest.approx(
        48 * folded(0.0, 0.1), abs=5 * 48 * 0.1 / math.sqrt(2000) + 0.1
    )


def test_drift_across_is_worked_out_draw_by_draw() -> None:
    """D too far east: the seed lands D west, a strip of 100 m x |D| bare on one side, as much beyond the
    other."""
    result = done({"controller.drift": ["0.1 m", "0 m"]}, draws=40).uncertain
    assert result is not None
    assert not result.shared
    off = drawn(scenario({"controller.drift": ["0.1 m", "0 m"]}), 40, 1).off_by["controller.drift"][:, 0]
    expected = 200 * np.abs(off).mean() + 48 * np.abs(result.offset_m - A)
    assert result.mean_m2 == pytest.approx(expected, abs=0.2)  # between offsets a quarter of an inch apart


@pytest.mark.parametrize("end", ["on", "off"])
def test_money_over_draws(end: str) -> None:
    """Seed 0.01 per m² off the field, stand 0.1 per m² of skip; gaps shorter than 0.1 m are free. At x = 0
    every start is X late: skip 24 X where X > 0, off-field -24 X where X < 0. Mean: 24 (0.1 E[X; X >= 0.1]
    + 0.01 E[-X; X < 0]), and for a normal E[X; X > c] = s phi(c/s), with c = s here 0.24197 s, and at 0
    0.39894 s."""
    value = {"currency": "EUR", "seed": "100 /ha", "lost_stand": "1000 /ha", "free_gap": "10 cm"}
    spread = {f"response.{end}_latency": "0.05 s"}
    told = done(spread, draws=8000, value=value).to_dict()["uncertain"]["points"][1]
    expected = W * S * (0.1 * 0.24197 + 0.01 * 0.39894)
    assert told["money"]["mean"] == pytest.approx(expected, abs=5 * told["money"]["sd"] / math.sqrt(8000))
    free = W * S * 0.11 * 0.39894
    assert abs(told["money"]["mean"] - free) > 20 * told["money"]["sd"] / math.sqrt(8000)
