"""Machines and fields that a study names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from overlapsim.basics.errors import Fault, InputError
from overlapsim.files.fields import read_field
from overlapsim.files.study_fields import FieldFile
from overlapsim.files.toml import load_scenario
from overlapsim.files.toml_text import nearest
from overlapsim.questions.study_ground import Fields, KnownFields, Listed, stratified
from overlapsim.scenario.ground_table import read_field_table
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.slips import shown

_SAMPLED = ("sample", "seed")


@dataclass
class Found:
    """What was found.

    Attributes
    ----------
    bases : tuple of Scenario
        The base scenario with each of the machines.
    names : tuple of str
        Names of the machines.
    fields : Fields or None
        Fields, in a row.
    faults : list of Fault
        What is wrong; without a file where it is the study's own.
    files : list of str
        Files that were read.
    """

    bases: tuple[Scenario, ...] = ()
    names: tuple[str, ...] = ()
    fields: Fields | None = None
    faults: list[Fault] = field(default_factory=list)
    files: list[str] = field(default_factory=list)


def read_machines(folder: Path, base: Path, raw: Any) -> Found:
    """Read the base scenario with each of some machines.

    Parameters
    ----------
    folder : Path
        Of the study.
    base : Path
        The base scenario.
    raw : list
        Files of machines, or tables with `file` and `setup`.

    Returns
    -------
    Found
        Bases and names, or faults.
    """
    found = Found()
    remedy = 'Write [{file = "machines/x.toml", setup = "narrow"}].'
    if not isinstance(raw, list) or not raw:
        found.faults.append(Fault("is not a list of machines", remedy, value=shown(raw)))
        return found
    bases, names = [], []
    for one in raw:
        table = {"file": one} if isinstance(one, str) else one
        if not isinstance(table, Mapping) or not isinstance(table.get("file"), str):
            found.faults.append(Fault("names no machine file", remedy, value=shown(one)))
            continue
        path = folder / table["file"]
        if not path.is_file():
            found.faults.append(Fault("no such file", nearest(path), value=shown(table["file"])))
            continue
        found.files.append(str(path))
        try:
            scenario = load_scenario(base, machine={**table, "file": str(path.resolve())})
        except InputError as error:
            found.faults += error.faults
            continue
        bases.append(scenario)
        names.append(scenario.machine.title or path.stem)
    twice = len(set(names)) < len(names)
    found.bases = tuple(bases)
    found.names = tuple(f"{name}, {one.machine.setup}" if twice else name
                        for name, one in zip(names, bases, strict=True))  # fmt: skip
    return found


def read_study_fields(folder: Path, raw: Any, seed: int) -> Found:
    """Find the fields that a study names.

    Parameters
    ----------
    folder : Path
        Of the study.
    raw : list
        Tables as ``[field]`` is in a scenario; with `all = true` every field of a file is one for itself,
        with `sample = 20` so many of them, stratified by area and shape.
    seed : int
        Of such a sample where it names none of its own.

    Returns
    -------
    Found
        Fields, or faults.
    """
    found = Found()
    remedy = 'Write [{file = "fields.geojson", all = true}].'
    if not isinstance(raw, list) or not raw:
        found.faults.append(Fault("is not a list of fields", remedy, value=shown(raw)))
        return found
    places: list[tuple[Fields, int]] = []
    for one in raw:
        if not isinstance(one, Mapping):
            found.faults.append(Fault("is not a field", remedy, value=shown(one)))
            continue
        try:
            source = _source(folder, one, seed, found)
        except InputError as error:
            found.faults += error.faults
            continue
        if source is not None:
            places += [(source, number) for number in range(len(source))]
    if places:
        found.fields = Listed(places)
    elif not found.faults:
        found.faults.append(Fault("holds no field that can be read", remedy))
    return found


def _source(folder: Path, raw: Mapping[str, Any], seed: int, found: Found) -> Fields | None:
    """One entry of the list."""
    table = {key: value for key, value in raw.items() if key not in _SAMPLED}
    if "file" not in table:
        made = read_field_table(table, found.faults)
        return KnownFields([made]) if made is not None else None
    for key, kind in {"file": str, "layer": str, "where": Mapping, "all": bool, "crs": str}.items():
        if key in table and not isinstance(table[key], kind):
            found.faults.append(Fault(f"{key} cannot be read", "", value=shown(table[key])))
            return None
    if odd := sorted(set(table) - {"file", "layer", "where", "all", "crs"}):
        found.faults.append(Fault(f"has no use for {', '.join(odd)}", "Leave it out."))
        return None
    path = folder / table.pop("file")
    if not path.exists():
        found.faults.append(Fault("no such file", nearest(path), value=shown(raw["file"])))
        return None
    found.files.append(str(path))
    size, own = raw.get("sample"), raw.get("seed", seed)
    if not table.pop("all", False):
        if size is not None:
            found.faults.append(Fault("sample goes with all = true", "Write all = true."))
            return None
        return KnownFields([read_field(path, **table)])
    every = FieldFile(path, **table)
    if size is None:
        return every
    if type(size) is not int or size < 1 or type(own) is not int or own < 0:
        found.faults.append(Fault("sample cannot be read", "Write sample = 20, seed = 1.", value=shown(size)))
        return None
    return stratified(every, size, own)
