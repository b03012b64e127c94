"""The options of all commands: one table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

import click

Made = TypeVar("Made", bound=Callable[..., Any])


@dataclass(frozen=True)
class Option:
    """One option.

    Attributes
    ----------
    flag : str
        As it is typed.
    name : str
        Name of the argument that it fills.
    help : str
        One sentence.
    more : dict
        What else click is told.
    """

    flag: str
    name: str
    help: str
    more: dict[str, Any] = field(default_factory=dict)


OPTIONS = (
    Option(
        "--out",
        "out",
        "Folder for the results. Default: reports/ and the scenario's name. With several scenarios each gets "
        "a folder of its own in it.",
        {"metavar": "DIR", "type": click.Path(path_type=Path)},
    ),
    Option(
        "--units",
        "units",
        "Units of words and pictures. Default: the scenario's own.",
        {"type": click.Choice(["us", "metric"])},
    ),
    Option("--quiet", "quiet", "Print nothing but faults.", {"is_flag": True}),
    Option(
        "--json",
        "as_json",
        "Print result.json on standard output and nothing else there (of several scenarios: a list).",
        {"is_flag": True},
    ),
)

_WORKERS = Option(
    "--workers",
    "workers",
    "Processes that work side by side. Default: one for each core. The results are the same.",
    {"type": click.IntRange(1, 1024), "metavar": "N"},
)
_CARD = Option(
    "--card",
    "card",
    "Leave a settings card for the cab as well: card.pdf, one page.",
    {"is_flag": True},
)
_PAPER = Option(
    "--paper",
    "paper",
    "Paper of the settings card. Default: letter with inches, a4 with centimetres.",
    {"type": click.Choice(["letter", "a4"])},
)

TUNE_OPTIONS = (
    Option(
        "--also",
        "also",
        "Ask this besides, so that it stands in the same report: causes, patterns, changeover, digplan. With "
        "commas, or several times.",
        {"metavar": "QUESTION,...", "multiple": True},
    ),
    Option(
        "--digs",
        "digs",
        "A sheet of digs behind this machine: what it says stands in the same report.",
        {"metavar": "SHEET.csv"},
    ),
    Option(
        "--with-times",
        "with_times",
        "Search turn-on and turn-off time as well as the reference offset.",
        {"is_flag": True},
    ),
    Option(
        "--uncertain",
        "uncertain",
        "Draw what may be off, as [uncertain] states it, and say which offset is best on average and how "
        "sure that is. Without the table spreads are assumed, and marked.",
        {"is_flag": True},
    ),
    Option(
        "--draws",
        "draws",
        "How many draws, with --uncertain. Default: 2,000, or 200 where each is worked out for itself.",
        {"type": click.IntRange(2, 10_000), "metavar": "N"},
    ),
    Option(
        "--seed",
        "seed",
        "Chance of the draws, with --uncertain: the same seed draws the same. Default: 1.",
        {"type": click.IntRange(0), "metavar": "N"},
    ),
    _WORKERS,
    _CARD,
    _PAPER,
)
"""What `tune` takes besides."""

PATTERN_OPTIONS = (
    Option(
        "--heading",
        "headings",
        'A heading to try besides today\'s, as in "12 deg"; "auto" = along the long side. May be given '
        "several times. Default, without --headings-step: the long side, and square to today's.",
        {"metavar": "ANGLE", "multiple": True},
    ),
    Option(
        "--headings-step",
        "headings_step",
        'Try headings from 0 to 180 degrees in steps, as in "15 deg".',
        {"metavar": "ANGLE"},
    ),
    Option(
        "--laps",
        "laps",
        "A number of headland laps to try, before and after the passes. May be given several times. "
        "Default: 0 to 4.",
        {"type": click.IntRange(0, 6), "multiple": True},
    ),
    _WORKERS,
)
"""What `patterns` takes besides."""

_SEED_SPACING = Option(
    "--seed-spacing",
    "seed_spacing",
    'Seeds in the row, as in "6 in": half of it lies between where seed flows and where the first one is. '
        "Default: the scenario's [seed], or 6 in, marked ASSUMED.",
    {"metavar": "LENGTH"},
)
_TAPE_ERROR = Option(
    "--tape-error",
    "tape_error",
    'How far the taped distances may be wrong, as in "1/2 in": they then count as data, so that one speed '
    'settles both times; "none" leaves them out. Default: tune.as_good where [basis] says that all ranks '
    "are taped, else none.",
    {"metavar": "LENGTH"},
)

_DIG_OPTIONS = (
    _SEED_SPACING,
    _TAPE_ERROR,
    Option(
        "--rank-distance",
        "rank_distance",
        "Take the distances between ranks for unknown too.",
        {"is_flag": True},
    ),
    Option(
        "--drift",
        "drift",
        "Take a displacement along the passes for unknown too: opposite on the way back.",
        {"is_flag": True},
    ),
)
"""What is said of digs, made or planned."""

CORRECT_OPTIONS = (*_DIG_OPTIONS, _CARD, _PAPER)
"""What `correct` takes besides."""

PLAN_OPTIONS = (
    Option(
        "--minutes",
        "minutes",
        "Take no longer than so many minutes: the surest plan that fits. Default: as long as it takes.",
        {"metavar": "N", "type": click.FloatRange(1, 600)},
    ),
    Option(
        "--offset-within",
        "offset_within",
        'How far the 95 % interval of the offset error may reach to both sides. Default: "2 in".',
        {"metavar": "LENGTH"},
    ),
    Option(
        "--time-within",
        "time_within",
        'How far those of both latencies may reach. Default: "0.1 s".',
        {"metavar": "TIME"},
    ),
    Option(
        "--slowest", "slowest", "Slowest speed to drive. Default: 40 % below the working speed.",
        {"metavar": "SPEED"},
    ),
    Option(
        "--fastest", "fastest", "Fastest speed to drive. Default: 40 % above the working speed.",
        {"metavar": "SPEED"},
    ),
    Option(
        "--scatter",
        "scatter",
        "Standard deviation of one dig. Default: what seed spacing, a reading to 1/4 in and updates make.",
        {"metavar": "LENGTH"},
    ),
    *_DIG_OPTIONS,
)  # fmt: skip
"""What `digplan` takes besides."""


CHANGEOVER_OPTIONS = (
    Option(
        "--from", "old", "The row setup that the machine is in.", {"metavar": "SETUP", "required": True},
    ),
    Option("--to", "new", "The row setup that it is to have.", {"metavar": "SETUP", "required": True}),
    Option("--back", "back", "Price the steps of the way back as well.", {"is_flag": True}),
    _PAPER,
)  # fmt: skip
"""What `changeover` takes besides."""


def with_options(function: Made, more: Sequence[Option] = (), files: str = "SCENARIO...") -> Made:
    """Give a command the scenarios and all options of the table.

    Parameters
    ----------
    function : callable
        Takes `scenarios` and the options by name.
    more : sequence of Option
        What this command takes besides.
    files : str
        What the help calls its files.

    Returns
    -------
    callable
        The same, known to click.
    """
    for option in reversed((*OPTIONS, *more)):
        function = click.option(option.flag, option.name, help=option.help, **option.more)(function)
    # A file that may not be read gets our own words.
    file = click.Path(readable=False)
    return click.argument("scenarios", metavar=files, nargs=-1, required=True, type=file)(function)
