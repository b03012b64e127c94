"""The cases of one chunk of a study, worked out: cases that differ in settings only share a ledger."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from overlapsim.basics.errors import BalanceError, InputError, OverlapsimError
from overlapsim.basics.frames import Floats
from overlapsim.control import lap_ground, switched
from overlapsim.control.run import Simulation, simulate
from overlapsim.questions.search import EQUAL_GROUND, EQUAL_SHARE, Best, find_best, with_offset
from overlapsim.questions.study_columns import AREAS, ROW_ENDS
from overlapsim.questions.study_design import END_ANGLE, FIELD, MACHINE
from overlapsim.questions.study_plan import Study
from overlapsim.questions.study_reading import areas_read, sides_of
from overlapsim.questions.study_shape import shape_of
from overlapsim.questions.study_stagger import Stagger, matched_key
from overlapsim.questions.swept import OFFSET
from overlapsim.scenario.field import Field
from overlapsim.scenario.rows import row_layout
from overlapsim.scenario.scenario import Scenario

Columns = dict[str, list[Any] | np.ndarray]
"""Columns of a chunk by name."""


def compute_chunk(study: Study, chunk: int) -> Columns:
    """Work out the cases of a chunk: a function of its arguments and of nothing else.

    Parameters
    ----------
    study : Study
        What is studied.
    chunk : int
        From 0.

    Returns
    -------
    dict of str to list or ndarray, shape (cases,)
        Columns by the names in `study.columns`, SI units. A case that cannot be worked out has its reason
        in `error` and nothing else but its inputs.
    """
    # What other chunks left behind bears upon no digit of this one.
    switched.forget()
    work = _Chunk(study)
    positions = study.positions(chunk)
    rows = study.design.rows(positions)
    shared = np.array([one.key != OFFSET or bool(study.ranks) for one in study.design.factors])
    other = (rows[1:, shared] != rows[:-1, shared]).any(axis=1)
    for first, last in pairwise([0, *(np.flatnonzero(other) + 1).tolist(), len(rows)]):
        work.group(positions[first:last], rows[first:last])
    switched.forget()
    return work.columns()


class _Chunk:
    """Collects columns group by group, and keeps what groups of one field share."""

    def __init__(self, study: Study) -> None:
        self.study = study
        self.parts: dict[str, list[Any]] = {column.name: [] for column in study.columns}
        self.field: tuple[Any, Field | InputError] | None = None
        self.known: dict[Any, Stagger] = {}
        self.witnessed = False

    def columns(self) -> Columns:
        found: Columns = {}
        for column in self.study.columns:
            parts = self.parts[column.name]
            if column.kind == "text":
                found[column.name] = [text for part in parts for text in part]
            else:
                found[column.name] = np.concatenate(parts) if len(parts) > 1 else parts[0]
        return found

    def group(self, positions: range, rows: Floats) -> None:
        """Work out cases that differ in nothing but one reference offset."""
        told = self._inputs(positions, rows)
        # Crossings are the same to rounding whoever found them; ground along laps is not.
        lap_ground.forget()
        try:
            told |= self._results(rows)
        except (OSError, MemoryError):
            raise
        except Exception as error:
            if len(rows) > 1:
                for i in range(len(rows)):
                    self.group(positions[i : i + 1], rows[i : i + 1])
                return
            told["error"] = _words(error)
        for column in self.study.columns:
            self.parts[column.name].append(_filled(told.get(column.name), column.kind, len(rows)))

    def _inputs(self, positions: range, rows: Floats) -> dict[str, Any]:
        study = self.study
        told: dict[str, Any] = {"case": study.design.numbers(positions)}
        told["field"], told["machine"] = study.bases[0].field.name or "field", study.machines[0]
        for j, one in enumerate(study.design.factors):
            if one.key == FIELD:
                assert study.fields is not None
                told["field"] = study.fields.names[int(rows[0, j])]
            elif one.key == MACHINE:
                told["machine"] = study.machines[int(rows[0, j])]
            elif one.span is not None:
                told[study.column_of(one)] = rows[:, j]
            else:
                places = rows[:, j].astype(np.int64)
                for name, cells in study.cells[one.key].items():
                    told[name] = cells[places]
        return told

    def _results(self, rows: Floats) -> dict[str, Any]:
        factors = self.study.design.factors
        at = {one.key: one.value(row) for one, row in zip(factors, rows[0], strict=True)}
        base = self.study.bases[int(at.pop(MACHINE, 0))]
        changes = {key: value for key, value in at.items() if key not in (FIELD, END_ANGLE)}
        changes["field"] = self._field(base, at)
        scenario = base.with_(changes)
        place = next((j for j, one in enumerate(factors) if one.key == OFFSET), None)
        offsets: Any = [scenario.switching.reference_offset]
        if place is not None and not self.study.ranks:
            values, own = factors[place].values, rows[:, place]
            offsets = np.array(values, dtype=float)[own.astype(np.int64)] if values else own
        return self._figures(scenario, offsets, matched_key(base.name, rows[0].tolist(), factors))

    def _field(self, base: Scenario, at: dict[str, Any]) -> Field:
        """The field of a case; of one field after the other only the last is kept."""
        if self.study.fields is None and END_ANGLE not in at:
            return base.field
        key = (at.get(FIELD), at.get(END_ANGLE))
        if self.field is None or self.field[0] != key:
            self.known.clear()
            try:
                self.field = key, self._made(base, at)
            except InputError as error:
                self.field = key, error
        if isinstance(self.field[1], InputError):
            raise self.field[1]
        return self.field[1]

    def _made(self, base: Scenario, at: dict[str, Any]) -> Field:
        if self.study.fields is not None:
            return self.study.fields.get(int(at[FIELD]))
        return Field.rectangle(*sides_of(base.field), at[END_ANGLE], name=base.field.name)

    def _figures(self, own: Scenario, offsets: Any, matched: Any) -> dict[str, Any]:
        if own.plan.headland_laps and len(offsets) > 1:
            raise _OneByOne
        dealt = isinstance(own.switching.reference_offset, dict)
        middle = own if dealt else with_offset(own, _middle(own))
        found = find_best(middle)
        best = simulate(with_offset(middle, found.offset)) if found.run is None else found.run
        ledger = None if own.plan.headland_laps else found.ledgers.get("")
        if ledger is None:
            as_set, areas = simulate(own), {}
            best = _lower(best, as_set)
            areas = {name: as_set.areas[name] for name in AREAS}
        else:
            areas = areas_read(own, np.asarray(offsets, dtype=float), ledger)
        fixed = own.with_({"plan.heading": best.drive.heading})
        if matched not in self.known:
            lap_ground.forget()
            self.known[matched] = Stagger.of(fixed)
        stagger = self.known[matched]
        told: dict[str, Any] = {
            "plantable_m2": best.plantable_m2,
            **shape_of(own.field, best.drive.heading),
            "heading_rad": best.drive.heading,
            "pass_count": best.pass_count,
            "working_width_m": best.working_width_m,
            **{f"as_set_{name}": values for name, values in areas.items()},
            **{f"best_{name}": best.areas[name] for name in (*AREAS, *ROW_ENDS)},
            **_best(best, found),
            **{f"stagger_{name}": value for name, value in stagger.at_best.items()},
            **{f"as_set_stagger_{name}": value for name, value in stagger.as_set(offsets).items()},
        }
        if not self.witnessed:
            self.witnessed = True
            told["witness_relative_difference"] = [
                best.second_count, *[np.nan] * (len(offsets) - 1),
            ]  # fmt: skip
        return told


class _OneByOne(OverlapsimError):
    """With headland laps every setting is a full simulation of its own."""


def _middle(scenario: Scenario) -> float:
    """An offset that does not depend on the one entered: midway between the ranks, metres."""
    behind = row_layout(scenario).behind_pin
    return float(behind.min() + behind.max()) / 2


def _lower(best: Simulation, as_set: Simulation) -> Simulation:
    """With laps the search reads what lies between full simulations: today's offset may come out lower."""
    found, today = best.areas["combined_m2"], as_set.areas["combined_m2"]
    return as_set if today < found - max(EQUAL_SHARE * found, EQUAL_GROUND * best.plantable_m2) else best


def _best(best: Simulation, found: Best) -> dict[str, float]:
    offset = best.scenario.switching.reference_offset
    if not isinstance(offset, dict):
        assert isinstance(found.as_good, tuple)
        low, high = found.as_good
        good = (min(low, offset), max(high, offset))
        return {"best_reference_offset_m": offset, "as_good_low_m": good[0], "as_good_high_m": good[1]}
    told: dict[str, float] = {}
    for rank, value in offset.items():
        low, high = found.as_good[rank] if isinstance(found.as_good, dict) else (value, value)
        told |= {f"best_reference_offset_{rank}_m": value, f"as_good_low_{rank}_m": low}
        told[f"as_good_high_{rank}_m"] = high
    return told


def _words(error: Exception) -> str:
    if isinstance(error, InputError):
        return "; ".join(str(fault) for fault in error.faults)
    if isinstance(error, BalanceError):
        return f"a fault of overlapsim itself: the areas do not balance: {error}"
    return f"a fault of overlapsim itself: {type(error).__name__}: {error}"


def _filled(values: Any, kind: str, count: int) -> Any:
    """A column of one group; what there is none of is nan, 0 or empty."""
    if kind == "text":
        texts = values if isinstance(values, np.ndarray) else [values] * count
        return ["" if one is None else str(one) for one in texts]
    if values is None:
        values = 0 if kind == "count" else np.nan
    dtype = np.int64 if kind == "count" else np.float64
    return np.broadcast_to(np.asarray(values, dtype=dtype), (count,))
