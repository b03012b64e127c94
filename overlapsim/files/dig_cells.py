"""The cells of a sheet of digs: names of columns with their units, and one reading for each column."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from overlapsim.basics.units import UNITS, UnitError, exact
from overlapsim.files.sheets import name_and_unit, with_unit
from overlapsim.questions.digs import ORIGINS, Dig
from overlapsim.scenario.keys import kind_of
from overlapsim.scenario.kinds import Slip
from overlapsim.scenario.quantities import Measure
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.slips import hint, listed

COLUMNS = ("end", "rank", "row", "direction", "speed", "past line", "from")
"""Columns of a sheet, in the order in which they are asked for."""

MAY_BE_MISSING = ("row",)
"""Columns that a sheet may leave out."""

BESIDES = ("dig", "should show", "note", "notes")
"""Columns that the recording sheet has for people; not read."""

MEASURED = {"speed": "speed", "past line": "length"}
"""Columns with a unit, and what it is a unit of."""

_USUAL = {"speed": "mph", "past line": "in"}
_ENDS = {"on": "on", "start": "on", "off": "off", "stop": "off"}
_DIRECTIONS = {"out": "out", "back": "back"}
# Farther along the way of travel is positive. At a start that is late, at a stop over the line.
_SIGNED = {
    "late": ("on", 1), "early": ("on", -1), "over": ("off", 1), "short": ("off", -1),
    "past": ("", 1), "beyond": ("", 1), "before": ("", -1),
}  # fmt: skip
_WITH_WORD = re.compile(rf"(?P<number>.*?)\s*\b(?P<word>{'|'.join(_SIGNED)})", re.IGNORECASE)
# Farther off than any working width of a single row: a slip of unit or end.
_PAST = Measure("length", -10.0, 10.0, likely=(0.005, 2.0), example="4 1/2 in")


@dataclass(frozen=True)
class Header:
    """The names of the columns.

    Attributes
    ----------
    place : dict of str to int
        Where each known column stands, from 0.
    units : dict of str to str
        Units of those that have one in brackets.
    not_read : tuple of str
        Columns that nobody asked for.
    slips : tuple of Slip
        What is wrong with them.
    """

    place: dict[str, int]
    units: dict[str, str]
    not_read: tuple[str, ...]
    slips: tuple[Slip, ...]

    @classmethod
    def read(cls, cells: list[str]) -> Header:
        """Read the line of names.

        Parameters
        ----------
        cells : list of str
            Its cells.

        Returns
        -------
        Header
            All that is wrong with it in `slips`.
        """
        place: dict[str, int] = {}
        units: dict[str, str] = {}
        others: list[str] = []
        slips: list[Slip] = []
        for i, cell in enumerate(cells):
            name, unit = name_and_unit(cell)
            if name not in COLUMNS:
                others += [name] if name and name not in BESIDES else []
                continue
            if name in place:
                slips.append(Slip("there are two columns of this name", "Take one of them out.", (name,)))
                continue
            place[name] = i
            if name in MEASURED and unit:
                if unit.lower() in UNITS[MEASURED[name]]:
                    units[name] = unit
                else:
                    remedy = f'Write it as in "{name} ({_USUAL[name]})".'
                    slips.append(Slip(f"no such unit of {MEASURED[name]}: {unit}", remedy, (name,)))
        missing = [name for name in COLUMNS if name not in place and name not in MAY_BE_MISSING]
        for name in missing:
            unit = f" ({_USUAL[name]})" if name in _USUAL else ""
            remedy = hint(name, others) if len(others) and _near(name, others) else ""
            first = f"Instead of {_near(name, others)}? " if remedy else ""
            slips.append(Slip("this column is missing", f'{first}Add "{name}{unit}".', (name,)))
        return cls(place, units, tuple(others), tuple(slips))


def _near(name: str, others: list[str]) -> str:
    """Find a column that was probably meant."""
    from difflib import get_close_matches

    return next(iter(get_close_matches(name, others, n=1, cutoff=0.6)), "")


class Cells:
    """Reads the cells of one line, or what is typed at a prompt.

    Parameters
    ----------
    scenario : Scenario
        Whose machine was dug behind.
    units : mapping of str to str
        Units of numbers that have none of their own, by column.
    lost : frozenset of str
        Columns whose names are at fault: their cells are not looked at, and no line becomes a dig.
    """

    def __init__(
        self, scenario: Scenario, units: Mapping[str, str], lost: frozenset[str] = frozenset()
    ) -> None:
        self.machine, self.units, self.lost = scenario.machine, units, lost

    def dig(self, named: Mapping[str, str], line: int) -> tuple[Dig | None, list[Slip]]:
        """Read one line.

        Parameters
        ----------
        named : mapping of str to str
            Cells by column.
        line : int
            Its number, from 1.

        Returns
        -------
        tuple
            The dig, or None with all that is wrong.
        """
        read: dict[str, Any] = {}
        slips = []
        for column in COLUMNS:
            if column in self.lost:
                continue
            try:
                read[column] = self.read(column, named.get(column, ""), read)
            except Slip as slip:
                slips.append(Slip(slip.rule, slip.remedy, (column,), named.get(column, "")))
        if slips or self.lost:
            return None, slips
        return (
            Dig(
                end=read["end"], rank=read["rank"], direction=read["direction"], speed=read["speed"],
                past=read["past line"], origin=read["from"], row=read["row"], line=line,
            ),
            [],
        )  # fmt: skip

    def read(self, column: str, text: str, before: Mapping[str, Any]) -> Any:
        """Read one cell.

        Parameters
        ----------
        column : str
            Its column.
        text : str
            As written.
        before : mapping
            What was read of this line already, by column.

        Returns
        -------
        str, int or float
            Speeds in m/s, distances in m, positive = farther along the way of travel.

        Raises
        ------
        Slip
            If it cannot be that.
        """
        text = text.strip()
        if column == "rank":
            return self._rank(text)
        if column == "row":
            return self._row(text, before.get("rank"))
        if column == "speed":
            return self._speed(text)
        if column == "past line":
            return self._past(text, before.get("end"))
        words = {"end": _ENDS, "direction": _DIRECTIONS, "from": {name: name for name in ORIGINS}}[column]
        found = words.get(" ".join(text.lower().replace("_", " ").split()))
        if found is None:
            rule = "is none of these" if text else "is empty"
            raise Slip(rule, f"Write {' or '.join(dict.fromkeys(words.values()))}.")
        return found

    def _rank(self, text: str) -> str:
        working = self.machine.working_ranks
        if not text and len(working) == 1:
            return working[0]
        ranks = {name.lower(): name for name in self.machine.ranks}
        # Sheets that we write put an apostrophe before what a spreadsheet would take for a formula.
        found = ranks.get(text.lower()) or ranks.get(text.lower().removeprefix("'"))
        if found is None:
            raise Slip("no such rank" if text else "is empty", f"This machine has: {listed(working)}.")
        if found not in working:
            raise Slip(f"does not work in row setup {self.machine.setup}", f"Working: {listed(working)}.")
        return found

    def _row(self, text: str, rank: str | None) -> int:
        if not text:
            return 0
        most = self.machine.ranks[rank].rows if rank else None
        whole = re.fullmatch(r"\d{1,9}(?:\.0*)?", text)
        row = int(float(text)) if whole else 0
        if row < 1 or (most and row > most):
            rule = "is no number of a row" if not whole else f"rank {rank} has rows 1 to {most}"
            raise Slip(rule, "Count from the left, from 1, or leave it empty.")
        return row

    def _speed(self, text: str) -> float:
        written = self._with_unit("speed", text)
        try:
            still = exact(written, "speed") == 0
        except UnitError:
            still = False
        if still:
            raise Slip("nobody plants standing still", "Write the speed at which the row started or stopped.")
        return float(kind_of("speed.working", self.machine).read(written, False))

    def _past(self, text: str, end: str | None) -> float:
        if text.lower() == "on the line":
            return 0.0
        sign, number = 1, text
        worded = _WITH_WORD.fullmatch(text)
        if worded:
            number, word = worded["number"].strip(), worded["word"].lower()
            own, sign = _SIGNED[word]
            if own and end and own != end:
                right = {"on": "late or early", "off": "over or short"}[end]
                kind = {"on": "a start", "off": "a stop"}[end]
                raise Slip(f"{word} contradicts {kind}", f"At {kind} write {right}, or a sign alone.")
            if re.match(r"[+\-−–]", number):
                raise Slip("holds a sign and a word for it", f"Write one of the two: {number} or {word}.")
        if re.match(r"[+\-−–]\s*[+\-−–]", number):
            raise Slip("holds two signs", "Positive = farther along the way of travel than the line.")
        return sign * float(_PAST.read(self._with_unit("past line", number), False))

    def _with_unit(self, column: str, text: str) -> str:
        """Give a number the unit of its column, unless it has its own."""
        example = f"{column} ({_USUAL[column]})"
        remedy = f'Write it into the name of the column: "{example}".'
        return with_unit(text, MEASURED[column], self.units.get(column, ""), remedy)
