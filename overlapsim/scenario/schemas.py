"""What an editor may check while one types: scenario and machine files as JSON Schema, Draft 4.

Made from the tables themselves, so that every key stands in one place. A schema knows keys, kinds of values
and units; what shows only when values are laid side by side (ranks swapped, sections that do not add up) the
reader of the files says.
"""

from __future__ import annotations

import inspect
import re
from typing import Any

from overlapsim.basics.unit_patterns import quantity_pattern, quantity_ref
from overlapsim.basics.units import UNITS
from overlapsim.scenario.ground_table import SIDES, TILT
from overlapsim.scenario.keys import OVERRIDDEN, TABLES
from overlapsim.scenario.machine import MOST_RANKS, Machine, Rank, Setup
from overlapsim.scenario.steps import Step
from overlapsim.scenario.tables import Table, kinds
from overlapsim.scenario.uncertain import SHAPES

__all__ = ["DRAFT", "definitions", "machine_schema", "scenario_schema", "swept_schema"]

DRAFT = "http://json-schema.org/draft-04/schema#"
"""The dialect that editors for TOML read. A name: nothing is fetched."""

_IN_SCENARIO = ("setup", "rows_off")
"""Keys of the machine that stand in the scenario, even where the machine has a file of its own."""
_TEXT = {"type": "string"}
_NAME = {"type": "string", "pattern": r"\S"}
_RING = {
    "type": "array",
    "minItems": 3,
    "items": {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2},
}


def definitions() -> dict[str, Any]:
    """Describe quantities of every dimension, for `quantity_ref` to point at.

    Returns
    -------
    dict
        By the last part of their reference.
    """
    return {
        quantity_ref(dimension).rsplit("/", 1)[1]: {"type": "string", "pattern": quantity_pattern(dimension)}
        for dimension in UNITS
    }


def _told(model: type[Table]) -> dict[str, str]:
    """Take what is said of each key from the table's own description."""
    text = inspect.getdoc(model) or ""
    part = text.split("Attributes\n----------\n", 1)[-1]
    found: dict[str, str] = {}
    for names, said in re.findall(r"^(\w[\w, ]*) : .*\n((?:    .*(?:\n|$))+)", part, re.MULTILINE):
        words = " ".join(line.strip() for line in said.splitlines())
        found |= dict.fromkeys(re.split(r",\s*", names), words)
    return found


def _keys(model: type[Table], leave_out: tuple[str, ...] = ()) -> dict[str, Any]:
    """Describe the keys of a table that are no tables themselves."""
    told = _told(model)
    found = {}
    for name, kind in kinds(model).items():
        if name in leave_out:
            continue
        shown = kind.example if isinstance(kind.example, str) else None
        said = [told[name]] if name in told else []
        said += [f'As in "{shown}".'] if shown else []
        # A reference stands alone in Draft 4: what stands beside it is passed over.
        found[name] = {"allOf": [kind.schema()], "description": " ".join(said)}
    return found


def _table(
    properties: dict[str, Any], required: tuple[str, ...] = (), others: Any = False, **more: Any
) -> dict[str, Any]:
    """Describe a table by its keys."""
    must = {"required": list(required)} if required else {}
    return {"type": "object", "properties": properties, "additionalProperties": others, **must, **more}


def _named(each: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Describe tables by name."""
    return {"type": "object", "minProperties": 1, "additionalProperties": each, **more}


def _machine_keys() -> dict[str, Any]:
    """Describe the keys of a machine file."""
    either = [{"required": ["behind_pin"]}, {"required": ["behind_front"]}]
    rank = _table(_keys(Rank), ("rows", "spacing"), oneOf=either)
    return {
        **_keys(Machine, _IN_SCENARIO),
        "ranks": _named(rank, maxProperties=MOST_RANKS, description=_told(Machine)["ranks"]),
        "setups": _named(_table(_keys(Setup), ("ranks",)), description=_told(Machine)["setups"]),
        "changeover": {
            "type": "array",
            "items": _table(_keys(Step), ("text",)),
            "description": _told(Machine)["changeover"],
        },
    }


def machine_schema() -> dict[str, Any]:
    """Describe a machine file.

    Returns
    -------
    dict
        JSON Schema, Draft 4.
    """
    return {
        "$schema": DRAFT,
        "title": "overlapsim: a machine",
        "definitions": definitions(),
        **_table(_machine_keys(), ("ranks",)),
    }


def _field() -> dict[str, Any]:
    """Describe the field's table: one of a file, a rectangle, a polygon."""
    keys = {
        "file": {**_NAME, "description": "Boundary file, from this file's folder; anything geopandas reads."},
        "layer": {**_NAME, "description": "Which layer of the file."},
        "where": {"type": "object", "description": 'Which field of the file, as in {name = "North"}.'},
        "all": {"type": "boolean", "description": "One setting for all fields of the file together."},
        "crs": {**_NAME, "description": 'Where the file states none, as in "EPSG:4326".'},
        "rectangle": {"allOf": [SIDES.schema()], "description": "Sides east and north."},
        "end_angle": {"allOf": [TILT.schema()], "description": "Both ends tilted against square-on."},
        "polygon": {**_RING, "description": "Corners east and north, metres."},
        "exclusions": {"type": "array", "items": _RING, "description": "Rings inside, metres."},
        "name": _TEXT,
    }
    ways = [{"required": [way]} for way in ("file", "rectangle", "polygon")]
    return _table(keys, oneOf=ways)


def swept_schema() -> dict[str, Any]:
    """Describe values laid side by side: a list, or from, to and step; below dotted keys or tables.

    Returns
    -------
    dict
        JSON Schema, Draft 4.
    """
    end = {"type": ["string", "number"]}
    ends = _table({"from": end, "to": end, "step": end}, ("from", "to", "step"))
    return {"anyOf": [{"type": "array", "minItems": 1}, ends, {"type": "object"}]}


def spread_schema() -> dict[str, Any]:
    """Describe how far a quantity may be off: a quantity, two of them, or a table with spread and shape.

    Returns
    -------
    dict
        JSON Schema, Draft 4.
    """
    pair = {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2}
    size = {"anyOf": [{"type": "string"}, pair]}
    shaped = _table({"spread": size, "shape": {"enum": list(SHAPES)}}, ("spread",))
    return {"anyOf": [{"type": "string"}, pair, shaped, {"type": "object"}]}


def scenario_schema() -> dict[str, Any]:
    """Describe a scenario file.

    Returns
    -------
    dict
        JSON Schema, Draft 4.

    Notes
    -----
    What a row setup overrides stands in a table named after it, so keys that must be given may stand there.
    """
    tables: dict[str, Any] = {}
    for head, model in TABLES.items():
        if head == "machine":
            continue
        keys = _keys(model)
        tables[head] = _table(keys, others=_table(keys) if head in OVERRIDDEN else False)
    chosen = {name: each for name, each in _keys(Machine).items() if name in _IN_SCENARIO}
    file = {**_NAME, "description": "A machine file, from this file's folder."}
    alone = _table({"file": file, **chosen}, ("file",))
    inline = _table({**_machine_keys(), **chosen}, ("ranks",))
    about = ("customer", "farm", "by", "date", "notes")
    return {
        "$schema": DRAFT,
        "title": "overlapsim: a scenario",
        "definitions": definitions(),
        **_table(
            {
                "title": _TEXT,
                "about": _table(dict.fromkeys(about, _TEXT), others=_TEXT),
                "machine": {"anyOf": [alone, inline]},
                "field": _field(),
                **tables,
                "basis": {"type": "object", "description": "Where a number comes from, by dotted key."},
                "sweep": {"type": "object", "additionalProperties": swept_schema()},
                "uncertain": {"type": "object", "additionalProperties": spread_schema()},
            },
            ("machine", "speed", "switching"),
        ),
    }
