"""What a study says, as plain data: how far it went, what moves each result, what shape has to do with it."""

from __future__ import annotations

from typing import Any

from overlapsim.report.advice import part

MOST_ERRORS = 5
"""Failed cases that are named; the table has all."""

MOST_LINES = 14
"""Lines of a table of effects on a screen; the files have all."""


def study_report(result: Any, told: dict[str, Any]) -> dict[str, Any]:
    """Say what a finished study shows.

    Parameters
    ----------
    result : StudyResult
        Finished study.
    told : dict
        Its `to_dict`.

    Returns
    -------
    dict
        Title and parts.
    """
    parts = [part("", [setting_words(told)])]
    if told["failed"]:
        parts.append(part("FAILED", failed_words(told), "warn"))
    for response, words in told["responses"].items():
        rows = [one for one in told["effects"] if one["response"] == response]
        shown = rows if len(rows) <= MOST_LINES else []
        if shown:
            parts.append({"label": "", **effects_table(words, shown)})
    if told["indices"]:
        parts.append({"label": "", **indices_table(told)})
    elif told["indices_from"]:
        parts.append(part("INDICES", [told["indices_from"]], "quiet"))
    if told["shape"]:
        parts.append({"label": "", **shape_table(told)})
    return {"title": result.study.title, "parts": parts}


def setting_words(told: dict[str, Any]) -> str:
    """Say what was studied, in a sentence.

    Parameters
    ----------
    told : dict
        `to_dict` of a study.

    Returns
    -------
    str
        Cases, fields, factors and how they are combined.
    """
    sample = told["sample"]
    how = "a full grid" if sample["method"] == "grid" else (
        f"a {sample['method']} sample of size {sample['size']:,}, seed {sample['seed']}")  # fmt: skip
    many = told["fields"]
    fields = "one field" if many == 1 else f"{many:,} fields"
    return f"{told['cases']:,} cases on {fields}; {how} of: {', '.join(told['factors'])}"


def failed_words(told: dict[str, Any]) -> list[str]:
    """Say which cases failed and why.

    Parameters
    ----------
    told : dict
        `to_dict` of a study.

    Returns
    -------
    list of str
        How many, and the first few.
    """
    failed = told["failed"]
    lines = [f"{len(failed):,} of {told['cases']:,} cases have no result; column error says why."]
    lines += [f"case {one['case']}: {one['error']}" for one in failed[:MOST_ERRORS]]
    return lines


def number(value: float) -> str:
    """Write a figure with four digits.

    Parameters
    ----------
    value : float
        In any unit.

    Returns
    -------
    str
        As in ``0.01234``.
    """
    return f"{value:.4g}"


def effects_table(title: str, rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Lay main effects out.

    Parameters
    ----------
    title : str
        What the result is.
    rows : list of dict
        Of `main_effects`, of one result.

    Returns
    -------
    dict
        A table of a report.
    """
    heads = (["cases"], ["lower", "quartile"], ["median"], ["upper", "quartile"], ["95 % of", "median"])
    return {
        "title": title[0].upper() + title[1:],
        "columns": [{"head": head, "unit": ""} for head in heads],
        "rows": [
            {
                "label": f"{one['factor']} = {one['level']}",
                "cells": [
                    f"{one['n']:,}", number(one["q1"]), number(one["median"]), number(one["q3"]),
                    f"{number(one['low'])} to {number(one['high'])}",
                ],
                "strong": False,
            }
            for one in rows
        ],
    }  # fmt: skip


def indices_table(told: dict[str, Any]) -> dict[str, Any]:
    """Lay sensitivity indices out.

    Parameters
    ----------
    told : dict
        `to_dict` of a study.

    Returns
    -------
    dict
        A table of a report; per cent of the variance.
    """
    rows = []
    for one in told["indices"]:
        cells = []
        for kind in ("first", "total"):
            said = f"{100 * one[kind]:.1f}"
            if f"{kind}_low" in one:
                said += f" ({100 * one[f'{kind}_low']:.1f} to {100 * one[f'{kind}_high']:.1f})"
            cells.append(said)
        label = f"{told['responses'][one['response']].split(',')[0]}: {one['factor']}"
        rows.append({"label": label, "cells": cells, "strong": False})
    return {
        "title": f"Who moves it ({told['indices_from']})",
        "columns": [{"head": ["alone"], "unit": "%"}, {"head": ["with", "others"], "unit": "%"}],
        "rows": rows,
    }


def shape_table(told: dict[str, Any]) -> dict[str, Any]:
    """Lay out how results go with the shape of fields.

    Parameters
    ----------
    told : dict
        `to_dict` of a study.

    Returns
    -------
    dict
        A table of a report.
    """
    rows = [
        {
            "label": f"{told['responses'][one['response']].split(',')[0]} by {one['measure']}",
            "cells": [f"{one['r2']:.2f}", f"{one['rank_correlation']:.2f}"],
            "strong": False,
        }
        for one in told["shape"]
        if not one["factor"]
    ]
    heads = (["R2 of a", "line"], ["rank", "correlation"])
    return {
        "title": "Shape of fields, mean over settings",
        "columns": [{"head": head, "unit": ""} for head in heads],
        "rows": rows,
    }
