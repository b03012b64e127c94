"""Other questions besides the search of `tune`: what was typed, what is wrong with it, and their answers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from overlapsim.cli.comparing import compared

if TYPE_CHECKING:
    from overlapsim.basics.errors import Fault
    from overlapsim.questions.outcome import TuneResult
    from overlapsim.scenario.scenario import Scenario

ALSO = ("causes", "patterns", "changeover", "digplan")
"""What may be asked besides, as it is typed."""

DIGS = "digs"
"""What a sheet of digs is asked about."""

Progress = Callable[[int, int, str], None]


def tune_options(**given: Any) -> dict[str, Any]:
    """See that the options of `tune` go together.

    Parameters
    ----------
    **given : Any
        As they were typed.

    Returns
    -------
    dict
        The same, with `also` as a list of names.

    Raises
    ------
    UsageError
        For what goes with another option alone.
    """
    names = wanted(given["also"], given["digs"])
    if given["digs"] is not None and len(given["scenarios"]) > 1:
        raise click.UsageError("--digs goes with one scenario: each machine is dug behind by itself.")
    if given["digs"] is not None and (given["card"] or given["paper"]):
        raise click.UsageError(
            "--card holds what the search says, digs may say otherwise: overlapsim correct DIGS.csv SCENARIO "
            "--card leaves theirs."
        )
    if not given["uncertain"]:
        for option in ("draws", "seed"):
            if given[option] is not None:
                raise click.UsageError(f"--{option} goes with --uncertain.")
        if given["workers"] is not None and "patterns" not in names:
            raise click.UsageError("--workers goes with --uncertain or --also patterns.")
    return {**given, "also": names}


def wanted(also: Sequence[str], sheet: str | None) -> list[str]:
    """Read what is asked besides.

    Parameters
    ----------
    also : sequence of str
        As typed: names, or lists of names with commas.
    sheet : str or None
        A sheet of digs.

    Returns
    -------
    list of str
        Names, each once.

    Raises
    ------
    UsageError
        For what is no question.
    """
    names = [name.strip().lower() for text in also for name in text.split(",") if name.strip()]
    unknown = [name for name in names if name not in ALSO]
    if unknown:
        dug = " Digs come with --digs SHEET.csv." if set(unknown) & {"digs", "correct"} else ""
        raise click.UsageError(
            f"--also {','.join(unknown)}: no such question. There are: {', '.join(ALSO)}.{dug}"
        )
    return list(dict.fromkeys([*names, *([DIGS] if sheet is not None else [])]))


@dataclass
class Beside:
    """What is asked besides one search, looked through before it starts.

    Attributes
    ----------
    scenario : Scenario
        As for the search.
    names : list of str
        What is asked.
    ready : dict
        What was read beforehand, by name: scenarios of the other row setups, arguments of `correct`.
    """

    scenario: Scenario
    names: list[str]
    ready: dict[str, Any] = field(default_factory=dict)

    def add_to(
        self, tuned: TuneResult, folder: Path, step: Progress, after: ExitStack, quiet: bool, workers: int
    ) -> TuneResult:
        """Ask everything, and put the answers beside the search.

        Parameters
        ----------
        tuned : TuneResult
            Finished search.
        folder : Path
            Of its results.
        step : callable
            Called with steps done, steps in all and what is being done.
        after : ExitStack
            Left when everything is written.
        quiet : bool
            Say nothing but what has to be known.
        workers : int
            Processes for patterns.

        Returns
        -------
        TuneResult
            With `also`.
        """
        import overlapsim

        def told(name: str) -> Progress:
            return lambda done, total, what: step(done, total, what if what == name else f"{name}: {what}")

        answers: list[Any] = []
        for name in self.names:
            if name == "causes":
                answers.append(overlapsim.causes(self.scenario, told(name)))
            elif name == "patterns":
                ways = compared(self.scenario, folder, told(name), quiet, workers=workers)
                answers.append(after.enter_context(ways))
            elif name == "changeover":
                answers += [
                    overlapsim.changeover(old, self.scenario, told(f"{name} from {old.machine.setup}"))
                    for old in self.ready[name]
                ]
            elif name == DIGS:
                answers.append(overlapsim.correct(self.scenario, progress=told(name), **self.ready[name]))
            else:
                answers.append(self.ready[name])
        return overlapsim.together(tuned, *answers)


def look_through(file: str, scenario: Scenario, names: list[str], sheet: str | None) -> Beside:
    """See what is wrong with the other questions before the search starts.

    Parameters
    ----------
    file : str
        The scenario's file, to be read with other row setups.
    scenario : Scenario
        As read.
    names : list of str
        What is asked.
    sheet : str or None
        A sheet of digs.

    Returns
    -------
    Beside
        Ready to be asked.

    Raises
    ------
    InputError
        With all faults of all questions.
    """
    from overlapsim.basics.errors import InputError
    from overlapsim.cli.digging import AT_PROMPTS

    look: dict[str, Callable[[], Any]] = {
        "patterns": partial(_patterns, scenario),
        "changeover": partial(_changeover, file, scenario),
        "digplan": partial(_digplan, scenario),
        DIGS: partial(_digs, scenario, sheet or AT_PROMPTS),
    }
    beside = Beside(scenario, names)
    faults: list[Fault] = []
    for name in names:
        if name not in look:
            continue
        try:
            beside.ready[name] = look[name]()
        except InputError as error:
            # What has no place of its own was asked for on the command line.
            flag = f"--{DIGS} {sheet}" if name == DIGS else f"--also {name}"
            faults += [one if one.key or one.file else replace(one, key=flag) for one in error.faults]
    if faults:
        raise InputError(list(dict.fromkeys(faults)))
    return beside


def _patterns(scenario: Scenario) -> None:
    from overlapsim.questions.pattern_cases import lay_out

    lay_out(scenario)


def _changeover(file: str, scenario: Scenario) -> list[Scenario]:
    from overlapsim import load_scenario
    from overlapsim.basics.errors import Fault, InputError

    setups = [name for name in scenario.machine.setups if name != scenario.machine.setup]
    if not setups:
        rule = "this machine has one row setup: there is nothing to change over from"
        raise InputError(Fault(rule, "Leave it out, or state the other one below [machine.setups]."))
    faults: list[Fault] = []
    read = []
    for name in setups:
        try:
            read.append(load_scenario(file, setup=name))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    return read


def _digplan(scenario: Scenario) -> Any:
    import overlapsim

    return overlapsim.digplan(scenario)  # reckoned at once: no field is driven for it


def _digs(scenario: Scenario, sheet: str) -> dict[str, Any]:
    from overlapsim.cli.digging import gather
    from overlapsim.questions.correction import must_be_digs

    given = gather(scenario, sheet)
    must_be_digs(scenario, given["digs"])
    return given
