"""Run one question over scenarios: parse, call one library function, print, return a status."""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from overlapsim.cli.beside import look_through
from overlapsim.cli.carding import card_for
from overlapsim.cli.comparing import compared, cores
from overlapsim.cli.lengthy import foretold
from overlapsim.cli.saying import say
from overlapsim.cli.statuses import Statuses
from overlapsim.cli.waiting import Waiting

if TYPE_CHECKING:
    from overlapsim.report.summary import Told
    from overlapsim.scenario.scenario import Scenario

REPORTS = Path("reports")
"""Where results go unless somebody says otherwise."""


def run(
    question: str,
    scenarios: Sequence[str],
    out: Path | None,
    units: str | None,
    quiet: bool,
    as_json: bool,
    **more: Any,
) -> int:
    """Ask one question of scenarios.

    Parameters
    ----------
    question : str
        Name of a function of the package that takes a scenario.
    scenarios : sequence of str
        Files.
    out : Path or None
        Folder of the results; with several scenarios the folder that holds theirs.
    units : str or None
        Units of words and pictures.
    quiet : bool
        Print nothing but faults.
    as_json : bool
        Print results as JSON on standard output, and nothing else there.
    **more : Any
        What else this question takes, by name.

    Returns
    -------
    int
        Exit status.
    """
    statuses, several = Statuses(), len(scenarios) > 1
    texts: list[str] = []
    told: list[Told] = []
    with _untidied():
        read = _read(scenarios, statuses, more.get("new"))
    for number, (file, scenario) in enumerate(read):
        folder = (out or REPORTS) / scenario.name if several or out is None else out
        with _untidied(), statuses.watch(file):
            result, written = _ask(question, file, scenario, folder, units, quiet, dict(more))
            for warning in written.warnings:
                say(warning)
            for key, why in getattr(result, "failed", {}).items():
                statuses.own_up(file, f"pattern {key}: {why}", "the other patterns are written")
            if several:
                from overlapsim.report.summary import told_of

                told.append(told_of(file, result))
            if as_json:
                from overlapsim.report.values import json_text

                texts.append(json_text(result))
            elif not quiet:
                if number:
                    print()
                _print(result, folder, units)
                sys.stdout.flush()
    if several and told:
        with statuses.watch("summary.csv"):
            _sum_up(told, statuses.faults, out or REPORTS, units, quiet or as_json)
    if as_json:
        with statuses.watch("standard output"):
            _print_json(texts, several)
    return statuses.all_in_all


@contextmanager
def _untidied() -> Iterator[None]:
    """Leave things that refer to one another where they are: to look for them over and over takes longer."""
    tidied = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if tidied:
            # Both together count everything among what lives long, so that nothing is searched at once.
            gc.freeze()
            gc.unfreeze()
            gc.enable()


def _read(files: Sequence[str], statuses: Statuses, setup: str | None = None) -> list[tuple[str, Scenario]]:
    """Read all files, say what is wrong with any, and leave out those that would share a folder.

    With a row setup all are read as they hold for it.
    """
    from overlapsim import load_scenario

    read: list[tuple[str, Scenario]] = []
    for file in files:
        with statuses.watch(file):
            read.append((file, load_scenario(file, setup=setup)))
    by_name: dict[str, list[str]] = {}
    for file, scenario in read:
        by_name.setdefault(scenario.name.casefold(), []).append(file)
    for same in by_name.values():
        if len(same) > 1:
            remedy = "Rename them, or run them one by one."
            statuses.refuse(f"{', '.join(same)}  would share one folder of results. {remedy}", *same)
    return [(file, scenario) for file, scenario in read if len(by_name[scenario.name.casefold()]) == 1]


def _ask(
    question: str, file: str, scenario: Scenario, folder: Path, units: str | None, quiet: bool,
    more: dict[str, Any],
) -> tuple[Any, Any]:  # fmt: skip
    import overlapsim
    from overlapsim.files.folder import must_be_free
    from overlapsim.report.write import write_results

    must_be_free(folder)
    paper = more.pop("paper", None)
    wanted = more.pop("card", False) or paper is not None
    if question == "correct":
        from overlapsim.cli.digging import gather

        more = gather(scenario, **more)
    elif question == "digplan":
        from overlapsim.cli.digging import plan_options

        more = plan_options(scenario, **more)
    elif question == "tune":
        names, sheet = more.pop("also"), more.pop("digs")
        beside = look_through(file, scenario, names, sheet) if names else None
    with Waiting(scenario.name, sys.stderr, quiet) as waiting, ExitStack() as after:
        if question == "simulate":
            waiting.say("simulating")
            result: Any = overlapsim.simulate(scenario)
        elif question == "patterns":
            result = after.enter_context(compared(scenario, folder, waiting.step, quiet, **more))
        elif question == "changeover":
            old = overlapsim.load_scenario(file, setup=more["old"])
            result = overlapsim.changeover(old, scenario, waiting.step, back=more["back"])
        elif question == "tune":
            more = draw_options(**more)
            result = overlapsim.tune(scenario, waiting.step, before=foretold(scenario.name, quiet), **more)
            if beside:
                result = beside.add_to(result, folder, waiting.step, after, quiet, more["workers"])
        else:
            result = getattr(overlapsim, question)(scenario, progress=waiting.step, **more)
        card = card_for(result, file, units, waiting.say) if wanted and question != "changeover" else None
        written = write_results(
            result, folder, units, lambda name: waiting.say(f"writing {name}"), card=card, paper=paper
        )
        return result, written


def draw_options(**given: Any) -> dict[str, Any]:
    """Leave out of the options of `tune` what was not typed.

    Parameters
    ----------
    **given : Any
        As they were typed.

    Returns
    -------
    dict
        For the function of the package.
    """
    given = {key: value for key, value in given.items() if value is not None}
    return {"workers": cores(), **given}


def _print(result: Any, folder: Path, units: str | None) -> None:
    from overlapsim.report.advice import part
    from overlapsim.report.data import report_of
    from overlapsim.report.terminal import show

    report = report_of(result, units)
    report["parts"].append(part("RESULTS", [str(folder)]))
    show(report, sys.stdout)


def _sum_up(
    told: list[Told], faults: dict[str, str], folder: Path, units: str | None, silent: bool
) -> None:
    """Write and print the table of all scenarios."""
    from overlapsim.files.beside import write_beside
    from overlapsim.report.advice import part
    from overlapsim.report.summary import Told, in_order, summary_columns, summary_report
    from overlapsim.report.terminal import show
    from overlapsim.report.values import csv_text

    done = {one.file for one in told}
    bad = {file: "; ".join(error.splitlines()) for file, error in faults.items() if file not in done}
    rows = in_order([*told, *(Told(file, error=error) for file, error in bad.items())])
    for warning in write_beside(folder, "summary.csv", csv_text(summary_columns(rows))):
        say(warning)
    if not silent:
        report = summary_report(rows, units)
        report["parts"].append(part("SUMMARY", [str(folder / "summary.csv")]))
        print()
        show(report, sys.stdout)


def _print_json(texts: list[str], several: bool) -> None:
    """Print one result as its file holds it, several as a list; UTF-8 whatever the console is."""
    text = "[\n" + ",\n".join(one.rstrip("\n") for one in texts) + "\n]\n" if several else "".join(texts)
    binary = getattr(sys.stdout, "buffer", None)
    if binary is None:
        sys.stdout.write(text)
    else:
        sys.stdout.flush()
        binary.write(text.encode())
    sys.stdout.flush()
