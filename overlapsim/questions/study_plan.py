"""A study: base scenarios, fields, factors, and how its cases are cut into chunks."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from overlapsim.questions.study_columns import Column, ranks_of, result_columns, unit_of
from overlapsim.questions.study_design import END_ANGLE, FIELD, MACHINE, Design, Factor
from overlapsim.questions.study_ground import Fields
from overlapsim.questions.swept import OFFSET, as_column, columns_of
from overlapsim.scenario.keys import column_name, kind_of
from overlapsim.scenario.scenario import Scenario

AT_THE_END, FINER = 12, 4
"""The last twelfth of the cases is cut into chunks of a quarter of the size: so workers end at one time."""


@dataclass(frozen=True)
class Study:
    """A study, ready to be worked out: a function of its inputs and of nothing else.

    Attributes
    ----------
    title : str
        Printed on reports.
    name : str
        Short name, fit for a folder.
    bases : tuple of Scenario
        The base scenario, with each of the machines.
    machines : tuple of str
        Their names.
    design : Design
        Factors, and which combinations of their values are worked out.
    fields : Fields or None
        Values of the factor `field`; None where the base scenario's own stands.
    chunk : int
        Combinations besides the reference offset that are worked out and kept together, fewer of them at the
        end; no unit.
    files : tuple of str
        Files that it was read from, for an archive.

    Examples
    --------
    >>> from overlapsim import Scenario, Study
    >>> from overlapsim.questions.study_design import Design, Factor
    >>> base = Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"}}},
    ...     "field": {"rectangle": ["4 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... })
    >>> grid = Design((Factor("switching.sections", (1, 2, 4)), Factor("speed.working", (1.0, 2.0))))
    >>> study = Study("sections", "sections", (base,), ("bar",), grid)
    >>> len(study), [column.name for column in study.columns[3:5]]
    (6, ['switching_sections', 'speed_working_m_per_s'])
    """

    title: str
    name: str
    bases: tuple[Scenario, ...]
    machines: tuple[str, ...]
    design: Design
    fields: Fields | None = None
    chunk: int = 32
    files: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.design)

    @cached_property
    def _cut(self) -> tuple[int, int, int]:
        """Cases in a chunk, number of such chunks, and cases in each of the smaller ones that follow.

        All offsets of a grid that share a ledger stand in one chunk.
        """
        last = self.design.factors[-1]
        together = len(last.values) if last.key == OFFSET and self.design.method == "grid" else 1
        size, small = self.chunk * together, -(-self.chunk // FINER) * together
        return size, (len(self) - len(self) // AT_THE_END) // size, small

    @property
    def chunks(self) -> range:
        """Numbers of all chunks, from 0."""
        size, many, small = self._cut
        return range(many + -(-(len(self) - many * size) // small))

    def positions(self, chunk: int) -> range:
        """Say which cases stand in a chunk.

        Parameters
        ----------
        chunk : int
            From 0.

        Returns
        -------
        range
            Places in the study, from 0.
        """
        size, many, small = self._cut
        if chunk < many:
            return range(chunk * size, (chunk + 1) * size)
        first = many * size + (chunk - many) * small
        return range(first, min(first + small, len(self)))

    @cached_property
    def ranks(self) -> tuple[str, ...]:
        """Ranks that have offsets of their own in it; empty where one offset serves all."""
        offsets = next((one.values for one in self.design.factors if one.key == OFFSET), ())
        return ranks_of(self.bases, [one.key for one in self.design.factors], offsets)

    @cached_property
    def cells(self) -> dict[str, dict[str, np.ndarray]]:
        """For each factor with listed values, by its key, its columns: a cell for each value, SI."""
        found = {}
        for one in self.design.factors:
            if one.span is not None or one.key in (FIELD, MACHINE):
                continue
            if one.key == END_ANGLE:
                found[one.key] = {"field_end_angle_rad": np.array(one.values)}
            elif all(type(value) is float for value in one.values):
                # Thousands of plain numbers: the column at once.
                name = column_name(one.key, self.bases[0].machine)
                found[one.key] = {name: np.array(one.values)}
            else:
                written = columns_of(one.key, one.values, self.bases[0])
                names = dict.fromkeys(name for cells in written for name in cells)
                found[one.key] = {name: as_column([cells.get(name) for cells in written]) for name in names}
        return found

    @cached_property
    def columns(self) -> list[Column]:
        """Columns of its table."""
        found = [Column("case", "count", "", "number of the combination, as the grid or sample names it")]
        found.append(Column("field", "text", "", "field"))
        found.append(Column("machine", "text", "", "machine"))
        for one in self.design.factors:
            if one.key in (FIELD, MACHINE):
                continue
            words = f"input: {one.key}"
            if one.span is not None:
                name = self.column_of(one)
                found.append(Column(name, "number", unit_of(name), words))
                continue
            for name, column in self.cells[one.key].items():
                kind = {"f": "number", "i": "count"}.get(column.dtype.kind, "text")
                found.append(Column(name, kind, unit_of(name) if kind == "number" else "", words))
        return found + result_columns(self.ranks)

    def column_of(self, one: Factor) -> str:
        """Name the first column of a factor.

        Parameters
        ----------
        one : Factor
            One of the design's.

        Returns
        -------
        str
            As it stands in the table.
        """
        if one.key in (FIELD, MACHINE):
            return one.key
        if one.key == END_ANGLE:
            return "field_end_angle_rad"
        return column_name(one.key, self.bases[0].machine) if one.span else next(iter(self.cells[one.key]))

    @cached_property
    def sha256(self) -> str:
        """Fingerprint of everything that bears on its results, the fields of files and the code aside."""
        machine = self.bases[0].machine
        told = []
        for one in self.design.factors:
            values = one.values
            if one.key not in (FIELD, MACHINE, END_ANGLE):
                kind = kind_of(one.key, machine)
                # Numbers are written to the last bit as they are.
                values = tuple(v if type(v) in (int, float) else kind.write(v) for v in values)
            told.append([one.key, values, one.span])
        bases = []
        for base in self.bases:
            inputs = base.to_inputs()
            for name in ("title", "name", "about", "units", "field", "basis", "assumed", "sweep"):
                inputs.pop(name)
            bases.append([inputs, base.field.sha256()])
        design = [self.design.method, self.design.size, self.design.seed, self.chunk]
        return _hash([bases, list(self.machines), told, design])

    def key(self, chunk: int) -> str:
        """Take the fingerprint of everything that bears on a chunk's results, the code aside.

        Parameters
        ----------
        chunk : int
            From 0.

        Returns
        -------
        str
            SHA-256, hexadecimal.
        """
        own: list[str] = []
        if self.fields is not None:
            # The field is the first factor: those of a chunk follow one another.
            numbers = np.unique(self.design.rows(self.positions(chunk))[:, 0]).astype(int).tolist()
            own = [f"{self.fields.names[n]} {self.fields.fingerprint(n)}" for n in numbers]
        return _hash([self.sha256, chunk, own])

    def to_dict(self) -> dict[str, Any]:
        """Tell what is studied.

        Returns
        -------
        dict
            JSON types only.
        """
        return {
            "title": self.title,
            "cases": len(self),
            "fields": len(self.fields) if self.fields is not None else 1,
            "machines": list(self.machines),
            "factors": {one.key: len(one.values) or list(one.span or ()) for one in self.design.factors},
            "sample": {
                "method": self.design.method, "size": self.design.size, "seed": self.design.seed,
            },
            "sha256": self.sha256,
        }  # fmt: skip


def _hash(values: Any) -> str:
    text = json.dumps(values, sort_keys=True, ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()
