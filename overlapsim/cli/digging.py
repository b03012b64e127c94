"""Digs from a sheet, or typed one after the other at prompts."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from overlapsim.cli.saying import say

if TYPE_CHECKING:
    from overlapsim.questions.digs import Dig
    from overlapsim.scenario.scenario import Scenario

AT_PROMPTS = "-"
"""Stands for a sheet where digs are typed in."""


def sheet_and_scenario(files: Sequence[str]) -> tuple[str, str]:
    """Tell which file is the sheet and which the scenario.

    Parameters
    ----------
    files : sequence of str
        As typed: the sheet and the scenario, or the scenario alone.

    Returns
    -------
    tuple of str
        Sheet (``"-"``: digs are typed in) and scenario.

    Raises
    ------
    UsageError
        With more than two files, or none.
    """
    if len(files) == 1:
        return AT_PROMPTS, files[0]
    if len(files) != 2:
        raise click.UsageError(
            "Name the sheet of digs and one scenario: overlapsim correct DIGS.csv SCENARIO."
        )
    sheet, scenario = files
    swapped = sheet.lower().endswith(".toml") and not scenario.lower().endswith(".toml")
    return (scenario, sheet) if swapped else (sheet, scenario)


def gather(
    scenario: Scenario,
    sheet: str,
    seed_spacing: str | None = None,
    tape_error: str | None = None,
    rank_distance: bool = False,
    drift: bool = False,
) -> dict[str, Any]:
    """Read digs and options of `correct`.

    Parameters
    ----------
    scenario : Scenario
        Whose machine was dug behind.
    sheet : str
        A file, or ``"-"`` for prompts.
    seed_spacing, tape_error : str or None
        Lengths as typed; a tape error of ``"none"`` leaves the tape out.
    rank_distance, drift : bool
        What is unknown too.

    Returns
    -------
    dict
        Arguments of `overlapsim.correct`.
    """
    from overlapsim.files.digs import read_sheet

    given = _trust(seed_spacing, tape_error) | {"rank_distance": rank_distance, "drift": drift}
    if sheet == AT_PROMPTS:
        return given | {"digs": asked_for(scenario)}
    read = read_sheet(sheet, scenario)
    for note in read.notes:
        say(f"{sheet}  {note}")
    return given | {"digs": read.digs}


def _trust(seed_spacing: str | None, tape_error: str | None) -> dict[str, Any]:
    """Read how far apart seeds lie and how well the tape is trusted."""
    given: dict[str, Any] = {}
    if seed_spacing is not None:
        given["seed_spacing"] = length_of("--seed-spacing", seed_spacing)
    if tape_error is not None and tape_error.strip().lower() == "none":
        given["trust_tape"] = False
    elif tape_error is not None:
        given["tape_error"] = length_of("--tape-error", tape_error)
    return given


def plan_options(
    scenario: Scenario,
    seed_spacing: str | None = None,
    tape_error: str | None = None,
    **more: Any,
) -> dict[str, Any]:
    """Read the options of `digplan`.

    Parameters
    ----------
    scenario : Scenario
        Whose machine is to be dug behind: its limits hold for speeds.
    seed_spacing, tape_error : str or None
        As for `gather`.
    **more : Any
        `minutes`, `rank_distance` and `drift` as they are; lengths, times and speeds as typed.

    Returns
    -------
    dict
        Arguments of `overlapsim.digplan`.

    Raises
    ------
    InputError
        If one of them cannot be read.
    """
    from overlapsim.basics.errors import Fault, InputError
    from overlapsim.scenario.keys import kind_of
    from overlapsim.scenario.kinds import Slip

    given = _trust(seed_spacing, tape_error)
    keys = {"slowest": "speed.working", "fastest": "speed.working", "time_within": "controller.time_step"}
    for name, value in more.items():
        flag = f"--{name.replace('_', '-')}"
        if value is None:
            continue
        if name in ("offset_within", "scatter"):
            given[name] = length_of(flag, value)
        elif name in keys:
            try:
                given[name] = kind_of(keys[name], scenario.machine).read(value, False)
            except Slip as slip:
                raise InputError(Fault(slip.rule, slip.remedy, flag, value)) from None
        else:
            given[name] = value
    return given


def length_of(flag: str, text: str) -> float:
    """Read a length that was typed as an option.

    Parameters
    ----------
    flag : str
        The option.
    text : str
        As typed, with its unit.

    Returns
    -------
    float
        Metres, above zero and at most 1 m.

    Raises
    ------
    InputError
        If it is no such length.
    """
    from overlapsim.basics.errors import Fault, InputError
    from overlapsim.basics.units import UnitError, parse

    try:
        value = parse(text, "length")
    except UnitError as error:
        raise InputError(Fault(error.rule, error.remedy, flag, text)) from None
    if not 0.0 < value <= 1.0:
        raise InputError(Fault("is not between nothing and 1 m", 'Write it as in "6 in".', flag, text))
    return value


def asked_for(scenario: Scenario) -> list[Dig]:
    """Ask for digs, one after the other; what was typed before is offered again.

    Parameters
    ----------
    scenario : Scenario
        Whose machine was dug behind.

    Returns
    -------
    list of Dig
        Those that were typed before an empty distance or the end of the input.
    """
    from overlapsim.files.dig_cells import COLUMNS, Cells

    us = scenario.units == "us"
    units = {"speed": "mph" if us else "km/h", "past line": "in" if us else "cm"}
    cells = Cells(scenario, units)
    ranks = scenario.machine.working_ranks
    offered = {"end": "on", "rank": ranks[0], "direction": "out", "speed": "", "from": "line"}
    order = [column for column in COLUMNS if column not in ("row", "past line")]
    order.append("past line")
    digs: list[Dig] = []
    say("A dig is asked for line by line; Enter takes what stands in brackets, an empty distance ends it.")
    while True:
        read: dict[str, Any] = {}
        typed: dict[str, str] = {}
        for column in order:
            text = _ask(len(digs) + 1, column, units, offered, cells, read)
            if text is None or (column == "past line" and not text):
                return digs
            typed[column] = text
        dig, _ = cells.dig(typed, len(digs) + 1)
        assert dig is not None  # each cell was read before it was kept
        digs.append(dig)
        offered |= {column: text for column, text in typed.items() if column != "past line"}


def _ask(
    number: int, column: str, units: dict[str, str], offered: dict[str, str], cells: Any, read: dict[str, Any]
) -> str | None:
    """Ask for one cell until it can be read; None at the end of the input."""
    from overlapsim.scenario.kinds import Slip

    hints = {"end": "on, off", "direction": "out, back", "from": "line, headland row, flag"}
    hint = units.get(column) or hints.get(column) or ", ".join(cells.machine.working_ranks)
    default = offered.get(column, "")
    while True:
        taken = f" [{default}]" if default else ""
        print(f"{number} {column} ({hint}){taken}: ", end="", file=sys.stderr, flush=True)
        line = sys.stdin.readline()
        if not line:
            return None
        text = line.strip() or default
        if column == "past line" and not text:
            return text
        try:
            read[column] = cells.read(column, text, read)
        except Slip as slip:
            say(f"{column} = {text}  {slip.rule}. {slip.remedy}")
            continue
        return text
