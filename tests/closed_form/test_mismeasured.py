"""What a mis-measured inch or tenth of a second costs, on square ends: the machine of `test_uncertain`."""

from __future__ import annotations

import math

import pytest

from tests.closed_form.test_uncertain import BOTH, ON, S, W, done, folded
from tests.helpers import INCH

SURELY = {"response.on_latency": "0.001 s"}
"""So little that it rounds no corner that matters below: 2 mm, in bounds of 1 cm of row ends."""


def test_what_an_inch_and_a_tenth_of_a_second_cost() -> None:
    """At x = 0, d off: 24 (E|d + X| + |d|) - 24 E|X|, whether the offset or the tape is off, either way
    alike. With 0.1 s more at starts it is E|0.2 + X|; another offset would save nothing: the sure stop
    still decides (slope erf(0.2/s/sqrt 2) < 1), so not knowing it costs nothing."""
    result = done(ON, draws=4000).to_dict()["uncertain"]
    told = {one["key"]: one for one in result["not_known"]}
    d = 0.02  # metric scenario
    inch = W * (float(folded(d)) + d - float(folded(0.0)))
    error = 4 * W * S / math.sqrt(4000)
    for key in ("switching.reference_offset", "machine.ranks.bar.behind_pin"):
        assert told[key]["step_m"] == d
        assert told[key]["more_m2"] == pytest.approx(inch, abs=error)
        assert told[key]["less_m2"] == pytest.approx(inch, abs=error)
    tenth = told["response.on_latency"]
    assert tenth["step_s"] == 0.1
    assert tenth["more_m2"] == pytest.approx(W * (float(folded(0.2)) - float(folded(0.0))), abs=error)
    assert tenth["unknown_m2"] == pytest.approx(0.0, abs=1e-9)
    # A tape that is wrong by d costs what the offset then has too much: the whole of it.
    assert told["machine.ranks.bar.behind_pin"]["unknown_m2"] == pytest.approx(inch, abs=error)


def test_us_readers_are_told_of_an_inch() -> None:
    result = done(ON, draws=10, switching={"reference_offset": "80 in"}, speed={"working": "5 mph"})
    assert result.to_dict()["uncertain"]["not_known"][0]["step_m"] == INCH


def test_a_tenth_of_a_second_at_the_fastest_speed() -> None:
    """8 m/s, s = 0.4 m: 0.1 s moves starts by 0.8 m, far beyond what an inch does.

    Held, it costs 24 (E|0.8 + X| - E|X|). Known, another offset 0.4 m farther ahead shares it between both
    ends: that saves 24 (E|0.8 + X| + E|Y| - 2 E|0.4 + X|).
    """
    told = done(BOTH, draws=4000, speed={"working": "8 m/s"}).to_dict()["uncertain"]["not_known"]
    tenth = next(one for one in told if one["key"] == "response.on_latency")
    s, error = 0.4, 5 * W * 0.4 / math.sqrt(4000)
    assert tenth["more_m2"] == pytest.approx(W * (float(folded(0.8, s)) - float(folded(0.0, s))), abs=error)
    saved = W * (float(folded(0.8, s)) + float(folded(0.0, s)) - 2 * float(folded(0.4, s)))
    assert tenth["unknown_m2"] == pytest.approx(saved, abs=error)


def test_a_rank_that_is_truly_farther_back_than_taped() -> None:
    """Midway between two ranks a metre apart, 4 m of rows each: front rows 0.5 m late, rear rows 0.5 m early.

    The front rank d farther back makes its rows d less late, 3 passes x 2 ends x 4 m x d less; the rear rank
    d farther back makes its rows d earlier still, as much more. Nearer it is the other way round.
    """
    machine = {
        "ranks": {
            "bar": None,
            "front": {"rows": 4, "spacing": "2 m", "behind_pin": "2 m"},
            "rear": {"rows": 4, "spacing": "2 m", "behind_pin": "3 m", "right": "-1 m"},
        },
        "setups": {"both": {"ranks": ["front", "rear"], "hitch_shift": "0.5 m"}},
    }
    told = done(SURELY, draws=20, machine=machine).to_dict()
    assert told["recommended"]["reference_offset_m"] == pytest.approx(2.5)
    costs = {one["key"]: one for one in told["uncertain"]["not_known"]}
    for rank, sign in (("front", -1), ("rear", 1)):
        one = costs[f"machine.ranks.{rank}.behind_pin"]
        assert one["more_m2"] == pytest.approx(sign * 24 * 0.02, abs=1e-6)
        assert one["less_m2"] == pytest.approx(-sign * 24 * 0.02, abs=1e-6)


def test_a_machine_that_answers_later_than_thought() -> None:
    """Starts 0.2 m later than entered, typed in 1.9 m: starts 0.1 m late, stops 0.1 m short.

    0.1 s more at starts: 0.3 m late instead of 0.1 m, 24 m x 0.2 m more; 0.1 s less: 0.1 m early, no more
    than before. At stops 0.1 s more: 0.1 m over instead of 0.1 m short; less: 0.3 m short.
    """
    told = done(SURELY, draws=20, response={"on_latency": "0.6 s"}).to_dict()
    assert told["recommended"]["reference_offset_m"] == pytest.approx(1.9)
    costs = {one["key"]: one for one in told["uncertain"]["not_known"]}
    near = {"abs": 24 * 0.01}
    assert costs["response.on_latency"]["more_m2"] == pytest.approx(24 * 0.2, **near)
    assert costs["response.on_latency"]["less_m2"] == pytest.approx(0.0, **near)
    assert costs["response.off_latency"]["more_m2"] == pytest.approx(0.0, **near)
    assert costs["response.off_latency"]["less_m2"] == pytest.approx(24 * 0.2, **near)
