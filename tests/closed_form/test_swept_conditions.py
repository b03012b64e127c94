"""Conditions laid side by side: the best offset of each by hand, and how far it moves per second and m/s.

Two ranks with equal rows on square ends: the cost is flat between the ranks, and in it the smallest worst row
stands at (84 + 119)/2 - (c_on + c_off)/2 inches, c = v (latency - time). So with both times at 0.4 s

    best = 101.5 in - v (on latency + off latency - 0.8 s)/2

-v/2 per second of either latency, and -(on latency + off latency - 0.8 s)/2 per m/s. This holds as long as
|c_on - c_off| is less than the 35 in between the ranks.
"""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

import overlapsim
from overlapsim import Scenario, ScenarioError
from overlapsim.questions.moves import moves_of
from overlapsim.questions.search import search_span
from overlapsim.questions.sweep import Sweep, searches_of, sweep
from tests.closed_form.test_sweep_table import SCALE, by_hand
from tests.helpers import INCH, scenario, square, two_ranks

FIELD = square("120 ft", "400 ft")
MPH = 0.44704
ON, OFF, SPEEDS = (0.3, 0.4, 0.5), (0.35, 0.45), (4.0, 5.0, 6.5)
SWEPT: dict[str, Any] = {
    "response.on_latency": [f"{t} s" for t in ON],
    "response.off_latency": [f"{t} s" for t in OFF],
    "speed.working": [f"{v} mph" for v in SPEEDS],
}


def swept(**tables: Any) -> tuple[Scenario, Sweep]:
    case = scenario(two_ranks(), FIELD, **tables)
    return case, sweep(case, search_span([case]))


def test_best_of_every_condition() -> None:
    """3 x 2 x 3 conditions, the last named fastest; the offset is not swept: 84 in in every row."""
    result = overlapsim.tune(scenario(two_ranks(), FIELD, sweep=SWEPT)).to_dict()
    cases = list(itertools.product(ON, OFF, SPEEDS))
    assert len(result["conditions"]) == len(cases)
    for told, (on, off, mph) in zip(result["conditions"], cases, strict=True):
        best = 101.5 * INCH - mph * MPH * (on + off - 0.8) / 2
        assert told == pytest.approx(
            {
                "response_on_latency_s": on,
                "response_off_latency_s": off,
                "speed_working_m_per_s": mph * MPH,
                "best_reference_offset_m": best,
            },
            abs=1e-9,
        )


def test_rows_hold_all_that_is_swept_with_the_offset_as_set_where_it_is_not() -> None:
    _, found = swept(sweep=SWEPT)
    table = found.columns
    assert list(table)[:4] == [
        "response_on_latency_s", "response_off_latency_s", "speed_working_m_per_s",
        "switching_reference_offset_m",
    ]  # fmt: skip
    cases = list(itertools.product(ON, OFF, SPEEDS))
    assert {len(column) for column in table.values()} == {len(cases)}
    assert table["switching_reference_offset_m"] == pytest.approx(84 * INCH)
    for row, (on, off, mph) in enumerate(cases):
        inches_per_s = mph * MPH / INCH
        for key, value in by_hand(84, (on - 0.4) * inches_per_s, (off - 0.4) * inches_per_s).items():
            assert table[key][row] == pytest.approx(value, abs=SCALE), (row, key)


def test_how_far_the_best_moves() -> None:
    """Per second of latency -v/2: mean over 4, 5 and 6.5 mph, the extremes at 6.5 and 4 mph.

    Per m/s -(on + off - 0.8)/2: from -0.075 at 0.5 + 0.45 s to +0.075 at 0.3 + 0.35 s, on average nothing.
    """
    result = overlapsim.tune(scenario(two_ranks(), FIELD, sweep=SWEPT)).to_dict()
    moved = result["sensitivity"]["swept"]
    assert set(moved) == {"response_on_latency_s", "response_off_latency_s", "speed_working_m_per_s"}
    mean = -np.mean(SPEEDS) * MPH / 2
    for key, ends in (("response_on_latency_s", (0.3, 0.5)), ("response_off_latency_s", (0.35, 0.45))):
        assert (moved[key]["from"], moved[key]["to"]) == ends
        assert moved[key]["mean"] == pytest.approx(mean, abs=1e-9)
        assert moved[key]["least"] == pytest.approx(-6.5 * MPH / 2, abs=1e-9)
        assert moved[key]["largest"] == pytest.approx(-4 * MPH / 2, abs=1e-9)
    speed = moved["speed_working_m_per_s"]
    assert [speed[k] for k in ("mean", "least", "largest")] == pytest.approx([0, -0.075, 0.075], abs=1e-9)


def test_moves_do_not_depend_on_the_order_in_which_values_are_named() -> None:
    """best = 3 - 2 x + y: -2 per unit of x and +1 of y, in any order, other values than numbers left out."""
    xs, names, ys = (0.5, 0.1, 0.4), ("a", "b"), (1.0, 0.0)
    best = [3 - 2 * x + y for x, _, y in itertools.product(xs, names, ys)]
    moved = moves_of({"x": xs, "name": names, "y": ys}, best)
    assert set(moved) == {"x", "y"}
    assert moved["x"] == pytest.approx({"from": 0.1, "to": 0.5, "mean": -2, "least": -2, "largest": -2})
    assert moved["y"] == pytest.approx({"from": 0, "to": 1, "mean": 1, "least": 1, "largest": 1})


def test_an_offset_for_each_rank_moves_rank_by_rank() -> None:
    """c_on = c_off = v dt for one rank alone: its best goes -v per second where both latencies go together.

    Here only the rear rank's on latency moves: starts and stops pull either way, the middle of the flat
    stretch between them goes -v/2, and the front rank's stays.
    """
    _, found = swept(
        switching={"reference_offset": {"front": "84 in", "rear": "119 in"}},
        sweep={"response.on_latency.rear": ["0.3 s", "0.5 s"]},
    )
    moved = found.moves["response.on_latency.rear"]
    assert moved["mean"] == pytest.approx({"front": 0, "rear": -5 * MPH / 2}, abs=1e-9)
    assert list(found.columns)[:3] == [
        "response_on_latency_rear_s", "switching_reference_offset_front_m",
        "switching_reference_offset_rear_m",
    ]  # fmt: skip


def test_a_swept_offset_of_one_rank_is_not_overwritten_by_the_one_as_set() -> None:
    _, found = swept(
        switching={"reference_offset": {"front": "84 in", "rear": "119 in"}},
        sweep={"switching.reference_offset.rear": ["100 in", "119 in"], "speed.working": ["5 mph"]},
    )
    assert found.columns["switching_reference_offset_rear_m"] == pytest.approx([100 * INCH, 119 * INCH])
    # 19 in too far forward: 3 passes of 16 rear rows lose as much at each stop as they drop at each start.
    assert found.columns["missing_row_m"] == pytest.approx([3 * 16 * 19 * INCH, 0], abs=1e-6)


def test_values_that_are_no_numbers_have_columns_too() -> None:
    _, found = swept(
        sweep={
            "switching.sections": [16, "each-row", [8, 24]],
            "controller.update_rate": ["continuous", "10 Hz"],
            "controller.drift": [["1 in", "2 in"]],
            "switching.deliberate_overlap": ["2 in"],
            "response.on_latency": ["0.3 s", {"front": "0.4 s", "rear": "0.5 s"}],
        }
    )
    first = {name: column[-1] for name, column in found.columns.items()}
    assert {len(column) for column in found.columns.values()} == {3 * 2 * 2}
    assert first["switching_sections"] == "8 24"
    assert found.conditions[-1]["switching_sections"] == [8, 24]
    assert set(found.columns["controller_update_rate_hz"]) == {"continuous", 10.0}
    assert first["controller_drift_east_m"] == pytest.approx(1 * INCH)
    assert first["controller_drift_north_m"] == pytest.approx(2 * INCH)
    assert first["switching_deliberate_overlap_boundary_m"] == pytest.approx(2 * INCH)
    assert (first["response_on_latency_front_s"], first["response_on_latency_rear_s"]) == (0.4, 0.5)
    assert found.columns["response_on_latency_rear_s"][0] == 0.3


def test_values_that_do_not_go_together_are_said_with_their_combination() -> None:
    """Each goes by itself: two sections of the 32 rows, and the wide setup with its 16 rows."""
    case = scenario(
        two_ranks(), FIELD, sweep={"switching.sections": [[16, 16], 8], "machine.setup": ["narrow", "wide"]}
    )
    with pytest.raises(ScenarioError) as caught:
        sweep(case, search_span([case]))
    (fault,) = caught.value.faults
    assert fault.key == "sweep"
    assert "switching.sections = (16, 16), machine.setup = wide" in fault.rule
    assert "adds up to 32 rows" in fault.rule


def test_what_a_sweep_costs_grows_with_its_conditions() -> None:
    """No conditions, nothing to wait for; else a search and a reading for each, and the rows."""
    alone = scenario(two_ranks(), FIELD, sweep={"switching.reference_offset": ["84 in", "90 in"]})
    few, many = (
        scenario(
            two_ranks(), FIELD, sweep={"response.on_latency": {"from": "0.2 s", "to": to, "step": "0.1 s"}}
        )
        for to in ("0.3 s", "0.7 s")
    )
    assert searches_of(alone) == 0
    assert searches_of(few) >= 2 * 2
    assert searches_of(many) == pytest.approx(3 * searches_of(few))


def test_what_will_take_long_is_known_before_the_first_condition_is_searched() -> None:
    """In order: as set, the one search that is timed, what is to come, and only then the conditions."""
    told: list[str] = []
    case = scenario(two_ranks(), FIELD, sweep=SWEPT)
    overlapsim.tune(
        case,
        lambda done, total, what: told.append(what),
        before=lambda what, s: told.append(f"{what}: {s > 0}"),
    )
    first = told.index("18 combinations of conditions: True")
    assert told[:first] == ["simulating as set", "searching the reference offset"]
    assert told[first:].count("searching each condition") == 18
    quick: list[str] = []
    overlapsim.tune(scenario(two_ranks(), FIELD), before=lambda what, _: quick.append(what))
    assert quick == []
