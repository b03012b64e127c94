"""Settings that do not fit the machine, fields that are none, and many faults at once."""

from __future__ import annotations

from typing import Any

import pytest

from tests.scenario.files import data, said


def test_offsets_per_rank_name_every_working_rank() -> None:
    assert said(data(switching__reference_offset={"front": "84 in"})) == [
        'switching.reference_offset = ["front"]  names no reference offset for: rear. '
        "Write one for every working rank."
    ]
    assert said(data(switching__reference_offset={"front": "84 in", "reer": "119 in"})) == [
        "switching.reference_offset.reer  no such rank. Did you mean rear?",
        'switching.reference_offset = ["front", "reer"]  names no reference offset for: rear. '
        "Write one for every working rank.",
    ]
    only = data(machine__setup="wide", switching__reference_offset={"front": "84 in"})
    assert said(only) == []
    # The rows that work decide, not those that the controller thinks it drives.
    only["switching"]["entered_setup"] = "narrow"
    assert said(only) == []
    both = data(switching__entered_setup="wide", switching__reference_offset={"front": "84 in"})
    assert "names no reference offset for: rear" in said(both)[0]


def test_sections_are_of_the_setup_entered() -> None:
    made = data(switching__entered_setup="wide", switching__sections=32)
    assert said(made) == [
        'switching.sections = 32  more sections than the 16 rows of row setup wide. Write "each-row".'
    ]


def test_an_override_for_an_unknown_setup() -> None:
    assert said(data(switching__wdie={"turn_on_time": "0.4 s"})) == [
        "switching.wdie  no such row setup. This machine has: wide, narrow."
    ]


def test_overrides_of_setups_not_in_use_are_read_too() -> None:
    made = data(
        switching__wide={"turn_on_time": "45 s"},
        response__wide={"on_latency": {"front": "0.4"}},
        speed__wide={"workin": "6 mph"},
    )
    assert said(made) == [
        'speed.wide.workin = "6 mph"  no such key. Did you mean working?',
        'switching.wide.turn_on_time = "45 s"  more than 3 s. Did you mean "0.45 s"? ("450 ms" works too)',
        'response.wide.on_latency.front = "0.4"  needs a unit. Write "0.4 s".',
    ]


def test_an_unknown_rank_has_no_latency() -> None:
    assert said(data(response__on_latency={"front": "0.4 s", "reer": "0.4 s"})) == [
        "response.on_latency.reer  no such rank. Did you mean rear?"
    ]


def test_a_negative_time_can_not_stand_for_a_latency() -> None:
    made = data(switching__turn_on_time="-0.1 s", response__on_latency=None)
    assert said(made) == [
        "response.on_latency  is missing, and the time entered is negative: no machine answers before it "
        'is asked. Write on_latency = "0.30 s".'
    ]


def test_measured_from_the_rear_axle_needs_its_distance() -> None:
    made = data(controller__measured_from="rear axle", machine__axle_to_pin=None)
    assert said(made) == [
        'controller.measured_from = "rear axle"  needs the machine\'s axle_to_pin. '
        'Write axle_to_pin = "1.1 m" for the machine.'
    ]


def test_weights_that_count_nothing() -> None:
    assert said(data(weights={"skip": 0, "overlap": 0, "off_field": 0})) == [
        "weights  all are 0: nothing would count. Write at least one above 0."
    ]


def test_the_basis_of_an_unknown_key() -> None:
    assert said(data() | {"basis": {"machine.ranks.rear.behind_pins": "taped"}}) == [
        'basis."machine.ranks.rear.behind_pins" = "taped"  no such key. Did you mean behind_pin?'
    ]


@pytest.mark.parametrize(
    ("field", "fault"),
    [
        ({}, "field  names no field. Write file, rectangle or polygon, or leave [field] out."),
        (
            {"file": "home.geojson"},
            'field.file = "home.geojson"  files are read by load_scenario. '
            "Load the scenario from its file, or hand the field over.",
        ),
        (
            {"rectangel": ["4 m", "8 m"], "polygon": [[0, 0], [9, 0], [9, 9]]},
            "field.rectangel  no such key. Did you mean rectangle?",
        ),
        ({"rectangle": [400, 800]}, 'field.rectangle = 400  needs a unit. Write "400 m".'),
        (
            {"rectangle": ["400 m", "800 m"], "polygon": [[0, 0], [9, 0], [9, 9]]},
            "field.polygon  says the same as rectangle. Keep one of the two.",
        ),
        (
            {"polygon": [[0, 0], [9, 0], [9, 9]], "end_angle": "9 deg"},
            'field.end_angle = "9 deg"  goes with rectangle only. Leave it out.',
        ),
        (
            {"polygon": [[0, 0], [9, 0], [9, 9]], "layer": "x"},
            'field.layer = "x"  goes with file only. Leave it out.',
        ),
        (
            {"rectangle": ["400 m", "800 m"], "end_angle": "85 deg"},
            'field.end_angle = "85 deg"  more than 80 deg. Did you mean "8.5 deg"?',
        ),
    ],
)
def test_field_tables(field: dict[str, Any], fault: str) -> None:
    assert fault in said(data() | {"field": field})


def test_faults_of_the_second_look_are_found_beside_those_of_the_first() -> None:
    made = data(
        title=5,
        speed__working=5,
        switching__turn_on_tme="0.4 s",
        switching__sections=5,
        machine__ranks__rear__behind_pin="80 in",
        machine__rows_off=["rear 17"],
        plan__heading="N",
        weights={"skip": 0, "overlap": 0, "off_field": 0},
        sweep={"speed.workin": ["4 mph"]},
    )
    found = said(made)
    for part in (
        "title = 5  is not a text",
        "speed.working = 5  needs a unit",
        "switching.turn_on_tme",
        "machine.ranks.rear.behind_pin",
        "machine.rows_off",
        "plan.heading",
        "weights  all are 0",
        'sweep."speed.workin"',
    ):
        assert sum(part in line for line in found) == 1, part


def test_one_fault_is_not_said_twice() -> None:
    assert len(said(data(speed__working="60 mph"))) == 1
    assert len(said(data(machine__ranks__front__rows=-1))) == 1
    assert len(said(data(machine=7))) <= 2


@pytest.mark.parametrize(
    "table",
    [
        "machine",
        "field",
        "plan",
        "speed",
        "switching",
        "controller",
        "response",
        "weights",
        "tune",
        "basis",
        "sweep",
        "about",
    ],
)
@pytest.mark.parametrize("value", [7, "x", [], None, True, [[1]], {"a": {"b": {"c": 1}}}])
def test_tables_that_are_no_tables(table: str, value: Any) -> None:
    lines = said(data() | {table: value})
    if not (value is None and table == "field"):
        assert lines
    assert all("Traceback" not in line and "pydantic" not in line.lower() for line in lines)
