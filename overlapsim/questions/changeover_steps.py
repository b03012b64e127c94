"""Steps on the machine from one row setup to another, in an order in which they can be done."""

from __future__ import annotations

from typing import Any

from overlapsim.questions.forgotten import added_ranks
from overlapsim.scenario.common_steps import COMMON, COMMON_ADDED, COMMON_REMOVED
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.steps import Step, in_order

_COMMON = (*COMMON, *COMMON_ADDED, *COMMON_REMOVED)


def plain_step(step: Step) -> dict[str, Any]:
    """Write a step as plain data.

    Parameters
    ----------
    step : Step
        One of any machine, or the user's own.

    Returns
    -------
    dict
        Its keys as they are written, and whether it is common practice rather than the user's own.
    """
    return {**step.to_text(), "needs": list(step.needs), "common_practice": is_common(step)}


def is_common(step: Step) -> bool:
    """Tell whether a step is common practice rather than the user's own.

    Parameters
    ----------
    step : Step
        Any.

    Returns
    -------
    bool
        True for those of any machine with a second rank.
    """
    return step in _COMMON


def steps_between(old: Scenario, new: Scenario) -> list[Step]:
    """List the steps on the machine from one row setup to another.

    Parameters
    ----------
    old, new : Scenario
        The two row setups of one machine.

    Returns
    -------
    list of Step
        Those of any machine and the user's own; each comes after all that it needs.
    """
    common = [*COMMON]
    if added_ranks(old, new):
        common += COMMON_ADDED
    if added_ranks(new, old):
        common += COMMON_REMOVED
    setup = new.machine.setup
    own = [step for step in new.machine.changeover if step.direction in (None, setup)]
    listed_here = [*common, *own]
    # All steps are put in order, so that what is needed by way of a step of the other direction still holds.
    everything = [*_COMMON, *new.machine.changeover]
    return [step for step in in_order(everything) if step in listed_here]
