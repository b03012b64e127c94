"""What TOML cannot read but people write: said in our own words, and mended to look further."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from overlapsim import load_scenario
from overlapsim.files.toml_lines import find_lines
from overlapsim.files.toml_slips import read_toml
from tests.scenario.files import SCENARIO, faults, write


@pytest.mark.parametrize(
    ("written", "said", "guess"),
    [
        ('a = "84""', '"84""  an inch mark ends the text. Write "84 in" or \'84"\'.', "84 in"),
        ('a = "7 1/2""', '"7 1/2""  an inch mark ends the text. Write "7 1/2 in" or \'7 1/2"\'.', "7 1/2 in"),
        ('a = "12\' 6""', '"12\' 6""  an inch mark ends the text. Write "12 ft 6 in".', "12 ft 6 in"),
        ("a = '12' 6\"'", "'12' 6\"'  a foot mark ends the text. Write \"12 ft 6 in\".", "12 ft 6 in"),
        ("a = “84 in”", '“84 in”  curly quotes. Write "84 in".', "84 in"),
        ('a = "84 in” # taped', '"84 in”  curly quotes. Write "84 in".', "84 in"),
        ("a = ‘84 in’", "‘84 in’  curly quotes. Write '84 in'.", "84 in"),
        (
            r'a = "C:\farm\x.zip"',
            r""""C:\farm\x.zip"  a backslash in double quotes. Write 'C:\farm\x.zip', or use /.""",
            r"C:\farm\x.zip",
        ),
        (
            r'a = "C:\users\x.zip"',
            r""""C:\users\x.zip"  a backslash in double quotes. Write 'C:\users\x.zip', or use /.""",
            r"C:\users\x.zip",
        ),
        ("a = 84 in", '84 in  a text needs quotes. Write "84 in".', "84 in"),
        ('a = 84"', '84"  a text needs quotes. Write "84 in".', "84 in"),
        ('a = 84""', '84""  a text needs quotes. Write "84 in".', "84 in"),
        ("a = 12' 6\"", '12\' 6"  a text needs quotes. Write "12 ft 6 in".', "12 ft 6 in"),
        ("a = 5 mph # often", '5 mph  a text needs quotes. Write "5 mph".', "5 mph"),
        ("a = narrow", 'narrow  a text needs quotes. Write "narrow".', "narrow"),
        ('a = "narrow', '"narrow  the quotes do not match. Write "narrow".', "narrow"),
        ('a = narrow"', 'narrow"  the quotes do not match. Write "narrow".', "narrow"),
        ('a = "84" in', '"84" in  text after the closing quotes. Write "84 in".', "84 in"),
        ("a: narrow", 'a: narrow  a colon between key and value. Write a = "narrow".', "narrow"),
        ("a == 5", "a == 5  two equal signs. Write a = 5.", 5),
        ("a = 5;", "5;  a semicolon at the end. Take it away.", 5),
        (
            "a = .5",
            ".5  a number begins and ends with a figure, and not with a needless 0. Write 0.5.",
            0.5,
        ),
        ("a = 0,5", "0,5  a comma is not read in a number. Write 0.5.", 0.5),
        ("a = True", "True  is neither true nor false. Write true.", True),
        ("a\u00a0= 5", "a\u00a0= 5  a hard blank, as web pages have it. Type the line again.", 5),
        ('a = ["front", rear]', 'rear  a text needs quotes. Write "rear".', ["front", "rear"]),
        (
            'a = ["front", "rear"',
            'a = ["front", "rear"  a list is not closed. Write ] at its end.',
            ["front", "rear"],
        ),
        ("a = {front = 84 in}", '84 in  a text needs quotes. Write "84 in".', {"front": "84 in"}),
    ],
)
def test_a_slip_and_what_was_probably_meant(written: str, said: str, guess: Any) -> None:
    tables, found, mended, _ = read_toml(f"b = 1\n{written}\n", "home.toml")
    assert [str(fault) for fault in found] == [f"home.toml:2  {said}"]
    assert tables == {"a": guess, "b": 1}
    assert mended == {2}


def test_two_slips_on_one_line() -> None:
    tables, found, _, _ = read_toml('a = {front = “84 in”, rear = "119""}', "home.toml")
    assert tables == {"a": {"front": "84 in", "rear": "119 in"}}
    assert [fault.rule for fault in found] == ["curly quotes", "an inch mark ends the text"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[a\nb = 1", "home.toml:1  [a  the brackets do not match. Write [a]."),
        ("[[a]\nb = 1", "home.toml:1  [[a]  the brackets do not match. Write [a]."),
        ("a = 1\nb = 2\na = 3", "home.toml:3  a = 3  stands in line 1 already. Keep one of the two."),
        ("a = ", "home.toml:1  a  has no value. Write one, or take the line out."),
        ("turn on time = 1", "home.toml:1  turn on time  a blank in a key. Write turn_on_time."),
        (
            "[a]\nb = 1\n[a]\nc = 2",
            "home.toml:3  [a]  this table stands here twice. Keep one, and move its keys together.",
        ),
        ("just words", 'home.toml:1  just words  cannot be read. Write key = "value", one on a line.'),
        ('a = """x\ny', "home.toml:2  y  a text is not closed. Write the closing quotes."),
    ],
)
def test_slips_outside_values(text: str, said: str) -> None:
    assert [str(fault) for fault in read_toml(text, "home.toml")[1]] == [said]


def test_a_list_that_was_never_closed_is_found_where_it_was_opened() -> None:
    tables, found, _, _ = read_toml('a = 1\nranks = ["front", "rear"\n\nb = "7.5 in"\n', "x.toml")
    assert tables == {"a": 1, "ranks": ["front", "rear"], "b": "7.5 in"}
    assert [fault.line for fault in found] == [2]


def test_nesting_beyond_all_measure() -> None:
    tables, found, _, _ = read_toml("a = " + "[" * 100_000, "home.toml")
    assert tables is None
    assert len(found) == 1


def test_faults_after_a_slip_are_found_in_the_same_run(tmp_path: Path) -> None:
    text = SCENARIO.replace('"101.5 in"', '"101.5""').replace('"0.40 s"', "0.40 s").replace('"5 mph"', "5")
    path = write(tmp_path, text)
    found = [line.split("  ")[0] for line in faults(lambda: load_scenario(path))]
    assert found == [f"{path}:8", f"{path}:11", f"{path}:12"]


@pytest.mark.parametrize(
    ("written", "said"),
    [
        # \f and \b are a form feed and a backspace in double quotes, \t and \n a tab and a line end.
        (r'"C:\fields\north.shp"', True),
        (r'"C:\north.shp"', True),
        (r'"fields\new.shp"', True),
        (r'"fields\base.shp"', True),
        (r'"C:\\fields\\north.shp"', False),
        (r"'C:\fields\north.shp'", False),
        ('"fields/north.shp"', False),
    ],
)
def test_backslashes_that_turn_into_control_characters(tmp_path: Path, written: str, said: bool) -> None:
    path = write(tmp_path, f"{SCENARIO}\n[field]\nfile = {written}\n")
    found = [line for line in faults(lambda: load_scenario(path)) if "a backslash in" in line]
    assert len(found) == said
    if said:
        wanted = f"field.file = {written}  a backslash in double quotes. Write '{written[1:-1]}', or use /."
        assert found[0] == f"{path}:21  {wanted}"


def test_line_ends_in_notes_are_meant(tmp_path: Path) -> None:
    path = write(tmp_path, SCENARIO + '\n[about]\nnotes = "first\\nsecond\\tthird"\n')
    assert load_scenario(path).about["notes"] == "first\nsecond\tthird"


# ---------------------------------------------------------------------------- lines


def test_lines_of_everything() -> None:
    text = '''\
title = "a # b [c] = d"  # comment
long = """
[not.a.table]
x = 1
"""
[machine]
file = 'x.toml'

[switching.deliberate_overlap]
planted = "1 in"
[sweep]
"switching.reference_offset" = {from = "60 in", to = "150 in",  step = "1 in"}
response.on_latency = [
    "0.25 s",  # one
    "0.35 s",
]
'last' = 1
'''
    found = find_lines(text)
    assert tomllib.loads(text)
    assert found.keys == {
        "title": 1,
        "long": 2,
        "machine": 6,
        "machine.file": 7,
        "switching": 9,
        "switching.deliberate_overlap": 9,
        "switching.deliberate_overlap.planted": 10,
        "sweep": 11,
        'sweep."switching.reference_offset"': 12,
        'sweep."switching.reference_offset".from': 12,
        'sweep."switching.reference_offset".to': 12,
        'sweep."switching.reference_offset".step': 12,
        "sweep.response": 13,
        "sweep.response.on_latency": 13,
        "sweep.last": 17,
    }
    assert found.line_of("switching.turn_on_time") == 9
    assert found.line_of('sweep."response.on_latency"') == 13
    assert found.line_of("plan.heading") is None


NAMES = st.text("abcxyz_-019", min_size=1, max_size=5)
VALUES = st.recursive(
    st.sampled_from(
        ["1", "-0.5", "true", '"84 in"', "'12\" # x'", '"a = [b]"', '"""x\ny = 2\n"""', "1979-05-27", '"\\""']
    )
    | st.text("ab#[]={},\n ", max_size=5).map(lambda text: f"'''{text}'''"),
    lambda inner: st.lists(inner, max_size=3).map(lambda parts: "[ " + " ,\n".join(parts) + " # c\n]"),
    max_leaves=5,
)


@given(st.lists(st.tuples(st.lists(NAMES, min_size=1, max_size=3), VALUES), min_size=1, max_size=8))
def test_every_key_that_is_read_has_a_line(pairs: list[tuple[list[str], str]]) -> None:
    text, starts, line = "", {}, 1
    for number, (names, value) in enumerate(pairs):
        # A head of its own keeps keys apart, so that the text is sound.
        key = ".".join([f"k{number}", *names])
        starts[key] = line
        text += f"{key} = {value}\n\n"
        line = text.count("\n") + 1
    tomllib.loads(text)
    found = find_lines(text)
    assert {key: found.keys[key] for key in starts} == starts


@given(st.text(st.sampled_from("ab =[]{}\"'#\n,.1“”\\"), max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    tables, found, _, _ = read_toml(text, "home.toml")
    assert tables is not None or found
    try:
        sound = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        assert found
    else:
        assert (tables, found) == (sound, [])
        find_lines(text)
