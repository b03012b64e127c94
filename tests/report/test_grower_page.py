"""The grower's sheet: what was set and what stays, in plain words, its figures those of the result."""

from __future__ import annotations

import re
from typing import Any

import pytest

import overlapsim
from overlapsim.report.page.grower import grower_page
from tests.report.fake import MACHINE, scenario_of
from tests.report.pages import Reader

FOOT2 = 0.3048**2


def tuned(**changes: Any) -> Any:
    ranks = {name: {**rank, "rows": 4} for name, rank in MACHINE["ranks"].items()}
    field = {"rectangle": ["40 m", "60 m"], "end_angle": "10 deg"}
    return overlapsim.tune(scenario_of(**{"machine": {"ranks": ranks}, "field": field, **changes}))


@pytest.fixture(scope="module")
def result() -> Any:
    return tuned()


def test_it_says_what_was_set_and_what_was_before(result: Any) -> None:
    text = Reader(grower_page(result)).text("us")
    assert re.search(r"It is set to [\d.]+ in; before, it was 84 in\.", text)
    assert "one distance is set for all of them" in text
    assert "seed takes 0.45 s to start, 0.40 s are set for it" in text
    # A tenth of a second at 5 mph (2.2352 m/s) is 8.8 in.
    assert "moves row ends by 8.8 in" in text


def test_its_figures_are_those_of_the_result(result: Any) -> None:
    text = Reader(grower_page(result)).text("us")
    for run in (result.recommended, result.as_set, result.floor):
        area = run.areas["combined_m2"] / FOOT2
        assert re.search(rf"\b{area:,.0f} sq ft|\b{area:,.1f} sq ft", text), area
    share = result.recommended.areas["combined_m2"] / result.as_set.plantable_m2 * 100
    assert f"{share:.2f} % of it" in text


def test_one_rank_and_a_number_for_each() -> None:
    wide = Reader(grower_page(tuned(machine={"ranks": MACHINE["ranks"], "setup": "wide"}))).text("us")
    assert "they start and stop side by side" in wide
    assert "for each rank" not in wide
    each = tuned(switching={"reference_offset": {"front": "84 in", "rear": "119 in"}})
    assert "each of them has a distance of its own" in Reader(grower_page(each)).text("us")


def test_where_nothing_stays_nothing_is_said_to() -> None:
    """Square ends, each row by itself: a number for each rank and times that match leave nothing."""
    square = tuned(field={"rectangle": ["24.384 m", "60 m"]})
    assert square.floor.areas["combined_m2"] == pytest.approx(0.0, abs=1e-6)
    assert "Even with all of that" not in Reader(grower_page(square)).text("us")


def test_cautions_and_escapes(result: Any) -> None:
    page = Reader(grower_page(tuned(title="<b>&amp;</b>")))
    assert "<b>&amp;</b>" in page.text("us")
    assert "operator's manual and local rules come first" in page.text("metric")


def test_the_sheet_and_the_report_agree_on_whether_ground_is_saved() -> None:
    """Inside of the stretch that is just as good a few square feet are no saving; outside they are less."""
    saved = set()
    for entered in ("60 in", "84 in", "98 in", "108 in", "140 in"):
        done = tuned(switching={"reference_offset": entered})
        low, high = done.as_good_m
        inside = low <= float(entered.split()[0]) * 0.0254 <= high
        sheet = Reader(grower_page(done)).text("us")
        now, before = (run.areas["combined_m2"] for run in (done.recommended, done.as_set))
        assert ("no more apart than a tape's error is worth" in sheet) == (inside and now != before)
        less = re.search(r": ([\d.]+) % less now\.", sheet)
        assert bool(less) == (not inside)
        if less:
            assert float(less[1]) == pytest.approx((1 - now / before) * 100, rel=0.05)
        saved.add(inside)
    assert saved == {True, False}
