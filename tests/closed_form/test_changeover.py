"""Prices of forgotten steps, by hand on a textbook rectangle.

Two ranks of eight rows, 1 m apart in a rank, at one distance (2 m) behind the pin; the second rank stands
half a metre to the left, so narrow rows are 0.5 m apart and the hitch moves the machine 0.25 m to the right.
Working width 8 m both ways; a field of 24 m by 100 m takes three passes of 100 m. Times match the latencies:
as it should be nothing is lost at all, so that a price is what a forgotten step leaves, to rounding.
"""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from overlapsim import Scenario, changeover, load_scenario
from overlapsim.basics.errors import InputError
from overlapsim.questions.changing_over import ChangeoverResult

DATA: dict[str, Any] = {
    "title": "By hand",
    "machine": {
        "ranks": {
            "front": {"rows": 8, "spacing": "1 m", "behind_pin": "2 m"},
            "rear": {"rows": 8, "spacing": "1 m", "behind_pin": "2 m", "right": "-0.5 m"},
        },
        "setups": {
            "wide": {"ranks": ["front"]},
            "narrow": {"ranks": ["front", "rear"], "hitch_shift": "0.25 m"},
        },
    },
    "field": {"rectangle": ["24 m", "100 m"]},
    "speed": {"working": "2 m/s"},
    "switching": {
        "reference_offset": "2 m", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s", "sections": 8,
        "wide": {"turn_on_time": "0.2 s", "turn_off_time": "0.9 s"},
    },
    "response": {
        "on_latency": "0.4 s", "off_latency": "0.4 s",
        "wide": {"on_latency": "0.2 s", "off_latency": "0.9 s"},
    },
    "value": {"currency": "EUR", "seed": "150 /ha", "lost_stand": "1200 /ha", "double_planting": "80 /ha"},
}  # fmt: skip
SEED, STAND, DOUBLE = 0.015, 0.12, 0.008  # EUR per m²


def setups(change: Any = None) -> tuple[Scenario, Scenario]:
    """Read the scenario with either row setup."""
    found = []
    for name in ("wide", "narrow"):
        data = copy.deepcopy(DATA)
        data["machine"]["setup"] = name
        if change:
            change(data)
        found.append(Scenario.from_dict(data))
    return found[0], found[1]


@pytest.fixture(scope="module")
def there_and_back() -> ChangeoverResult:
    return changeover(*setups(), back=True)


def extra(result: ChangeoverResult | None, key: str) -> dict[str, float]:
    assert result is not None
    (one,) = [one["extra"] for one in result.forgotten if one["key"] == key]
    return dict(one)


def is_worth(found: dict[str, float], skip: float, overlap: float, off_field: float, row: float) -> None:
    """Areas, metres of row at the row spacing, and money, within what the account promises."""
    near = {"abs": 1e-6 * 2400}
    assert found["skip_m2"] == pytest.approx(skip, **near)
    assert found["overlap_m2"] == pytest.approx(overlap, **near)
    assert found["off_field_m2"] == pytest.approx(off_field, **near)
    assert found["combined_m2"] == pytest.approx(skip + overlap + off_field, **near)
    assert found["unplanted_row_m"] == pytest.approx(skip / row, abs=0.01)
    money = STAND * skip + SEED * (overlap + off_field) + DOUBLE * overlap
    assert found["money"] == pytest.approx(money, abs=0.01)


def test_as_it_should_be_nothing_is_lost(there_and_back: ChangeoverResult) -> None:
    assert there_and_back.base.areas["combined_m2"] == pytest.approx(0, abs=1e-6 * 2400)


def test_the_added_rank_left_up(there_and_back: ChangeoverResult) -> None:
    """Every other row of 0.5 m is bare: 8 x 0.5 m x 100 m on three passes, 2,400 m of row."""
    is_worth(extra(there_and_back, "rank_left_up"), 1200.0, 0.0, 0.0, 0.5)


def test_one_row_locked_up(there_and_back: ChangeoverResult) -> None:
    """One strip of 0.5 m on three passes: 150 m², 300 m of row; 50 m² for 100 m of row. A monitor that is
    heard after 5 s at 2 m/s is heard after 10 m, the end of the first pass is reached after 100 m."""
    is_worth(extra(there_and_back, "row_locked_up"), 150.0, 0.0, 0.0, 0.5)
    (one,) = [one for one in there_and_back.forgotten if one["key"] == "row_locked_up"]
    assert one["row"] == "rear 4"
    # It has no ends that could be late.
    assert one["extra"]["missing_row_m"] == pytest.approx(0, abs=1e-6)
    assert one["per_100_m"]["skip_m2"] == pytest.approx(50.0, rel=1e-6)
    assert one["per_100_m"]["unplanted_row_m"] == pytest.approx(100.0, rel=1e-6)
    assert one["per_100_m"]["money"] == pytest.approx(50.0 * STAND, rel=1e-6)
    after = one["noticed_after_m"]
    assert (after["monitored"], after["looked_at_pass_end"]) == pytest.approx((10.0, 100.0))
    assert after["sooner"] == pytest.approx(90.0)


@pytest.mark.parametrize("key", ["recentring_left", "recentring_twice"])
def test_sideways(there_and_back: ChangeoverResult, key: str) -> None:
    """A quarter of a metre to one side on every pass, and passes run to and fro: one joint is 0.5 m too wide
    (50 m² bare), the next 0.5 m too narrow (50 m² twice); of the outer edges one is 0.25 m bare (25 m²), and
    at the other 0.25 m lie off the field (25 m²). Once to the left or, done twice, to the right: the same."""
    is_worth(extra(there_and_back, key), 75.0, 50.0, 25.0, 0.5)
    # On the way back the rows are 1 m apart: the same ground is half as many metres of row.
    is_worth(extra(there_and_back.way_back, key), 75.0, 50.0, 25.0, 1.0)


def test_old_times(there_and_back: ChangeoverResult) -> None:
    """To narrow: 0.2 s for a latency of 0.4 s starts 0.4 m late, 0.9 s for 0.4 s stops 1 m short: 16 rows of
    0.5 m on three passes skip 9.6 and 24 m². Back: the times are 0.2 s too long at starts (0.4 m early:
    9.6 m² off the field) and 0.5 s too short at stops (1 m over: 24 m²)."""
    is_worth(extra(there_and_back, "times_left"), 33.6, 0.0, 0.0, 0.5)
    is_worth(extra(there_and_back.way_back, "times_left"), 0.0, 0.0, 33.6, 1.0)


def test_dearest_first(there_and_back: ChangeoverResult) -> None:
    """1,200, 150, 75 (twice) and 33.6 m² skipped on rows of 0.5 m; what is alike stands as it is tried."""
    assert [one["key"] for one in there_and_back.forgotten] == [
        "rank_left_up", "row_locked_up", "recentring_left", "recentring_twice", "times_left",
        "entered_setup_left",
    ]  # fmt: skip
    assert "rank_left_down:rear" in there_and_back.way_back.unpriced  # type: ignore[union-attr]


def apart(data: dict[str, Any]) -> None:
    data["machine"]["ranks"]["rear"]["behind_pin"] = "3 m"
    for table in ("switching", "response"):
        del data[table]["wide"]


def test_old_reference_offset() -> None:
    """Ranks 1 m apart: narrow rows want 2.5 m, wide rows 2 m. Left at 2 m narrow rows miss as much ground as
    at 2.5 m (anywhere between the ranks), but one rank alone misses 1 m instead of both 0.5 m. Left at 2.5 m
    the 8 wide rows of 1 m start and stop 0.5 m late on three passes: 12 m² bare, 12 m² off the field."""
    result = changeover(*setups(apart), back=True)
    (change,) = [one for one in result.facts[0] if one["key"] == "reference_offset"]
    assert (change["from"], change["to"]) == pytest.approx((2.0, 2.5))
    assert change["as_good_to"] == pytest.approx((2.0, 3.0), abs=1e-3)
    left = extra(result, "reference_offset_left")
    is_worth(left, 0.0, 0.0, 0.0, 0.5)
    assert left["longest_gap_m"] == pytest.approx(0.5)
    is_worth(extra(result.way_back, "reference_offset_left"), 12.0, 0.0, 12.0, 1.0)


def test_old_rows_and_sections() -> None:
    """Wide stated 7.5 m wide: passes of 8 m are then driven 7.5 m apart. Four instead of three on 24 m, the
    first 0.25 m off the field, three joints of 0.5 m planted twice, and of the fourth the two sections that
    are due plant up to 24.25 m."""

    def narrower(data: dict[str, Any]) -> None:
        data["machine"]["setups"]["wide"]["working_width"] = "7.5 m"

    is_worth(extra(changeover(*setups(narrower)), "entered_setup_left"), 0.0, 150.0, 50.0, 0.5)


def test_what_changes_and_what_stays(there_and_back: ChangeoverResult) -> None:
    changes, stays = there_and_back.facts
    found = {one["key"]: (one["from"], one["to"], one["unit"], one["kind"]) for one in changes}
    assert found["rows_working"] == (8, 16, "rows", "machine")
    assert found["hitch_shift"] == (0.0, 0.25, "m", "machine")
    assert found["rows_per_section"] == ([1] * 8, [2] * 8, "rows", "enter")
    assert found["turn_off_time"] == (0.9, 0.4, "s", "enter")
    same = {one["key"]: one["value"] for one in stays}
    assert same["working_width"] == pytest.approx(8.0)
    assert same["pass_distance"] == pytest.approx(8.0)
    assert set(found).isdisjoint(same)


def test_seeds_per_second() -> None:
    """8 seeds per m² in rows of 1 m lie 0.125 m apart: 16 a second at 2 m/s; in rows of 0.5 m 8 a second."""

    def sown(data: dict[str, Any]) -> None:
        data["seed"] = {"crop": "corn", "population": "80,000 /ha", "narrow": {"crop": "soybeans"}}

    changes = {one["key"]: one for one in changeover(*setups(sown)).facts[0]}
    one = changes["seeds_per_second_and_row"]
    assert (one["from"], one["to"]) == pytest.approx((16.0, 8.0))
    assert (changes["crop"]["from"], changes["crop"]["to"]) == ("corn", "soybeans")


def test_rows_that_stay_in_the_middle_have_nothing_to_re_centre() -> None:
    """One row fewer on the second rank (common practice, no source): both are centred, no step sideways."""

    def fewer(data: dict[str, Any]) -> None:
        data["machine"]["ranks"]["rear"] |= {"rows": 7, "right": "0 m"}
        data["machine"]["setups"]["narrow"] = {"ranks": ["front", "rear"]}
        data["switching"]["sections"] = "each-row"

    keys = {one["key"] for one in changeover(*setups(fewer)).forgotten}
    assert not {"recentring_left", "recentring_twice"} & keys


def test_what_cannot_be_changed_over() -> None:
    wide, narrow = setups()
    with pytest.raises(InputError, match="to itself"):
        changeover(wide, wide)
    other = narrow.with_({"machine.ranks.front.behind_pin": "1 m"})
    with pytest.raises(InputError, match="not of one machine"):
        changeover(wide, other)


def test_rows_off_and_a_wrong_setup_entered_are_put_right_first() -> None:
    """What is wrong today is no part of a row setup as it should be."""
    wide, narrow = setups()
    broken = narrow.with_({"machine.rows_off": ["rear 2"], "switching.entered_setup": "wide"})
    one, other = (changeover(wide, new).to_dict()["forgotten"] for new in (narrow, broken))
    assert one == other


def test_the_example_of_the_gallery_teaches_what_it_says() -> None:
    """33 passes of 40 ft by 2640 ft, rows of 15 in = 1.25 ft. One row: 33 x 1.25 x 2640 = 108,900 sq ft (less
    what it misses at a stop anyway: 17.5 in a pass). 7.5 in off the line: 16 joints 15 in too wide and half
    of one at an edge, 16.5 x 1.25 x 2640 = 54,450 sq ft. The old offset, 84 in, lies at the end of the
    stretch that is as good as 101.5 in: no ground, but 17.5 in more gap."""
    path = Path(__file__).resolve().parents[2] / "scenarios" / "changeover.toml"
    result = changeover(*(load_scenario(path, setup=name) for name in ("wide", "narrow")))
    foot = 0.3048
    end = 33 * 1.25 * (17.5 / 12)
    row = extra(result, "row_locked_up")["skip_m2"] / foot**2
    assert row == pytest.approx(108_900 - end, abs=1)
    assert extra(result, "recentring_left")["skip_m2"] / foot**2 == pytest.approx(54_450, rel=2e-3)
    left = extra(result, "reference_offset_left")
    assert left["combined_m2"] == pytest.approx(0, abs=1e-6 * 323_749)
    assert left["longest_gap_m"] / 0.0254 == pytest.approx(17.5, abs=1e-6)
    keys = [one["key"] for one in result.forgotten]
    assert keys[:2] == ["rank_left_up", "row_locked_up"]
