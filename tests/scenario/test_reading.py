"""What stands in a scenario comes out in SI; what is left out has the default that is promised."""

from __future__ import annotations

import math
import pickle

import pytest

from overlapsim import Field, Scenario
from tests.scenario.files import data


def test_every_quantity_is_si() -> None:
    scenario = Scenario.from_dict(data())
    machine = scenario.machine
    assert machine.ranks["front"].behind_pin == 2.1336
    assert machine.ranks["rear"].behind_pin == 3.0226
    assert machine.ranks["rear"].right == -0.381
    assert machine.setups["narrow"].hitch_shift == 0.1905
    assert machine.working_ranks == ("front", "rear")
    assert scenario.speed.working == 2.2352
    assert scenario.switching.reference_offset == 2.5781
    assert (scenario.switching.turn_on_time, scenario.switching.turn_off_time) == (0.4, 0.25)
    assert scenario.response.on_latency == {"front": 0.45, "rear": 0.45}


def test_defaults() -> None:
    scenario = Scenario.from_dict(data(switching__sections=None))
    assert scenario.plan.heading == 0.0
    assert (scenario.plan.headland_laps, scenario.plan.headland_order) == (0, "first")
    assert (scenario.speed.at_on, scenario.speed.at_off) == (2.2352, 2.2352)
    switching = scenario.switching
    assert (switching.switch_fraction, switching.sections, switching.lateral_offset) == (0.5, "each-row", 0.0)
    assert (switching.deliberate_overlap.planted, switching.deliberate_overlap.boundary) == (0.0, 0.0)
    assert switching.entered_setup == "narrow"
    controller = scenario.controller
    assert (controller.update_rate, controller.update_period, controller.position_delay) == (None, 0.0, 0.0)
    assert (controller.edge_tolerance, controller.drift) == (0.0254, (0.0, 0.0))
    assert (controller.offset_step, controller.time_step) == (0.0127, 0.05)
    assert controller.measured_from == "hitch pin"
    weights = scenario.weights
    assert (weights.skip, weights.overlap, weights.off_field) == (1.0, 1.0, 1.0)
    assert scenario.tune.as_good == 0.0127
    assert scenario.units == "us"


def test_without_a_field_the_textbook_80_stands_in_and_says_so() -> None:
    scenario = Scenario.from_dict(data())
    assert scenario.field.textbook
    assert scenario.warnings == (
        "No field is given: a textbook field of 80 acres stands in, 1320 ft east by 2640 ft north.",
    )


def test_metric_people_get_metric_steps() -> None:
    scenario = Scenario.from_dict(data(switching__reference_offset="2.58 m"))
    assert (scenario.units, scenario.controller.offset_step) == ("metric", 0.01)
    stated = Scenario.from_dict(data(switching__reference_offset="2.58 m", controller__offset_step="0.5 in"))
    assert stated.controller.offset_step == 0.0127


def test_one_setup_need_not_be_named_and_none_means_every_rank() -> None:
    one = data(machine__setup=None)
    del one["machine"]["setups"]["wide"]
    assert Scenario.from_dict(one).machine.setup == "narrow"
    none = data(machine__setup=None, machine__setups=None)
    assert Scenario.from_dict(none).machine.working_ranks == ("front", "rear")


def test_behind_front_counts_from_the_foremost_rank() -> None:
    made = data(machine__ranks__rear__behind_pin=None, machine__ranks__rear__behind_front="35 in")
    scenario = Scenario.from_dict(made)
    assert scenario.machine.ranks["rear"].behind_pin == pytest.approx(119 * 0.0254, abs=1e-15)


@pytest.mark.parametrize(
    ("written", "held"),
    [(4, 4), ([8, 16, 8], (8, 16, 8)), ("each-row", "each-row")],
)
def test_forms_of_sections(written: object, held: object) -> None:
    assert Scenario.from_dict(data(switching__sections=written)).switching.sections == held


def test_deliberate_overlap_is_one_figure_or_two() -> None:
    one = Scenario.from_dict(data(switching__deliberate_overlap="6 in")).switching.deliberate_overlap
    assert (one.planted, one.boundary) == (0.1524, 0.1524)
    two = Scenario.from_dict(data(switching__deliberate_overlap={"boundary": "6 in"}))
    assert (two.switching.deliberate_overlap.planted, two.switching.deliberate_overlap.boundary) == (
        0.0,
        0.1524,
    )


def test_update_rate_and_its_period() -> None:
    controller = Scenario.from_dict(data(controller__update_rate="10 Hz")).controller
    assert (controller.update_rate, controller.update_period) == (10.0, 0.1)


def test_heading_in_degrees_or_auto() -> None:
    assert Scenario.from_dict(data(plan__heading="90 deg")).plan.heading == math.pi / 2
    assert Scenario.from_dict(data(plan__heading="auto")).plan.heading == "auto"


@pytest.mark.parametrize(
    ("field", "area"),
    [
        ({"rectangle": ["400 m", "800 m"]}, 320_000.0),
        ({"rectangle": ["400 m", "800 m"], "end_angle": "30 deg"}, 320_000.0),
        ({"polygon": [[0, 0], [400, 0], [400, 800]]}, 160_000.0),
        (
            {
                "polygon": [[0, 0], [100, 0], [100, 100], [0, 100]],
                "exclusions": [[[10, 10], [20, 10], [20, 20], [10, 20]]],
            },
            9_900.0,
        ),
    ],
)
def test_textbook_fields(field: dict[str, object], area: float) -> None:
    assert Scenario.from_dict(data() | {"field": field}).field.plantable_m2 == pytest.approx(area, rel=1e-12)


def test_a_field_can_be_handed_over() -> None:
    field = Field.rectangle(300.0, 600.0)
    assert Scenario.from_dict(data(), field=field).field is field


def test_short_name_is_made_of_the_title() -> None:
    assert Scenario.from_dict(data() | {"title": "Narrow rows, two laps"}).name == "narrow-rows-two-laps"
    assert Scenario.from_dict(data(), name="home").name == "home"


# ---------------------------------------------------------------------------- what is assumed


def test_absent_latencies_are_the_times_entered_and_are_marked() -> None:
    scenario = Scenario.from_dict(data(response=None))
    assert scenario.response.on_latency == {"front": 0.4, "rear": 0.4}
    assert scenario.response.off_latency == {"front": 0.25, "rear": 0.25}
    assert scenario.assumed == ("response.on_latency", "response.off_latency")


def test_one_rank_stated_leaves_the_other_assumed() -> None:
    scenario = Scenario.from_dict(data(response__on_latency={"front": "0.5 s"}))
    assert scenario.response.on_latency == {"front": 0.5, "rear": 0.4}
    assert scenario.assumed == ("response.on_latency.rear",)


def test_what_the_basis_calls_assumed_is_assumed() -> None:
    made = data() | {"basis": {"machine.ranks.rear.behind_pin": "assumed", "response.on_latency": "dug"}}
    scenario = Scenario.from_dict(made)
    assert scenario.assumed == ("machine.ranks.rear.behind_pin",)
    assert scenario.basis["response.on_latency"] == "dug"


# ---------------------------------------------------------------------------- overrides by setup


def test_a_setup_overrides_key_by_key() -> None:
    made = data(switching__narrow={"reference_offset": "97 in"}, speed__wide={"working": "6 mph"})
    scenario = Scenario.from_dict(made)
    assert scenario.switching.reference_offset == 97 * 0.0254
    assert scenario.switching.turn_on_time == 0.4
    assert scenario.speed.working == 2.2352


def test_an_overridden_object_is_taken_whole() -> None:
    made = data(
        switching__deliberate_overlap={"planted": "6 in", "boundary": "6 in"},
        switching__narrow={"deliberate_overlap": {"planted": "1 in"}},
    )
    overlap = Scenario.from_dict(made).switching.deliberate_overlap
    assert (overlap.planted, overlap.boundary) == (0.0254, 0.0)


def test_speeds_and_latencies_follow_the_real_setup_settings_the_entered_one() -> None:
    made = data(
        switching__entered_setup="wide",
        switching__wide={"reference_offset": "84 in"},
        switching__narrow={"turn_on_time": "0.9 s"},
        switching__sections=8,
        speed__narrow={"working": "4 mph"},
        speed__wide={"working": "6 mph"},
        response__narrow={"on_latency": "0.6 s"},
        response__wide={"on_latency": "0.2 s"},
    )
    scenario = Scenario.from_dict(made)
    assert scenario.switching.entered_setup == "wide"
    assert scenario.switching.reference_offset == 2.1336
    assert scenario.switching.turn_on_time == 0.4
    assert scenario.speed.working == 4 * 0.44704
    assert scenario.response.on_latency["front"] == 0.6


def test_the_real_setup_can_tell_what_is_entered() -> None:
    made = data(switching__narrow={"entered_setup": "wide"}, switching__sections=8)
    assert Scenario.from_dict(made).switching.entered_setup == "wide"


# ---------------------------------------------------------------------------- frozen


def test_a_scenario_is_frozen_all_through() -> None:
    scenario = Scenario.from_dict(data())
    with pytest.raises(ValueError, match="frozen"):
        scenario.speed.working = 3.0
    with pytest.raises(TypeError, match="with_"):
        scenario.machine.ranks["front"] = scenario.machine.ranks["rear"]
    with pytest.raises(TypeError, match="with_"):
        scenario.response.on_latency.update(front=1.0)


def test_a_scenario_can_be_hashed_and_sent_to_another_process() -> None:
    scenario = Scenario.from_dict(data() | {"sweep": {"switching.sections": [16, [8, 24]]}})
    again = pickle.loads(pickle.dumps(scenario))
    assert again == scenario
    assert hash(again) == hash(scenario)
