"""Files that a scenario's plan names: a guidance line, a headland that comes with the field."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from overlapsim.basics.errors import Fault, FieldError
from overlapsim.scenario.field import Field
from overlapsim.scenario.ground_table import read_field_table
from overlapsim.scenario.guidance import LINE_FILE_KEYS, straight_line
from overlapsim.scenario.headland import HEADLAND_FILE_KEYS, MEANINGS
from overlapsim.scenario.kinds import Slip
from overlapsim.scenario.slips import hint
from overlapsim.scenario.tables import fault

__all__ = ["read_plan_files"]


def read_plan_files(data: dict[str, Any], find: Callable[[str], Path], ground: Field | None) -> list[Fault]:
    """Put what the plan's files hold in the place of their names.

    Parameters
    ----------
    data : dict
        A scenario's tables; its plan is changed.
    find : callable
        Turns a file's name as written into its path.
    ground : Field or None
        The field where it came from a file.

    Returns
    -------
    list of Fault
        What was wrong. A plan's key at fault is taken out: nothing is run on what is left.
    """
    plan = data.get("plan")
    found: list[Fault] = []
    if not isinstance(plan, dict):
        return found
    for key, known, read in (("line", LINE_FILE_KEYS, _line), ("headland", HEADLAND_FILE_KEYS, _headland)):
        table = plan.get(key)
        if not isinstance(table, Mapping) or "file" not in table:
            continue
        wrong = _keys(key, table, known)
        if not wrong:
            try:
                plan[key] = read(find(table["file"]), table, data, ground)
                continue
            except FieldError as error:
                wrong += error.faults
            except Slip as slip:
                wrong.append(fault(("plan", key), slip.rule, slip.remedy, table["file"]))
        found += wrong
        del plan[key]
    return found


def _keys(key: str, table: Mapping[str, Any], known: tuple[str, ...]) -> list[Fault]:
    """See that a table names a file and nothing else besides."""
    found = []
    for name, value in table.items():
        path = ("plan", key, str(name))
        if name not in known:
            rule = "says the same as file" if name in ("points", "polygon", "parts") else "no such key"
            found.append(fault(path, rule, hint(str(name), known)))
        elif name == "where":
            if not isinstance(value, Mapping):
                found.append(fault(path, "cannot be read", 'Write where = {name = "…"}.', value))
        elif not isinstance(value, str) or not value.strip():
            found.append(fault(path, "is not a text", "Write it in quotes.", value))
        elif name == "is" and value not in MEANINGS:
            words = " or ".join(f'"{one}"' for one in MEANINGS)
            found.append(fault(path, "is not one of the choices", f"Write {words}.", value))
    return found


def _line(path: Path, table: Mapping[str, Any], data: Mapping[str, Any], ground: Field | None) -> Any:
    from overlapsim.files.guidance import read_line

    chosen = {key: value for key, value in table.items() if key != "file"}
    points, called = read_line(path, None if ground is None else ground.plane, **chosen)
    return straight_line(points, path.name, called)


def _headland(path: Path, table: Mapping[str, Any], data: Mapping[str, Any], ground: Field | None) -> Any:
    from overlapsim.files.headlands import read_headland

    # A field in metres is made once its own keys are read; here it only says where areas may lie.
    field = read_field_table(data.get("field"), []) if ground is None else ground
    chosen = {key: table[key] for key in ("layer", "where", "crs") if key in table}
    return read_headland(path, field or Field.textbook_80(), meaning=table.get("is", ""), **chosen)
