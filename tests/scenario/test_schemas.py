"""Schemas for editors: Draft 4, checked with a validator of that draft, and no stricter than the reader.

The outside: JSON Schema, Draft 4 (Zyp, Court 2013), as the reference library `jsonschema` reads it.
"""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from overlapsim.basics.unit_patterns import quantity_pattern
from overlapsim.basics.units import UNITS, UnitError, parse
from overlapsim.scenario.keys import TABLES
from overlapsim.scenario.schemas import machine_schema, scenario_schema
from overlapsim.scenario.tables import kinds

GALLERY = Path(__file__).resolve().parents[2] / "scenarios"
SCENARIO, MACHINE = scenario_schema(), machine_schema()


def wrong(schema: dict[str, Any], text: str) -> list[str]:
    """Where a text in TOML does not fit, by dotted key."""
    found = jsonschema.Draft4Validator(schema).iter_errors(tomllib.loads(text))
    return sorted(".".join(map(str, error.absolute_path)) for error in found)


@pytest.mark.parametrize("schema", [SCENARIO, MACHINE], ids=["scenario", "machine"])
def test_it_is_a_schema_of_draft_4_and_of_no_later_one(schema: dict[str, Any]) -> None:
    jsonschema.Draft4Validator.check_schema(schema)
    text = json.dumps(schema)
    later = ("const", "$id", "if", "then", "contains", "propertyNames", "examples", "$defs")
    assert not [word for word in later if f'"{word}":' in text]


@pytest.mark.parametrize("path", sorted(GALLERY.glob("*.toml")), ids=lambda path: path.stem)
def test_every_scenario_of_the_gallery_fits(path: Path) -> None:
    assert wrong(SCENARIO, path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", sorted(GALLERY.glob("machines/*.toml")), ids=lambda path: path.stem)
def test_every_machine_of_the_gallery_fits(path: Path) -> None:
    assert wrong(MACHINE, path.read_text(encoding="utf-8")) == []


GOOD = (GALLERY / "demo.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("written", "instead", "where"),
    [
        ('"5 mph"', '"5"', "speed.working"),
        ('"5 mph"', "5", "speed.working"),
        ('"5 mph"', '"5 s"', "speed.working"),
        ("sections = 16", "sections = 0", "switching.sections"),
        ("sections = 16", 'sections = "all"', "switching.sections"),
        ("sections = 16", "section = 16", "switching.section"),
        ("headland_laps = 0", "headland_laps = 7", "plan.headland_laps"),
        ('reference_offset = "84 in"', "reference_offset = {front = 84}", "switching.reference_offset"),
        ("[response]", "[answer]", ""),
        ('file = "fields/crooked-eighty.geojson"', "all = true", "field"),
    ],
)  # fmt: skip
def test_what_the_reader_refuses_is_marked_where_it_stands(written: str, instead: str, where: str) -> None:
    assert written in GOOD
    assert wrong(SCENARIO, GOOD.replace(written, instead)) == [where]


def test_a_row_setup_may_override_what_must_be_given() -> None:
    moved = GOOD.replace('reference_offset = "84 in"', 'wide.reference_offset = "84 in"')
    assert wrong(SCENARIO, moved) == []
    unknown = GOOD.replace('offset = "84 in"', 'offset = "84 in"\nwide.nonsense = 1')
    assert wrong(SCENARIO, unknown) == ["switching.wide"]


def test_ranks_need_a_place_and_only_one() -> None:
    rank = 'ranks.front = {rows = 8, spacing = "30 in"'
    assert wrong(MACHINE, rank + ', behind_pin = "84 in"}') == []
    assert wrong(MACHINE, rank + "}") == ["ranks.front"]
    assert wrong(MACHINE, rank + ', behind_pin = "84 in", behind_front = "35 in"}') == ["ranks.front"]


def test_every_key_has_a_kind_and_words() -> None:
    properties = SCENARIO["properties"]
    for head, model in TABLES.items():
        if head == "machine":
            continue
        keys = properties[head]["properties"]
        assert set(keys) == set(model.model_fields), head
        for name, kind in kinds(model).items():
            assert kind.schema(), (head, name)
            assert keys[name]["description"], (head, name)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("7 1/2 in", "length"), ("12 ft 6 in", "length"), ("12' 6\"", "length"), ("7½″", "length"),
        ("1e3 mm", "length"), ("84 IN.", "length"), ("3 ’", "length"), ("6''", "length"),
        ("-15 in", "length"),
        ("5 MPH", "speed"), ("8 km / h", "speed"), ("400 ms", "time"), ("12°", "angle"), ("10 Hz", "rate"),
        ("32,000 /ac", "amount per area"), ("32 k/ac", "amount per area"), ("8 /m2", "amount per area"),
        ("8 /m^2", "amount per area"), ("32000 seeds per acre", "amount per area"),
        ("5 per m²", "amount per area"),
    ],
)  # fmt: skip
def test_quantities_as_people_write_them_fit(text: str, dimension: str) -> None:
    parse(text, dimension)
    assert re.search(quantity_pattern(dimension), text)


@given(
    st.sampled_from(sorted(UNITS)),
    st.from_regex(r"\A[-+]?([0-9]{1,3} )?[0-9]{1,3}(/[1-9]|[.][0-9]?)?[ ]?\Z"),
    st.data(),
)
def test_whatever_is_read_fits(dimension: str, number: str, data: st.DataObject) -> None:
    unit = data.draw(st.sampled_from(sorted({name for table in UNITS.values() for name in table})))
    text = number + data.draw(st.sampled_from([unit, unit.upper(), f" {unit} ", ""]))
    try:
        parse(text, dimension)
    except UnitError:
        return
    assert re.search(quantity_pattern(dimension), text), text
