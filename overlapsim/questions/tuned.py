"""One row setup with what is typed in for it."""

from __future__ import annotations

from dataclasses import dataclass

from overlapsim.questions.options import recommend
from overlapsim.questions.search import Best, find_best, with_offset
from overlapsim.scenario.scenario import Scenario


@dataclass(frozen=True)
class Tuned:
    """One row setup as it should be.

    Attributes
    ----------
    scenario : Scenario
        All rows work, the setup that runs is entered, with the recommended reference offset.
    found : Best
        The search for it.
    """

    scenario: Scenario
    found: Best


def as_it_should_be(scenario: Scenario) -> Tuned:
    """Set one row setup as it should be.

    Parameters
    ----------
    scenario : Scenario
        Read with that row setup.

    Returns
    -------
    Tuned
        All rows work, the setup that runs is entered, the recommended reference offset stands in it; the
        rest as the scenario has it.

    Raises
    ------
    ScenarioError
        Where the scenario cannot be driven.

    Examples
    --------
    >>> bar = {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"}
    >>> typed = {"reference_offset": "1 m", "turn_on_time": "0 s", "turn_off_time": "0 s"}
    >>> scenario = Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": bar}}, "speed": {"working": "2 m/s"}, "switching": typed,
    ...     "field": {"rectangle": ["40 m", "100 m"]},
    ... })
    >>> as_it_should_be(scenario).scenario.switching.reference_offset
    2.0
    """
    right = scenario.with_({"machine.rows_off": [], "switching.entered_setup": scenario.machine.setup})
    found = find_best(right)
    return Tuned(with_offset(right, recommend(right, found)), found)
