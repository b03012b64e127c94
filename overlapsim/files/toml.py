"""Scenario and machine files: TOML read, joined, and every fault said with its file and line."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from overlapsim.basics.errors import Fault, FieldError, ScenarioError
from overlapsim.files.toml_lines import Lines, find_lines
from overlapsim.files.toml_plan import read_plan_files
from overlapsim.files.toml_slips import read_toml
from overlapsim.files.toml_text import nearest, read_text
from overlapsim.scenario.field import Field
from overlapsim.scenario.ground_table import FILE_KEYS, check_field_keys
from overlapsim.scenario.resolve import resolve
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.tables import fault

__all__ = ["load_scenario"]

# Faults without a line, for what is missing altogether, come last.
_LAST = 1_000_000
# What stands in the scenario even where the machine has a file of its own.
_CHOICES = ("file", "setup", "rows_off")


@dataclass
class _File:
    """One TOML file: its tables, its lines, and what was wrong with it."""

    name: str
    data: dict[str, Any] | None = None
    lines: Lines = field(default_factory=Lines)
    faults: list[Fault] = field(default_factory=list)
    mended: set[int] = field(default_factory=set)

    def placed(self, one: Fault, key: str) -> Fault | None:
        """Give a fault its file and line; None where that line is at fault already."""
        line = self.lines.line_of(key)
        if line in self.mended:
            return None
        return replace(one, key=key, file=self.name, line=line)


def load_scenario(
    path: str | Path, *, setup: str | None = None, machine: Mapping[str, Any] | None = None
) -> Scenario:
    """Read a scenario file, with the machine file and the field file that it names.

    Parameters
    ----------
    path : str or Path
        The scenario, TOML in UTF-8 or UTF-16.
    setup : str, optional
        Read it as it holds for this row setup. Default: the one that it names.
    machine : dict, optional
        Keys of a ``[machine]`` table that stands in for the file's own.

    Returns
    -------
    Scenario
        Validated; its name is the file's without the ending.

    Raises
    ------
    ScenarioError
        With one fault per line for everything that is wrong, in all files.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "home.toml")
    ...     _ = path.write_text("machine.setup = 'wide'")
    ...     try:
    ...         load_scenario(path)
    ...     except ScenarioError as error:
    ...         error.faults[0].line, str(error.faults[0]).split("  ", 1)[1]
    (1, 'machine.ranks  is missing. Write [ranks.front] and its keys below.')
    """
    path = Path(path)
    scenario_file = _read(path, str(path))
    if scenario_file.data is None:
        raise ScenarioError(scenario_file.faults)
    data = scenario_file.data
    faults = list(scenario_file.faults)
    if machine is not None:
        data["machine"] = dict(machine)
    machine_file = _join_machine(data, path.parent, scenario_file, faults)
    if setup is not None and isinstance(data.get("machine"), dict):
        data["machine"]["setup"] = setup
    lost = [("machine",)] if machine_file is not None and machine_file.data is None else []
    ground = _read_field(data, path.parent, scenario_file, faults)
    for one in read_plan_files(data, lambda name: _beside(path.parent, name), ground):
        # What a file's own reader says has its file already.
        faults += [one] if one.file else filter(None, [scenario_file.placed(one, one.key)])
    scenario, found = resolve(data, field=ground, name=path.stem, lost=lost)
    for one in found:
        placed = _place(one, scenario_file, machine_file)
        if setup is not None and one.key == "machine.setup":
            # It was asked for, not written in the file.
            placed = replace(one, file=scenario_file.name)
        if placed is not None:
            faults.append(placed)
    if faults or scenario is None:
        order = {scenario_file.name: 0, machine_file.name if machine_file else "": 1}
        faults.sort(key=lambda one: (order.get(one.file, 2), one.line or _LAST))
        raise ScenarioError(faults)
    return scenario


def _read(path: Path, name: str) -> _File:
    """Read one TOML file."""
    file = _File(name)
    found = read_text(path, name)
    if isinstance(found, Fault):
        file.faults.append(found)
        return file
    file.data, file.faults, file.mended, text = read_toml(found, name)
    if file.data is not None:
        file.lines = find_lines(text)
        file.faults += _control_characters(file)
    return file


def _control_characters(file: _File) -> list[Fault]:
    r"""Find backslashes in double quotes that TOML turns into control characters, as in ``"C:\fields"``."""
    found = []
    for text in file.lines.quoted:
        if not text.raw.startswith('"') or text.raw.startswith('"""') or text.line in file.mended:
            continue
        single = text.raw.replace("\\\\", "")
        is_path = text.key.split(".")[-1] in ("file", "layer") or re.match(r'"[A-Za-z]:', single)
        if re.search(r"\\[bf]", single) or (is_path and re.search(r"\\[btnfre]", single)):
            remedy = f"Write '{text.raw[1:-1]}', or use /."
            found.append(
                Fault("a backslash in double quotes", remedy, text.key, text.raw, file.name, text.line)
            )
            file.mended.add(text.line)
    return found


def _beside(folder: Path, name: str) -> Path:
    """Find a file named in a scenario; backslashes part folders as well, wherever it is read."""
    path = folder / name
    return path if "\\" not in name or _exists(path) else folder / name.replace("\\", "/")


def _exists(path: Path) -> bool:
    """Tell whether there is something by a name; what can be no name is for its reader to refuse."""
    try:
        return path.exists() or path.is_symlink()
    except OSError:
        return True


def _join_machine(
    data: dict[str, Any], folder: Path, scenario_file: _File, faults: list[Fault]
) -> _File | None:
    """Put the keys of the machine file in the place of its name."""
    table = data.get("machine")
    if not isinstance(table, dict) or "file" not in table:
        return None
    name = table.pop("file")
    if scenario_file.lines.line_of("machine.file") in scenario_file.mended:
        return _File("")
    inline = [key for key in table if key not in _CHOICES]
    if inline:
        one = fault(("machine", inline[0]), "stands inline beside a machine file", "Keep one of the two.")
        faults += filter(None, [scenario_file.placed(one, one.key)])
    if not isinstance(name, str) or not name.strip():
        one = fault(("machine", "file"), "is not the name of a file", "Write file = 'machines/x.toml'.", name)
        faults += filter(None, [scenario_file.placed(one, one.key)])
        return _File("")
    path = _beside(folder, name)
    machine_file = _read(path, str(path))
    if machine_file.data is None and len(machine_file.faults) == 1 and machine_file.faults[0].line is None:
        one = machine_file.faults[0]
        one = fault(("machine", "file"), one.rule, one.remedy, name)
        faults += filter(None, [scenario_file.placed(one, one.key)])
        return machine_file
    faults += machine_file.faults
    keys = machine_file.data or {}
    for key in _CHOICES:
        if key in keys:
            one = fault((key,), "belongs in the scenario's [machine]", "Write it there.", keys.pop(key))
            faults += filter(None, [machine_file.placed(one, key)])
    data["machine"] = {**keys, **{key: value for key, value in table.items() if key in _CHOICES}}
    return machine_file


def _read_field(
    data: dict[str, Any], folder: Path, scenario_file: _File, faults: list[Fault]
) -> Field | None:
    """Read the field's file, if the scenario names one."""
    table = data.get("field")
    if not isinstance(table, Mapping) or "file" not in table:
        return None
    found: list[Fault] = []
    check_field_keys(table, found)
    name, chosen = table["file"], {key: table[key] for key in FILE_KEYS if key in table}
    wanted = {"file": str, "layer": str, "where": Mapping, "all": bool, "crs": str}
    examples = {
        "file": "'fields/x.geojson'",
        "layer": '"boundary"',
        "where": '{name = "…"}',
        "all": "true",
        "crs": '"EPSG:4326"',
    }
    for key, value in {"file": name, **chosen}.items():
        if not isinstance(value, wanted[key]):
            remedy = f"Write {key} = {examples[key]}."
            found.append(fault(("field", key), "cannot be read", remedy, value))
    sure = scenario_file.lines.line_of("field.file") not in scenario_file.mended
    path = _beside(folder, name) if isinstance(name, str) else folder
    # What stands inside an archive is for the reader of field files to find.
    if not found and sure and not _exists(path) and not any(one.is_file() for one in path.parents):
        found.append(fault(("field", "file"), "no such file", nearest(path), name))
    faults += filter(None, (scenario_file.placed(one, one.key) for one in found))
    if not found and sure:
        # geopandas takes half a second to import: only where a file is to be read.
        from overlapsim.files.fields import read_field

        try:
            return read_field(path, **chosen)
        except FieldError as error:
            faults += error.faults
    # Something to look for further faults with; nothing is run on it.
    return Field.textbook_80()


def _place(one: Fault, scenario_file: _File, machine_file: _File | None) -> Fault | None:
    """Find out in which file and line a fault stands."""
    head, _, rest = one.key.partition(".")
    if machine_file is None or head != "machine" or rest.split(".")[0] in ("", *_CHOICES):
        return scenario_file.placed(one, one.key)
    return machine_file.placed(one, rest)
