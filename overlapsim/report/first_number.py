"""The number alone: what to type in while all that is known of a machine is what the tape says."""

from __future__ import annotations

from typing import Any

from overlapsim.report.advice import offset_of, part
from overlapsim.report.setting import behind_what, offset_words
from overlapsim.report.words import choose

__all__ = ["first_number", "full_number"]


def first_number(result: Any) -> dict[str, Any]:
    """Say what to type in, and nothing about what is entered now: nobody has asked yet.

    Parameters
    ----------
    result : TuneResult
        Finished search, with one reference offset for all ranks.

    Returns
    -------
    dict
        A report without a title.
    """
    scenario, new = result.scenario, result.recommended
    words, offset = choose(None, scenario), offset_of(new)
    wanted, gap = offset_words(scenario, offset, words), words.short(new.areas["longest_gap_m"])
    first, last = words.inside(*result.as_good_m)
    good = f"{first} to {last} {words.short_unit} is just as good in area"
    lines = [
        f"= {' = '.join(words.ways(offset)[1:])}",
        f"{good}; {wanted} keeps the longest gap in a row shortest, {gap}"
        if first != last
        else f"longest gap in a row {gap}",
    ]
    headline = f"reference offset {wanted} {behind_what(scenario)}"
    return {"title": "", "parts": [part("TYPE IN", [headline], "strong"), part("", lines, inset=True)]}


def full_number(report: dict[str, Any]) -> dict[str, Any]:
    """Keep of a search's report what to type in, what to beware of and where its numbers come from.

    Parameters
    ----------
    report : dict
        As :func:`overlapsim.report.data.tune_report` makes it.

    Returns
    -------
    dict
        A shorter report.
    """
    parts = report["parts"]
    at = next(i for i, one in enumerate(parts) if one["label"] in ("TYPE IN", "LEAVE IT"))
    rest = [one for one in parts if one["label"] in ("BEWARE", "FROM", "DIGGING")]
    return {"title": report["title"], "parts": [*parts[at : at + 2], *rest]}
