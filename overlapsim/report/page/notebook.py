"""A result in a notebook: the first screen of its page, its pass end and its table, in a frame of its own."""

from __future__ import annotations

from html import escape
from typing import Any

from overlapsim.report.page.frame import document
from overlapsim.report.page.pages import content_of
from overlapsim.report.words import choose

_HIGH = 760  # dots: first screen and a table of six lines
_TABLES = ("curve", "cost", "told-0", "changes")


def shown(result: Any) -> str:
    """Show a result.

    Parameters
    ----------
    result : Simulation, TuneResult, CausesResult, PatternsResult, CorrectResult, DigPlan or ChangeoverResult
        Finished result.

    Returns
    -------
    str
        HTML. The frame keeps a notebook's look and the page's apart.
    """
    first, sections = content_of(result)
    table = [one for one in sections if one.key in _TABLES][:1]
    units = choose(None, result.scenario).units
    page = document(result.scenario.title, "", first, table, units)
    return (
        f'<iframe title="{escape(result.scenario.title, quote=True)}" srcdoc="{escape(page, quote=True)}" '
        f'width="100%" height="{_HIGH}" frameborder="0"></iframe>'
    )
