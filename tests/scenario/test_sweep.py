"""Ranges are written out to the value that was written, and each value is tried on the scenario."""

from __future__ import annotations

import pytest

from overlapsim import Scenario
from overlapsim.scenario.keys import column_name
from tests.scenario.files import data, faults


def swept(**keys: object) -> dict[str, object]:
    """The scenario with a sweep; dots in keys as ``__``."""
    return data() | {"sweep": {key.replace("__", "."): value for key, value in keys.items()}}


def test_a_range_holds_both_its_ends() -> None:
    made = swept(switching__reference_offset={"from": "60 in", "to": "150 in", "step": "1 in"})
    values = Scenario.from_dict(made).sweep["switching.reference_offset"]
    assert len(values) == 91
    assert (values[0], values[41], values[-1]) == (1.524, 2.5654, 3.81)


def test_a_step_of_three_tenths_reaches_its_end() -> None:
    # Summed up in doubles, 0.3 + 5 x 0.3 m is a hair more than 1.8 m.
    made = swept(machine__ranks__rear__behind_front={"from": "0.3 m", "to": "1.8 m", "step": "0.3 m"})
    values = Scenario.from_dict(made).sweep["machine.ranks.rear.behind_front"]
    assert values == (0.3, 0.6, 0.9, 1.2, 1.5, 1.8)


def test_a_range_may_fall_short_of_its_end_and_may_go_down() -> None:
    made = swept(response__on_latency={"from": "0.5 s", "to": "0.14 s", "step": "-0.1 s"})
    assert Scenario.from_dict(made).sweep["response.on_latency"] == (0.5, 0.4, 0.3, 0.2)


def test_plain_numbers_have_ranges_too() -> None:
    made = swept(switching__switch_fraction={"from": 0, "to": 1, "step": 0.25})
    assert Scenario.from_dict(made).sweep["switching.switch_fraction"] == (0.0, 0.25, 0.5, 0.75, 1.0)
    laps = swept(plan__headland_laps={"from": 0, "to": 2, "step": 1})
    assert Scenario.from_dict(laps).sweep["plan.headland_laps"] == (0, 1, 2)


def test_lists_of_anything() -> None:
    made = swept(
        speed__working=["4 mph", "8 km/h"],
        switching__sections=[16, "each-row", [8, 24]],
        switching__reference_offset=["84 in", {"front": "84 in", "rear": "119 in"}],
        machine__setup=["narrow"],
    )
    sweep = Scenario.from_dict(made).sweep
    assert sweep["speed.working"] == (4 * 0.44704, 8 / 3.6)
    assert sweep["switching.sections"] == (16, "each-row", (8, 24))
    assert sweep["switching.reference_offset"] == (2.1336, {"front": 2.1336, "rear": 3.0226})
    assert sweep["machine.setup"] == ("narrow",)


def test_dotted_keys_without_quotes_are_tables_and_are_read_all_the_same() -> None:
    made = data() | {"sweep": {"speed": {"working": ["4 mph"]}}}
    assert Scenario.from_dict(made).sweep == {"speed.working": (4 * 0.44704,)}


def test_columns_carry_their_unit() -> None:
    machine = Scenario.from_dict(data()).machine
    names = {
        "switching.reference_offset": "switching_reference_offset_m",
        "switching.reference_offset.rear": "switching_reference_offset_rear_m",
        "response.on_latency": "response_on_latency_s",
        "speed.working": "speed_working_m_per_s",
        "switching.sections": "switching_sections",
        "plan.heading": "plan_heading_rad",
        "controller.update_rate": "controller_update_rate_hz",
        "switching.deliberate_overlap.planted": "switching_deliberate_overlap_planted_m",
    }
    assert {key: column_name(key, machine) for key in names} == names


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        (
            "speed.workin",
            ["4 mph"],
            'sweep."speed.workin"  no such key. Did you mean working?',
        ),
        (
            "speed.working",
            ["4 mph", "60 mph"],
            'sweep."speed.working" = "60 mph"  more than 20 mph (32 km/h). Did you mean "6 mph"?',
        ),
        (
            "speed.working",
            [4],
            'sweep."speed.working" = 4  needs a unit. Write "4 mph".',
        ),
        (
            "speed.working",
            "4 mph",
            'sweep."speed.working" = "4 mph"  is not a list. Write ["60 in", "80 in"], or '
            '{from = "60 in", to = "150 in", step = "1 in"}.',
        ),
        (
            "speed.working",
            {"from": "4 mph", "to": "6 mph"},
            'sweep."speed.working"  lacks step. Write {from = "60 in", to = "150 in", step = "1 in"}.',
        ),
        (
            "speed.working",
            {"from": "4 mph", "to": "6 mph", "step": "-1 mph"},
            'sweep."speed.working".step = "-1 mph"  does not lead from 4 mph to 6 mph. '
            "Check the step and its sign.",
        ),
        (
            "switching.reference_offset",
            {"from": "0 m", "to": "6 m", "step": "0.1 mm"},
            'sweep."switching.reference_offset".step = "0.1 mm"  60001 values, more than 10000. '
            "Write a longer step.",
        ),
        (
            "switching.sections",
            {"from": 1, "to": 16, "step": 1},
            'sweep."switching.sections"  has no steps between its values. Write a list of values.',
        ),
        (
            "machine.setup",
            ["narrow", "wade"],
            'sweep."machine.setup" = "wade"  this machine has: wide, narrow.',
        ),
        ("speed.working", [], 'sweep."speed.working"  is an empty list. Write at least one value.'),
    ],
)
def test_slips_in_a_sweep(key: str, value: object, said: str) -> None:
    assert faults(lambda: Scenario.from_dict(data() | {"sweep": {key: value}})) == [said]


def test_a_value_that_makes_another_setting_stale_says_which() -> None:
    made = data(switching__sections=[16, 16]) | {"sweep": {"machine.setup": ["wide"]}}
    assert faults(lambda: Scenario.from_dict(made)) == [
        'sweep."machine.setup" = "wide"  switching.sections then: adds up to 32 rows, row setup wide has 16. '
        "List the rows of every section."
    ]
