"""What a run writes down makes an equal scenario, whatever was said in whatever units."""

from __future__ import annotations

import json
from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from overlapsim import Field, Scenario
from tests.scenario.files import data


def again(scenario: Scenario) -> Scenario:
    """Through text and back, as a result file does it."""
    return Scenario.from_dict(json.loads(json.dumps(scenario.to_inputs())))


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"response": None},
        {"response__on_latency": {"front": "0.5 s"}},
        {"switching__reference_offset": {"front": "84 in", "rear": "119 in"}},
        {"switching__reference_offset": "2.58 m"},
        {"switching__sections": [8, 16, 8]},
        {"switching__deliberate_overlap": {"planted": "6 in"}},
        {"switching__entered_setup": "wide", "switching__sections": 8},
        {"machine__ranks__rear__behind_pin": None, "machine__ranks__rear__behind_front": "35 in"},
        {"machine__setups__narrow__working_width": "42 ft", "machine__rows_off": ["rear 3"]},
        {"controller__update_rate": "10 Hz", "controller__drift": ["1 in", "-2 in"]},
        {"plan__heading": "auto", "plan__headland_laps": 2, "plan__headland_order": "last"},
        {"weights__skip": 2.5, "tune__as_good": "1 in"},
        {"seed": {"crop": "corn", "plate": "24 cells", "spacing": "6 1/2 in"}},
        {"seed": {"population": "32,000 /ac", "narrow": {"population": "140,000 /ac", "crop": "soybeans"}}},
        {"seed": {"population": "80000 /ha", "narrow": {"spacing": "25 cm"}}},
        {"value": {"currency": "kr", "seed": "1,250.50 /ha", "lost_stand": "9000 /ha", "free_gap": "30 cm"}},
        {"about__farm": "Home", "about__by": "me", "basis": {"machine.ranks.rear.behind_pin": "taped"}},
        {"sweep": {"switching.reference_offset": {"from": "60 in", "to": "150 in", "step": "1 in"}}},
        {"sweep": {"controller.update_rate": ["continuous", "10 Hz"], "switching.sections": [16, [8, 24]]}},
        {
            "sweep": {
                "switching.deliberate_overlap": ["1 in", {"planted": "2 in"}],
                "plan.heading": ["auto", "9 deg"],
            }
        },
        {"field": {"rectangle": ["400 m", "800 m"], "end_angle": "30 deg"}},
        {
            "field": {
                "polygon": [[0, 0], [300, 0], [280, 500]],
                "exclusions": [[[90, 9], [99, 9], [99, 99]]],
            }
        },
    ],
)
def test_inputs_make_an_equal_scenario(changes: dict[str, Any]) -> None:
    scenario = Scenario.from_dict(data(**changes))
    made = again(scenario)
    assert made == scenario
    assert made.to_inputs() == scenario.to_inputs()
    assert made.warnings == scenario.warnings


def test_a_field_from_a_coordinate_system_keeps_its_plane() -> None:
    square = shapely.box(12.0, 48.0, 12.004, 48.003)
    scenario = Scenario.from_dict(data(), field=Field.from_geometry(square, "EPSG:4326", "Home"))
    made = again(scenario)
    assert made == scenario
    assert made.field.plane == scenario.field.plane
    assert made.field.name == "Home"


def test_a_field_of_two_parts() -> None:
    both = shapely.MultiPolygon([shapely.box(0, 0, 100, 100), shapely.box(200, 0, 300, 100)])
    scenario = Scenario.from_dict(data(), field=Field.from_geometry(both))
    assert again(scenario).field.sha256() == scenario.field.sha256()


def test_very_many_points_are_named_by_their_source_only() -> None:
    ring = shapely.Point(0, 0).buffer(300.0, quad_segs=6000)
    scenario = Scenario.from_dict(data(), field=Field.from_geometry(ring, origin={"file": "round.geojson"}))
    assert scenario.to_inputs()["field"] == {"origin": {"file": "round.geojson"}}


MILLIMETRES = st.integers(1, 9999).map(lambda mm: f"{mm} mm")
TIMES = st.floats(0.0, 2.9, allow_subnormal=False).map(lambda s: f"{s!r} s")


@given(
    st.one_of(st.integers(1, 6000).map(lambda n: f"{n}/16 in"), MILLIMETRES),
    TIMES,
    TIMES,
    st.floats(1.0, 8.0).map(lambda v: f"{v!r} m/s"),
    st.floats(0.0, 1.0),
    st.floats(-360.0, 360.0).map(lambda d: f"{d!r} deg"),
)
def test_any_settings_survive(offset: str, on: str, off: str, speed: str, share: float, heading: str) -> None:
    scenario = Scenario.from_dict(
        data(
            switching__reference_offset=offset,
            switching__turn_on_time=on,
            switching__turn_off_time=off,
            switching__switch_fraction=share,
            speed__working=speed,
            plan__heading=heading,
            response=None,
        )
    )
    assert again(scenario) == scenario


@given(
    st.integers(1, 18),
    st.integers(10, 60).map(lambda n: f"{n / 2!r} in"),
    st.integers(0, 1500).map(lambda n: f"{n}/4 in"),
    st.lists(st.integers(0, 60).map(lambda n: f"{n} in"), max_size=3),
)
def test_any_machine_survives(rows: int, spacing: str, behind: str, further: list[str]) -> None:
    ranks: dict[str, Any] = {"front": {"rows": rows, "spacing": spacing, "behind_pin": behind}}
    for k, distance in enumerate(further):
        # Each further rank stands a whole machine to the right, so that no rows meet.
        ranks[f"r{k}"] = {
            "rows": rows,
            "spacing": spacing,
            "behind_front": distance,
            "right": f"{(k + 1) * rows * float(spacing.split()[0])!r} in",
        }
    if any(float(rank.get("right", "0 in").split()[0]) > 590 for rank in ranks.values()):
        return
    scenario = Scenario.from_dict(
        data()
        | {"machine": {"ranks": ranks}}
        | {"switching": {"reference_offset": "84 in", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s"}}
    )
    assert again(scenario) == scenario
