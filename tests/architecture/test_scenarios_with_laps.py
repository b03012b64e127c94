"""The gallery's scenarios with headland laps: what their first lines teach is what comes out."""

from __future__ import annotations

import pytest

import overlapsim
from overlapsim.questions.outcome import to_count_again
from tests.architecture.test_scenarios import load, tuned


def test_laps_take_in_what_passes_plant_beyond_the_boundary() -> None:
    without, with_laps = overlapsim.simulate(load("demo")), overlapsim.simulate(load("two-laps"))
    # Seed beyond pass ends falls on lap ground, which holds seed already: 3,017 sq ft come to lie inside.
    assert with_laps.areas["off_field_m2"] < 0.05 * without.areas["off_field_m2"]
    assert with_laps.areas["overlap_m2"] > 0.9 * without.areas["off_field_m2"]
    assert without.areas["overlap_m2"] == 0.0
    assert with_laps.areas["longest_gap_m"] == pytest.approx(without.areas["longest_gap_m"], abs=1e-9)


def test_the_number_to_type_in_stays_with_laps() -> None:
    assert tuned("two-laps").as_typed == tuned("laps-last").as_typed == tuned("demo").as_typed


def test_the_order_of_laps_hardly_changes_the_error() -> None:
    first, last = tuned("two-laps").recommended.areas, tuned("laps-last").recommended.areas
    assert first != last
    for key in ("skip_m2", "overlap_m2", "combined_m2", "missing_row_m"):
        assert last[key] == pytest.approx(first[key], rel=0.01), key


def test_of_two_fields_areas_are_added_and_the_corner_pays_more_for_its_size() -> None:
    told = tuned("two-fields").to_dict()
    fields = told["fields"]
    assert [one["name"] for one in fields] == ["Crooked Eighty north", "Creek corner"]
    for key in ("skip_m2", "overlap_m2", "combined_m2"):
        assert sum(one[key] for one in fields) == pytest.approx(told[key], rel=1e-12)
    square, corner = (one["combined_m2"] / one["plantable_m2"] for one in fields)
    assert corner > 1.5 * square


def test_the_second_witness_looks_at_all_runs_with_laps_and_without_at_what_is_entered_and_typed() -> None:
    for name, all_of_them in (("demo", False), ("two-laps", True)):
        done = tuned(name)
        shown, others = [done.as_set, done.best, done.recommended], [done.floor]
        assert (to_count_again(shown, others) == [*shown, *others]) is all_of_them
        assert to_count_again(shown, others)[:3] == shown
