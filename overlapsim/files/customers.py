"""A sheet of customers: a line for each planter and field, a pair of files for each line."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path

from overlapsim.basics.errors import Fault, FolderError, InputError
from overlapsim.basics.units import UNITS
from overlapsim.files.asked import BY_KEY, QUESTIONS
from overlapsim.files.asked_answers import Answers
from overlapsim.files.asked_files import write_pair
from overlapsim.files.asked_reading import take_all, unit_of
from overlapsim.files.sheets import (
    find_head,
    name_and_unit,
    numbered_lines,
    sheet_text,
    split_cells,
    with_unit,
)
from overlapsim.scenario.kinds import Slip
from overlapsim.scenario.quantities import Measure, PerName
from overlapsim.scenario.slips import hint

__all__ = ["Customer", "Customers", "read_customers", "template", "write_customers"]

_NAME = "name"
_DEVICES = "con|prn|aux|nul|com[1-9]|lpt[1-9]"


@dataclass(frozen=True)
class Customer:
    """One sound line.

    Attributes
    ----------
    line : int
        Its number, from 1.
    name : str
        Name of its files.
    answers : Answers
        What it says.
    doubts : tuple of str
        What is odd about it, a sentence each.
    """

    line: int
    name: str
    answers: Answers
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Customers:
    """What stands in a sheet.

    Attributes
    ----------
    sound : tuple of Customer
        Lines that files can be made of.
    faults : tuple of Fault
        What is wrong with the others.
    not_read : tuple of str
        Columns that nobody asked for.
    """

    sound: tuple[Customer, ...]
    faults: tuple[Fault, ...]
    not_read: tuple[str, ...] = ()


def read_customers(path: Path) -> Customers:
    """Read a sheet of customers.

    Parameters
    ----------
    path : Path
        A CSV file; names of fields' files are counted from its folder.

    Returns
    -------
    Customers
        Sound lines, and what is wrong with the others.

    Raises
    ------
    InputError
        If the sheet as a whole cannot be read.
    """
    name = str(path)
    text = sheet_text(path, name, "sheet of customers", "A line for each planter and field: is it a log?")
    if isinstance(text, Fault):
        raise InputError(text)
    lines = numbered_lines(text)
    first, head, mark = find_head(
        lines, name, lambda cells: len(_columns(cells)[0]), "overlapsim new --template writes one to fill in."
    )
    columns, units, slips, others = _columns(head)
    if slips:
        raise InputError(
            [Fault(slip.rule, slip.remedy, slip.at[0], slip.value or "", name, first) for slip in slips]
        )
    sound, faults = [], []
    for number, line in lines:
        parts = split_cells(line, mark)
        if number <= first or not any(parts):
            continue
        if any(parts[len(head) :]):
            rule = f"has {len(parts)} cells, {len(head)} columns have names"
            remedy = 'Write decimals with a point, or put the cell in quotes: "7,5".'
            faults.append(Fault(rule, remedy, file=name, line=number))
            continue
        cells = {key: parts[i] for key, i in columns.items() if i < len(parts) and parts[i]}
        one = _customer(number, cells, units, path.parent)
        if isinstance(one, Customer):
            sound.append(one)
        else:
            faults += [Fault(s.rule, s.remedy, key.replace("-", " "), v, name, number) for key, v, s in one]
    if not sound and not faults:
        raise InputError(Fault("holds no line below its names", "Write one for each planter.", file=name))
    return replace(_told_apart(sound, faults, name), not_read=tuple(others))


def _columns(cells: list[str]) -> tuple[dict[str, int], dict[str, str], list[Slip], list[str]]:
    """Read the line of names: places, units, what is wrong, and what nobody asked for."""
    places: dict[str, int] = {}
    units: dict[str, str] = {}
    slips: list[Slip] = []
    others: list[str] = []
    known = [*(key.replace("-", " ") for key in BY_KEY), _NAME]
    for i, cell in enumerate(cells):
        said, unit = name_and_unit(cell)
        key = said.replace(" ", "-")
        if not said or said in ("note", "notes"):
            continue
        if said.replace("-", " ") not in known:
            # Customers' sheets hold more than planters: only what looks like a slip is one.
            if get_close_matches(said, known, n=1, cutoff=0.7):
                slips.append(Slip("no such column", hint(said, known), (said,)))
            else:
                others.append(said)
        elif key in places:
            slips.append(Slip("there are two columns of this name", "Take one of them out.", (said,)))
        else:
            places[key] = i
            if unit and key in BY_KEY:
                dimension = _dimension(key)
                if not dimension or unit.lower() not in UNITS[dimension]:
                    rule = f"no such unit of {dimension}: {unit}" if dimension else f"has no unit: {unit}"
                    slips.append(Slip(rule, f'Write "{_heading(key)}".', (said,)))
                units[key] = unit
    if places and "front" not in places:
        slips.append(Slip("this column is missing", f'Add "{_heading("front")}".', ("front",)))
    return places, units, slips, others


def _dimension(key: str) -> str:
    kind = BY_KEY[key].kind
    kind = kind.each if isinstance(kind, PerName) else kind
    return kind.dimension if isinstance(kind, Measure) else ""


def _heading(key: str) -> str:
    unit = unit_of(BY_KEY[key], True)
    return key.replace("-", " ") + (f" ({unit})" if unit else "")


def _customer(
    line: int, cells: Mapping[str, str], units: Mapping[str, str], base: Path
) -> Customer | list[tuple[str, str, Slip]]:
    """Read one line."""
    given, slips = {}, []
    for key, text in cells.items():
        if key == _NAME:
            continue
        try:
            given[key] = with_unit(text, _dimension(key), units[key]) if key in units else text
        except Slip as slip:
            slips.append((key, text, slip))
    taken = take_all(given, base)
    read_wrong = {key for key, _, _ in slips}
    slips += [one for one in taken.slips if one[0] not in read_wrong]
    if slips:
        return slips
    said = tuple(f"{key.replace('-', ' ')} = {text}  {odd}" for key, text, odd in taken.doubts)
    return Customer(line, cells.get(_NAME, "") or _name(taken.answers, line), taken.answers, said)


def _name(answers: Answers, line: int) -> str:
    """Name the files of a line after its customer and its field."""
    field = Path(answers.text("field")).stem if answers.has("field") else ""
    wanted = answers.given.get("which-field", "")
    parts = (answers.text("customer"), field, "" if wanted == "all" else wanted)
    words = [word for part in parts for word in re.findall(r"[a-z0-9]+", _plain(part))]
    return "-".join(words)[:80].strip("-") or f"line-{line}"


def _plain(text: str) -> str:
    """Leave out accents and the like: names of files travel."""
    return unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()


def _told_apart(sound: list[Customer], faults: list[Fault], sheet: str) -> Customers:
    """Take out lines that would share files, or whose name is none."""
    lines: dict[str, list[int]] = {}
    for one in sound:
        lines.setdefault(one.name.casefold(), []).append(one.line)
    kept = []
    for one in sound:
        others = [line for line in lines[one.name.casefold()] if line != one.line]
        if not re.fullmatch(r"\w[\w .-]*", one.name):
            rule, remedy = "is no name of a file", "Use letters, figures, blanks, - and _."
        elif re.fullmatch(_DEVICES, one.name.split(".")[0].strip(), re.IGNORECASE):
            rule, remedy = "is a device's name on some machines", f'Write another into a column "{_NAME}".'
        elif others:
            rule = f"the same name as line {', '.join(map(str, others))}"
            remedy = f'Add a column "{_NAME}" that tells them apart.'
        else:
            kept.append(one)
            continue
        faults.append(Fault(rule, remedy, _NAME, one.name, sheet, one.line))
    return Customers(tuple(kept), tuple(sorted(faults, key=lambda fault: fault.line or 0)))


def write_customers(found: Customers, folder: Path, sheet: str) -> tuple[list[Path], list[Fault]]:
    """Write a pair of files for each sound line; one that cannot be written does not stop the others.

    Parameters
    ----------
    found : Customers
        What stands in the sheet.
    folder : Path
        Where scenarios go.
    sheet : str
        How people call the sheet.

    Returns
    -------
    tuple
        Scenarios that are there now, and what is wrong with the lines that have none.
    """
    written, faults = [], list(found.faults)
    for one in found.sound:
        path = folder / f"{one.name}.toml"
        try:
            write_pair(one.answers, path)
        except FolderError as error:
            faults += [
                Fault(fault.rule, fault.remedy, _NAME, fault.file, sheet, one.line) for fault in error.faults
            ]
        except OSError as error:
            why = f"cannot be written ({error.strerror})"
            faults.append(Fault(why, "Check folder and name.", _NAME, path.name[:80], sheet, one.line))
        else:
            written.append(path)
    return written, sorted(faults, key=lambda fault: fault.line or 0)


def template() -> str:
    """Write a sheet to fill in.

    Returns
    -------
    str
        A comment for each column, their names, and no line yet.
    """
    about = [
        f"# {question.key.replace('-', ' ')}: {question.words}"
        + (" " if question.words.endswith("?") else ". ")
        + question.how
        + ("" if question.default else " Must be filled in where there is such a rank.")
        for question in QUESTIONS
    ]
    names = ",".join([_NAME, *(_heading(question.key) for question in QUESTIONS)])
    return "\n".join(
        [
            "# A line for each planter and field. An empty cell takes the usual value, marked as assumed.",
            "# A number takes the unit in its column's name; another is written behind it, as in 2.13 m.",
            f"# {_NAME}: of the files that are written. Empty = customer and field.",
            *about,
            names,
            "",
        ]
    )
