"""Shares by kind of edge, minimum on and off times, a minimum speed: by hand.

One rank of 16 rows at 30 in (12.192 m) at its own reference offset, times equal to latencies, 5 mph =
2.2352 m/s, driven north: a row starts and stops where its section's condition changes.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

import overlapsim
from overlapsim import Scenario, ScenarioError
from overlapsim.control.ledger import build_ledger
from tests.helpers import EXACT, MPH, areas, block, check, one_rank, scenario, square, two_ranks

W = 16 * 0.762
SPEED = 5 * MPH


@pytest.mark.parametrize("share", [1.0, 0.75, 0.25])
def test_share_inside_the_boundary_on_a_slanted_end(share: float) -> None:
    """Ends tilted by theta, one section as wide as the machine, one pass, share q inside the boundary.

    The line is covered by (s - s0) / tan(theta) from its far side in: the condition q comes true where q W
    are inside, so the middle of the start lies (q - 1/2) W tan(theta) behind the middle of the edge. Ground
    behind that line and before the edge is skipped: a triangle of base q W, height q W tan(theta), and
    (1 - q)² W² tan(theta) / 2 are planted off the field. At the other end the same, mirrored.
    """
    tan = math.tan(math.radians(20))
    field = square(f"{W:.17f} m", "200 m", end_angle="20 deg")
    switching = {"sections": 1, "switch_fraction": {"boundary": share, "planted": 0.0}}
    found = areas(one_rank(), field, switching=switching, controller={"edge_tolerance": "0 in"})
    skip = 2 * (share * W) ** 2 * tan / 2
    off = 2 * ((1 - share) * W) ** 2 * tan / 2
    check(found, W * 200, skip_m2=skip, off_field_m2=off, overlap_m2=0.0)


def test_share_not_yet_planted_over_a_lap() -> None:
    """Boundary share 1, planted share q: at a pass's slanted end in planted ground only q counts.

    With one lap first, on a field with ends tilted 20 degrees, passes begin on the lap's planted ground. With
    q = 1 they start once nothing under the line is planted, so no pass plants a spot twice; with q = 0 as
    soon as anything is unplanted, so none is left: skip at q = 0 is less than at q = 1, overlap more.
    """
    field = square("120 m", "300 m", end_angle="20 deg")
    found = {}
    for share in (0.0, 1.0):
        switching = {"sections": 1, "switch_fraction": {"boundary": 0.5, "planted": share}}
        found[share] = areas(one_rank(), field, switching=switching, plan={"headland_laps": 1})
    assert found[0.0]["skip_m2"] < found[1.0]["skip_m2"]
    assert found[0.0]["overlap_m2"] > found[1.0]["overlap_m2"]
    # Eight passes with two ends each: at least a triangle W² tan / 2 changes sides at an end.
    change = found[1.0]["skip_m2"] - found[0.0]["skip_m2"]
    assert change > 8 * 2 * W**2 * math.tan(math.radians(20)) / 2 * 0.5


def test_without_planted_ground_the_boundary_share_alone_counts() -> None:
    field = square("120 m", "300 m", end_angle="20 deg")
    one, other = (
        areas(one_rank(), field, switching={"sections": 4, "switch_fraction": q})
        for q in (0.3, {"boundary": 0.3, "planted": 0.9})
    )
    check(one, 36000.0, **{key: other[key] for key in ("skip_m2", "overlap_m2", "off_field_m2")})


def strip(length: float) -> dict:
    """A field one pass wide whose south is cut by an exclusion all across but for nothing: two pieces."""
    return {
        "polygon": block(-W / 2, 0, W / 2, 300),
        "exclusions": [block(-W / 2 + 0.762, 100, W / 2 - 0.762, 100 + length)],
    }


@pytest.mark.parametrize("least", [2.0, 1.0])
def test_minimum_off_time_over_a_narrow_exclusion(least: float) -> None:
    """14 of 16 rows go off over an exclusion 3 m long; at 2.2352 m/s 3 m take 1.342 s.

    Off for 2 s at the least: 4.4704 m, so 1.4704 m x 14 rows x 0.762 m behind it are skipped. 1 s is over
    before the exclusion is.
    """
    controller = {"minimum_off_time": f"{least} s"}
    late = max(0.0, least * SPEED - 3.0)
    found = areas(one_rank(), strip(3.0), controller=controller)
    check(found, W * 300, skip_m2=late * 14 * 0.762, off_field_m2=0.0, overlap_m2=0.0)


def test_minimum_on_time_over_a_narrow_strip_of_ground() -> None:
    """Two exclusions 2 m apart: 14 rows come on for 2 m, which take 0.895 s; they stay on for 1.5 s.

    3.3528 m are planted, 1.3528 m of them on the second exclusion: 1.3528 x 14 x 0.762 m² off the field.
    """
    field = strip(10.0)
    field["exclusions"].append(block(-W / 2 + 0.762, 112, W / 2 - 0.762, 130))
    found = areas(one_rank(), field, controller={"minimum_on_time": "1.5 s"})
    check(found, W * 300, off_field_m2=(1.5 * SPEED - 2.0) * 14 * 0.762, skip_m2=0.0, overlap_m2=0.0)


def test_what_falls_due_before_it_may_be_given_is_dropped() -> None:
    """On for 9.9 s at the least: 22.1 m from 110 m, past the second exclusion's end at 130 m: never off."""
    field = strip(10.0)
    field["exclusions"].append(block(-W / 2 + 0.762, 112, W / 2 - 0.762, 130))
    found = areas(one_rank(), field, controller={"minimum_on_time": "9.9 s"})
    check(found, W * 300, off_field_m2=18.0 * 14 * 0.762, skip_m2=0.0, overlap_m2=0.0)


FINE = [
    {"switching": {"sections": 4, "switch_fraction": {"boundary": 1.0, "planted": 0.5}}},
    {"controller": {"minimum_on_time": "4 s"}},
    {"controller": {"minimum_off_time": "2 s"}},
    {"controller": {"minimum_on_time": "3 s", "minimum_off_time": "2 s", "update_rate": "3 Hz"}},
]


def holed(**tables: object) -> Scenario:
    hole = [[-20.0, -10.0], [10.0, -8.0], [12.0, -3.0], [-18.0, -4.5]]
    field = {"polygon": [[-60, -90], [60, -70], [75, 80], [-50, 95]], "exclusions": [hole]}
    return scenario(two_ranks(), field, **tables)  # type: ignore[arg-type]


@pytest.mark.parametrize("tables", FINE, ids=str)
@pytest.mark.parametrize("laps", [0, 2])
def test_ledger_agrees_with_full_simulations(tables: dict, laps: int) -> None:
    """Without laps to rounding, with them to what contested ground is counted to, 1e-3 of the error.

    Laps, ticks and minimum times together are left out: there the ledger is only a guide to where full
    simulations look (known limits, contributor's guide).
    """
    case = holed(plan={"headland_laps": laps}, **tables)
    if laps and case.controller.update_rate is not None:
        pytest.skip("laps, ticks and minimum times together: a known limit")
    ledger = build_ledger(case, 1.9, 3.3)
    bound = 1e-3 if laps else EXACT
    for offset in (2.0, 2.58, 3.1):
        full = overlapsim.simulate(case.with_({"switching.reference_offset": offset})).areas
        found = float(ledger.combined.at(np.array([offset]))[0][0])
        scale = full["combined_m2"] if laps else case.field.plantable_m2
        assert abs(found - full["combined_m2"]) <= bound * scale


@pytest.mark.parametrize("tables", FINE, ids=str)
def test_inputs_make_an_equal_scenario(tables: dict) -> None:
    case = holed(**tables)
    again = Scenario.from_dict(case.to_inputs())
    assert (again.switching, again.controller) == (case.switching, case.controller)
    assert again.to_inputs() == case.to_inputs()


def test_one_share_alone_can_be_set() -> None:
    case = holed().with_({"switching.switch_fraction.boundary": 1.0})
    assert case.to_inputs()["switching"]["switch_fraction"] == {"boundary": 1.0, "planted": 0.5}


@pytest.mark.parametrize(
    ("tables", "key", "words"),
    [
        ({"controller": {"minimum_speed": "6 mph"}}, "speed.working", "all sections are off"),
        ({"controller": {"minimum_speed": 1}}, "controller.minimum_speed", "needs a unit"),
        ({"controller": {"minimum_on_time": "-1 s"}}, "controller.minimum_on_time", "negative"),
        (
            {"switching": {"switch_fraction": {"boundary": 2.0}}},
            "switching.switch_fraction.boundary",
            "more than 1",
        ),
        (
            {"switching": {"switch_fraction": {"bound": 1.0}}},
            "switching.switch_fraction.bound",
            "Did you mean boundary?",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_words(tables: dict, key: str, words: str) -> None:
    with pytest.raises(ScenarioError, match=words.replace("?", ".")) as caught:
        holed(**tables)
    assert key in {fault.key for fault in caught.value.faults}


def test_a_minimum_speed_below_what_is_driven_changes_nothing() -> None:
    field = square("120 m", "300 m")
    own, plain = areas(one_rank(), field, controller={"minimum_speed": "1 mph"}), areas(one_rank(), field)
    assert own == plain
    case = scenario(one_rank(), field, controller={"minimum_speed": "3 mph"})
    with pytest.raises(ScenarioError, match="minimum_speed"):
        case.with_({"speed.at_on": "2 mph"})
