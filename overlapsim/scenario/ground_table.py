"""The ``[field]`` table: rectangle, polygon, textbook field, or a file that is read elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import shapely

from overlapsim.basics.errors import Fault, FieldError
from overlapsim.basics.units import parse
from overlapsim.scenario.field import Field
from overlapsim.scenario.kinds import Slip
from overlapsim.scenario.quantities import Measure, Pair
from overlapsim.scenario.slips import hint
from overlapsim.scenario.tables import fault

__all__ = ["FIELD_KEYS", "FILE_KEYS", "MOST_VERTICES", "check_field_keys", "field_inputs", "read_field_table"]

FILE_KEYS = ("layer", "where", "all", "crs")
"""Keys that choose a field of a file."""
FIELD_KEYS = ("file", *FILE_KEYS, "rectangle", "end_angle", "polygon", "exclusions")
MOST_VERTICES = 20_000
"""Boundaries with more points are not written into results; the file they came from is named."""

_STEEPEST = parse("80 deg", "angle")
SIDES = Pair(Measure("length", 1.0, 30_000.0, likely=(20.0, 5000.0)), example=("400 m", "800 m"))
TILT = Measure("angle", -_STEEPEST, _STEEPEST, example="30 deg")
_WRITTEN = ("name", "origin", "parts")


def read_field_table(raw: Any, faults: list[Fault]) -> Field | None:
    """Make the field of a scenario, files apart.

    Parameters
    ----------
    raw : dict or None
        The table; None = a textbook field.
    faults : list of Fault
        What is wrong is added here.

    Returns
    -------
    Field or None
        None where it is at fault.
    """
    if raw is None:
        return Field.textbook_80()
    if not isinstance(raw, Mapping):
        faults.append(fault(("field",), "is not a table", "Write [field] and its keys below.", raw))
        return None
    found: list[Fault] = []
    check_field_keys(raw, found)
    try:
        inner: list[Fault] = []
        made = _make(raw, inner)
        found += inner
    except FieldError as error:
        found += error.faults
        made = None
    faults += found
    return None if found else made


def check_field_keys(raw: Mapping[str, Any], faults: list[Fault]) -> None:
    """See that the keys are known, and that they name one field only.

    Parameters
    ----------
    raw : dict
        The table.
    faults : list of Fault
        What is wrong is added here.
    """
    for key in raw:
        if key not in FIELD_KEYS and key not in _WRITTEN:
            faults.append(fault(("field", str(key)), "no such key", hint(str(key), FIELD_KEYS)))
    ways = [key for key in ("file", "rectangle", "polygon", "parts") if key in raw]
    if len(ways) > 1:
        faults.append(fault(("field", ways[1]), f"says the same as {ways[0]}", "Keep one of the two."))
    if not ways and not _is_textbook(raw):
        faults.append(
            fault(("field",), "names no field", "Write file, rectangle or polygon, or leave [field] out.")
        )
    for key in FILE_KEYS:
        if key in raw and ways and "file" not in ways:
            faults.append(fault(("field", key), "goes with file only", "Leave it out.", raw[key]))
    if "end_angle" in raw and "rectangle" not in raw:
        faults.append(
            fault(("field", "end_angle"), "goes with rectangle only", "Leave it out.", raw["end_angle"])
        )
    if "exclusions" in raw and "file" in ways:
        faults.append(
            fault(
                ("field", "exclusions"),
                "goes with rectangle and polygon only",
                "Holes of the file's polygon are exclusions.",
            )
        )


def _is_textbook(raw: Mapping[str, Any]) -> bool:
    origin = raw.get("origin")
    return isinstance(origin, Mapping) and bool(origin.get("textbook"))


def _make(raw: Mapping[str, Any], faults: list[Fault]) -> Field | None:
    """Make the field in the one way that is given."""
    name, origin = raw.get("name", ""), raw.get("origin", {})
    if not isinstance(name, str):
        faults.append(fault(("field", "name"), "is not a text", "Write it in quotes.", name))
    if not isinstance(origin, Mapping):
        faults.append(fault(("field", "origin"), "is not a table", "Leave it out.", origin))
    exclusions = raw.get("exclusions", ())
    if not isinstance(exclusions, list | tuple):
        remedy = "Write [[[10, 10], [20, 10], [20, 20]]]."
        faults.append(fault(("field", "exclusions"), "is not a list of rings", remedy, exclusions))
    if faults:
        return None
    if _is_textbook(raw):
        return Field.textbook_80()
    if "file" in raw:
        remedy = "Load the scenario from its file, or hand the field over."
        faults.append(fault(("field", "file"), "files are read by load_scenario", remedy, raw["file"]))
        return None
    if "rectangle" in raw:
        sides = _quantity(SIDES, raw["rectangle"], "rectangle", faults)
        tilt = _quantity(TILT, raw.get("end_angle", "0 deg"), "end_angle", faults)
        if sides is None or tilt is None:
            return None
        return Field.rectangle(sides[0], sides[1], tilt, exclusions, name)
    if "parts" in raw:
        return _parts(raw["parts"], name, dict(origin), faults)
    return Field.polygon(raw["polygon"], exclusions, name, origin=dict(origin)) if "polygon" in raw else None


def _parts(raw: Any, name: str, origin: dict[str, Any], faults: list[Fault]) -> Field | None:
    """Put a field of several parts together, as results write it."""
    sound = isinstance(raw, list | tuple) and all(
        isinstance(part, Mapping)
        and "polygon" in part
        and isinstance(part.get("exclusions", []), list)
        and isinstance(part.get("name", ""), str)
        for part in raw
    )
    if not sound or not raw:
        faults.append(fault(("field", "parts"), "is not a list of polygons", "Write one polygon.", raw))
        return None
    made = [Field.polygon(part["polygon"], part.get("exclusions", ()), name, origin=origin) for part in raw]
    names = [part.get("name", "") for part in raw]
    owners = tuple(own for own, each in zip(names, made, strict=True) for _ in each.parts)
    return Field(
        tuple(one for each in made for one in each.parts),
        name,
        made[0].origin,
        made[0].plane,
        part_names=owners if any(names) else (),
    )


def _quantity(kind: Any, value: Any, key: str, faults: list[Fault]) -> Any:
    """Read one quantity, or note what is wrong."""
    try:
        return kind.read(value, False)
    except Slip as slip:
        for each in (slip, *slip.more):
            faults.append(
                Fault(each.rule, each.remedy, f"field.{key}", each.value or fault((), "", "", value).value)
            )
    return None


def field_inputs(field: Field) -> dict[str, Any]:
    """Write a field so that reading it gives an equal one.

    Parameters
    ----------
    field : Field
        Any field.

    Returns
    -------
    dict
        Rings in m, with where they came from; without rings for more than `MOST_VERTICES` points.
    """
    written: dict[str, Any] = {"name": field.name} if field.name else {}
    if field.origin:
        written["origin"] = field.origin
    if sum(shapely.get_num_coordinates(part) for part in field.parts) > MOST_VERTICES:
        return written
    parts = [
        {"polygon": _points(part.exterior), "exclusions": [_points(ring) for ring in part.interiors]}
        for part in field.parts
    ]
    if field.part_names:
        named = zip(field.part_names, parts, strict=True)
        return written | {"parts": [{"name": own, **part} for own, part in named]}
    return written | (parts[0] if len(parts) == 1 else {"parts": parts})


def _points(ring: Any) -> list[list[float]]:
    return [[x, y] for x, y, *_ in ring.coords[:-1]]
