"""Ways to drive a field: lengths and counts on rectangles by hand, the unbeaten few, the list of patterns."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from overlapsim import BalanceError, InputError, Scenario, patterns
from overlapsim.drive.plan import plan_drive
from overlapsim.questions import pattern_run
from overlapsim.questions.cases import Store
from overlapsim.questions.pattern_cases import hashes, lay_out, with_pattern
from overlapsim.questions.pattern_choice import unbeaten
from overlapsim.questions.pattern_run import working_length, working_stretches
from overlapsim.report.pattern_report import patterns_report
from overlapsim.report.terminal import text_of
from tests.helpers import EXACT_M, merge, square

#: Eight rows of 1 m; 96 m by 200 m are 12 widths by 25.
WIDTH, EAST, NORTH = 8.0, 96.0, 200.0


def scenario(**more: Any) -> Scenario:
    """One rank of eight rows of 1 m on the rectangle, times and ranks matched."""
    base = {
        "title": "rectangle",
        "machine": {"ranks": {"bar": {"rows": 8, "spacing": "1 m", "behind_pin": "2 m"}}},
        "field": square("96 m", "200 m"),
        "speed": {"working": "2 m/s"},
        "switching": {"reference_offset": "2.5 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    }
    return Scenario.from_dict(merge(base, more))


@pytest.mark.parametrize("order", ["first", "last"])
@pytest.mark.parametrize("laps", range(6))
@pytest.mark.parametrize("heading", ["0 deg", "90 deg", "180 deg"])
def test_length_with_the_machine_down_on_a_rectangle(laps: int, order: str, heading: str) -> None:
    """Each leg of lap j runs along a whole side of what lap j - 1 leaves: 2 (E + N) - 8 (j - 1) W in all.

    Passes: as many as widths fit into what all laps leave across, each as long as it is up and down.
    """
    drive = plan_drive(scenario(plan={"heading": heading, "headland_laps": laps, "headland_order": order}))
    across, along = (NORTH, EAST) if heading == "90 deg" else (EAST, NORTH)
    inner_across, inner_along = across - 2 * laps * WIDTH, along - 2 * laps * WIDTH
    passes = round(inner_across / WIDTH)
    round_about = sum(2 * (EAST + NORTH) - 8 * (j - 1) * WIDTH for j in range(1, laps + 1))
    assert working_length(drive) == pytest.approx(passes * inner_along + round_about, abs=EXACT_M)
    downs = working_stretches(drive)
    assert [leg.kind for leg in drive.legs].count("pass") == passes
    for leg, (first, last) in zip(drive.legs, downs, strict=True):
        if leg.kind == "pass":
            assert last - first == pytest.approx(inner_along, abs=EXACT_M)
            middle = leg.direction * (first + last) / 2
            assert middle == pytest.approx(0.0, abs=EXACT_M)


def test_a_closed_lap_round_a_disc() -> None:
    """Lap j of a disc of radius 100 m is a circle of radius 100 - (j - 1/2) W, to the 2 cm of its path."""
    turn = np.linspace(0, 2 * math.pi, 2000, endpoint=False)
    disc = {"polygon": np.stack([100 * np.cos(turn), 100 * np.sin(turn)], axis=1).tolist()}
    drive = plan_drive(scenario(field={"rectangle": None, **disc}, plan={"headland_laps": 2}))
    laps = [
        last - first
        for leg, (first, last) in zip(drive.legs, working_stretches(drive), strict=True)
        if leg.kind == "lap"
    ]
    expected = [2 * math.pi * (100 - (j - 0.5) * WIDTH) for j in (1, 2)]
    # A ring that lies within 2 cm of the circle is shorter by 2 pi times that at most.
    assert laps == pytest.approx(expected, abs=2 * math.pi * 0.02)


def test_the_unbeaten_by_hand() -> None:
    """Of (lost, length): (1, 9) and (4, 2) are the ends, (2, 5) lies between them.

    (2, 7) loses no more and is longer than (2, 5); (5, 2) is no longer and loses more than (4, 2); (3, 6) is
    beaten in both. Equal ones stand together, and what differs by less than half a step is equal.
    """
    lost = np.array([1, 2, 2, 4, 5, 3, 2.2])
    length = np.array([9, 5, 7, 2, 2, 6, 4.8])
    assert unbeaten(lost, length).tolist() == [True, True, False, True, False, False, True]
    assert unbeaten(np.array([7.0]), np.array([7.0])).tolist() == [True]


def keys(one: Scenario, *given: Any, **more: Any) -> list[str]:
    return [pattern.key for pattern in lay_out(one, *given, **more)]


def test_today_first_then_laps_by_order_by_heading_none_twice() -> None:
    one = scenario(plan={"heading": "30 deg", "headland_laps": 2, "headland_order": "last"})
    found = keys(one, ["30 deg", "390 deg", "75 deg"], laps=[2, 0, 2])
    assert found == [
        "now", "0-laps-30-deg", "0-laps-75-deg", "2-laps-first-30-deg", "2-laps-first-75-deg",
        "2-laps-last-75-deg",
    ]  # fmt: skip
    assert len(keys(one)) == 1 + (1 + 4 * 2) * 3 - 1
    assert keys(one)[1:4] == ["0-laps-30-deg", "0-laps-0-deg", "0-laps-120-deg"]


def test_a_sweep_of_headings() -> None:
    one = scenario(plan={"heading": "100 deg"})
    assert keys(one, step="45 deg", laps=[0])[1:] == [f"0-laps-{n}-deg" for n in (0, 45, 90, 135)]
    # Steps that do not divide 180 stop below it; radians will do as well.
    assert keys(one, step=math.radians(70), laps=[0])[1:] == [f"0-laps-{n}-deg" for n in (0, 70, 140)]
    assert len(keys(one, step="1 deg", laps=[0])) == 180


def test_auto_counts_as_the_heading_that_it_comes_to() -> None:
    """The long side of the rectangle lies north: today's "auto" and 0 degrees are one and the same."""
    one = scenario(plan={"heading": "auto"})
    assert keys(one, ["0 deg", "auto", "90 deg"], laps=[0, 1]) == [
        "now", "0-laps-90-deg", "1-lap-first-0-deg", "1-lap-first-90-deg", "1-lap-last-0-deg",
        "1-lap-last-90-deg",
    ]  # fmt: skip
    assert with_pattern(one, lay_out(one)[0]) == one


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"headings": ["45"]}, 'heading = "45"  needs a unit. Write "45 deg".'),
        ({"headings": ["north"]}, 'heading = "north"'),
        ({"headings": [math.nan]}, "is not a finite number"),
        ({"step": "0.5 deg"}, "headings-step = 0.5 deg  is not between 1 and 180 degrees"),
        ({"step": "-15 deg"}, "is not between 1 and 180 degrees"),
        ({"step": "200 deg"}, "is not between 1 and 180 degrees"),
        ({"step": "15"}, 'headings-step = "15"  needs a unit'),
        ({"step": "auto"}, "headings-step"),
        ({"laps": [7]}, "laps = 7  is not a number from 0 to 6"),
        ({"laps": [True]}, "is not a number from 0 to 6"),
        ({"laps": [1.5]}, "is not a number from 0 to 6"),
    ],
)
def test_what_cannot_be_read_is_said(given: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError) as caught:
        lay_out(scenario(), **given)
    assert words in str(caught.value)


def test_what_bears_on_the_result_bears_on_the_hash() -> None:
    base = scenario()
    two = lay_out(base, ["45 deg"], laps=[0])
    first = hashes(base, two)
    assert len(set(first)) == 2
    assert hashes(base.model_copy(update={"title": "other", "name": "other"}), two) == first
    for key, value in {
        "switching.reference_offset": "2.6 m",
        "machine.ranks.bar.behind_pin": "2.1 m",
        "machine.ranks.bar.right": "0.1 m",
        "response.on_latency": "0.1 s",
        "controller.position_delay": "0.1 s",
        "weights.skip": 2,
        "field": scenario(field=square("96 m", "200.001 m")).field,
    }.items():
        assert set(hashes(base.with_({key: value}), two)).isdisjoint(first), key


class Shelf(Store):
    """Keeps outcomes as text, as a folder does; counts what is asked for and what is kept."""

    def __init__(self) -> None:
        self.kept: dict[str, str] = {}
        self.saved = 0

    def __len__(self) -> int:
        # An empty shelf is a shelf.
        return len(self.kept)

    def load(self, key: str) -> dict[str, Any] | None:
        return json.loads(self.kept[key]) if key in self.kept else None

    def save(self, key: str, outcome: dict[str, Any]) -> None:
        self.saved += 1
        self.kept[key] = json.dumps(outcome)


def compare(one: Scenario, store: Store | None = None, laps: Sequence[int] = (0,)) -> Any:
    return patterns(one, ["90 deg", "30 deg"], laps=laps, store=store)


def test_as_set_and_best_by_hand() -> None:
    """Half a metre too far back: late by 0.5 m at both ends of every pass, all across 96 m or 200 m."""
    done = compare(scenario())
    for one, across in zip(done.patterns[:2], (EAST, NORTH), strict=True):
        assert one["as_set"]["skip_m2"] == pytest.approx(0.5 * across, abs=1e-6)
        assert one["as_set"]["off_field_m2"] == pytest.approx(0.5 * across, abs=1e-6)
        assert one["best"]["reference_offset_m"] == pytest.approx(2.0, abs=1e-6)
        assert one["best"]["combined_m2"] == pytest.approx(0.0, abs=1e-6)
        assert one["working_m"] == pytest.approx(EAST * NORTH / WIDTH, abs=EXACT_M)
    assert [one["pass_count"] for one in done.patterns[:2]] == [12, 25]
    # Square to either side nothing is lost at best and all is driven once; aslant both are more.
    assert [one["unbeaten"] for one in done.patterns] == [True, True, False]
    assert done.largest_witness_difference < 1e-6
    table = done.table
    assert table["key"].tolist() == [one["key"] for one in done.patterns]
    assert table["as_set_change_m2"][1] == pytest.approx(NORTH - EAST, abs=1e-6)
    assert table["best_change_m2"][0] == pytest.approx(-EAST, abs=1e-6)


def test_one_offset_per_rank_is_told_by_rank() -> None:
    ranks = {
        "front": {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"},
        "rear": {"rows": 4, "spacing": "1 m", "behind_pin": "3 m", "right": "-0.5 m"},
    }
    one = scenario(
        machine={"ranks": {"bar": None, **ranks}},
        field=square("96 m", "200 m"),
        switching={"reference_offset": {"front": "2 m", "rear": "2.5 m"}},
    )
    done = patterns(one, laps=[0])
    offset = done.now["best"]["reference_offset_m"]
    assert offset == {"front": pytest.approx(2.0, abs=1e-6), "rear": pytest.approx(3.0, abs=1e-6)}
    assert done.table["best_reference_offset_rear_m"][0] == offset["rear"]


def test_a_pattern_for_whose_laps_there_is_no_room_is_left_out() -> None:
    """30 m by 200 m hold two laps of 8 m, which leave nothing for a third."""
    narrow = scenario(field=square("30 m", "200 m"), switching={"reference_offset": "2 m"})
    done = patterns(narrow, [0.0], laps=[2, 3, 4])
    assert {one["headland_laps"] for one in done.patterns} == {0, 2}


def test_what_is_kept_is_not_done_again_and_comes_back_to_the_bit() -> None:
    shelf = Shelf()
    fresh = compare(scenario(), shelf).to_dict()
    assert shelf.saved == 3
    again = compare(scenario(), shelf)
    assert shelf.saved == 3
    assert json.dumps(again.to_dict()) == json.dumps(fresh)
    assert json.dumps(compare(scenario()).to_dict()) == json.dumps(fresh)


def failing(broken: str) -> Any:
    """A simulation whose areas do not balance at one heading."""
    real = pattern_run.simulate

    def fail(one: Scenario) -> Any:
        if f"{math.degrees(float(one.plan.heading)):.0f}" == broken:
            raise BalanceError("3 m² too much")
        return real(one)

    return fail


def test_a_pattern_that_does_not_balance_is_named_and_the_others_stay(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(pattern_run, "simulate", failing("90"))
    done = compare(scenario())
    assert [one["key"] for one in done.patterns] == ["now", "0-laps-30-deg"]
    assert done.failed == {"0-laps-90-deg": "3 m² too much"}
    assert done.to_dict()["failed"] == [{"key": "0-laps-90-deg", "error": "3 m² too much"}]
    said = text_of(patterns_report(done))
    assert "No result, by a fault of this program: 0-laps-90-deg." in said
    monkeypatch.setattr(pattern_run, "simulate", failing("0"))
    with pytest.raises(BalanceError, match="3 m² too much"):
        compare(scenario())


def test_what_was_tried_before_may_be_today_s_way_now() -> None:
    """Somebody takes up a pattern that an earlier run has kept: it is told under its new name."""
    shelf = Shelf()
    compare(scenario(), shelf)
    done = compare(scenario(plan={"heading": "90 deg"}), shelf)
    assert shelf.saved == 3
    assert [one["key"] for one in done.patterns] == ["now", "0-laps-30-deg"]
