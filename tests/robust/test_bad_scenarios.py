"""Scenarios at fault: each is refused in one line that names key, value, rule and remedy."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.scenario.files import data, said

KNOWN = (
    "heading, headland_laps, headland_order, headland_width, headland, line, through, start_side, "
    "exclusion_laps, drive_through"
)
"""Keys of the plan."""


@pytest.mark.parametrize(
    ("key", "value", "fault"),
    [
        # units
        ("machine__ranks__front__behind_pin", 84, '= 84  needs a unit. Write "84 in".'),
        ("machine__ranks__front__behind_pin", 2.13, '= 2.13  needs a unit. Write "2.13 m".'),
        ("machine__ranks__front__spacing", "30", '= "30"  needs a unit. Write "30 in".'),
        ("switching__turn_on_time", 0.4, '= 0.4  needs a unit. Write "0.4 s".'),
        ("switching__turn_on_time", 400, '= 400  needs a unit. Write "400 ms".'),
        ("speed__working", "5", '= "5"  needs a unit. Write "5 mph".'),
        ("switching__turn_on_time", "0,40 s", '= "0,40 s"  a comma is not read in a number. Write "0.40 s".'),
        (
            "speed__working",
            "5 in",
            '= "5 in"  in is a unit of length, a speed is wanted. Write it as in "5 mph".',
        ),
        ("speed__working", "fast", '= "fast"  is not a number with a unit. Write it as in "5 mph".'),
        ("speed__working", True, '= true  is not a quantity. Write it as in "5 mph".'),
        ("speed__working", float("nan"), '= nan  is not a finite number. Write it as in "5 mph".'),
        ("speed__working", "inf mph", '= "inf mph"  is not a finite number. Write it as in "5 mph".'),
        # what no machine has
        (
            "machine__ranks__front__behind_pin",
            "12 m",
            '= "12 m"  more than 10 m (33 ft). Did you mean "12 ft" or "1.2 m"?',
        ),
        (
            "machine__ranks__front__behind_pin",
            "84 ft",
            '= "84 ft"  more than 10 m (33 ft). Did you mean "84 in" or "8.4 ft"?',
        ),
        (
            "machine__ranks__front__behind_pin",
            "2133 m",
            '= "2133 m"  more than 10 m (33 ft). Did you mean "2133 mm" or "2.133 m"?',
        ),
        (
            "machine__ranks__front__behind_pin",
            "-84 in",
            '= "-84 in"  may not be negative. Did you mean "84 in"?',
        ),
        (
            "switching__reference_offset",
            "12 m",
            '= "12 m"  more than 10 m (33 ft). Did you mean "12 ft" or "1.2 m"?',
        ),
        (
            "response__on_latency",
            "45 s",
            '= "45 s"  more than 3 s. Did you mean "0.45 s"? ("450 ms" works too)',
        ),
        ("response__on_latency", "450 s", '= "450 s"  more than 3 s. Did you mean "450 ms" or "0.45 s"?'),
        ("response__on_latency", "-0.1 s", '= "-0.1 s"  may not be negative. Did you mean "0.1 s"?'),
        ("switching__turn_on_time", "-4 s", '= "-4 s"  less than -3 s.'),
        ("speed__working", "60 mph", '= "60 mph"  more than 20 mph (32 km/h). Did you mean "6 mph"?'),
        ("speed__working", "0 mph", '= "0 mph"  less than 0.1 mph (0.16 km/h).'),
        (
            "machine__ranks__front__spacing",
            "30 ft",
            '= "30 ft"  more than 4 m (13 ft). Did you mean "30 in" or "3 ft"?',
        ),
        ("plan__heading", "400 deg", '= "400 deg"  more than 360 deg. Did you mean "40 deg"?'),
        # numbers, counts, words
        (
            "machine__ranks__front__rows",
            -4,
            "= -4  less than 1. Write a whole number from 1 to 72.",
        ),
        ("machine__ranks__front__rows", 0, "= 0  less than 1. Write a whole number from 1 to 72."),
        ("machine__ranks__front__rows", 73, "= 73  more than 72. Write a whole number from 1 to 72."),
        (
            "machine__ranks__front__rows",
            16.5,
            "= 16.5  is not a whole number. Write it without quotes or point, as in 16.",
        ),
        (
            "machine__ranks__front__rows",
            "16",
            '= "16"  is not a whole number. Write it without quotes or point, as in 16.',
        ),
        ("switching__switch_fraction", 1.5, "= 1.5  more than 1. Write a number from 0 to 1."),
        ("switching__switch_fraction", -0.1, "= -0.1  may not be negative. Write a number from 0 to 1."),
        (
            "switching__switch_fraction",
            "50 %",
            '= "50 %"  is not a plain number. Write it without quotes or unit, as in 0.5.',
        ),
        ("weights__skip", -1, "= -1  may not be negative. Write a number from 0 upward."),
        ("weights__skip", float("inf"), "= inf  is not a finite number. Write it as in 1."),
        ("plan__headland_laps", 7, "= 7  more than 6. Write a whole number from 0 to 6."),
        (
            "plan__headland_order",
            "middle",
            '= "middle"  is not one of the choices. Write "first" or "last".',
        ),
        ("machine__hitch", "towed", '= "towed"  is not one of the choices. Write "drawn" or "mounted".'),
        (
            "controller__update_rate",
            "fast",
            '= "fast"  is not a number with a unit. Write it as in "10 Hz", or "continuous".',
        ),
        (
            "controller__drift",
            "1 in",
            '= "1 in"  is not a pair of quantities (east, north). Write it as in ["0 in", "2 in"].',
        ),
        # sections
        (
            "switching__sections",
            5,
            "= 5  does not divide the 32 rows of row setup narrow. Write a list, as in [7, 6, 6, 6, 7].",
        ),
        (
            "switching__sections",
            40,
            '= 40  more sections than the 32 rows of row setup narrow. Write "each-row".',
        ),
        (
            "switching__sections",
            [16, 15],
            "= [16, 15]  adds up to 31 rows, row setup narrow has 32. List the rows of every section.",
        ),
        ("switching__sections", 0, "= 0  less than 1. Write a whole number from 1 to 72."),
        (
            "switching__sections",
            [16, -16, 32],
            "= [16, -16, 32]  less than 1. Write a whole number from 1 to 72.",
        ),
        ("switching__sections", [], '= []  is an empty list. Write row counts, as in [8, 8], or "each-row".'),
        (
            "switching__sections",
            "all",
            '= "all"  is neither a number nor a list. Write 16, or [8, 8], or "each-row".',
        ),
        # names
        ("machine__setup", "15s", '= "15s"  this machine has: wide, narrow.'),
        ("switching__entered_setup", "wade", '= "wade"  no such row setup. This machine has: wide, narrow.'),
        (
            "machine__rows_off",
            ["rear 17"],
            '= ["rear 17"]  no such row: rear 17. Rows are "front 1" to "front 16", "rear 1" to "rear 16", '
            "counted from the left.",
        ),
        ("machine__rows_off", "rear 3", '= "rear 3"  is not a list of texts. Write it as in ["rear 3"].'),
        (
            "machine__rows_off",
            ["rear 3", "rear 3"],
            '= ["rear 3", "rear 3"]  "rear 3" stands in it twice. Write it once.',
        ),
    ],
)
def test_values(key: str, value: Any, fault: str) -> None:
    assert said(data(**{key: value})) == [f"{key.replace('__', '.')} {fault}"]


@pytest.mark.parametrize(
    ("key", "fault"),
    [
        ("speed__working", 'speed.working  is missing. Write working = "5 mph".'),
        (
            "switching__reference_offset",
            'switching.reference_offset  is missing. Write reference_offset = "101.5 in".',
        ),
        ("switching__turn_on_time", 'switching.turn_on_time  is missing. Write turn_on_time = "0.40 s".'),
        ("switching__turn_off_time", 'switching.turn_off_time  is missing. Write turn_off_time = "0.25 s".'),
        ("machine", "machine  is missing. Write [machine] and file = 'machines/x.toml' below."),
        ("machine__setup", "machine.setup  is missing. This machine has: wide, narrow."),
        ("machine__ranks", "machine.ranks  is missing. Write [ranks.front] and its keys below."),
        ("machine__ranks__rear__rows", "machine.ranks.rear.rows  is missing. Write rows = 16."),
        ("machine__ranks__rear__spacing", 'machine.ranks.rear.spacing  is missing. Write spacing = "30 in".'),
        (
            "machine__ranks__rear__behind_pin",
            'machine.ranks.rear.behind_pin  is missing. Write behind_pin = "84 in".',
        ),
        (
            "machine__setups__narrow__ranks",
            'machine.setups.narrow.ranks  is missing. Write ranks = ["front", "rear"].',
        ),
    ],
)
def test_missing_keys(key: str, fault: str) -> None:
    assert said(data(**{key: None})) == [fault]


@pytest.mark.parametrize(
    ("key", "fault"),
    [
        ("switching__turn_on_tme", "switching.turn_on_tme = 1  no such key. Did you mean turn_on_time?"),
        ("speed__turn_on_time", "speed.turn_on_time = 1  no such key. It belongs in [switching]."),
        ("plan__colour", f"plan.colour = 1  no such key. Known: {KNOWN}."),
        ("machine__ranks__rear__row", "machine.ranks.rear.row = 1  no such key. Did you mean rows?"),
        ("machine__setups__wide__rank", "machine.setups.wide.rank = 1  no such key. Did you mean ranks?"),
        ("swiching", "swiching = 1  no such key. Did you mean switching?"),
        ("switch_fraction", "switch_fraction = 1  no such key. It belongs in [switching]."),
    ],
)
def test_unknown_keys(key: str, fault: str) -> None:
    assert said(data(**{key: 1})) == [fault]


@pytest.mark.parametrize("table", ["tractor", "track"])
def test_tables_kept_for_later(table: str) -> None:
    assert said(data() | {table: {}}) == [f"{table}  is not available in this version. Leave it out."]



JUNK = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["84 in", "5 mph"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)
KEYS = st.sampled_from(
    [
        "title",
        "about",
        "machine",
        "machine.setup",
        "machine.rows_off",
        "machine.ranks",
        "machine.ranks.front",
        "machine.ranks.rear.rows",
        "machine.ranks.rear.right",
        "machine.setups",
        "machine.setups.narrow",
        "machine.setups.narrow.ranks",
        "field",
        "plan",
        "plan.heading",
        "speed",
        "speed.narrow",
        "switching",
        "switching.reference_offset",
        "switching.sections",
        "switching.entered_setup",
        "switching.narrow",
        "switching.deliberate_overlap",
        "controller.drift",
        "controller.update_rate",
        "response",
        "response.on_latency",
        "weights.skip",
        "basis",
        "sweep",
        "sweep.speed",
        "units",
        "assumed",
        "name",
        "field.rectangle",
        "field.polygon",
        "field.exclusions",
        "field.origin",
        "field.parts",
    ]
)


@given(st.dictionaries(KEYS, JUNK, min_size=1, max_size=4))
def test_junk_is_read_or_refused_in_words(junk: dict[str, Any]) -> None:
    made = data()
    for key, value in junk.items():
        *path, last = key.split(".")
        place = made
        for name in path:
            inner = place.get(name)
            place[name] = inner = dict(inner) if isinstance(inner, dict) else {}
            place = inner
        place[last] = value
    assert all(len(line.split()) > 2 for line in said(made))
