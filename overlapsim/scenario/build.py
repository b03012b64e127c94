"""Read the machine's tables, and check that its ranks and setups can stand together."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from overlapsim.basics.errors import Fault
from overlapsim.basics.units import format_length
from overlapsim.scenario.kinds import FrozenDict
from overlapsim.scenario.machine import CLOSEST_ROWS, MOST_RANKS, MOST_ROWS, Machine, Rank, Setup
from overlapsim.scenario.rows import row_strips
from overlapsim.scenario.slips import hint, listed
from overlapsim.scenario.tables import Path, Read, fault, is_mended, read_table

__all__ = ["ALL", "read_machine"]

ALL = "all"
"""Name of the row setup of a machine that states none: every rank works."""

_TOP: Path = ("machine",)


def read_machine(raw: Any, *, si: bool = False) -> Read[Machine]:
    """Read a machine with everything that is wrong with it.

    Parameters
    ----------
    raw : dict
        Keys of a machine file, with ``setup`` and ``rows_off``.
    si : bool
        Bare numbers are SI already.

    Returns
    -------
    Read
        The machine, faults, and what was mended.
    """
    values = dict(raw) if isinstance(raw, Mapping) else raw
    ranks, setups = (
        ({}, {}) if not isinstance(values, dict) else (values.pop("ranks", None), values.pop("setups", None))
    )
    faults: list[Fault] = []
    mended: set[Path] = set()
    found = _read_ranks(ranks, faults, mended, si)
    working = _read_setups(setups, found, faults, mended, si)
    if isinstance(values, dict):
        values |= {"ranks": {}, "setups": {}}
        if "setup" not in values:
            values["setup"] = _only_setup(working, faults, mended)
    top = read_table(Machine, values, _TOP, si=si)
    machine = top.table.model_copy(update={"ranks": FrozenDict(found), "setups": FrozenDict(working)})
    faults += top.faults
    mended |= top.mended
    machine = _check_choice(machine, faults, mended)
    return Read(machine, faults, mended)


def _tables(raw: Any, name: str, faults: list[Fault], mended: set[Path]) -> dict[str, Any]:
    """Take the tables of ranks or setups by name."""
    path = (*_TOP, name)
    if raw is None or raw == {}:
        faults.append(fault(path, "is missing", f"Write [{name}.front] and its keys below."))
    elif not isinstance(raw, Mapping):
        faults.append(fault(path, "is not a table", f"Write [{name}.front] and its keys below.", raw))
    else:
        for key in raw:
            if not str(key).replace("_", "").replace("-", "").isalnum():
                rule = "a name of letters, figures, - and _ is wanted"
                faults.append(fault((*path, str(key)), rule, "Write it without blanks and points."))
        return {str(key): value for key, value in raw.items()}
    mended.add(path)
    return {}


def _read_ranks(raw: Any, faults: list[Fault], mended: set[Path], si: bool) -> dict[str, Rank]:
    """Read the ranks, and place those counted from the foremost one."""
    tables = _tables(raw, "ranks", faults, mended)
    path = (*_TOP, "ranks")
    if len(tables) > MOST_RANKS:
        faults.append(fault(path, f"{len(tables)} ranks, more than {MOST_RANKS}", "Leave the others out."))
    found = {}
    for name, table in tables.items():
        here = (*path, name)
        read = read_table(Rank, table, here, si=si)
        faults += read.faults
        mended |= read.mended
        rank = read.table
        pinned, counted = not math.isnan(rank.behind_pin), rank.behind_front is not None
        if not is_mended(read.mended, (*here, "behind_pin"), (*here, "behind_front")):
            if pinned and counted:
                rule = "says the same as behind_front"
                faults.append(fault((*here, "behind_pin"), rule, "Keep one of the two.", table["behind_pin"]))
            elif not pinned and not counted:
                faults.append(fault((*here, "behind_pin"), "is missing", 'Write behind_pin = "84 in".'))
                mended.add((*here, "behind_pin"))
        found[name] = rank
    if not found:
        found = {"front": Rank.model_validate({"rows": 1, "spacing": "30 in", "behind_pin": "84 in"})}
    return _placed(found, path, faults, mended)


def _placed(ranks: dict[str, Rank], path: Path, faults: list[Fault], mended: set[Path]) -> dict[str, Rank]:
    """Work out ``behind_pin`` where it is counted from the foremost rank, and see that none are swapped."""
    stated = [rank.behind_pin for rank in ranks.values() if not math.isnan(rank.behind_pin)]
    foremost = min(stated, default=math.nan)
    if not stated and not is_mended(mended, path):
        first = next(iter(ranks))
        rule = "no rank says how far it is behind the pin"
        faults.append(fault((*path, first), rule, 'Write behind_pin = "84 in" for the foremost rank.'))
        mended.add(path)
    foremost = foremost if stated else 2.0
    placed = {}
    for name, rank in ranks.items():
        behind = rank.behind_pin
        if rank.behind_front is not None:
            behind = foremost + rank.behind_front
        placed[name] = rank.model_copy(update={"behind_pin": foremost if math.isnan(behind) else behind})
    if "front" in placed and "rear" in placed:
        front, rear = placed["front"].behind_pin, placed["rear"].behind_pin
        paths = (*path, "front", "behind_pin"), (*path, "rear", "behind_pin")
        if rear < front and not is_mended(mended, *paths):
            rule = f"not behind ranks.front at {format_length(front)}"
            faults.append(fault(paths[1], rule, "Swapped?", format_length(rear)))
    return placed


def _read_setups(
    raw: Any, ranks: dict[str, Rank], faults: list[Fault], mended: set[Path], si: bool
) -> dict[str, Setup]:
    """Read the row setups; a machine without any works with all its ranks."""
    path = (*_TOP, "setups")
    if raw is None:
        return {ALL: Setup(ranks=tuple(ranks))}
    found = {}
    for name, table in _tables(raw, "setups", faults, mended).items():
        here = (*path, name)
        read = read_table(Setup, table, here, si=si)
        faults += read.faults
        mended |= read.mended
        setup = read.table
        unknown = [rank for rank in setup.ranks if rank not in ranks]
        if (*here, "ranks") in mended or (is_mended(mended, (*_TOP, "ranks")) and unknown):
            setup = setup.model_copy(update={"ranks": tuple(ranks)})
            mended.add(here)
        elif unknown or not setup.ranks:
            rule = f"no such rank: {listed(unknown)}" if unknown else "no rank works"
            remedy = hint(unknown[0], ranks) if unknown else f"This machine has: {listed(ranks)}."
            faults.append(fault((*here, "ranks"), rule, remedy, list(setup.ranks)))
            setup = setup.model_copy(update={"ranks": tuple(ranks)})
            mended.add(here)
        found[name] = setup
        _check_rows(name, setup, ranks, faults, mended)
    return found or {ALL: Setup(ranks=tuple(ranks))}


def _check_rows(
    name: str, setup: Setup, ranks: dict[str, Rank], faults: list[Fault], mended: set[Path]
) -> None:
    """See that the rows of one setup are not too many, not on one line, and fit the stated width."""
    here = (*_TOP, "setups", name)
    leaning = [(*_TOP, "ranks", rank) for rank in setup.ranks]
    if is_mended(mended, here, *leaning):
        return
    count = sum(ranks[rank].rows for rank in setup.ranks)
    if count > MOST_ROWS:
        faults.append(fault(here, f"{count} rows, more than {MOST_ROWS}", "Leave rows or ranks out."))
        return
    machine = Machine.model_construct(ranks=ranks, setups={name: setup})
    strips = row_strips(machine, name)
    gaps = np.diff(strips.right)
    if len(gaps) and gaps.min() < CLOSEST_ROWS:
        i = int(gaps.argmin())
        one, other = (f"{strips.rank[k]} {strips.number[k]}" for k in (i, i + 1))
        rule = f'rows "{one}" and "{other}" overlap: {format_length(float(gaps[i]))} apart'
        faults.append(
            fault((*here, "ranks"), rule, "Check spacing and right of these ranks.", list(setup.ranks))
        )
    elif setup.working_width is not None:
        lines = float(strips.right[-1] - strips.right[0])
        if setup.working_width < lines:
            rule = f"narrower than the outermost rows' own lines, {format_length(lines, 'ft-in')} apart"
            faults.append(
                fault(
                    (*here, "working_width"),
                    rule,
                    "Give the full width or leave it out.",
                    format_length(setup.working_width, "ft-in"),
                )
            )


def _only_setup(setups: dict[str, Setup], faults: list[Fault], mended: set[Path]) -> str:
    """Choose the row setup where there is no choice."""
    if len(setups) > 1:
        path = (*_TOP, "setup")
        faults.append(fault(path, "is missing", f"This machine has: {listed(setups)}."))
        mended.add(path)
    return next(iter(setups))


def _check_choice(machine: Machine, faults: list[Fault], mended: set[Path]) -> Machine:
    """See that the setup chosen and the rows switched off exist."""
    path, setups = (*_TOP, "setup"), machine.setups
    if machine.setup not in setups:
        if not is_mended(mended, path, (*_TOP, "setups")):
            faults.append(fault(path, f"this machine has: {listed(setups)}", "", machine.setup))
        mended.add(path)
        machine = machine.model_copy(update={"setup": next(iter(setups))})
    rows = [f"{name} {i + 1}" for name, rank in machine.ranks.items() for i in range(rank.rows)]
    off = (*_TOP, "rows_off")
    if is_mended(mended, off, (*_TOP, "ranks")):
        return machine
    unknown = [row for row in machine.rows_off if row not in rows]
    if unknown:
        rule = f"no such row: {', '.join(unknown)}"
        ends = ", ".join(f'"{name} 1" to "{name} {rank.rows}"' for name, rank in machine.ranks.items())
        faults.append(
            fault(off, rule, f"This machine has {ends}, counted from the left.", list(machine.rows_off))
        )
    working = [row for row in rows if row.rsplit(" ", 1)[0] in machine.setups[machine.setup].ranks]
    if working and not set(working) - set(machine.rows_off):
        faults.append(
            fault(
                off, "no row of the setup is left to plant", "Leave at least one on.", list(machine.rows_off)
            )
        )
    return machine
