"""A sheet of digs, as people fill it in: comma or semicolon, decimal comma, inches as ``4 1/2``, comments."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from overlapsim.basics.errors import Fault, InputError
from overlapsim.files.dig_cells import COLUMNS, MAY_BE_MISSING, Cells, Header
from overlapsim.files.toml_text import decode, nearest
from overlapsim.questions.digs import Dig
from overlapsim.scenario.scenario import Scenario

LARGEST = 40_000_000
"""Bytes: half a million digs; nobody has dug so many."""

MOST_FAULTS = 40
"""Faults that are said one by one; a screenful."""

FEWEST = 2
"""Digs that tell anything: where one seed lies is chance."""

_EXAMPLE = "on,front,3,out,5,12 1/2,headland row"


@dataclass(frozen=True)
class Sheet:
    """What stands in a sheet.

    Attributes
    ----------
    digs : tuple of Dig
        Lines that hold a distance.
    not_dug : int
        Lines without one.
    not_read : tuple of str
        Columns that nobody asked for.
    """

    digs: tuple[Dig, ...]
    not_dug: int
    not_read: tuple[str, ...]

    @property
    def notes(self) -> list[str]:
        """What to tell people about what was left out, one sentence each."""
        said = []
        if self.not_dug:
            said.append(f"{_count(self.not_dug)} without a distance left out.")
        if self.not_read:
            said.append(f"Columns that are not read: {', '.join(self.not_read)}.")
        return said


def load_digs(path: str | os.PathLike[str], scenario: Scenario) -> list[Dig]:
    """Read a sheet of digs.

    Parameters
    ----------
    path : path
        A CSV file: columns `end` (on, off), `rank`, `row` (may be empty), `direction` (out, back), `speed
        (mph)`, `past line (in)` (positive = farther along the way of travel; any unit in the brackets) and
        `from` (line, headland row, flag).
    scenario : Scenario
        Whose machine was dug behind.

    Returns
    -------
    list of Dig
        In the sheet's order; lines without a distance are left out.

    Raises
    ------
    InputError
        With one fault per line for everything that is wrong.

    Examples
    --------
    >>> import tempfile
    >>> from overlapsim import Scenario
    >>> scenario = Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "2 m"}}},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0.4 s", "turn_off_time": "0.3 s"},
    ... })
    >>> sheet = Path(tempfile.mkdtemp(), "digs.csv")
    >>> _ = sheet.write_text("end;rank;row;direction;speed (m/s);past line (cm);from\\n"
    ...                      "on;bar;3;out;2,5;12,5;line\\noff;bar;3;back;2,5;-3;line\\n")
    >>> [(dig.end, dig.speed, dig.past) for dig in load_digs(sheet, scenario)]
    [('on', 2.5, 0.125), ('off', 2.5, -0.03)]
    """
    return list(read_sheet(path, scenario).digs)


def read_sheet(path: str | os.PathLike[str], scenario: Scenario) -> Sheet:
    """Read a sheet of digs, and say what was left out.

    Parameters
    ----------
    path : path
        As `load_digs` takes it.
    scenario : Scenario
        Whose machine was dug behind.

    Returns
    -------
    Sheet
        Its digs.

    Raises
    ------
    InputError
        With one fault per line for everything that is wrong.
    """
    name = str(path)
    text = _text(Path(path), name)
    if isinstance(text, Fault):
        raise InputError(text)
    return sheet_of(text, name, scenario)


def sheet_of(text: str, name: str, scenario: Scenario) -> Sheet:
    """Read the text of a sheet of digs.

    Parameters
    ----------
    text : str
        With a line of column names.
    name : str
        How people call it.
    scenario : Scenario
        Whose machine was dug behind.

    Returns
    -------
    Sheet
        Its digs.

    Raises
    ------
    InputError
        With one fault per line for everything that is wrong.
    """
    lines = _lines(text)
    first, head, separator = _head(lines, name)
    header = Header.read(head)
    faults = [Fault(s.rule, s.remedy, s.at[0], s.value or "", name, first) for s in header.slips]
    # What the other columns hold is looked at all the same: nobody likes to come back for each fault.
    lost = frozenset(s.at[0] for s in header.slips)
    if lost >= {column for column in COLUMNS if column not in MAY_BE_MISSING}:
        raise InputError(faults)
    cells, digs, not_dug = Cells(scenario, header.units, lost), [], 0
    for number, line in lines:
        parts = _split(line, separator)
        if number <= first or not any(parts):
            continue
        if any(parts[len(head) :]):
            faults.append(
                Fault(
                    f"has {len(parts)} cells, {len(head)} columns have names",
                    'Write decimals with a point, or put the cell in quotes: "4,5".',
                    file=name,
                    line=number,
                )
            )
            continue
        named = {column: parts[i] if i < len(parts) else "" for column, i in header.place.items()}
        if "past line" not in lost and not named["past line"]:
            not_dug += 1
            continue
        found, slips = cells.dig(named, number)
        faults += [Fault(s.rule, s.remedy, s.at[0], s.value or "", name, number) for s in slips]
        digs += [found] if found else []
    _refuse(faults, len(digs), not_dug, name)
    return Sheet(tuple(digs), not_dug, header.not_read)


def _count(lines: int) -> str:
    return f"{lines:,} line{'' if lines == 1 else 's'}"


def _text(path: Path, name: str) -> str | Fault:
    """Read the file as text, or say why it cannot be read."""
    if path.is_dir():
        return Fault("is a folder, not a sheet of digs", "Name a CSV file in it.", file=name)
    try:
        if path.stat().st_size > LARGEST:
            return Fault("is larger than 40 MB", "Digs come by the dozen: is it a log?", file=name)
        raw = path.read_bytes()
    except FileNotFoundError:
        return Fault("no such file", nearest(path, "*.csv"), file=name)
    except OSError as error:
        return Fault(f"cannot be read ({error.strerror})", "Check its name and permissions.", file=name)
    if raw.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        return Fault("is a workbook, not a CSV file", "Save the sheet as CSV.", file=name)
    return decode(raw, name)


def _lines(text: str) -> list[tuple[int, str]]:
    """Number the lines, from 1, and leave out those that say nothing."""
    numbered = enumerate(text.split("\n"), 1)
    return [(i, line) for i, line in numbered if line.strip() and not line.lstrip(' "').startswith("#")]


def _split(line: str, separator: str) -> list[str]:
    # Line by line: an inch mark that opens a cell must not swallow the lines below.
    return [cell.strip() for cell in next(csv.reader([line], delimiter=separator), [])]


def _head(lines: list[tuple[int, str]], name: str) -> tuple[int, list[str], str]:
    """Find the line of names, and what parts the cells: whatever finds most of the columns."""
    rest: Iterator[tuple[int, str]] = iter(lines)
    for number, line in rest:
        # Some spreadsheets say in a line of its own what parts the cells.
        if line.lower().startswith("sep="):
            continue
        tried = {mark: _split(line, mark) for mark in ",;\t"}
        mark = max(tried, key=lambda one: len(Header.read(tried[one]).place))
        return number, tried[mark], mark
    remedy = f'Begin with the line "{",".join(COLUMNS)}", then a line for each dig.'
    raise InputError(Fault("is empty", remedy, file=name))


def _refuse(faults: list[Fault], count: int, not_dug: int, name: str) -> None:
    """Raise all faults at once; with none, see that there are enough digs."""
    if len(faults) > MOST_FAULTS:
        more = len(faults) - MOST_FAULTS
        faults = [
            *faults[:MOST_FAULTS],
            Fault(f"and {more:,} more of the kind", "Mend these first.", file=name),
        ]
    elif not faults and count < FEWEST:
        blank = f"; {_count(not_dug)} without a distance" if not_dug else ""
        rule = f"holds {'no dig' if not count else 'one dig'}{blank}"
        remedy = "Where one seed lies is chance: dig starts and stops, at least two of each."
        remedy += f' A line reads "{_EXAMPLE}".' if not count else ""
        faults = [Fault(rule, remedy, file=name)]
    if faults:
        raise InputError(faults)
