"""What is printed, letter for letter for results made by hand, and what holds at every width."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import pytest

from overlapsim import Field, simulate
from overlapsim.report.data import report_of
from overlapsim.report.terminal import NARROWEST, WIDEST, text_of
from tests.report.fake import INCH, MACHINE, FakeTune, example, scenario_of
from tests.report.golden_files import compare

TWO = {"front": 84 * INCH, "rear": 119 * INCH}


def one_rank() -> FakeTune:
    one = {"setup": "wide"}
    made = FakeTune(
        scenario_of(title="One rank", machine=one, response={"off_latency": "0.25 s"}),
        83.0 * INCH, 83.0 * INCH, (82.6 * INCH, 83.4 * INCH),
    )  # fmt: skip
    made.sensitivity["m_per_m_of_behind_pin"] = {"front": 1.0}
    return made


def per_rank() -> FakeTune:
    made = FakeTune(
        scenario_of(
            title="An offset per rank", switching={"reference_offset": {"front": "84 in", "rear": "116 in"}}
        ),
        {"front": 79.6 * INCH, "rear": 114.6 * INCH},
        {"front": 79.5 * INCH, "rear": 114.5 * INCH},
        {"front": (79.1 * INCH, 80.1 * INCH), "rear": (114.1 * INCH, 115.1 * INCH)},
    )
    tape = made.sensitivity["m_per_m_of_behind_pin"]
    made.sensitivity = {k: {"front": v, "rear": v} for k, v in made.sensitivity.items() if v is not tape} | {
        "m_per_m_of_behind_pin": {"front": {"front": 1.0, "rear": 0.0}, "rear": {"front": 0.0, "rear": 1.0}}
    }
    return made


def from_the_axle() -> FakeTune:
    return example(title="Typed from the axle", controller={"measured_from": "rear axle"})


def far_off() -> FakeTune:
    return example(
        title="Far off",
        switching={"reference_offset": "60 in"},
        about={"customer": "Example farm", "by": "somebody"},
        basis={"machine.ranks.front.behind_pin": "taped", "machine.ranks.rear.behind_pin": "taped"},
        response=None,
        weights={"skip": 2},
    )


CASES = {
    "tune": (example, None, 80),
    "tune-metric": (example, "metric", 80),
    "tune-60-columns": (example, None, 60),
    "one-rank": (one_rank, None, 80),
    "offset-per-rank": (per_rank, None, 80),
    "rear-axle": (from_the_axle, None, 80),
    "far-off-weighted": (far_off, None, 90),
    "simulate": (lambda: example().as_set, None, 80),
    "simulate-metric": (lambda: example().as_set, "metric", 80),
}


@pytest.mark.parametrize("name", CASES)
def test_golden(name: str) -> None:
    make, units, width = CASES[name]
    compare(f"{name}.txt", text_of(report_of(make(), units), width))


@pytest.mark.parametrize("make", [example, one_rank, per_rank, from_the_axle, far_off])
@pytest.mark.parametrize("width", [10, NARROWEST, 40, 59, 60, 72, 80, 100, 200])
def test_no_line_is_wider_than_the_terminal(make: Any, width: int) -> None:
    for line in text_of(report_of(make()), width).splitlines():
        assert len(line) <= max(min(width, WIDEST), NARROWEST)
        assert line == line.rstrip()


def _rows(text: str) -> list[list[Decimal]]:
    """The last four figures of every line of the table: skip, double-planted, off-field, total."""
    found = re.findall(r" ([\d,.]+) +([\d,.]+) +([\d,.]+) +([\d,.]+)$", text, re.MULTILINE)
    return [[Decimal(figure.replace(",", "")) for figure in row] for row in found]


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("make", [example, one_rank, per_rank, from_the_axle])
def test_the_table_adds_up_as_printed(make: Any, units: str) -> None:
    rows = _rows(text_of(report_of(make(), units)))
    assert rows
    for skip, double, off, total in rows:
        assert skip + double + off == total


def test_it_says_when_nothing_is_saved() -> None:
    text = " ".join(text_of(report_of(example())).split())
    assert "84 in lies in it: no ground is saved, only the longest gap gets shorter" in text


def test_it_says_when_there_is_nothing_to_change() -> None:
    done = example(switching={"reference_offset": "97 in"})
    text = text_of(report_of(done))
    assert "LEAVE IT  reference offset 97 in" in text
    assert "TYPE IN" not in text
    assert "now = type in " in text


def test_a_worse_gap_is_owned_up_to() -> None:
    """16 + 15 rows: 99 in saves a little ground against midway, 101.5 in, and its longest gap is 20 in.

    A pass starts and stops: 2 (31 x 17.5) - 2 (16 x 15 + 15 x 20) = 5 in of row, 15 in wide; 33 passes
    make 17 sq ft.
    """
    ranks = {**MACHINE["ranks"], "rear": {"rows": 15, "spacing": "30 in", "behind_pin": "119 in"}}
    same = {"on_latency": "0.40 s", "off_latency": "0.25 s"}
    scenario = scenario_of(
        machine={"ranks": ranks}, switching={"reference_offset": "101.5 in"}, response=same
    )
    done = FakeTune(scenario, 84 * INCH, 99 * INCH, (84 * INCH, 99 * INCH))
    text = " ".join(text_of(report_of(done)).split())
    assert "longest gap in a row 20 in, now 17.5 in" in text
    assert "saves next to nothing, 17 sq ft, 0.5 % of what is lost now, but the longest gap grows" in text


def test_one_rank_is_not_talked_to_as_two() -> None:
    text = text_of(report_of(one_rank()))
    for word in ("midway", "one per rank", "per rank", "rear", "any rank", "apart, whatever"):
        assert word not in text
    assert "every row" in text


def test_typed_from_the_axle_everything_is_typed_from_the_axle() -> None:
    """1.1 m from axle to pin is 43.3 in: each offset that is printed grows by it, and only those."""
    pin, axle = text_of(report_of(example())), text_of(report_of(from_the_axle()))
    assert "97 in behind the hitch pin" in pin
    assert "140.3 in behind the rear axle" in axle
    assert "hitch pin" not in axle
    for number in ("127.3", "140.3", "144.8", "162.3", "122.9/157.9"):
        assert number in axle
    assert "17.6 in" in axle  # the gap is what it was


def test_entered_setup_rows_off_and_drift_are_warned_of() -> None:
    done = example(
        machine={"rows_off": ["rear 3", "front 4"]},
        switching={"entered_setup": "wide"},
        controller={"drift": ["3 in", "4 in"]},
    )
    text = " ".join(text_of(report_of(done)).split())
    assert "set up for wide while the machine runs narrow" in text
    assert "Rows rear 3 and front 4 are off" in text
    assert "Drift of 5 in" in text


def test_what_was_repaired_is_said_once() -> None:
    beyond = [[390, 10], [410, 10], [410, 20], [390, 20]]
    field = Field.polygon([[0, 0], [400, 0], [400, 800], [0, 800]], [beyond])
    text = " ".join(text_of(report_of(simulate(scenario_of().with_({"field": field})))).split())
    assert text.count("exclusion 1 reaches 100.0 m2 beyond the boundary: cut there") == 1


def test_a_machine_off_its_middle_is_warned_of() -> None:
    done = example(switching={"lateral_offset": "7.5 in"})
    text = " ".join(text_of(report_of(done)).split())
    assert "runs 7.5 in to the left of the planned line: joints 15 in too wide and too narrow in turn" in text


def test_a_best_at_the_end_of_the_range_is_said() -> None:
    done = example()
    done.bracketed = False
    assert "lies at the end of the range" in text_of(report_of(done))


def test_the_caution_for_digging_is_on_everything_that_leads_to_digging() -> None:
    for result in (example(), example().as_set):
        text = " ".join(text_of(report_of(result)).split())
        for word in ("engine off", "key out", "lowered or blocked", "gloves", "manual", "local rules"):
            assert word in text


def test_headland_laps_and_what_they_do_not_reach_are_said() -> None:
    done = example(plan={"headland_laps": 2})
    done.as_set.drive.unreached_m2 = 5000.0
    text = " ".join(text_of(report_of(done)).split())
    assert "79.1 ac, 2 headland laps first, passes at 0 deg" in text
    assert "No lap reaches 1.2 ac of the headland" in text


def test_a_textbook_field_is_called_one() -> None:
    text = " ".join(text_of(report_of(example(field=None))).split())
    assert "No field given: a textbook field, 1,320 ft x 2,640 ft (east x north): 80 ac" in text


def test_three_digits_of_the_witness_are_not_invented() -> None:
    assert "agrees to 3e-09" in text_of(report_of(example()))
