"""From a tape to files: ``overlapsim new``, by questions, by options, from a sheet, or a demo."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from overlapsim.cli.late import LateCommand, made
from overlapsim.cli.options import Option
from overlapsim.cli.saying import say
from overlapsim.cli.statuses import BAD_INPUT, DONE, Statuses

DEFAULT_NAME = "planter"
"""Name of the files where nobody says one."""

_WORDS = """Begin: asks what can be read off the machine, and writes a machine file and a scenario file.

One question at a time; what to type in is printed as soon as the tape readings are in. NAME is what the
scenario file shall be called (planter.toml); the machine file goes into machines/ beside it, and two schemas
that editors check both with. A file that is there already is kept. With any of the options below nothing is
asked: what is left out takes the usual value, and is marked as assumed."""

_OWN = (
    Option(
        "--out", "out", "Folder for the files. Default: here.",
        {"metavar": "DIR", "type": click.Path(path_type=Path)},
    ),
    Option(
        "--demo", "demo", "Write a demo that runs into the folder NAME (overlapsim-demo).", {"is_flag": True},
    ),
    Option(
        "--from", "sheet",
        "Read a sheet of customers, a line for each planter and field; write a pair of files for each.",
        {"metavar": "CSV", "type": click.Path(path_type=Path)},
    ),
    Option(
        "--template", "template", "Write such a sheet to fill in (NAME, customers.csv).", {"is_flag": True},
    ),
    Option(
        "--page", "page",
        "Write a page that reckons by itself, for people without Python: tape, times and speed in, what to "
        "type in out.",
        {"metavar": "FILE.html", "type": click.Path(path_type=Path)},
    ),
)  # fmt: skip


def _options() -> list[Option]:
    from overlapsim.files.asked import QUESTIONS

    return [
        Option(f"--{one.key}", one.key.replace("-", "_"), one.words, {"metavar": "ANSWER"})
        for one in QUESTIONS
    ]


def _ask(
    name: str | None, out: Path | None, demo: bool, sheet: Path | None, template: bool, page: Path | None,
    **given: Any,
) -> int:  # fmt: skip
    typed = {key.replace("_", "-"): text for key, text in given.items() if text is not None}
    own = (("--demo", demo), ("--from", sheet), ("--template", template), ("--page", page))
    chosen = [flag for flag, on in own if on]
    if typed:
        chosen.append(f"--{next(iter(typed))}")
    if len(chosen) > 1:
        raise click.UsageError(f"{chosen[0]} and {chosen[1]} do not go together.")
    folder, statuses = out or Path(), Statuses()
    with statuses.watch("new" if typed else str(sheet or page or name or DEFAULT_NAME)):
        if demo:
            status = _demo(folder / (name or "overlapsim-demo"))
        elif template:
            status = _template(folder / (name or "customers.csv"))
        elif page:
            status = _page(folder / page)
        elif sheet:
            status = _customers(sheet, folder)
        else:
            path = folder / (name or DEFAULT_NAME)
            scenario = path if path.suffix == ".toml" else path.with_name(f"{path.name}.toml")
            status = _at_once(typed, scenario) if typed else _questions(scenario)
        statuses.met.add(status)
    return statuses.all_in_all


def _demo(folder: Path) -> int:
    from overlapsim.files.demo import write_demo

    scenario, fresh = write_demo(folder)
    say(f"{folder} holds the demo {'now' if fresh else 'already'}. Run it: overlapsim tune {scenario}")
    return DONE


def _template(path: Path) -> int:
    from overlapsim.files.asked_files import write_new
    from overlapsim.files.customers import template

    write_new({path: template().encode()})
    say(f"{path} is there to be filled in. Then: overlapsim new --from {path}")
    return DONE


def _page(path: Path) -> int:
    from overlapsim.report.pass_end_page import write_pass_end_page

    write_pass_end_page(path)
    say(f"{path} is one file, opens in any browser and needs no network: mail it, or put it on a phone.")
    return DONE


def _customers(sheet: Path, folder: Path) -> int:
    from overlapsim.files.customers import read_customers, write_customers

    found = read_customers(sheet)
    written, faults = write_customers(found, folder, str(sheet))
    if found.not_read:
        say(f"{sheet}  Columns that are not read: {', '.join(found.not_read)}.")
    for one in found.sound:
        for odd in one.doubts:
            say(f"{sheet}:{one.line}  {odd}")
    for fault in faults:
        say(str(fault))
    lines = len({fault.line for fault in faults})
    left = (
        f"; {lines} line{'s' if lines > 1 else ''} not, as said above: mend, and run it again"
        if lines
        else ""
    )
    say(f"{len(written)} scenario{'' if len(written) == 1 else 's'} in {folder}{left}.")
    for path in written:
        print(path)
    return BAD_INPUT if faults else DONE


def _at_once(given: dict[str, str], scenario: Path) -> int:
    from overlapsim.basics.errors import Fault, InputError
    from overlapsim.cli.first_answer import tell
    from overlapsim.files.asked_files import write_pair
    from overlapsim.files.asked_reading import take_all

    taken = take_all(given)
    if taken.slips:
        raise InputError([Fault(s.rule, s.remedy, f"--{key}", text) for key, text, s in taken.slips])
    for key, text, odd in taken.doubts:
        say(f"--{key} = {text}  {odd}")
    write_pair(taken.answers, scenario)
    tell(taken.answers, first=False)
    _written(scenario)
    return DONE


def _questions(scenario: Path) -> int:
    from overlapsim.cli.asking import HOW_TO, Stopped, ask_all, draw, tell_lines
    from overlapsim.cli.first_answer import tell
    from overlapsim.files.asked import answers
    from overlapsim.files.asked_files import Draft, must_be_new, write_pair

    must_be_new(scenario)
    draft = Draft(scenario)
    given, place = draft.read()
    known = answers(given)
    tell_lines(HOW_TO)
    if place:
        say(f"On from {draft.path}: {len(given)} answers are there.")
        if known.has("front"):
            draw(known)
    try:
        ask_all(known, draft, place)
    except (Stopped, KeyboardInterrupt) as stop:
        if draft.path.exists():
            say(f"All answers are kept in {draft.path}. The same command goes on from there.")
        if isinstance(stop, KeyboardInterrupt):
            raise
        return DONE if stop.asked_for else BAD_INPUT
    write_pair(known, scenario)
    draft.remove()
    tell(known, first=False)
    _written(scenario)
    return DONE


def _written(scenario: Path) -> None:
    from overlapsim.files.asked_files import pair_of

    say(f"Written: {' and '.join(map(str, pair_of(scenario)))}.")
    say(f"All of it: overlapsim tune {scenario}")


new = LateCommand(
    "new",
    _options,
    callback=_ask,
    help=_WORDS,
    epilog="Example: overlapsim new home --rows 16 --front 84 --rear 119",
    params=[click.Argument(["name"], required=False, metavar="[NAME]"), *made(_OWN)],
)
"""The command."""
