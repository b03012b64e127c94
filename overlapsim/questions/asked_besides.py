"""Answers to other questions beside a search: one result that holds what one page is to show."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from overlapsim.basics.errors import Fault, InputError
from overlapsim.control import result
from overlapsim.questions.breakdown import CausesResult
from overlapsim.questions.changing_over import ChangeoverResult
from overlapsim.questions.corrected import CorrectResult
from overlapsim.questions.outcome import TuneResult
from overlapsim.questions.pattern_choice import PatternsResult
from overlapsim.questions.planned import DigPlan
from overlapsim.questions.search import with_offset
from overlapsim.scenario.scenario import Scenario

Answer = CausesResult | PatternsResult | ChangeoverResult | CorrectResult | DigPlan
"""What may stand beside a search."""

_KINDS: dict[str, type[Answer]] = {
    "causes": CausesResult,
    "patterns": PatternsResult,
    "changeover": ChangeoverResult,
    "correct": CorrectResult,
    "digplan": DigPlan,
}
"""By the command that asks, in the order in which a page shows them."""

_KEPT = ("assumed", "warnings")  # of what every result begins with: the rest the search has said


@dataclass(frozen=True)
class Also:
    """What was asked besides the search.

    Attributes
    ----------
    answers : tuple of result
        In the order in which a page shows them: causes, patterns, changeovers, digs, plan of digs.
    """

    answers: tuple[Answer, ...]

    def __iter__(self) -> Iterator[tuple[str, Answer]]:
        """Each answer with the name of its command."""
        return ((_kind_of(one), one) for one in self.answers)

    @property
    def correct(self) -> CorrectResult | None:
        """What digs told, where there are any."""
        return next((one for one in self.answers if isinstance(one, CorrectResult)), None)

    def to_dict(self) -> dict[str, Any]:
        """All answers as plain data.

        Returns
        -------
        dict
            By command what its own `result.json` holds, SI units, less what the search has said: inputs,
            hashes and versions. Changeovers are a list, one for each row setup that is come from.
        """
        told: dict[str, Any] = {}
        for kind, one in self:
            head = result.header(kind, one.scenario)
            own = {key: value for key, value in one.to_dict().items() if key not in head or key in _KEPT}
            if kind == "changeover":
                told.setdefault(kind, []).append(own)
            else:
                told[kind] = own
        return told


def _kind_of(answer: Answer) -> str:
    return next(kind for kind, one in _KINDS.items() if isinstance(answer, one))


def together(tuned: TuneResult, *answers: Answer) -> TuneResult:
    """Put answers to other questions beside a search, so that one page and one folder hold them all.

    Parameters
    ----------
    tuned : TuneResult
        Finished search.
    *answers : CausesResult, PatternsResult, ChangeoverResult, CorrectResult or DigPlan
        Of the same scenario, in any order. Changeovers lead to its row setup, each from another one; of all
        others one.

    Returns
    -------
    TuneResult
        The same search, with these in `also`.

    Raises
    ------
    InputError
        Where an answer is of another scenario, or stands there twice.

    Examples
    --------
    >>> from overlapsim import Scenario, causes, digplan, together, tune
    >>> scenario = Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"}}},
    ...     "field": {"rectangle": ["40 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "1 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... })
    >>> done = together(tune(scenario), digplan(scenario), causes(scenario))
    >>> list(done.to_dict()["also"])
    ['causes', 'digplan']
    """
    found: dict[tuple[str, str], Answer] = {}
    faults = []
    for one in answers:
        kind = _kind_of(one)
        come_from = one.old.scenario.machine.setup if isinstance(one, ChangeoverResult) else ""
        if not _of(tuned.scenario, one):
            faults.append(
                Fault("is an answer for another scenario", "Ask everything of one scenario.", "", kind)
            )
        elif (kind, come_from) in found:
            faults.append(Fault("stands there twice", "One of them is enough.", "", kind))
        found[kind, come_from] = one
    if faults:
        raise InputError(faults)
    order = list(_KINDS)
    sorted_by_page = sorted(found.items(), key=lambda item: order.index(item[0][0]))
    return replace(tuned, also=Also(tuple(one for _, one in sorted_by_page)))


def _of(scenario: Scenario, answer: Answer) -> bool:
    """Whether an answer is one for this scenario; a changeover is for it as it should be."""
    if isinstance(answer, ChangeoverResult):
        right = {"machine.rows_off": [], "switching.entered_setup": scenario.machine.setup}
        scenario = with_offset(scenario.with_(right), answer.scenario.switching.reference_offset)
    return answer.scenario == scenario
