"""Quantities in people's units: rounding, sides of the line, consoles that know few signs."""

from __future__ import annotations

import pytest

from overlapsim.report.phrases import and_words, printable, rank_words, times_words
from overlapsim.report.sources import sources
from overlapsim.report.words import Words

INCH = 0.0254
US, METRIC = Words("us"), Words("metric")


@pytest.mark.parametrize(
    ("metres", "end", "us", "metric"),
    [
        (17.5 * INCH, "on", "17.5 in late", "44.5 cm late"),
        (-17.5 * INCH, "on", "17.5 in early", "44.5 cm early"),
        (17.5 * INCH, "off", "17.5 in over", "44.5 cm over"),
        (-17.5 * INCH, "off", "17.5 in short", "44.5 cm short"),
        (0.0, "on", "on the line", "on the line"),
        (-0.0004, "off", "on the line", "on the line"),
    ],
)
def test_sides_of_the_line(metres: float, end: str, us: str, metric: str) -> None:
    """Positive is later along the way: a late start, a stop that runs over."""
    assert (US.late(metres, end), METRIC.late(metres, end)) == (us, metric)


def test_printed_ends_of_a_stretch_lie_in_it() -> None:
    low, high = 79.63 * INCH, 114.58 * INCH
    first, last = US.inside(low, high)
    assert (first, last) == ("79.7", "114.5")
    assert low <= float(first) * INCH < float(last) * INCH <= high


def test_an_end_that_stands_on_a_tenth_is_not_moved() -> None:
    assert US.inside(79.6 * INCH, 114.6 * INCH) == ("79.6", "114.6")


def test_a_stretch_without_width_is_its_point() -> None:
    assert US.inside(84.04 * INCH, 84.06 * INCH) == ("84", "84.1")
    assert US.inside(84 * INCH, 84 * INCH) == ("84", "84")


def test_offsets_in_all_the_ways_controllers_ask_for() -> None:
    assert US.ways(103.5 * INCH) == ["103.5 in", "8 ft 7 1/2 in", "8.63 ft", "2.629 m"]
    assert METRIC.ways(1.87) == ["187 cm", "1.870 m", "73.6 in", "6 ft 1 5/8 in", "6.14 ft"]
    assert US.ways(84 * INCH) == ["84 in", "7 ft", "2.134 m"]


def test_quarter_inches_are_not_rounded_away() -> None:
    assert (US.short(97.25 * INCH), US.short(97.24 * INCH)) == ("97.25 in", "97.2 in")


def test_tables_change_their_unit_before_they_burst() -> None:
    assert US.area_scale(99_000 * 0.3048**2)[0] == "sq ft"
    assert US.area_scale(1_000_000 * 0.3048**2)[0] == "ac"
    assert METRIC.area_scale(2_000_000)[0] == "ha"
    assert US.area_scale(5 * 0.3048**2)[2] == 2


@pytest.mark.parametrize(
    ("name", "said"),
    [("front", "front rank"), ("3", "rank 3"), ("rear_rank", "rear_rank"), ("Rank-2", "Rank-2 rank")],
)
def test_ranks_bear_the_users_names(name: str, said: str) -> None:
    assert rank_words(name) == said


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "cp437", "no-such-encoding", None])
def test_every_console_gets_signs_that_it_knows(encoding: str | None) -> None:
    text = printable("Pole čtyřicet – 10 m², 2 × ½ ″ 畑", encoding)
    known = "ascii" if encoding in (None, "no-such-encoding") else encoding
    text.encode(known)
    assert "10 m" in text


def test_a_console_that_knows_all_signs_gets_them() -> None:
    assert printable("Pole čtyřicet – m²", "utf-8") == "Pole čtyřicet – m²"


def test_small_phrases() -> None:
    assert times_words(0.45, 0.3) == "0.45/0.30 s"
    assert and_words(["a"]) == "a"
    assert and_words(["a", "b", "c"]) == "a, b and c"


def test_what_was_taped_dug_and_assumed() -> None:
    basis = {
        "machine.ranks.front.behind_pin": "taped",
        "machine.ranks.rear.behind_front": "taped",
        "response.on_latency": "dug",
        "speed.working": "assumed",
    }
    assert sources(basis, ["response.off_latency"]) == (
        "Taped: front rank, rear rank. Dug: on latency. ASSUMED: working speed, off latency."
    )
    assert sources({}, []) == "Not said where the numbers come from."
