"""What was asked besides the search, in a line or two each; all of it stands on the page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from overlapsim.basics.units import format_number
from overlapsim.report.advice import part
from overlapsim.report.words import Words

Part = dict[str, Any]


def also_parts(result: Any, words: Words) -> list[Part]:
    """Tell what came of the other questions.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    words : Words
        Units.

    Returns
    -------
    list of dict
        Text parts, in the order of the page; none where nothing else was asked.
    """
    also = getattr(result, "also", None) or ()
    return [one for kind, answer in also for one in _TELL[kind](answer, words)]


def digs_words(result: Any, words: Words) -> list[str]:
    """Say on the first screen what digs say to type in: they were measured, latencies may be old.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    words : Words
        Units.

    Returns
    -------
    list of str
        A sentence, where there are digs that tell what to type in.
    """
    from overlapsim.report.setting import offset_words, times_entered

    also = getattr(result, "also", None)
    correct = also and also.correct
    if not correct or correct.after is None:
        return []

    def entered(run: Any) -> tuple[str, str]:
        switching = run.scenario.switching
        return offset_words(run.scenario, switching.reference_offset, words), times_entered(run.scenario)

    offset, times = entered(correct.after)
    if (offset, times) == entered(result.recommended):
        return [f"The {len(correct.digs)} digs say the same."]
    return [
        f"The {len(correct.digs)} digs say otherwise: {offset}, {times}. They were measured; what stands "
        "above holds for the latencies written in the scenario."
    ]


def _causes(result: Any, words: Words) -> list[Part]:
    from overlapsim.report.origins import figures_of, lost_words

    return [part("CAUSES", [lost_words(result, figures_of(result, words))])]


def _patterns(result: Any, words: Words) -> list[Part]:
    from overlapsim.report.pattern_report import least_words

    return [part("PATTERNS", least_words(result, words))]


def _changeover(result: Any, words: Words) -> list[Part]:
    from overlapsim.report.changeover_report import setups_of
    from overlapsim.report.changeover_words import forgotten_words

    old, new = setups_of(result)
    dearest = next((one for one in result.forgotten if one["extra"]["combined_m2"] > 0.0), None)
    if dearest is None:
        said = "no forgotten step costs ground"
    else:
        area = dearest["extra"]["combined_m2"]
        unit, size, digits = words.area_scale(area)
        cost = f"{format_number(area / size, digits)} {unit}"
        said = f"the dearest step to forget is {forgotten_words(dearest)}, {cost} more than as it should be"
    return [part("FORGOTTEN", [f"changing from {old} to {new}, {said}"])]


def _correct(result: Any, words: Words) -> list[Part]:
    from overlapsim.report.correction_report import type_in_parts

    first, *_ = type_in_parts(result, words)
    return [part("DIGS", [f"{len(result.digs)} digs say: {line}" for line in first["lines"]], "strong")]


def _digplan(plan: Any, words: Words) -> list[Part]:
    from overlapsim.report.dig_plan_report import plan_words

    return [part("DIG PLAN", [f"{plan_words(plan, words)}; fill in sheet.csv"])]


_TELL: dict[str, Callable[[Any, Words], list[Part]]] = {
    "causes": _causes,
    "patterns": _patterns,
    "changeover": _changeover,
    "correct": _correct,
    "digplan": _digplan,
}
