"""The edges of what a scenario may say: the search's own steps may go beyond them, the user's may not.

Two ranks 84 and 119 in behind the pin on square ends: the best offset is the middle, (84 + 119)/2 in less
the mean of both ends' lateness. So it moves by 1/2 in per inch of either rank, and by half of the speed per
second of either latency, whichever way the condition can be changed at all.
"""

from __future__ import annotations

import pytest

import overlapsim
from overlapsim.questions.options import matched_times
from overlapsim.questions.search import find_best
from overlapsim.questions.sensitivity import sensitivity
from tests.helpers import scenario, two_ranks

FIELD = {"rectangle": ["160 ft", "200 m"]}
MPH = 0.44704


@pytest.mark.parametrize("mph", [5, 20])
@pytest.mark.parametrize("latency", ["0.02 s", "0.4 s", "3 s"])
def test_every_condition_moves_the_best_also_at_its_limit(mph: float, latency: str) -> None:
    case = scenario(
        two_ranks(),
        FIELD,
        speed={"working": f"{mph} mph"},
        response={"on_latency": latency, "off_latency": latency},
    )
    found = sensitivity(overlapsim.simulate(case))
    assert found["m_per_s_of_on_latency"] == pytest.approx(-mph * MPH / 2, rel=1e-6)
    assert found["m_per_s_of_off_latency"] == pytest.approx(-mph * MPH / 2, rel=1e-6)
    assert found["m_per_m_of_behind_pin"] == pytest.approx({"front": 0.5, "rear": 0.5}, rel=1e-6)


def test_matched_times_may_be_longer_than_anybody_types() -> None:
    """2.9 s of latency and 1.5 s of delay: the time that matches is 4.4 s."""
    case = scenario(
        two_ranks(),
        FIELD,
        response={"on_latency": "2.9 s", "off_latency": "2.9 s"},
        controller={"position_delay": "1.5 s"},
    )
    assert matched_times(case).switching.turn_on_time == pytest.approx(4.4, rel=1e-12)
    done = overlapsim.tune(case)
    # Matched, only the distance between the ranks is left: midway each row errs by 17.5 in.
    assert done.alternatives["times_matched"].areas["longest_gap_m"] == pytest.approx(17.5 * 0.0254, rel=1e-9)


def test_times_typed_that_long_are_still_refused() -> None:
    with pytest.raises(overlapsim.ScenarioError, match="more than 3 s"):
        scenario(two_ranks(), FIELD, switching={"turn_on_time": "4.4 s"})


def test_an_as_good_stretch_that_reaches_the_range_searched_widens_it() -> None:
    """Outside of the flat 84-119 in every row end pays for every metre, so the level that 0.5 m is worth is
    met 0.5 m outside of it, just where the range first searched ends; less 0.5 m it is the flat stretch."""
    found = find_best(scenario(two_ranks(), FIELD, tune={"as_good": "0.5 m"}))
    assert found.bracketed
    # 1e-6: areas are good to 1e-9 m² or so, over 60 m² per metre.
    assert found.as_good == pytest.approx((84 * 0.0254, 119 * 0.0254), rel=1e-6)
    assert found.ledgers[""].combined.knot[0] < 84 * 0.0254 - 0.5 - 1e-3
