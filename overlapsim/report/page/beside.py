"""Sections of what was asked besides a search: those of each question's own page, one after the other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from overlapsim.report.page.markup import Section
from overlapsim.report.page.told import lead, told, told_sections

_SAID = ("BEWARE",)  # of the scenario as set: the search's own page begins with it
_CHECKED = {"causes": "Causes", "patterns": "Patterns", "changeover": "Changing over", "correct": "Digs"}


def also_sections(result: Any) -> list[Section]:
    """Write what was asked besides the search.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    list of Section
        In the order of a page; the first one of each question stands in the list of sections.
    """
    made: list[Section] = []
    count: dict[str, int] = {}
    for kind, answer in getattr(result, "also", None) or ():
        count[kind] = count.get(kind, 0) + 1
        key = kind if count[kind] == 1 else f"{kind}-{count[kind]}"
        first, *others = _SECTIONS[kind](answer)
        made.append(replace(first, key=key))
        made += [
            replace(one, key=f"{key}-{one.key}", title=f"{first.title}: {_inside(one.title)}", menu="")
            for one in others
        ]
    return made


def also_checks(result: Any) -> list[str]:
    """Say how the other questions were computed and how well that agrees.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    list of str
        Sentences.
    """
    return [
        f"{_CHECKED[kind]}: {_inside(line)}"
        for kind, answer in getattr(result, "also", None) or ()
        for line in told(answer).lines("CHECKED")
    ]


def _inside(title: str) -> str:
    """A title within a title."""
    return title[:1].lower() + title[1:]


def _led(result: Any, title: str, menu: str, drawn: str, without: tuple[str, ...] = ()) -> list[Section]:
    """What is said first and a drawing with the first table, then a section for each other table."""
    table, *others = told_sections(result, without)
    return [Section("", title, lead(result) + drawn + table.body, menu), *others]


def _causes(result: Any) -> list[Section]:
    from overlapsim.report.page.causes_chart import causes_chart

    return _led(result, "Where the error comes from", "Causes", causes_chart(result), _SAID)


def _patterns(result: Any) -> list[Section]:
    from overlapsim.report.page.ways_chart import ways_chart, ways_section

    return [
        *_led(result, "Ways to drive the field", "Patterns", ways_chart(result)),
        ways_section(result),
    ]


def _changeover(result: Any) -> list[Section]:
    from overlapsim.report.changeover_report import setups_of
    from overlapsim.report.page.change_sheet import before_first_step, change_sections, entered_then

    old, new = setups_of(result)
    own = {one.key: one for one in change_sections(result)}
    first = Section("", f"From {old} to {new}", entered_then(result), f"Changeover from {old}")
    steps = replace(own["steps"], body=before_first_step() + own["steps"].body)
    return [first, own["forgotten"], own["changes"], steps]


def _correct(result: Any) -> list[Section]:
    from overlapsim.report.page.digs_chart import digs_chart

    return _led(result, "What the digs say", "Digs", digs_chart(result))


def _digplan(plan: Any) -> list[Section]:
    from overlapsim.report.page.dig_plan import plan_sections
    from overlapsim.report.page.proof import caution_html

    where, *others = plan_sections(plan)
    first = f"<h3>Before the first step</h3>{caution_html()}{lead(plan)}{where.body}"
    return [Section("", "Where to dig next", first, "Dig plan"), *others]


_SECTIONS: dict[str, Callable[[Any], list[Section]]] = {
    "causes": _causes,
    "patterns": _patterns,
    "changeover": _changeover,
    "correct": _correct,
    "digplan": _digplan,
}
