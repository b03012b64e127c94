"""Read the machine's tables: ranks, the setups that they work in, and what is chosen of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from overlapsim.basics.errors import Fault
from overlapsim.basics.units import format_length
from overlapsim.scenario.common_steps import COMMON, COMMON_ADDED, COMMON_REMOVED
from overlapsim.scenario.kinds import FrozenDict
from overlapsim.scenario.machine import MOST_RANKS, Machine, Rank, Setup
from overlapsim.scenario.row_checks import check_rows, check_rows_off
from overlapsim.scenario.slips import hint, listed
from overlapsim.scenario.steps import read_steps
from overlapsim.scenario.tables import Path, Read, fault, is_lost, is_mended, read_table

__all__ = ["ALL", "read_machine"]

ALL = "all"
"""Name of the row setup of a machine that states none: every rank works."""

_TOP: Path = ("machine",)
_RANKS: Path = ("machine", "ranks")
_SETUPS: Path = ("machine", "setups")
_STAND_IN = {"rows": 1, "spacing": "30 in", "behind_pin": "84 in"}
"""A rank to look for further faults with, where there is none."""


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
    return _Builder(si).machine(raw)


class _Builder:
    """Reads one machine, and gathers faults on the way."""

    def __init__(self, si: bool) -> None:
        self.si = si
        self.faults: list[Fault] = []
        self.mended: set[Path] = set()

    def note(self, path: Path, rule: str, remedy: str = "", value: Any = None) -> None:
        """Note a fault."""
        self.faults.append(fault(path, rule, remedy, value))

    def take(self, read: Read[Any]) -> Any:
        """Take what was read, with its faults."""
        self.faults += read.faults
        self.mended |= read.mended
        return read.table

    def machine(self, raw: Any) -> Read[Machine]:
        """Read the whole machine."""
        if not isinstance(raw, Mapping):
            self.note(_TOP, "is not a table", "Write [machine] and file = 'machines/x.toml' below.", raw)
            stand_in = _Builder(self.si).machine({"ranks": {"front": _STAND_IN}})
            return Read(stand_in.table, self.faults, {_TOP})
        inside = {str(key): value for key, value in raw.items()}
        ranks = self.ranks(inside.pop("ranks", None))
        setups = self.setups(inside.pop("setups", None), ranks)
        steps = inside.pop("changeover", ())
        inside |= {"ranks": {}, "setups": {}}
        if "setup" not in inside:
            inside["setup"] = next(iter(setups))
            if len(setups) > 1:
                self.note((*_TOP, "setup"), "is missing", f"This machine has: {listed(setups)}.")
                self.mended.add((*_TOP, "setup"))
        top = self.take(read_table(Machine, inside, _TOP, si=self.si))
        setup = top.setup
        if setup not in setups:
            if not is_lost(self.mended, (*_TOP, "setup")) and not is_lost(self.mended, _SETUPS):
                self.note((*_TOP, "setup"), f"this machine has: {listed(setups)}", value=setup)
            self.mended.add((*_TOP, "setup"))
            setup = next(iter(setups))
        common = (*COMMON, *COMMON_ADDED, *COMMON_REMOVED)
        own, wrong = read_steps(steps, setups, common, self.mended, si=self.si)
        self.faults += wrong
        parts = {"changeover": own, "ranks": FrozenDict(ranks), "setups": FrozenDict(setups), "setup": setup}
        machine: Machine = top.model_copy(update=parts)
        self.faults += check_rows_off(machine, self.mended)
        return Read(machine, self.faults, self.mended)

    def tables(self, raw: Any, path: Path) -> dict[str, Any]:
        """Take the tables of ranks or setups by name."""
        kind = path[-1]
        if not isinstance(raw, Mapping) or not raw:
            rule = "is not a table" if raw else "is missing"
            self.note(path, rule, f"Write [{kind}.front] and its keys below.", raw or None)
            self.mended.add(path)
            return {}
        for name in raw:
            if not str(name).replace("_", "").replace("-", "").isalnum():
                rule = "is a name with blanks or points"
                self.note((*path, str(name)), rule, "Use letters, figures, - and _.")
        return {str(name): table for name, table in raw.items()}

    def ranks(self, raw: Any) -> dict[str, Rank]:
        """Read the ranks, and place those counted from the foremost one."""
        tables = self.tables(raw, _RANKS)
        if len(tables) > MOST_RANKS:
            self.note(_RANKS, f"{len(tables)} ranks, more than {MOST_RANKS}", "Leave the others out.")
        found = {name: self.rank(name, table) for name, table in tables.items()}
        if not found:
            return {"front": Rank.model_validate(_STAND_IN)}
        pinned = [rank.behind_pin for rank in found.values() if not math.isnan(rank.behind_pin)]
        if not pinned:
            first = next(iter(found))
            if not is_mended(self.mended, *((*_RANKS, name, "behind_pin") for name in found)):
                remedy = 'Write behind_pin = "84 in" for the foremost rank.'
                self.note((*_RANKS, first), "no rank says how far it is behind the pin", remedy)
            self.mended |= {(*_RANKS, name, "behind_pin") for name in found}
        foremost = min(pinned, default=0.0)
        placed = {}
        for name, rank in found.items():
            behind = rank.behind_pin if rank.behind_front is None else foremost + rank.behind_front
            placed[name] = rank.model_copy(update={"behind_pin": foremost if math.isnan(behind) else behind})
        self.not_swapped(placed, tables)
        return placed

    def rank(self, name: str, table: Any) -> Rank:
        """Read one rank."""
        here = (*_RANKS, name)
        rank: Rank = self.take(read_table(Rank, table, here, si=self.si))
        pinned, counted = not math.isnan(rank.behind_pin), rank.behind_front is not None
        if is_mended(self.mended, (*here, "behind_pin"), (*here, "behind_front")):
            self.mended.add((*here, "behind_pin"))
        elif pinned and counted:
            rule = "says the same as behind_front"
            self.note((*here, "behind_pin"), rule, "Keep one of the two.", table["behind_pin"])
        elif not pinned and not counted:
            self.note((*here, "behind_pin"), "is missing", 'Write behind_pin = "84 in".')
            self.mended.add((*here, "behind_pin"))
        return rank

    def not_swapped(self, ranks: Mapping[str, Rank], tables: Mapping[str, Any]) -> None:
        """See that the rear rank is not ahead of the front rank."""
        paths = (*_RANKS, "front", "behind_pin"), (*_RANKS, "rear", "behind_pin")
        if not {"front", "rear"} <= set(ranks) or is_mended(self.mended, *paths):
            return
        front, rear = ranks["front"].behind_pin, ranks["rear"].behind_pin
        if rear < front:
            where = tables["front"].get("behind_pin")
            text = where if isinstance(where, str) else format_length(front)
            written = tables["rear"].get("behind_pin", format_length(rear))
            self.note(paths[1], f"not behind ranks.front at {text}", "Swapped?", written)

    def setups(self, raw: Any, ranks: dict[str, Rank]) -> dict[str, Setup]:
        """Read the row setups; a machine without any works with all its ranks."""
        whole = Setup.model_construct(ranks=tuple(ranks))
        tables = {ALL: {"ranks": list(ranks)}} if raw is None else self.tables(raw, _SETUPS)
        found = {}
        for name, table in tables.items():
            here = (*_SETUPS, name)
            setup: Setup = self.take(read_table(Setup, table, here, si=self.si))
            unknown = [rank for rank in setup.ranks if rank not in ranks]
            if is_lost(self.mended, (*here, "ranks")) or (unknown and is_lost(self.mended, _RANKS)):
                setup = setup.model_copy(update={"ranks": whole.ranks})
                self.mended.add((*here, "ranks"))
            elif unknown or not setup.ranks:
                rule = f"no such rank: {listed(unknown)}" if unknown else "no rank works"
                remedy = hint(unknown[0], ranks) if unknown else f"This machine has: {listed(ranks)}."
                self.note((*here, "ranks"), rule, remedy, list(setup.ranks))
                setup = setup.model_copy(update={"ranks": whole.ranks})
                self.mended.add((*here, "ranks"))
            found[name] = setup
            self.faults += check_rows(name, setup, ranks, table, self.mended)
        return found or {ALL: whole}
