"""Answers about a planter: read as people write them, odd ones doubted, wrong ones said all at once."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from overlapsim.basics.units import exact
from overlapsim.files.asked import BY_KEY, QUESTIONS, answers
from overlapsim.files.asked_reading import read_answer, scenario_of, take_all, unit_of
from overlapsim.files.asked_texts import machine_text, section_value, toml_string
from overlapsim.scenario.kinds import Slip

TAPED = {"front": "84", "rear": "119"}


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("119", "119 in"),
        ('84"', "84 in"),
        ("7 1/2 in", "7 1/2 in"),
        ("7½", "7½ in"),
        ("12 ft 6 in", "12 ft 6 in"),
        ("12' 6\"", "12 ft 6 in"),
        ("12′6″", "12 ft 6 in"),
        ("9 ' 11 1/4 ''", "9 ft 11 1/4 in"),
        ("  2,13  m ", "2.13 m"),
        ("213,4 cm", "213.4 cm"),
        ("7'", "7 ft"),
    ],
)
def test_lengths_are_kept_as_typed_with_their_unit(typed: str, kept: str) -> None:
    assert read_answer(BY_KEY["front"], typed, answers()) == kept
    assert tomllib.loads(f"x = {toml_string(kept)}") == {"x": kept}
    exact(kept, "length")


def test_a_bare_number_takes_the_unit_of_the_tape() -> None:
    assert read_answer(BY_KEY["front"], "213", answers({"units": "metric"})) == "213 cm"
    assert read_answer(BY_KEY["speed"], "8", answers({"units": "metric"})) == "8 km/h"
    assert {unit_of(question, True) for question in QUESTIONS} == {"", "in", "mph", "s", "deg"}


@pytest.mark.parametrize(
    ("key", "typed", "said"),
    [
        ("front", "84 lb", "no such unit of length"),
        ("front", "1,250", "the comma may be a decimal one or part thousands"),
        ("front", "12' 6", "the inches have no mark"),
        ("front", "40 ft", "more than 10 m"),
        ("front", "-84", "may not be negative"),
        ("rows", "16.5", "is not a whole number"),
        ("rows", "100", "more than 72"),
        ("extra-row", "middle", "is none of these. Write left or right."),
        ("speed", "60", 'Did you mean "6 mph"?'),
        ("on-time", "45", 'Did you mean "0.45 s"?'),
        ("sections", "every", "Write each-row, a number"),
        ("sections", "0", "Write each-row, a number"),
        ("field", "nowhere/x.zip", "no such file"),
        ("laps", "7", "more than 6"),
        ("heading", "north", "is not a number with a unit"),
    ],
)
def test_what_is_no_answer_is_said_with_its_remedy(key: str, typed: str, said: str) -> None:
    with pytest.raises(Slip, match=said.replace("?", r"\?").replace("'", ".")):
        read_answer(BY_KEY[key], typed, answers())


@pytest.mark.parametrize(
    ("change", "key", "said"),
    [
        ({"rows": "60", "rear-rows": "0", "rear": ""}, "rows", "All ranks together?"),
        ({"spacing": "15"}, "spacing", "Both together then make 7 1/2 in."),
        ({"spacing": "45"}, "spacing", "Rows 3 ft 9 in apart are unusual."),
        ({"front": "12"}, "front", "Taped from the hitch pin?"),
        ({"rear": "88"}, "rear", "The ranks would stand 4 in apart"),
        ({"rear": "19 ft"}, "rear", "The ranks would stand 12 ft apart"),
        ({"hitch-shift": "-7.5"}, "hitch-shift", "7.5 in would centre the rows. The other way?"),
        ({"hitch-shift": "7.5", "extra-row": "right"}, "hitch-shift", "-7.5 in would centre the rows."),
        ({"hitch-shift": "0"}, "hitch-shift", "runs 7 1/2 in off the pin: 7.5 in would centre it."),
        ({"hitch-shift": "15", "rear-rows": "15"}, "hitch-shift", "1 ft 3 in off the pin: 0 in would"),
        # Moved both by the hitch and in guidance: the double correction.
        ({"hitch-shift": "0", "lateral-offset": "7.5"}, "lateral-offset", "15 in to the left"),
        ({"speed": "1 mph"}, "speed", "1 mph is unusual"),
        ({"entered": "12 ft 6 in"}, "entered", "lies far from where seed meets the ground"),
        ({"entered": "30"}, "entered", "From the pin?"),
        ({"on-time": "2"}, "on-time", "2 s is unusual"),
        ({"off-time": "-0.1", "off-latency": "0.2"}, "off-time", "-0.1 s is unusual"),
        ({"on-latency": "1.6"}, "on-latency", "1.6 s is unusual"),
        ({"off-latency": "1600 ms"}, "off-latency", "1600 ms is unusual"),
    ],
)
def test_what_is_odd_is_doubted(change: dict[str, str], key: str, said: str) -> None:
    taken = take_all({**TAPED, **change})
    assert not taken.slips
    if key == "lateral-offset":
        said = "1 ft 3 in to the left"
    assert said in {key: odd for key, _, odd in taken.doubts}[key]


def test_what_is_usual_is_not_doubted() -> None:
    usual = {
        **TAPED, "rows": "16", "spacing": "30", "hitch-shift": "7.5", "speed": "5", "entered": "84",
        "on-time": "0.4", "off-time": "0.25", "on-latency": "0.45", "off-latency": "0.3",
    }  # fmt: skip
    assert not take_all(usual).doubts
    # The rows 7 1/2 in left of the pin, and the tractor steered as far to the right.
    assert [
        key for key, _, _ in take_all({**usual, "hitch-shift": "0", "lateral-offset": "-7.5"}).doubts
    ] == ["hitch-shift"]


@pytest.mark.parametrize(
    ("change", "key", "said"),
    [
        ({"front": ""}, "front", "is missing"),
        ({"rear": ""}, "rear", "is missing"),
        ({"front": "119", "rear": "84"}, "rear", "not behind ranks.front at 119 in. Swapped?"),
        ({"rear": "35"}, "rear", "Or taped from the front rank? Then it is 119 in."),
        ({"rear-rows": "8"}, "rear-rows", "does not go between 16 rows in front. Write 15, 16 or 17"),
        ({"rear-rows": "0"}, "rear", "there is no rear rank. Leave it out."),
        ({"lateral-offset": "3"}, "lateral-offset", "there is nothing that it could change"),
        ({"sections": "7"}, "sections", "does not divide the 32 rows of row setup narrow"),
        ({"sections": "16 17"}, "sections", "adds up to 33 rows, row setup narrow has 32"),
        ({"setup": "wide", "sections": "32"}, "sections", "more sections than the 16 rows"),
        ({"which-field": "2"}, "which-field", "there is nothing"),
    ],
)
def test_what_does_not_fit_together_is_refused(change: dict[str, str], key: str, said: str) -> None:
    found = {key: str(slip) for key, _, slip in take_all({**TAPED, **change}).slips}
    assert list(found) == [key]
    assert said in found[key]


def test_a_wrong_answer_is_not_held_against_those_that_lean_on_it() -> None:
    found = take_all({**TAPED, "rows": "x", "sections": "12", "hitch-shift": "6"}).slips
    assert [key for key, _, _ in found] == ["rows"]


@given(st.text(max_size=30), st.sampled_from(sorted(BY_KEY)))
def test_any_text_is_read_or_refused_and_never_breaks_the_file(text: str, key: str) -> None:
    taken = take_all({**TAPED, key: text})
    if not taken.slips:
        _, faults = scenario_of(taken.answers)
        assert not faults
        tomllib.loads(machine_text(taken.answers))


@given(st.text())
def test_any_text_comes_back_from_toml(text: str) -> None:
    text = text.encode("utf-8", "ignore").decode()
    assert tomllib.loads(f"x = {toml_string(text)}") == {"x": text}


def test_sections_are_written_as_they_are_meant() -> None:
    assert section_value("8 8 8 8") == "[8, 8, 8, 8]"
    assert read_answer(BY_KEY["sections"], "[8, 8,8 8]", answers()) == "8 8 8 8"
    assert read_answer(BY_KEY["which-field"], '{name = "Home 80"}', answers()) == "name = Home 80"
    assert read_answer(BY_KEY["which-field"], "all = true", answers()) == "all"
