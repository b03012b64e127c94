"""A sheet of digs, as people fill it in: comma or semicolon, decimal comma, inches as ``4 1/2``, comments."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from overlapsim.basics.errors import Fault, InputError
from overlapsim.files.dig_cells import COLUMNS, MAY_BE_MISSING, Cells, Header
from overlapsim.files.sheets import find_head, numbered_lines, sheet_text, split_cells
from overlapsim.questions.digs import Dig
from overlapsim.scenario.scenario import Scenario

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
    text = sheet_text(Path(path), name, "sheet of digs", "Digs come by the dozen: is it a log?")
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
    lines = numbered_lines(text)
    first, head, separator = find_head(
        lines,
        name,
        lambda cells: len(Header.read(cells).place),
        f'Begin with the line "{",".join(COLUMNS)}", then a line for each dig.',
    )
    header = Header.read(head)
    faults = [Fault(s.rule, s.remedy, s.at[0], s.value or "", name, first) for s in header.slips]
    # What the other columns hold is looked at all the same: nobody likes to come back for each fault.
    lost = frozenset(s.at[0] for s in header.slips)
    if lost >= {column for column in COLUMNS if column not in MAY_BE_MISSING}:
        raise InputError(faults)
    cells, digs, not_dug = Cells(scenario, header.units, lost), [], 0
    for number, line in lines:
        parts = split_cells(line, separator)
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
