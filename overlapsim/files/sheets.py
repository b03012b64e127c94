"""Sheets as people keep them: comma, semicolon or tab, decimal commas, comments, whatever encoding."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator
from pathlib import Path

from overlapsim.basics.errors import Fault, InputError
from overlapsim.basics.units import UnitError, exact
from overlapsim.files.toml_text import decode, nearest
from overlapsim.scenario.kinds import Slip

__all__ = [
    "LARGEST",
    "find_head",
    "name_and_unit",
    "numbered_lines",
    "sheet_text",
    "split_cells",
    "with_unit",
]

LARGEST = 40_000_000
"""Bytes: half a million lines; nobody has typed so many."""

_HEADING = re.compile(r"(?P<name>[^(\[]*?)\s*(?:[(\[]\s*(?P<unit>[^)\]]*?)\s*[)\]])?\s*")
_COMMA = re.compile(r"(?P<whole>[+-]?\s*\d+),(?P<part>\d+)(?P<unit>\D*)")


def sheet_text(path: Path, name: str, what: str, too_large: str) -> str | Fault:
    """Read a sheet as text, or say why it cannot be read.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        How people call it.
    what : str
        What it should be, as in ``"sheet of digs"``.
    too_large : str
        A remedy for one that no person has typed.

    Returns
    -------
    str or Fault
        Text with plain line ends.
    """
    if path.is_dir():
        return Fault(f"is a folder, not a {what}", "Name a CSV file in it.", file=name)
    try:
        if path.stat().st_size > LARGEST:
            return Fault("is larger than 40 MB", too_large, file=name)
        raw = path.read_bytes()
    except FileNotFoundError:
        return Fault("no such file", nearest(path, "*.csv"), file=name)
    except OSError as error:
        return Fault(f"cannot be read ({error.strerror})", "Check its name and permissions.", file=name)
    if raw.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        return Fault("is a workbook, not a CSV file", "Save the sheet as CSV.", file=name)
    return decode(raw, name)


def numbered_lines(text: str) -> list[tuple[int, str]]:
    """Number the lines, from 1, and leave out those that say nothing.

    Parameters
    ----------
    text : str
        With plain line ends.

    Returns
    -------
    list of (int, str)
        No blank lines, no comments.
    """
    numbered = enumerate(text.split("\n"), 1)
    return [(i, line) for i, line in numbered if line.strip() and not line.lstrip(' "').startswith("#")]


def split_cells(line: str, separator: str) -> list[str]:
    """Split one line into cells.

    Parameters
    ----------
    line : str
        By itself: an inch mark that opens a cell must not swallow the lines below.
    separator : str
        One sign.

    Returns
    -------
    list of str
        Without blanks around them.
    """
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=separator), [])]
    except csv.Error:
        # A cell longer than any that the reader takes: one cell, which no column has a reading for.
        return [line[:80]]


def find_head(
    lines: list[tuple[int, str]], name: str, known: Callable[[list[str]], int], remedy: str
) -> tuple[int, list[str], str]:
    """Find the line of names, and what parts the cells: whatever finds most of the columns.

    Parameters
    ----------
    lines : list of (int, str)
        From `numbered_lines`.
    name : str
        How people call the sheet.
    known : callable
        Counts the columns that it knows among some cells.
    remedy : str
        What to do with an empty sheet.

    Returns
    -------
    tuple
        Number of the line, its cells, and the sign between cells.

    Raises
    ------
    InputError
        If there is no line.
    """
    rest: Iterator[tuple[int, str]] = iter(lines)
    for number, line in rest:
        # Some spreadsheets say in a line of its own what parts the cells.
        if line.lower().startswith("sep="):
            continue
        tried = {mark: split_cells(line, mark) for mark in ",;\t"}
        mark = max(tried, key=lambda one: known(tried[one]))
        return number, tried[mark], mark
    raise InputError(Fault("is empty", remedy, file=name))


def name_and_unit(cell: str) -> tuple[str, str]:
    """Part the name of a column from the unit behind it.

    Parameters
    ----------
    cell : str
        A cell of the line of names.

    Returns
    -------
    tuple of str
        Name in small letters with single blanks, and unit; the unit empty where there is none.

    Examples
    --------
    >>> name_and_unit("Past_line (in)"), name_and_unit("row")
    (('past line', 'in'), ('row', ''))
    """
    found = _HEADING.fullmatch(cell)
    name, unit = (found["name"], found["unit"]) if found else (cell, "")
    return " ".join(name.lower().replace("_", " ").split()), unit or ""


def with_unit(text: str, dimension: str, unit: str, remedy: str = "") -> str:
    """Give a number the unit of its column or question, unless it has its own.

    Parameters
    ----------
    text : str
        As written; a decimal comma becomes a point.
    dimension : str
        As in `overlapsim.basics.units`.
    unit : str
        Unit of bare numbers; empty = none is known.
    remedy : str
        What to do where none is known.

    Returns
    -------
    str
        With a unit.

    Raises
    ------
    Slip
        If it cannot be read.

    Examples
    --------
    >>> with_unit("7 1/2", "length", "in"), with_unit("2,13 m", "length", "cm")
    ('7 1/2 in', '2.13 m')
    """
    text = _decimal_point(text)
    try:
        exact(text, dimension)
    except UnitError as error:
        if error.rule != "needs a unit":
            raise Slip(error.rule, error.remedy) from None
        if not unit:
            raise Slip(error.rule, remedy) from None
        return f"{text} {unit}"
    return text


def _decimal_point(text: str) -> str:
    """Read a decimal comma; refuse one that may part thousands."""
    found = _COMMA.fullmatch(text)
    if not found:
        return text
    if len(found["part"]) == 3 and found["whole"].strip("+- ") != "0":
        whole, part = found["whole"], found["part"]
        raise Slip(
            "the comma may be a decimal one or part thousands", f"Write {whole}.{part} or {whole}{part}."
        )
    return f"{found['whole']}.{found['part']}{found['unit']}"
