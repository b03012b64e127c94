"""Run one question over scenarios: parse, call one library function, print, return a status."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from overlapsim.basics.errors import BalanceError, InputError
from overlapsim.cli.comparing import compared
from overlapsim.cli.saying import say
from overlapsim.cli.waiting import Waiting

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

DONE, OUR_FAULT, BAD_INPUT = 0, 1, 2
"""Exit statuses."""

REPORTS = Path("reports")
"""Where results go unless somebody says otherwise."""


class Statuses:
    """The statuses of several scenarios, and the one that stands for all: a fault of ours comes first."""

    def __init__(self) -> None:
        self.met: set[int] = set()

    @property
    def all_in_all(self) -> int:
        """Exit status."""
        return next((status for status in (OUR_FAULT, BAD_INPUT) if status in self.met), DONE)

    @contextmanager
    def watch(self, what: str) -> Iterator[None]:
        """Say in words what goes wrong inside, and go on.

        Parameters
        ----------
        what : str
            What is being worked on.

        Yields
        ------
        None
            Errors end the block, not the program. Ctrl-C ends the program.
        """
        try:
            yield
        except InputError as error:
            self.met.add(BAD_INPUT)
            # What shows only while driving knows its key, and no file.
            say("\n".join(str(fault if fault.file else replace(fault, file=what)) for fault in error.faults))
        except BalanceError as error:
            self._ours(f"{what}: the areas do not balance, so there is no result: {error}")
        except BrokenPipeError:
            # Whoever read the words has had enough of them; the folder is written.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        except OSError as error:
            if error.filename is None:
                self._ours(f"{what}: {type(error).__name__}: {error}")
            else:
                self.met.add(BAD_INPUT)
                say(f"{error.filename}  cannot be used: {(error.strerror or 'no reason given').lower()}.")
        except MemoryError:
            self.met.add(BAD_INPUT)
            say(f"{what}  needs more memory than there is. Sweep fewer values, or a smaller field.")
        except Exception as error:
            self._ours(f"{what}: {type(error).__name__}: {error}")

    def _ours(self, sentence: str) -> None:
        self.met.add(OUR_FAULT)
        say(f"A fault of overlapsim itself, nothing was written. {sentence}")
        if os.environ.get("OVERLAPSIM_DEBUG"):
            traceback.print_exc()
        else:
            say("Run it again with OVERLAPSIM_DEBUG=1 in the environment to see where.")


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
    for number, (file, scenario) in enumerate(_read(scenarios, statuses)):
        folder = (out or REPORTS) / scenario.name if several or out is None else out
        with statuses.watch(file):
            result, written = _ask(question, scenario, folder, units, quiet, more)
            for warning in written.warnings:
                say(warning)
            if as_json:
                from overlapsim.report.values import json_text

                texts.append(json_text(result))
            elif not quiet:
                if number:
                    print()
                _print(result, folder, units)
                sys.stdout.flush()
    if as_json:
        with statuses.watch("standard output"):
            _print_json(texts, several)
    return statuses.all_in_all


def _read(files: Sequence[str], statuses: Statuses) -> list[tuple[str, Scenario]]:
    """Read all files, say what is wrong with any, and leave out those that would share a folder."""
    from overlapsim import load_scenario

    read: list[tuple[str, Scenario]] = []
    for file in files:
        with statuses.watch(file):
            read.append((file, load_scenario(file)))
    by_name: dict[str, list[str]] = {}
    for file, scenario in read:
        by_name.setdefault(scenario.name.casefold(), []).append(file)
    for same in by_name.values():
        if len(same) > 1:
            statuses.met.add(BAD_INPUT)
            say(f"{', '.join(same)}  would share one folder of results. Rename them, or run them one by one.")
    return [(file, scenario) for file, scenario in read if len(by_name[scenario.name.casefold()]) == 1]


def _ask(
    question: str, scenario: Scenario, folder: Path, units: str | None, quiet: bool, more: dict[str, Any]
) -> tuple[Any, Any]:
    import overlapsim
    from overlapsim.files.folder import must_be_free
    from overlapsim.report.write import write_results

    must_be_free(folder)
    with Waiting(scenario.name, sys.stderr, quiet) as waiting, ExitStack() as after:
        if question == "simulate":
            waiting.say("simulating")
            result: Any = overlapsim.simulate(scenario)
        elif question == "patterns":
            result = after.enter_context(compared(scenario, folder, waiting.step, quiet, **more))
        else:
            result = getattr(overlapsim, question)(scenario, waiting.step)
        return result, write_results(result, folder, units, lambda name: waiting.say(f"writing {name}"))


def _print(result: Any, folder: Path, units: str | None) -> None:
    from overlapsim.report.advice import part
    from overlapsim.report.data import report_of
    from overlapsim.report.terminal import show

    report = report_of(result, units)
    report["parts"].append(part("RESULTS", [str(folder)]))
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
