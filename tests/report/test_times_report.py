"""Words and picture of a search over both times: numbers first, then what one speed cannot tell apart."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

import overlapsim
from overlapsim.report.data import report_of
from overlapsim.report.offset_curve import draw_offset_curve
from overlapsim.report.pictures import picture
from overlapsim.report.style import look
from overlapsim.report.summary import summary_columns, told_of
from overlapsim.report.terminal import text_of
from overlapsim.report.times_map import draw_times_map
from overlapsim.report.words import Words
from tests.helpers import INCH, scenario, square, two_ranks
from tests.report.looking import by_gid, overlapping_words, texts, words_cut_off

SLANTED = {"polygon": [[0, 0], [70, 12], [70, 90], [0, 70]]}
LATE = {"on_latency": "0.45 s", "off_latency": "0.3 s"}


@cache
def found(kind: str = "square") -> Any:
    """Two ranks, 0.45 and 0.3 s late; square ends, slanted ends, two speeds, per rank, or as entered."""
    tables: dict[str, Any] = {
        "square": {},
        "slanted": {},
        "two speeds": {"speed": {"at_on": "3 mph", "at_off": "6 mph"}},
        "per rank": {"switching": {"reference_offset": {"front": "80 in", "rear": "119 in"}}},
        "entered": {
            "switching": {
                "reference_offset": "101.5 in",
                "turn_on_time": "0.45 s",
                "turn_off_time": "0.3 s",
            }
        },
        "overlap": {"switching": {"deliberate_overlap": "6 in"}},
    }[kind]
    field = SLANTED if kind == "slanted" else square("120 ft", "400 ft")
    return overlapsim.tune(scenario(two_ranks(), field, response=LATE, **tables), with_times=True)


def said(kind: str = "square", units: str = "us") -> str:
    return " ".join(text_of(report_of(found(kind), units)).split())


def test_the_numbers_to_type_in_come_first_then_what_is_equal() -> None:
    """The box of 92.75 to 110.25 in, 0.3506 to 0.5494 and 0.2006 to 0.3994 s, rounded inward."""
    words = said()
    head = "TYPE IN reference offset 101.5 in behind the hitch pin (now 84 in) "
    head += "turn-on time 0.45 s (now 0.40 s), turn-off time 0.30 s (now 0.40 s) = 8 ft 5 1/2 in"
    assert head in words
    assert "with these times 84 to 119 in is just as good in area" in words
    assert "any mix of 92.8 to 110.2 in, turn-on 0.36 to 0.54 s and turn-off 0.21 to 0.39 s leaves" in words
    assert words.index(head) < words.index("just as good") < words.index("ONE SPEED")


def test_one_speed_cannot_tell_them_apart_in_plain_words() -> None:
    """5 mph are 88 in/s: 8.8 in for 0.1 s. 3 mph at starts: 5.3 in, and 0.05 s at stops of 6 mph."""
    words = said()
    assert "with 8.8 in more offset and 0.1 s more on both times the same ground is planted at 5 mph" in words
    assert "times that match the latencies hold at other speeds too" in words
    words = said("two speeds")
    assert "with 5.3 in more offset and 0.10 s more turn-on and 0.05 s more turn-off time" in words
    assert "at 3 mph at starts and 6 mph at stops" in words
    assert "22.4 cm more offset" in said(units="metric")


def test_what_is_entered_already_is_left() -> None:
    words = said("entered")
    assert "LEAVE IT reference offset 101.5 in behind the hitch pin (as entered now)" in words
    assert "turn-on time 0.45 s, turn-off time 0.30 s: as entered now" in words


def test_a_box_too_thin_to_be_seen_is_not_told() -> None:
    assert "any mix of" not in said("slanted")
    assert "any mix of" not in said("per rank")
    assert "TYPE IN reference offsets front 84 in, rear 119 in" in said("per rank")


def test_a_deliberate_overlap_that_is_undone_is_said() -> None:
    assert "These times undo the deliberate overlap" in said("overlap")
    assert "deliberate overlap" not in said()


@pytest.mark.parametrize("kind", ["square", "slanted", "two speeds", "per rank", "entered"])
def test_words_of_the_picture_neither_overlap_nor_stick_out(kind: str) -> None:
    with look():
        figure = draw_times_map(found(kind), Words("us"))
        figure.canvas.draw()
    assert overlapping_words(figure) == []
    assert words_cut_off(figure) == []
    assert min(text.get_fontsize() for text in texts(figure)) >= 8


def test_the_picture_shows_what_searches_found() -> None:
    """Cost depends on v (turn-on - turn-off time) alone: read off the picture, against other searches."""
    result = found("slanted")
    with look():
        figure = draw_times_map(result, Words("metric"))
        figure.canvas.draw()
    (image,) = by_gid(figure, "map")
    left, right, bottom, top = image.get_extent()
    seen = np.asarray(image.get_array())
    assert np.isfinite(seen).all()
    for x, y in ((10, 20), (120, 120), (230, 60), (60, 200)):
        on, off = left + (right - left) * x / 239, bottom + (top - bottom) * y / 239
        one = result.scenario.with_({"switching.turn_on_time": on, "switching.turn_off_time": off})
        least = overlapsim.tune(one).best.areas["combined_m2"]
        assert seen[y, x] == pytest.approx(least, rel=2e-3)
    marks = {
        "now": (0.4, 0.4),
        "type in": (0.45, 0.3),
    }
    for name, times in marks.items():
        (mark,) = by_gid(figure, f"mark:{name}")
        assert (mark.get_xdata()[0], mark.get_ydata()[0]) == pytest.approx(times)


def test_the_box_is_drawn_where_it_can_be_seen() -> None:
    for kind, drawn in (("square", 1), ("slanted", 0)):
        with look():
            figure = draw_times_map(found(kind), Words("us"))
        assert len(by_gid(figure, "box")) == drawn
    with look():
        (box,) = by_gid(draw_times_map(found(), Words("us")), "box")
    assert (min(box.get_xdata()), max(box.get_xdata())) == pytest.approx(found().joint.box.on)


def test_the_curve_is_that_of_the_times_typed_in_and_says_the_times_of_now() -> None:
    result = found()
    with look():
        figure = draw_offset_curve(result, Words("us"))
        figure.canvas.draw()
    (mark,) = by_gid(figure, "mark:now")
    assert mark.get_label() == "now: 84 in, 0.40/0.40 s"
    (mark,) = by_gid(figure, "mark:type in")
    (line,) = by_gid(figure, "combined")
    at = np.interp(mark.get_xdata()[0], line.get_xdata(), line.get_ydata())
    assert mark.get_ydata()[0] == pytest.approx(at, rel=1e-6)
    assert overlapping_words(figure) == []


def test_the_table_of_many_scenarios_holds_the_times_too() -> None:
    table = summary_columns([told_of("a.toml", found()), told_of("b.toml", found().as_set)])
    assert table["recommended_turn_on_time_s"].tolist() == [0.45, None]
    assert table["recommended_turn_off_time_s"].tolist() == [0.3, None]
    assert table["recommended_reference_offset_m"][0] == pytest.approx(101.5 * INCH)


def test_the_same_bytes_each_time() -> None:
    assert picture("times.png", found()) == picture("times.png", found())
