"""Reference offset and both times searched together, by hand on square ends.

A start of a row at a_i lands u - a_i beyond the line, u = r + v_on (on latency - turn-on time); a stop lands
w - a_i, w = r + v_off (off latency - turn-off time); position delay counts as latency. For two ranks with
equal rows D = 35 in apart the cost of starts is flat for u from 84 to 119 in, that of stops for w likewise:
equal is the whole square of u and w. Its middle is u = w = 101.5 in; of all settings that come to it, times
that match the latencies have r = 101.5 in.

The box: half of the way to a side, D/4 = 8.75 in, goes to the offset, the rest to each time: D/4/v.
"""

from __future__ import annotations

import itertools
from typing import Any

import pytest

import overlapsim
from overlapsim import Scenario
from overlapsim.questions.outcome import TuneResult
from tests.helpers import FOOT, INCH, scenario, square, two_ranks

FIELD = square("120 ft", "400 ft")
GROUND = 120 * FOOT * 400 * FOOT
D = 35 * INCH
V = 5 * 0.44704
LEAST = 3 * 2 * 16 * 15 * INCH * D
LATE = {"response": {"on_latency": "0.45 s", "off_latency": "0.3 s"}}


def searched(machine: Any = None, **tables: Any) -> tuple[TuneResult, dict[str, Any]]:
    case = scenario(machine or two_ranks(), FIELD, **{**LATE, **tables})
    result = overlapsim.tune(case, with_times=True)
    return result, result.to_dict()


def combined(case: Scenario, offset: float, on: float, off: float) -> float:
    changes = {
        "switching.reference_offset": offset, "switching.turn_on_time": on, "switching.turn_off_time": off,
    }  # fmt: skip
    return overlapsim.simulate(case.with_(changes)).areas["combined_m2"]


def around(middle: float, half: float) -> Any:
    return pytest.approx([middle - half, middle + half], abs=1e-6)


def test_the_box_and_its_middle() -> None:
    """92.75 to 110.25 in, 0.45 s and 0.3 s either way by D/4/v = 0.0994 s."""
    _, told = searched()
    assert told["equal_box"] == {
        "reference_offset_m": around(101.5 * INCH, D / 4),
        "turn_on_time_s": around(0.45, D / 4 / V),
        "turn_off_time_s": around(0.30, D / 4 / V),
    }
    assert told["best"] == pytest.approx(
        told["best"] | {
            "reference_offset_m": 101.5 * INCH, "turn_on_time_s": 0.45, "turn_off_time_s": 0.3,
            "combined_m2": LEAST, "worst_row_error_m": D / 2,
        },
        abs=1e-6,
    )  # fmt: skip
    assert told["equal_m"] == pytest.approx([84 * INCH, 119 * INCH], abs=1e-5)
    assert told["with_times"] is True


def test_every_corner_of_the_box_costs_the_same() -> None:
    """And what lies beyond a corner where offset and times add up costs more."""
    result, told = searched()
    box = told["equal_box"]
    ends = [box[key] for key in ("reference_offset_m", "turn_on_time_s", "turn_off_time_s")]
    for corner in itertools.product(*ends):
        assert combined(result.scenario, *corner) == pytest.approx(LEAST, rel=1e-6)
    (_, r), (on, _), (off, _) = ends
    assert combined(result.scenario, r + 0.01, on, off) > LEAST * 1.001


def test_what_is_typed_in_lies_on_the_steps_of_the_controller() -> None:
    """0.42 and 0.33 s latency in steps of 0.05 s: times 0.40 or 0.45 and 0.30 or 0.35 s, all flat.

    The smallest worst row is half of D and half of the difference between u and w. For 0.40 and 0.30 s these
    are r + v 0.02 s and r + v 0.03 s, 0.01 s apart; for 0.45 and 0.35 s as much; rounded apart 0.04 or
    0.06 s. Of equal ones the smaller times: r = 101.5 in - v 0.025 s = 99.3 in, on its steps 99.5 in.
    """
    _, told = searched(response={"on_latency": "0.42 s", "off_latency": "0.33 s"})
    typed = told["recommended"]
    assert (typed["turn_on_time_s"], typed["turn_off_time_s"]) == (0.4, 0.3)
    assert typed["reference_offset_m"] == pytest.approx(99.5 * INCH)
    assert typed["as_typed"] == "99.5 in"
    assert typed["combined_m2"] == pytest.approx(LEAST, rel=1e-6)
    low, high = typed["as_good_m"]
    assert low <= typed["reference_offset_m"] <= high
    assert [dig["on_m"] for dig in told["digging_should_show"]] == pytest.approx(
        [99.5 * INCH + V * 0.02 - a * INCH for a in (84, 119)]
    )


def test_different_speeds_at_starts_and_stops_share_the_way_out_by_speed() -> None:
    """3 mph at starts, 6 mph at stops: D/4/v is twice as long for the turn-on time."""
    _, told = searched(speed={"at_on": "3 mph", "at_off": "6 mph"})
    assert told["equal_box"]["turn_on_time_s"] == around(0.45, D / 4 / (3 * 0.44704))
    assert told["equal_box"]["turn_off_time_s"] == around(0.30, D / 4 / (6 * 0.44704))
    assert told["stand_in"] == pytest.approx(
        {"turn_on_time_s_per_m": 1 / (3 * 0.44704), "turn_off_time_s_per_m": 1 / (6 * 0.44704)}
    )


@pytest.mark.parametrize("more", [-0.6, 0.3, 1.2])
def test_offset_and_times_stand_in_for_one_another_at_one_speed(more: float) -> None:
    """`more` metres of offset with more / v on both times: the same ground; at another speed it is not.

    At the best, and off it. At 7 mph times that match stay the best, r = 101.5 in; times that are too long
    by more/v land every row more (1 - 7/5) = -0.4 more away, which costs once that leaves the flat stretch.
    """
    result, told = searched()
    best, case = told["best"], result.scenario
    assert told["not_separable"] == ["reference_offset", "turn_on_time", "turn_off_time"]
    per = told["stand_in"]
    for off_it in (0.0, 0.9):
        here = (best["reference_offset_m"] + off_it, best["turn_on_time_s"], best["turn_off_time_s"])
        there = (
            here[0] + more,
            here[1] + more * per["turn_on_time_s_per_m"],
            here[2] + more * per["turn_off_time_s_per_m"],
        )
        if min(there[1:]) > 0:
            assert combined(case, *there) == pytest.approx(combined(case, *here), rel=1e-9)
    fast = case.with_({"speed.working": "7 mph"})
    assert combined(fast, 101.5 * INCH, 0.45, 0.3) == pytest.approx(LEAST, rel=1e-6)
    if more > 1:
        beyond = 0.4 * more - D / 2
        cost = LEAST + 3 * 16 * 15 * INCH * 4 * beyond
        away = (101.5 * INCH + more, 0.45 + more / V, 0.3 + more / V)
        assert combined(fast, *away) == pytest.approx(cost, rel=1e-6)


def test_unequal_ranks_belong_to_the_larger_one() -> None:
    """16 + 15 rows: u = w = 84 in alone is least; the box is a point but for rounding."""
    _, told = searched(two_ranks(16, 15))
    assert told["best"]["reference_offset_m"] == pytest.approx(84 * INCH, abs=1e-4)
    assert told["best"]["turn_on_time_s"] == pytest.approx(0.45, abs=1e-4)
    assert told["best"]["turn_off_time_s"] == pytest.approx(0.30, abs=1e-4)
    low, high = told["equal_box"]["turn_on_time_s"]
    assert high - low < 1e-3


def test_a_latency_for_each_rank_shortens_the_way() -> None:
    """Front rank 0.1 s quicker at starts: u from 84 in to 119 in - v 0.1 s for the mean of both, +- v 0.05 s.

    Starts are flat for x = r - v t from 84 in - v 0.40 s to 119 in - v 0.50 s, D - v 0.1 s wide; stops for D.
    The offset takes a quarter of the shorter one, the turn-off time what is left of D/2.
    """
    late = {"on_latency": {"front": "0.4 s", "rear": "0.5 s"}, "off_latency": "0.3 s"}
    _, told = searched(response=late)
    quarter = (D - 0.1 * V) / 4
    assert told["equal_box"] == {
        "reference_offset_m": around(101.5 * INCH, quarter),
        "turn_on_time_s": around(0.45, quarter / V),
        "turn_off_time_s": around(0.30, (D / 2 - quarter) / V),
    }


def test_times_that_would_undo_a_deliberate_overlap_do() -> None:
    """d = 6 in sooner and later: u = 101.5 in + d, w = 101.5 in - d, shared by both times: L -+ d/v.

    The sum over both ends is what it is without d, and so is the box.
    """
    result, told = searched(switching={"deliberate_overlap": "6 in"})
    d = 6 * INCH
    assert told["best"]["turn_on_time_s"] == pytest.approx(0.45 - d / V, abs=1e-6)
    assert told["best"]["turn_off_time_s"] == pytest.approx(0.30 + d / V, abs=1e-6)
    assert told["best"]["combined_m2"] == pytest.approx(LEAST, rel=1e-6)
    assert result.as_set.areas["combined_m2"] > LEAST * 1.01


def test_times_stay_within_what_can_be_typed_in() -> None:
    """2.9 s of position delay: 3.35 and 3.2 s would match; 3 s at most, so v 0.35 s less offset and 2.85 s.

    At its end the turn-on time has no room; the turn-off time keeps its own.
    """
    _, told = searched(controller={"position_delay": "2.9 s"})
    best = told["best"]
    assert best["turn_on_time_s"] == pytest.approx(3.0, abs=1e-9)
    assert best["turn_off_time_s"] == pytest.approx(2.85, abs=1e-6)
    assert best["reference_offset_m"] == pytest.approx(101.5 * INCH - 0.35 * V, abs=1e-6)
    assert told["equal_box"]["turn_on_time_s"] == pytest.approx([3.0, 3.0], abs=1e-9)
    assert told["recommended"]["turn_on_time_s"] <= 3.0


def test_an_offset_for_each_rank_and_matching_times_leave_nothing() -> None:
    _, told = searched(switching={"reference_offset": {"front": "80 in", "rear": "119 in"}})
    best = told["best"]
    assert best["reference_offset_m"] == pytest.approx({"front": 84 * INCH, "rear": 119 * INCH}, abs=1e-5)
    assert best["combined_m2"] == pytest.approx(0, abs=1e-6 * GROUND)
    assert set(told["equal_box"]["reference_offset_m"]) == {"front", "rear"}


def test_without_the_option_times_are_left_alone() -> None:
    result = overlapsim.tune(scenario(two_ranks(), FIELD, **LATE))
    told = result.to_dict()
    assert result.joint is None
    assert not {"with_times", "equal_box", "not_separable", "stand_in"} & set(told)
    assert (told["best"]["turn_on_time_s"], told["best"]["turn_off_time_s"]) == (0.4, 0.4)
