"""Study files: TOML read, base and fields found, and every fault said with its file and line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from overlapsim.basics.errors import Fault, InputError, ScenarioError
from overlapsim.files.study_ground import read_machines, read_study_fields
from overlapsim.files.toml import load_scenario
from overlapsim.files.toml_lines import Lines, find_lines
from overlapsim.files.toml_slips import read_toml
from overlapsim.files.toml_text import nearest, read_text
from overlapsim.questions.study_design import END_ANGLE, FIELD, MACHINE, METHODS, Design, Factor, in_order
from overlapsim.questions.study_ground import Fields
from overlapsim.questions.study_plan import Study
from overlapsim.questions.study_reading import sides_of
from overlapsim.scenario.field import Field
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.slips import hint
from overlapsim.scenario.sweeps import flat, read_sweep
from overlapsim.scenario.tables import dotted, fault

__all__ = ["load_study"]

MOST_CASES = 10_000_000
"""More cases are a slip of a step or a size."""

CHUNK, CHUNK_WITH_LAPS = 32, 4
"""Combinations that are kept together: some seconds of work, with headland laps as well (measured)."""

# Faults without a line, for what is missing altogether, come last.
_LAST = 1_000_000

_TOP = ("title", "base", "factors", "sample")
_SAMPLE = {"method": str, "size": int, "seed": int, "chunk": int}


def load_study(path: str | Path) -> Study:
    """Read a study file, with the base scenario, machines and fields that it names.

    Parameters
    ----------
    path : str or Path
        The study, TOML in UTF-8 or UTF-16.

    Returns
    -------
    Study
        Every value was tried on the base scenario; its name is the file's without the ending.

    Raises
    ------
    ScenarioError
        With one fault per line for everything that is wrong.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "study.toml")
    ...     _ = path.write_text("base = 'base.toml'")
    ...     try:
    ...         load_study(path)
    ...     except ScenarioError as error:
    ...         print(str(error.faults[0]).split("toml:")[1])
    1  base = "base.toml"  no such file. Did you mean study.toml?
    """
    path = Path(path)
    text = read_text(path, str(path))
    if isinstance(text, Fault):
        raise ScenarioError([text])
    data, faults, _, read = read_toml(text, str(path))
    if data is None or faults:
        raise ScenarioError(faults)
    reading = _Reading(path, data, find_lines(read))
    study = reading.study()
    if reading.faults or study is None:
        faults = sorted(reading.faults, key=lambda one: (one.file != str(path), one.line or _LAST))
        raise ScenarioError(faults)
    return study


class _Reading:
    """One study file while it is read."""

    def __init__(self, path: Path, data: dict[str, Any], lines: Lines) -> None:
        self.path, self.data, self.lines = path, data, lines
        self.faults: list[Fault] = []
        self.files = [str(path)]

    def note(self, one: Fault) -> None:
        self.faults.append(replace(one, file=str(self.path), line=self.lines.line_of(one.key)))

    def study(self) -> Study | None:
        for key, value in self.data.items():
            if key not in _TOP:
                shown = None if isinstance(value, Mapping) else value
                self.note(fault((key,), "no such key", hint(key, _TOP), shown))
        base = self._base()
        method, size, seed, chunk = self._sample()
        raw = self.data.get("factors")
        if not isinstance(raw, Mapping) or not raw:
            remedy = 'Write [factors] and "switching.sections" = [1, 2, 4] below.'
            self.note(fault(("factors",), "is missing", remedy))
            return None
        if base is None:
            return None
        bases, machines, fields, factors = self._factors(base, flat(raw), method, seed)
        if self.faults:
            return None
        design = Design(in_order(factors), method, size, seed)
        if len(design) > MOST_CASES:
            rule = f"{len(design):,} cases, more than {MOST_CASES:,}"
            self.note(fault(("factors",), rule, "Take fewer values, or a sample."))
            return None
        laps = any(one.plan.headland_laps for one in bases)
        laps |= any(any(one.values) for one in factors if one.key == "plan.headland_laps")
        title = self.data.get("title", "")
        if not isinstance(title, str):
            self.note(fault(("title",), "is not a text", "Write it in quotes.", title))
            return None
        return Study(
            title=title or self.path.stem,
            name=self.path.stem,
            bases=bases,
            machines=machines,
            design=design,
            fields=fields,
            chunk=chunk or (CHUNK_WITH_LAPS if laps else CHUNK),
            files=tuple(dict.fromkeys(self.files)),
        )

    def _base(self) -> Scenario | None:
        name = self.data.get("base")
        if not isinstance(name, str):
            self.note(fault(("base",), "is missing", "Write base = 'base.toml', a scenario.", name))
            return None
        path = self.path.parent / name
        if not path.is_file():
            self.note(fault(("base",), "no such file", nearest(path), name))
            return None
        self.files.append(str(path))
        try:
            base = load_scenario(path)
        except InputError as error:
            self.faults += error.faults
            return None
        self.files += _named_in(path)
        return base

    def _sample(self) -> tuple[str, int, int, int]:
        raw = self.data.get("sample", {})
        if not isinstance(raw, Mapping):
            self.note(fault(("sample",), "is not a table", 'Write [sample] and method = "grid" below.', raw))
            return "grid", 0, 0, 0
        for key, value in raw.items():
            wanted = _SAMPLE.get(key)
            if wanted is None:
                self.note(fault(("sample", key), "no such key", hint(key, _SAMPLE), value))
            elif type(value) is not wanted or (wanted is int and value < (key != "seed")):
                remedy = 'Write method = "sobol".' if wanted is str else f"Write {key} = 1024."
                self.note(fault(("sample", key), "cannot be read", remedy, value))
        if self.faults:
            return "grid", 0, 0, 0
        method, size = raw.get("method", "grid"), raw.get("size", 0)
        if method not in METHODS:
            self.note(fault(("sample", "method"), "is no method", hint(method, METHODS), method))
        elif method == "grid" and size:
            self.note(fault(("sample", "size"), "goes with a sample, not with a grid", "Leave it out.", size))
        elif method != "grid" and not size:
            self.note(fault(("sample", "size"), "is missing", "Write size = 1024."))
        elif method in ("sobol", "saltelli") and size & (size - 1):
            above = 1 << size.bit_length()
            rule = "is no power of two, which the balance of Sobol' points needs"
            self.note(fault(("sample", "size"), rule, f"Write {above // 2} or {above}.", size))
        return method, size, raw.get("seed", 0), raw.get("chunk", 0)

    def _factors(
        self, base: Scenario, raw: dict[str, Any], method: str, seed: int
    ) -> tuple[tuple[Scenario, ...], tuple[str, ...], Fields | None, list[Factor]]:
        bases: tuple[Scenario, ...] = (base,)
        machines: tuple[str, ...] = (base.machine.title or base.name,)
        fields: Fields | None = None
        factors: list[Factor] = []
        if MACHINE in raw:
            found = read_machines(self.path.parent, Path(self.path.parent, self.data["base"]), raw[MACHINE])
            self._take(MACHINE, found.faults, found.files)
            bases, machines = found.bases or bases, found.names or machines
            factors.append(Factor(MACHINE, tuple(range(len(bases)))))
        if FIELD in raw:
            ground = read_study_fields(self.path.parent, raw[FIELD], seed)
            self._take(FIELD, ground.faults, ground.files)
            fields = ground.fields
            factors.append(Factor(FIELD, tuple(range(len(fields) if fields else 0))))
        if END_ANGLE in raw:
            factors += self._end_angle(base, raw[END_ANGLE], method, FIELD in raw)
        for key, value in raw.items():
            if key not in (MACHINE, FIELD, END_ANGLE):
                for one in bases:
                    read = self._values(key, value, one, method)
                factors += read
        self.faults = list(dict.fromkeys(self.faults))
        return bases, machines, fields, factors

    def _take(self, key: str, faults: list[Fault], files: list[str]) -> None:
        for one in faults:
            if one.file:
                self.faults.append(one)
            else:
                self.note(replace(one, key=f"factors.{key}"))
        self.files += files

    def _values(self, key: str, value: Any, base: Scenario, method: str) -> list[Factor]:
        """Read one factor: every value is tried on the base."""
        ends = isinstance(value, Mapping) and set(value) == {"from", "to"}
        if ends and method == "grid":
            remedy = "Write a step, or take a sample."
            self.note(fault(("factors", key), "has no step, which a grid needs", remedy))
            return []
        raw = [value["from"], value["to"]] if ends else value
        found, faults = read_sweep({key: raw}, base, set())
        for one in faults:
            self.note(replace(one, key=f"factors{one.key.removeprefix('sweep')}"))
        values = found.get(key, ())
        if faults or not values:
            return []
        if not ends:
            return [Factor(key, tuple(values))]
        low, high = values
        if not (type(low) is float and type(high) is float and low < high):
            rule = f"does not lead from {value['from']} up to {value['to']}"
            self.note(fault(("factors", key), rule, "Name a smaller and a larger quantity."))
            return []
        return [Factor(key, span=(low, high))]

    def _end_angle(self, base: Scenario, value: Any, method: str, fields: bool) -> list[Factor]:
        """Read how far the ends of the base's rectangle are tilted."""
        here = dotted(("factors", END_ANGLE))
        if fields:
            self.note(Fault("goes with the base's own field", "Leave one of the two out.", here))
            return []
        # Angles are read as those of a heading are.
        before = len(self.faults)
        found = self._values("plan.heading", value, base, method)
        own = [replace(one, key=here, line=self.lines.line_of(here)) for one in self.faults[before:]]
        self.faults[before:] = own
        try:
            sides = sides_of(base.field)
            for one in found:
                for angle in one.span or one.values:
                    if isinstance(angle, str):
                        raise InputError(Fault("is no angle", 'Write "30 deg".'))
                    Field.rectangle(*sides, angle)
        except InputError as error:
            self.note(replace(error.faults[0], key=here))
            return []
        return [replace(one, key=END_ANGLE) for one in found]


def _named_in(path: Path) -> list[str]:
    """Files that a scenario names: its machine and its field."""
    text = read_text(path, str(path))
    data = read_toml(text, str(path))[0] if isinstance(text, str) else None
    named = []
    for table in ("machine", "field"):
        own = (data or {}).get(table)
        if isinstance(own, Mapping) and isinstance(own.get("file"), str):
            named.append(str(path.parent / own["file"]))
    return named
