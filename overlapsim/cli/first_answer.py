"""What to type in, in five lines: as soon as the tape readings are in, and again at the end."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from overlapsim.cli.asking import QUIT, tell_lines

if TYPE_CHECKING:
    from overlapsim.files.asked_answers import Answers

_FIRST = (
    "That is for a textbook field, with times that match the machine. What is asked from here on makes it "
    "this field's and this controller's; {quit} stops for today."
)


def tell(answers: Answers, first: bool) -> None:
    """Search the reference offset and print what to type in, on standard output.

    Parameters
    ----------
    answers : Answers
        With the tape readings.
    first : bool
        Whether other answers are still to come: then a textbook field stands in, and as entered counts what
        is known so far.
    """
    from overlapsim import tune
    from overlapsim.cli.waiting import Waiting
    from overlapsim.files.asked_reading import scenario_of
    from overlapsim.report.data import report_of
    from overlapsim.report.first_number import first_number, full_number
    from overlapsim.report.terminal import show

    scenario, faults = scenario_of(answers, field=not first)
    if scenario is None or faults:
        return  # whoever goes on hears of it at its own question
    with Waiting("searching", sys.stderr) as waiting:
        result = tune(scenario, waiting.step)
    show(first_number(result) if first else full_number(report_of(result)), sys.stdout)
    sys.stdout.flush()
    if first:
        tell_lines(_FIRST.format(quit=QUIT))
