"""What causes print and draw: letter for letter for results made by hand, and sums that hold as printed."""

from __future__ import annotations

import dataclasses
import re
from decimal import Decimal
from typing import Any

import pytest

from overlapsim.questions.breakdown import CausesResult
from overlapsim.questions.faultless import (
    at_own_places,
    row_by_row,
    well_set_up,
    without_latency,
    without_updates,
)
from overlapsim.report.data import report_of
from overlapsim.report.origins import NAMES, figures_of
from overlapsim.report.origins_picture import draw_causes
from overlapsim.report.pictures import picture
from overlapsim.report.style import look
from overlapsim.report.terminal import NARROWEST, WIDEST, text_of
from overlapsim.report.words import Words
from tests.report.fake import INCH, FakeRun, scenario_of
from tests.report.golden_files import compare
from tests.report.looking import by_gid, overlapping_words, words_cut_off

OFFSET = "switching.reference_offset"


def causes_of(stagger: Any, timing: Any, **changes: Any) -> CausesResult:
    """The causes on a rectangle with square ends; the caller says what the searches found."""
    scenario = scenario_of(**changes)
    steady = without_updates(scenario)
    prompt = without_latency(steady)
    own = at_own_places(prompt)
    entered = scenario.switching.reference_offset
    alike = isinstance(entered, dict) or len(scenario.machine.working_ranks) == 1
    sections = FakeRun(own)
    runs = {
        "geometry": FakeRun(well_set_up(row_by_row(own))),
        "setup": FakeRun(row_by_row(own)),
        "sections": sections,
        "stagger": sections if alike else FakeRun(prompt.with_({OFFSET: stagger})),
        "timing": FakeRun(steady.with_({OFFSET: timing})),
        "offset": FakeRun(steady),
        "updates": FakeRun(scenario),
    }
    today = (sections, sections) if alike else (FakeRun(prompt.with_({OFFSET: entered})), sections)
    return CausesResult(scenario, runs, today)  # type: ignore[arg-type]


def example(**changes: Any) -> CausesResult:
    """84 in where 97.1 in is best, 4.4 in late at both ends."""
    return causes_of(101.5 * INCH, 97.1 * INCH, **changes)


def all_amiss(**changes: Any) -> CausesResult:
    """One of everything; times hold the delay, so that updates cancel."""
    return causes_of(
        101.5 * INCH, 119 * INCH,
        title="All amiss",
        machine={"rows_off": ["rear 3", "front 4"], "axle_to_pin": "1.1 m"},
        switching={
            "reference_offset": "84 in", "turn_on_time": "0.65 s", "turn_off_time": "0.50 s",
            "deliberate_overlap": {"boundary": "6 in", "planted": "2 in"}, "sections": 2,
            "switch_fraction": 0.75, "entered_setup": "wide", "lateral_offset": "7.5 in",
        },
        controller={"position_delay": "0.20 s", "update_rate": "5 Hz", "measured_from": "rear axle"},
        response={"on_latency": {"front": "0.45 s", "rear": "0.50 s"}, "off_latency": "0.30 s"},
        weights={"skip": 2},
        **changes,
    )  # fmt: skip


def per_rank(**changes: Any) -> CausesResult:
    """84 and 116 in where 79.6 and 114.6 in are best."""
    best = {"front": 79.6 * INCH, "rear": 114.6 * INCH}
    offsets = {"front": "84 in", "rear": "116 in"}
    return causes_of(
        best, best, **{"title": "An offset per rank", "switching": {"reference_offset": offsets}, **changes}
    )


def nothing(**changes: Any) -> CausesResult:
    """One rank, all right: not one square foot is lost."""
    alone = {"machine": {"setup": "wide"}, "response": None, "title": "Nothing lost", **changes}
    return causes_of(84 * INCH, 84 * INCH, **alone)


CASES = {
    "causes": (example, None, 80),
    "causes-metric": (example, "metric", 80),
    "causes-60-columns": (example, None, 60),
    "causes-all-amiss": (all_amiss, None, 80),
    "causes-offset-per-rank": (per_rank, None, 80),
    "causes-nothing": (nothing, None, 80),
}
MAKERS = [example, all_amiss, per_rank, nothing]


@pytest.mark.parametrize("name", CASES)
def test_golden(name: str) -> None:
    make, units, width = CASES[name]
    compare(f"{name}.txt", text_of(report_of(make(), units), width))


@pytest.mark.parametrize("make", MAKERS)
@pytest.mark.parametrize("width", [10, NARROWEST, 40, 60, 80, 100, 200])
def test_no_line_is_wider_than_the_terminal(make: Any, width: int) -> None:
    for line in text_of(report_of(make()), width).splitlines():
        assert len(line) <= max(min(width, WIDEST), NARROWEST)


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("make", MAKERS)
def test_the_table_adds_up_across_and_down_as_printed(make: Any, units: str) -> None:
    text = text_of(report_of(make(), units))
    rows = {}
    for name in (*NAMES.values(), "all of it"):
        (found,) = re.findall(rf"^{name} +(-?[\d,.]+(?: +-?[\d,.]+)+)$", text, re.MULTILINE)
        rows[name] = [Decimal(figure.replace(",", "")) for figure in found.split()]
    for skip, double, off, total, *_ in rows.values():
        assert skip + double + off == total
    last = rows.pop("all of it")
    assert [sum(column) for column in zip(*rows.values(), strict=True)] == last


def test_the_last_line_is_what_simulating_prints() -> None:
    done = example()
    simulated = re.search(r"^as entered .*", text_of(report_of(done.as_set)), re.MULTILINE)
    last = re.search(r"^all of it .*", text_of(report_of(done)), re.MULTILINE)
    assert simulated
    assert last
    assert simulated[0].split()[-4:] == last[0].split()[-4:]


def test_sums_by_hand_are_what_is_printed() -> None:
    """33 passes of 40 ft, 2 ends: 2,640 ft of row ends. Stagger 17.5 in, and nothing else: 3,850 sq ft."""
    text = " ".join(text_of(report_of(example())).split())
    assert (
        "LOST 3,850 sq ft, 0.11 % of the plantable ground; the largest part: stagger, 3,850 sq ft, 100 %"
        in text
    )
    assert "at 101.5 in 3,850 sq ft (skip 1,925, off-field 1,925) at the best; at 84 in 3,850 sq ft" in text


def test_what_cancels_is_said_and_what_does_not_is_not() -> None:
    text = " ".join(text_of(report_of(all_amiss())).split())
    assert 'Two faults cancel: the lines "times" and "updates and drift" are below nothing' in text
    assert "cancel" not in text_of(report_of(example()))


def test_of_a_part_larger_than_the_whole_no_share_is_told() -> None:
    late = {"front": "0.40 s", "rear": "0.55 s"}
    done = causes_of(
        101.5 * INCH, 101.5 * INCH,
        switching={"reference_offset": "101.5 in", "turn_off_time": "0.40 s"},
        response={"on_latency": late, "off_latency": late},
    )  # fmt: skip
    lost = text_of(report_of(done)).split("LOST")[1].split("WHERE")[0]
    assert lost.count("%") == 1
    assert "stagger, 3,850 sq ft" in " ".join(lost.split())


def drawn(result: Any, units: str = "us") -> Any:
    with look():
        figure = draw_causes(result, Words(units))
        figure.canvas.draw()
    return figure


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("make", MAKERS)
def test_each_bar_begins_where_the_one_before_has_ended(make: Any, units: str) -> None:
    result = make()
    size = figures_of(result, Words(units)).size
    figure = drawn(result, units)
    level = 0.0
    for key, line in result.lines.items():
        (bar,) = by_gid(figure, f"step:{key}")
        assert bar.get_x() == pytest.approx(level)
        assert bar.get_width() == pytest.approx(line["combined_m2"] / size)
        level += line["combined_m2"] / size
    (total,) = by_gid(figure, "step:total")
    assert (total.get_x(), total.get_width()) == pytest.approx((0.0, level))
    assert level == pytest.approx(result.as_set.areas["combined_m2"] / size)


@pytest.mark.parametrize("make", [example, all_amiss, per_rank])
def test_bars_by_kind_have_their_length(make: Any) -> None:
    result = make()
    figures, figure = figures_of(result, Words("us")), drawn(result)
    seen = 0
    for key, line in {**result.lines, "total": result.as_set.areas}.items():
        for kind in ("skip_m2", "overlap_m2", "off_field_m2"):
            bars = by_gid(figure, f"{kind}:{key}")
            assert len(bars) == (abs(line[kind]) / figures.size >= 0.5)
            for bar in bars:
                assert bar.get_width() == pytest.approx(line[kind] / figures.size)
                seen += 1
    assert seen >= 4


def test_what_cancels_is_hatched_and_named() -> None:
    figure = drawn(all_amiss())
    (bar,) = by_gid(figure, "step:updates")
    assert bar.get_width() < 0
    assert bar.get_hatch()
    words = [text.get_text() for text in figure.legends[0].get_texts()]
    assert "takes away: two faults cancel" in words
    assert "takes away: two faults cancel" not in [
        text.get_text() for text in drawn(example()).legends[0].get_texts()
    ]


@pytest.mark.parametrize(
    "make",
    [
        *MAKERS,
        lambda: example(title="A field with a name that goes on and on " * 6),
        lambda: example(field={"rectangle": ["4000 m", "8000 m"]}),
        lambda: example(weights={"skip": 3}),
    ],
)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_no_words_cover_each_other_or_stick_out(make: Any, units: str) -> None:
    figure = drawn(make(), units)
    assert overlapping_words(figure) == []
    assert words_cut_off(figure) == []


def test_same_bytes_each_time() -> None:
    assert picture("causes.png", example()) == picture("causes.png", example())


def test_rounding_moves_no_figure_by_more_than_a_step() -> None:
    result = example()
    figures = figures_of(result, Words("us"))
    for key, line in result.lines.items():
        for i, kind in enumerate(("skip_m2", "overlap_m2", "off_field_m2")):
            assert abs(figures.lines[key][i] - line[kind] / figures.size) <= 1.0


def test_a_result_without_any_run_amiss_still_has_all_lines() -> None:
    done = nothing()
    assert all(not any(line) for line in figures_of(done, Words("us")).lines.values())
    assert dataclasses.is_dataclass(done)
