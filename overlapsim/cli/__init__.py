"""The command line: ``overlapsim tune SCENARIO...`` and its like.

Whatever it does, a few lines of Python do too::

    from overlapsim import load_scenario, tune
    from overlapsim.report.write import write_results

    write_results(tune(load_scenario("home.toml")), "reports/home")
"""

from __future__ import annotations

import atexit
import gc
import sys
from collections.abc import Sequence
from typing import Any

import click

from overlapsim.cli.editors import completion, example, schemas, show_versions
from overlapsim.cli.new import new
from overlapsim.cli.options import (
    CHANGEOVER_OPTIONS,
    CORRECT_OPTIONS,
    PATTERN_OPTIONS,
    PLAN_OPTIONS,
    TUNE_OPTIONS,
    with_options,
)
from overlapsim.cli.stopping import listen
from overlapsim.cli.studying import study

_STOPPED = 130  # what shells give to a program that was stopped by Ctrl-C

QUESTIONS = {
    "tune": """Find the reference offset with the least combined error.

Prints what to type into the section controller, how far one may miss it, what today's setting and the
obvious alternatives cost, and what digging should then show; with --with-times both times as well, with
--uncertain how sure all that is, with --also and --digs what else one page is to hold. Leaves a folder with
result.json, report.html, sweep.csv, layers.gpkg and pictures.""",
    "simulate": """Simulate a scenario as it stands.

Prints what the settings that are entered leave on the field, and what digging should show; leaves a folder
with result.json, layers.gpkg and pictures.""",
    "causes": """Say where the combined error comes from.

Runs the same field again with one fault more each time: edges, row setup, sections, stagger, times,
reference offset, updates and drift. Prints what each of them adds, and what one number costs for ranks that
stand apart; leaves a folder with result.json, layers.gpkg and pictures.""",
    "patterns": """Compare ways to drive the field: headland laps, their order, headings.

Today's way first; every way at today's reference offset and at its own best, as ground lost more or less than
now, with the length driven with the machine down. Prints the twelve that matter; leaves a folder with
result.json, patterns.csv and maps side by side. A run that was broken off goes on where it was.""",
    "changeover": """Change over from one row setup to another.

Prints what has to be entered, done and checked, old and new, and what stays; what each forgotten step costs
in this field, dearest first; the steps on the machine in an order that works, both ways, with the user's own
from the machine file. Leaves a folder with a sheet to print (report.html), result.json and summary.txt.""",
    "digplan": """Plan where to dig to find out what is wrong.

Prints which turns to drive at which speed, which rows to dig, how surely offset error and both latencies come
out, what could not be told apart with less, and what digs should show now. Leaves a folder with a sheet to
fill in (sheet.csv, which correct reads), a page to print (report.html), result.json and summary.txt.""",
    "correct": """Correct offset and times by what was dug up.

From a sheet of digs (CSV: end, rank, row, direction, speed (mph), past line (in), from), or without one (or
with -) from digs typed at prompts: the offset error, both latencies, each dig's residual, what cannot be told
apart, what to type in, and what that costs in this field before and after. Leaves a folder with result.json,
summary.txt and a picture.""",
}
"""The commands and what their help says; each is a function of the package of the same name."""


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96})
@click.option(
    "--version", is_flag=True, is_eager=True, expose_value=False, callback=show_versions,
    help="Show this version and those of the libraries underneath, and exit.",
)  # fmt: skip
def program() -> None:
    """Find the reference offset at which a planter leaves the least skipped and double-planted ground.

    A scenario is a text file (TOML): machine, field, speed, and what is entered in the section controller.
    """


def _command(name: str, words: str) -> click.Command:
    def ask(**given: Any) -> int:
        from overlapsim.cli.running import run

        if name == "correct":
            from overlapsim.cli.digging import sheet_and_scenario

            given["sheet"], scenario = sheet_and_scenario(given["scenarios"])
            given["scenarios"] = (scenario,)
        if name == "tune":
            from overlapsim.cli.beside import tune_options

            given = tune_options(**given)
        if name == "digplan" and len(given["scenarios"]) > 1:
            raise click.UsageError("Name one scenario: each machine is dug behind by itself.")
        return run(name, **given)

    more = {"patterns": PATTERN_OPTIONS, "tune": TUNE_OPTIONS, "correct": CORRECT_OPTIONS}
    more |= {"digplan": PLAN_OPTIONS, "changeover": CHANGEOVER_OPTIONS}
    files = {"correct": "[DIGS.csv] SCENARIO", "digplan": "SCENARIO"}.get(name, "SCENARIO...")
    return click.command(name, help=words, epilog=example(name))(with_options(ask, more.get(name, ()), files))


for _name, _words in QUESTIONS.items():
    program.add_command(_command(_name, _words))
program.add_command(study)
program.add_command(new)
program.add_command(schemas)
program.add_command(completion)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        What was typed behind the program's name. Default: what the shell handed over.

    Returns
    -------
    int
        0 done; 2 the input is at fault, said in words; 1 the program is; 130 stopped by Ctrl-C.

    Examples
    --------
    >>> main(["--version"]) == 0
    overlapsim ...
    True
    """
    if arguments is None:
        # The process ends after this: what lives then need not be searched for rings of objects once more.
        atexit.register(gc.freeze)
        listen()
    try:
        return program.main(args=arguments, prog_name="overlapsim", standalone_mode=False) or 0
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except (click.Abort, KeyboardInterrupt):
        print("Stopped. What was not finished is not written.", file=sys.stderr)
        return _STOPPED
