"""Tables of what digs told: the unknowns with their intervals, and each dig with what it is off by."""

from __future__ import annotations

from typing import Any

import numpy as np

from overlapsim.basics.units import format_time
from overlapsim.questions.digs import BETWEEN, DRIFT, DX, OFF, ON
from overlapsim.report.phrases import rank_words
from overlapsim.report.words import Words

MOST_DIGS = 40
"""Digs that are printed one by one; a screenful. All of them stand in result.json."""

_NAMES = {DX: "offset has too much", ON: "on latency", OFF: "off latency", DRIFT: "late on the way out"}


def found_table(result: Any, words: Words) -> dict[str, Any]:
    """Write what was found, with its interval.

    Parameters
    ----------
    result : CorrectResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    dict
        A table part.
    """
    switching = result.scenario.switching
    entered = {ON: format_time(switching.turn_on_time), OFF: format_time(switching.turn_off_time)}
    rows = []
    for name, one in result.estimates.items():
        write = format_seconds if name in (ON, OFF) else words.short
        cells = [write(one[key]) if one[key] is not None else "" for key in ("value", "low", "high")]
        rows.append({
            "label": name_words(name),
            "cells": [cells[0] or "not told", *cells[1:], entered.get(name, "")],
            "strong": False,
        })  # fmt: skip
    columns = [
        {"head": head, "unit": ""}
        for head in (["found"], ["95 %", "from"], ["95 %", "to"], ["time", "entered"])
    ]
    return {"label": "", "title": "FOUND", "columns": columns, "rows": rows}


def format_seconds(seconds: float) -> str:
    """Write an estimated time.

    Parameters
    ----------
    seconds : float
        Time, s.

    Returns
    -------
    str
        To a hundredth: nothing dug is surer.

    Examples
    --------
    >>> format_seconds(0.4739)
    '0.47 s'
    """
    return format_time(round(seconds, 2))


def name_words(name: str) -> str:
    """Name an unknown.

    Parameters
    ----------
    name : str
        As results bear it.

    Returns
    -------
    str
        As people read it.
    """
    if name.startswith(BETWEEN):
        return f"{rank_words(name.removeprefix(BETWEEN))} farther back"
    return _NAMES[name]


def digs_table(result: Any, words: Words) -> dict[str, Any]:
    """Write the digs with their residuals, the largest first where there are too many.

    Parameters
    ----------
    result : CorrectResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    dict
        A table part.
    """
    count, past = len(result.digs), result.model.past_line(result.digs)
    order = np.argsort(-np.abs(result.fit.residual), kind="stable")[:MOST_DIGS]
    far = set(result.outliers)
    rows = [
        {
            "label": f"line {result.digs[i].line}{' OUTLIER' if i in far else ''}",
            "cells": [
                result.digs[i].end, result.digs[i].rank, result.digs[i].direction,
                f"{result.digs[i].speed / words.speed_step:.3g}",
                words.short_number(past[i]), words.short_number(past[i] - result.fit.residual[i]),
                words.short_number(result.fit.residual[i]),
            ],
            "strong": i in far,
        }
        for i in sorted(order)
    ]  # fmt: skip
    heads = [
        (["end"], ""), (["rank"], ""), (["way"], ""), (["speed"], words.speed_unit),
        (["past", "line"], words.short_unit), (["fitted"], words.short_unit), (["off by"], words.short_unit),
    ]  # fmt: skip
    title = "EACH DIG" if count <= MOST_DIGS else f"THE {MOST_DIGS} FARTHEST OFF OF {count:,}"
    return {"label": "", "title": title, "columns": [{"head": h, "unit": u} for h, u in heads], "rows": rows}
