"""Dotted keys act on the resolved scenario, cheaply, and each change has the side effects promised."""

from __future__ import annotations

import time

import pytest

from overlapsim import Field, Scenario, ScenarioError
from tests.scenario.files import data, faults

BASE = Scenario.from_dict(data(speed__at_on="4 mph"))


def test_text_and_si_numbers_say_the_same() -> None:
    assert BASE.with_({"switching.reference_offset": "97 in"}) == BASE.with_(
        {"switching.reference_offset": 97 * 0.0254}
    )


def test_the_original_stays_as_it_is() -> None:
    before = BASE.to_inputs()
    BASE.with_({"machine.ranks.rear.behind_pin": "120 in", "switching.reference_offset.rear": 3.0})
    assert BASE.to_inputs() == before


def test_working_speed_scales_the_others() -> None:
    made = BASE.with_({"speed.working": "10 mph"}).speed
    assert made.working == 10 * 0.44704
    assert made.at_on == pytest.approx(8 * 0.44704, rel=1e-15)
    assert made.at_off == 10 * 0.44704


def test_an_explicit_speed_wins_over_the_scaling() -> None:
    made = BASE.with_({"speed.at_on": "3 mph", "speed.working": "10 mph"}).speed
    assert made.at_on == 3 * 0.44704


def test_behind_front_and_behind_pin_clear_each_other() -> None:
    counted = BASE.with_({"machine.ranks.rear.behind_front": 1.0})
    assert counted.machine.ranks["rear"].behind_pin == 2.1336 + 1.0
    moved = counted.with_({"machine.ranks.front.behind_pin": 2.0})
    assert moved.machine.ranks["rear"].behind_pin == 3.0
    pinned = moved.with_({"machine.ranks.rear.behind_pin": 3.5})
    assert pinned.machine.ranks["rear"].behind_front is None
    assert pinned.with_({"machine.ranks.front.behind_pin": 2.2}).machine.ranks["rear"].behind_pin == 3.5


def test_assumed_latencies_are_frozen() -> None:
    assumed = Scenario.from_dict(data(response=None))
    moved = assumed.with_({"switching.turn_on_time": "0.9 s"})
    assert moved.response.on_latency == {"front": 0.4, "rear": 0.4}
    assert moved.assumed == ("response.on_latency", "response.off_latency")


def test_a_latency_that_is_set_is_assumed_no_longer() -> None:
    assumed = Scenario.from_dict(data(response=None))
    assert assumed.with_({"response.on_latency": 0.5}).assumed == ("response.off_latency",)
    one = assumed.with_({"response.on_latency.rear": 0.5})
    assert one.response.on_latency == {"front": 0.4, "rear": 0.5}
    assert one.assumed == ("response.on_latency.front", "response.off_latency")


def test_one_figure_for_all_ranks_becomes_one_per_rank() -> None:
    made = BASE.with_({"switching.reference_offset.rear": "119 in"})
    assert made.switching.reference_offset == {"front": 2.5781, "rear": 3.0226}


def test_a_new_setup_is_entered_as_well_unless_it_is_said_otherwise() -> None:
    coarse = BASE.with_({"switching.sections": "each-row"})
    assert coarse.with_({"machine.setup": "wide"}).switching.entered_setup == "wide"
    forgotten = coarse.with_({"machine.setup": "wide", "switching.entered_setup": "narrow"})
    assert forgotten.switching.entered_setup == "narrow"
    wrong = coarse.with_({"switching.entered_setup": "wide"})
    assert wrong.with_({"machine.setup": "narrow"}).switching.entered_setup == "wide"


def test_what_a_setup_overrides_was_settled_when_the_scenario_was_read() -> None:
    made = data(switching__wide={"turn_on_time": "0.7 s"})
    as_read = Scenario.from_dict(made)
    assert as_read.switching.turn_on_time == 0.4
    assert as_read.with_({"machine.setup": "wide"}).switching.turn_on_time == 0.4
    made["machine"]["setup"] = "wide"
    assert Scenario.from_dict(made).switching.turn_on_time == 0.7


def test_inner_keys() -> None:
    made = BASE.with_(
        {"switching.deliberate_overlap.boundary": 0.1, "machine.setups.narrow.hitch_shift": 0.0}
    )
    assert (made.switching.deliberate_overlap.planted, made.switching.deliberate_overlap.boundary) == (
        0.0,
        0.1,
    )
    assert made.machine.setups["narrow"].hitch_shift == 0.0


def test_words_and_lists() -> None:
    made = BASE.with_(
        {"controller.update_rate": "10 Hz", "plan.heading": "auto", "controller.drift": [0.0, 0.1]}
    )
    assert (made.controller.update_rate, made.plan.heading, made.controller.drift) == (
        10.0,
        "auto",
        (0.0, 0.1),
    )
    assert made.with_({"controller.update_rate": None}).controller.update_rate is None


def test_a_field_can_be_put_in() -> None:
    field = Field.rectangle(100.0, 200.0)
    assert BASE.with_({"field": field}).field is field


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            {"switching.turn_on_tme": 1.0},
            "switching.turn_on_tme = 1.0  no such key. Did you mean turn_on_time?",
        ),
        (
            {"speed.working": "60 mph"},
            'speed.working = "60 mph"  more than 20 mph (32 km/h). Did you mean "6 mph"?',
        ),
        (
            {"speed.working": float("nan")},
            'speed.working = nan  is not a finite number. Write it as in "5 mph".',
        ),
        (
            {"switching.sections": 5},
            "switching.sections = 5  does not divide the 32 rows of row setup narrow. "
            "Write a list, as in [7, 6, 6, 6, 7].",
        ),
        (
            {"machine.ranks.middle.rows": 8},
            "machine.ranks.middle.rows = 8  no such key. Write machine.ranks.front.…; "
            "this machine has: front, rear.",
        ),
        ({"machine.setup": "wade"}, 'machine.setup = "wade"  this machine has: wide, narrow.'),
        (
            {"response.on_latency.reer": 0.4},
            "response.on_latency.reer = 0.4  no such key. Did you mean rear?",
        ),
        (
            {"title": "x"},
            'title = "x"  no such key. Known: machine, plan, speed, switching, controller, '
            "response, seed, weights, value, tune.",
        ),
        ({"speed": 3.0}, "speed = 3.0  is a table, not a key. Name a key in it: working, at_on, at_off."),
        (
            {"weights.skip": 0, "weights.overlap": 0, "weights.off_field": 0},
            "weights  all are 0: nothing would count. Write at least one above 0.",
        ),
    ],
)
def test_what_does_not_fit_is_refused(changes: dict[str, object], said: str) -> None:
    assert faults(lambda: BASE.with_(changes)) == [said]


def test_a_search_may_look_farther_than_anybody_types() -> None:
    assert BASE.with_({"switching.reference_offset": -12.0}).switching.reference_offset == -12.0
    with pytest.raises(ScenarioError, match="less than -5 m"):
        BASE.with_({"switching.reference_offset": "-12 m"})


def test_a_change_costs_far_less_than_a_millisecond() -> None:
    # Thousands of cases are made this way. Best of five, so that a busy machine does not matter.
    times = []
    for _ in range(5):
        start = time.perf_counter()
        for k in range(100):
            BASE.with_({"switching.reference_offset": 2.0 + k / 1000})
        times.append((time.perf_counter() - start) / 100)
    assert min(times) < 5e-4
