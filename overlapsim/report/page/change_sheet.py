"""A changeover on the page: what to enter, the steps both ways to tick, what each forgotten one costs."""

from __future__ import annotations

from html import escape
from typing import Any

from overlapsim.report.cautions import CHANGE_CAUTIONS
from overlapsim.report.changeover_report import (
    COMMON,
    as_good_words,
    changes_tables,
    forgotten_parts,
    setups_of,
    stays_words,
    step_words,
)
from overlapsim.report.money import basis_words
from overlapsim.report.page.markup import (
    METRIC,
    US,
    Section,
    lines_html,
    parts_html,
    said,
    table_html,
)
from overlapsim.report.page.proof import list_html
from overlapsim.report.page.sections import warned
from overlapsim.report.sources import sources

_BOTH = (US, METRIC)


def change_opening(result: Any) -> str:
    """Write the first screen: what is entered, old and new, and what everybody must know before.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.

    Returns
    -------
    str
        HTML.
    """
    old, new = (escape(name) for name in setups_of(result))
    scenario = result.scenario
    return (
        '<section id="answer" class="answer" aria-labelledby="answer-title"><div class="enter">'
        f'<h2 id="answer-title">From {old} to {new}, and back</h2>{entered_then(result)}'
        f'<p class="from">{escape(sources(scenario.basis, scenario.assumed))}</p></div>'
        f"{before_first_step()}</section>"
    )


def entered_then(result: Any) -> str:
    """Write what is entered, old and new, and how far off is just as good.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.

    Returns
    -------
    str
        HTML.
    """
    us, metric = (changes_tables(result, words) for words in _BOTH)
    good = lines_html(as_good_words(result, US), as_good_words(result, METRIC))
    return (
        f'{parts_html(us[:1], metric[:1])}<div class="so"><p>Just as good a reference offset:</p>{good}</div>'
    )


def before_first_step() -> str:
    """Write what everybody must know before.

    Returns
    -------
    str
        HTML.
    """
    return f'<div><h3>Before the first step</h3><div class="caution">{list_html(CHANGE_CAUTIONS)}</div></div>'


def change_sections(result: Any) -> list[Section]:
    """Write what changes besides, the steps both ways, and what each forgotten step costs.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.

    Returns
    -------
    list of Section
        In the order in which they are needed.
    """
    old, new = setups_of(result)
    us, metric = (changes_tables(result, words)[1:] for words in _BOTH)
    stays = f"<p>Stays: {said(lambda words: stays_words(result, words))}.</p>"
    ways = ((f"To {new}", result.steps), (f"Back to {old}", result.steps_back))
    steps = "".join(f"<div><h3>{escape(name)}</h3>{_steps(own)}</div>" for name, own in ways)
    by = "<p>Changed by: ____________________ on: ______________ entered: _______________</p>"
    prices = "".join(
        parts_html(forgotten_parts(way, US), forgotten_parts(way, METRIC))
        for way in (result, result.way_back)
        if way
    )
    if result.scenario.value.given:
        prices += f"<p>{said(lambda words: basis_words(result.scenario, words))}</p>"
    run = result.base
    return [
        *warned(run),
        Section("changes", "On the machine, and to check", parts_html(us, metric) + stays, "Changes"),
        Section("steps", "The steps", f'<div class="two">{steps}</div><p>{escape(COMMON)}</p>{by}', "Steps"),
        Section("forgotten", "What a forgotten step costs", prices, "Forgotten"),
    ]


def change_table(result: Any) -> str:
    """Write what is entered, old and new, for notebooks.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.

    Returns
    -------
    str
        HTML.
    """
    us, metric = (changes_tables(result, words)[0] for words in _BOTH)
    return table_html(us, metric)


def _steps(steps: Any) -> str:
    made, before = [], ""
    for step in steps:
        if step.category != before:
            made.append(f'<div class="category">{escape(step.category)}</div>')
        before = step.category
        made.append(f'<div class="step">&#9744; {escape(step_words(step))}</div>')
    return "".join(made)
