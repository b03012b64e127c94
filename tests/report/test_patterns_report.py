"""Ways to drive a field in words and as maps, from figures made up by hand: no field is run for the words."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from overlapsim import PatternsResult
from overlapsim.questions.pattern_cases import NOW, Pattern
from overlapsim.questions.pattern_choice import unbeaten
from overlapsim.report.data import report_of
from overlapsim.report.maps import draw_maps
from overlapsim.report.pattern_report import MOST_ROWS, patterns_table, shown_of
from overlapsim.report.style import look
from overlapsim.report.terminal import text_of
from overlapsim.report.values import csv_text
from overlapsim.report.words import Words
from overlapsim.report.write import write_results
from tests.report.fake import INCH, scenario_of
from tests.report.golden_files import compare
from tests.report.looking import by_gid, overlapping_words, words_cut_off

ACRE, MILE = 4046.8564224, 1609.344


def pattern(
    laps: int, order: str, degrees: float, lost: tuple[float, float], miles: float, **more: Any
) -> dict[str, Any]:
    """One pattern: acres lost at today's reference offset and at its own best, miles driven."""
    areas = [
        {
            "skip_m2": ground * ACRE / 2, "overlap_m2": 0.0, "off_field_m2": ground * ACRE / 2,
            "combined_m2": ground * ACRE, "planted_m2": 0.0, "worst_row_error_m": 0.5, "longest_gap_m": 0.5,
            "missing_row_m": 1.0, "double_planted_row_m": 1.0,
        }
        for ground in lost
    ]  # fmt: skip
    return {
        "key": f"{laps}-{order}-{degrees:g}", "headland_laps": laps, "headland_order": order,
        "heading_deg": degrees, "corners": "straight-on", "pass_order": "neighbouring", "lap_count": laps,
        "pass_count": 33 - 2 * laps, "working_m": miles * MILE, "as_set": areas[0],
        "best": {"reference_offset_m": 97 * INCH, **areas[1]}, "bracketed": True, "unreached_m2": 0.0,
        "witness": {"largest_relative_difference": 3e-9}, **more,
    }  # fmt: skip


def result(found: list[dict[str, Any]], failed: dict[str, str] | None = None, **changes: Any) -> Any:
    """A comparison of the patterns, today's first."""
    first = found[0]
    plan = {
        "headland_laps": first["headland_laps"],
        "headland_order": first["headland_order"],
        "heading": f"{first['heading_deg']} deg",
    }
    marks = unbeaten(
        np.array([one["best"]["combined_m2"] for one in found]), np.array([one["working_m"] for one in found])
    )
    told = [{**one, "unbeaten": bool(mark)} for one, mark in zip(found, marks, strict=True)]
    told[0]["key"] = NOW
    cases = [
        Pattern(one["key"], one["headland_laps"], one["headland_order"], math.radians(one["heading_deg"]))
        for one in told
    ]
    scenario = scenario_of(title="Ways to drive it", plan=plan, **changes)
    return PatternsResult(scenario, tuple(told), tuple(cases), failed or {})


def few(**changes: Any) -> Any:
    """Today's two laps first; 94 degrees loses least, no laps are shortest, one more is beaten."""
    return result(
        [
            pattern(2, "first", 4.0, (0.200, 0.170), 17.0),
            pattern(0, "first", 4.0, (0.260, 0.240), 16.5),
            pattern(2, "last", 4.0, (0.201, 0.180), 17.5),
            pattern(2, "first", 94.0, (0.150, 0.120), 17.2),
        ],
        **changes,
    )


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_text(units: str) -> None:
    name = "patterns" if units == "us" else "patterns-metric"
    compare(f"{name}.txt", text_of(report_of(few(), units)))


def test_nothing_better_is_admitted() -> None:
    done = result([pattern(2, "first", 4.0, (0.2, 0.2), 17.0), pattern(2, "last", 4.0, (0.3, 0.3), 17.5)])
    said = text_of(report_of(done))
    assert "LEAST     no other pattern here loses less ground than today's" in said
    assert "no more and no less ground lost with its own best offset" in said


def test_what_has_no_result_is_said() -> None:
    open_end = pattern(0, "first", 4.0, (0.3, 0.3), 16.0, bracketed=False)
    done = result(
        [pattern(2, "first", 4.0, (0.2, 0.2), 17.0), open_end], {"1-lap-first-4-deg": "areas do not balance"}
    )
    said = " ".join(text_of(report_of(done)).split())
    assert "No result, by a fault of this program: 1-lap-first-4-deg." in said
    assert "The least lies at the end of the range that was searched: 0-first-4." in said


def test_weights_are_said() -> None:
    assert "0.200 ac (weighted)" in text_of(report_of(few(weights={"skip": 2})))


def test_the_table_is_against_now_as_entered() -> None:
    table = patterns_table(few(), [0, 3, 1], Words("us"))
    assert [row["label"] for row in table["rows"]] == [
        "* now: 2 laps first, 4 deg", "* 2 laps first, 94 deg", "* no laps, 4 deg",
    ]  # fmt: skip
    assert table["rows"][1]["cells"] == ["29", "17.20", "-0.050", "97", "-0.080"]
    metric = patterns_table(few(), [0], Words("metric"))
    assert metric["rows"][0]["cells"] == ["29", "27.36", "0.000", "246.4", "-0.012"]


def many(count: int, best: int) -> Any:
    """Today's way and many others, of which the first ones trade ground for length one by one."""
    others = [
        pattern(0, "first", float(i), (0.5, 0.1 + 0.01 * i), 20.0 - 0.1 * i if i <= best else 30.0)
        for i in range(1, count)
    ]
    return result([pattern(4, "last", 0.0, (0.9, 0.9), 40.0), *others])


def test_at_most_twelve_are_shown() -> None:
    few_unbeaten = shown_of(many(40, 5))
    # Today's, the unbeaten five, and of the others those that lose least.
    assert few_unbeaten == list(range(MOST_ROWS))
    many_unbeaten = shown_of(many(60, 50))
    assert len(many_unbeaten) == MOST_ROWS
    assert many_unbeaten[0] == 0
    assert (many_unbeaten[1], many_unbeaten[-1]) == (1, 50)
    steps = np.diff(many_unbeaten[1:])
    assert steps.max() - steps.min() <= 1
    assert shown_of(few()) == [0, 3, 2, 1]


def test_the_table_for_programs_is_whole() -> None:
    done = many(40, 5)
    lines = csv_text(done.table).splitlines()
    assert len(lines) == 41
    assert lines[0].startswith("key,headland_laps,headland_order,heading_deg,")
    assert done.table["best_change_m2"][1] == pytest.approx((0.11 - 0.9) * ACRE)


def test_maps_show_what_is_printed() -> None:
    done = few()
    with look():
        figure = draw_maps(done, Words("us"))
        assert not overlapping_words(figure)
        assert not words_cut_off(figure)
        assert len(figure.axes) == 4
        assert len(by_gid(figure, "unbeaten")) == 3
        passes = [by_gid(axes, "pass")[0].get_segments() for axes in figure.axes]
        laps = [by_gid(axes, "lap")[0].get_segments() for axes in figure.axes]
    # 400 m by 800 m, 12.19 m wide: shown in the order of the table, the last one without laps.
    assert [len(lines) > 0 for lines in laps] == [True, True, True, False]
    heading = math.radians(94)
    for line in passes[1]:
        way = line[-1] - line[0]
        assert abs(way[0] * math.cos(heading) - way[1] * math.sin(heading)) < 1e-6
    ends = np.concatenate(passes[3])
    # Without laps passes reach from border to border and no farther but for their aslant swath.
    assert np.abs(ends[:, 1]).max() == pytest.approx(400, abs=12.2 * math.sin(math.radians(4)) + 1e-6)


@pytest.mark.parametrize("field", [["2000 m", "60 m"], ["60 m", "2000 m"]])
def test_maps_of_long_fields_keep_their_words(field: list[str]) -> None:
    with look():
        figure = draw_maps(few(field={"rectangle": field}), Words("metric"))
        assert not overlapping_words(figure)
        assert not words_cut_off(figure)


def test_files(tmp_path: Any) -> None:
    first, second = (
        {path.name: path.read_bytes() for path in write_results(few(), tmp_path / name).folder.iterdir()}
        for name in ("a", "b")
    )
    always = {"result.json", "report.html", "summary.txt", "manifest.json"}
    assert set(first) == always | {"patterns.csv", "maps.png"}
    assert first == second
