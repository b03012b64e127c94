"""The settings card of one scenario: all row setups of its machine side by side."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from overlapsim.cli.saying import say

if TYPE_CHECKING:
    from overlapsim.report.card import Card


def card_for(
    result: Any, file: str, units: str | None, progress: Callable[[str], None] | None = None
) -> Card | None:
    """Make the card of a result.

    Parameters
    ----------
    result : TuneResult or CorrectResult
        Finished result. Beside what was tuned stand the machine's other row setups, each with a search of
        its own; what digs of one row setup told holds for that one alone.
    file : str
        The scenario's file, to be read with the other row setups.
    units : {"us", "metric"} or None
        The reader's.
    progress : callable, optional
        Called with what is being done.

    Returns
    -------
    Card or None
        None where there is nothing to put on it; why is said.
    """
    from overlapsim import InputError, load_scenario
    from overlapsim.questions.tuned import as_it_should_be
    from overlapsim.report.card import card_of

    machine, others = result.scenario.machine, []
    dug = hasattr(result, "estimates")
    for setup in [] if dug else [name for name in machine.setups if name != machine.setup]:
        if progress:
            progress(f"searching the reference offset of {setup}")
        try:
            others.append(as_it_should_be(load_scenario(file, setup=setup)))
        except InputError as error:
            say(f"{file}  row setup {setup} is not on the card: {error}")
    try:
        return card_of(result, others, units)
    except InputError as error:
        say(f"{file}  {error}")
        return None
