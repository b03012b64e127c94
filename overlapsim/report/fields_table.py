"""Several fields under one setting: what each of them loses, rounded so that it adds up to the whole."""

from __future__ import annotations

from typing import Any

import numpy as np

from overlapsim.basics.units import format_number
from overlapsim.control.by_field import fields_of
from overlapsim.report.money import WHOLE_MONEY
from overlapsim.report.rounding import adding_up
from overlapsim.report.words import Words

MOST_ROWS = 12
"""Fields that are printed; of more the rest stands in one line (a screenful, no source)."""

_KEYS = ("skip_m2", "overlap_m2", "off_field_m2")


def fields_parts(result: Any, words: Words) -> list[dict[str, Any]]:
    """Write the table of fields.

    Parameters
    ----------
    result : Simulation or TuneResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    list of dict
        One table: of a simulation skip, double-planted and off-field ground of each field, of a search what
        is lost now and with what to type in. Nothing where the scenario has one field.
    """
    searched = hasattr(result, "recommended")
    run = getattr(result, "as_set", result)
    if not run.scenario.field.part_names:
        return []
    told = fields_of(run)
    names, land = [one["name"] for one in told], [one["plantable_m2"] for one in told]
    if searched:
        after = fields_of(result.recommended)
        now = [sum(one[key] for key in _KEYS) for one in told]
        then = [sum(one[key] for key in _KEYS) for one in after]
        heads, columns = [["lost", "now"], ["lost", "then"], ["saved"]], [now, then]
    else:
        heads = [["skip"], ["double-", "planted"], ["off-", "field"], ["total"]]
        columns = [[one[key] for one in told] for key in _KEYS]
        now = [sum(figures) for figures in zip(*columns, strict=True)]
    shown, rest = _shown(now)
    names = [names[i] for i in shown] + ([f"{len(rest)} others"] if rest else [])
    land = _gathered(land, shown, rest)
    unit, size, digits = words.area_scale(sum(now))
    wholes = [sum(column) / size for column in columns]
    if not searched:
        # The table of settings has rounded these to add up across; here they add up down as well.
        wholes = adding_up(wholes, digits)[0]
    figures = np.array(
        [
            adding_up([value / size for value in _gathered(column, shown, rest)], digits, whole)[0]
            for column, whole in zip(columns, wholes, strict=True)
        ]
    )
    last = figures[0] - figures[1] if searched else figures.sum(axis=0)
    rows = []
    for i, (name, area) in enumerate(zip(names, land, strict=True)):
        cells = [format_number(value, digits) for value in (*figures[:, i], last[i])]
        rows.append({"label": name, "cells": [words.land_number(area), *cells], "strong": False})
    units = [words.land_unit, *[unit] * len(heads)]
    if run.scenario.value.given:
        paid = [one["money"] for one in told]
        if searched:
            paid = [one - other["money"] for one, other in zip(paid, after, strict=True)]
        amounts = _gathered(paid, shown, rest)
        cents = 0 if max(map(abs, amounts)) >= WHOLE_MONEY else 2
        for row, amount in zip(rows, amounts, strict=True):
            row["cells"].append(format_number(amount, cents))
        heads = [*heads, ["saved" if searched else "total"]]
        units.append(str(run.scenario.value.currency))
    return [
        {
            "label": "",
            "title": "FIELD BY FIELD",
            "columns": [
                {"head": head, "unit": one} for head, one in zip([["area"], *heads], units, strict=True)
            ],
            "rows": rows,
        }
    ]


def _shown(lost: list[float]) -> tuple[list[int], list[int]]:
    """Choose which fields get a line: all, or those that lose most; in the order of the file."""
    if len(lost) <= MOST_ROWS:
        return list(range(len(lost))), []
    # Fields that lose alike but for rounding stay in order.
    most = sorted(range(len(lost)), key=lambda i: (-round(lost[i], 6), i))[: MOST_ROWS - 1]
    return sorted(most), [i for i in range(len(lost)) if i not in most]


def _gathered(values: list[float], shown: list[int], rest: list[int]) -> list[float]:
    return [values[i] for i in shown] + ([sum(values[i] for i in rest)] if rest else [])


def fields_columns(result: Any) -> dict[str, np.ndarray]:
    """Lay out the table of fields for other programs.

    Parameters
    ----------
    result : Simulation or TuneResult
        Finished result.

    Returns
    -------
    dict of str to ndarray
        Columns in SI by their keys, a row for each field in the order of the file; of a search those of what
        to type in follow under ``recommended_``. Empty where the scenario has one field.
    """
    searched = hasattr(result, "recommended")
    told = fields_of(getattr(result, "as_set", result))
    after = fields_of(result.recommended) if searched else []
    columns = {key: np.array([one[key] for one in told]) for key in (told[0] if told else ())}
    for key in list(after[0])[2:] if after else ():
        columns[f"recommended_{key}"] = np.array([one[key] for one in after])
    return columns
