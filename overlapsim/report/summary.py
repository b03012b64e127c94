"""Many scenarios in one table: what each loses now, what it could save, the largest saving of a gap first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from overlapsim.basics.units import format_number
from overlapsim.report.advice import part
from overlapsim.report.setting import offset_number
from overlapsim.report.words import Words, choose

MOST_ROWS = 20
"""Scenarios that are printed (a screenful, no source)."""

_AREAS = ("longest_gap_m", "skip_m2", "overlap_m2", "off_field_m2", "combined_m2")


@dataclass(frozen=True)
class Told:
    """What one scenario of many came to.

    Attributes
    ----------
    file : str
        As it was given.
    name : str
        Name of the scenario, and of its folder; empty where it could not be read.
    figures : dict
        Columns of the table, SI; without those that do not apply.
    offsets : dict
        Reference offsets `now`, and `then` where something was searched: metres, by rank where there is one
        per rank.
    scenario : Scenario or None
        None where it is at fault.
    error : str
        What was wrong; empty when it went well.
    """

    file: str
    name: str = ""
    figures: dict[str, Any] = field(default_factory=dict)
    offsets: dict[str, Any] = field(default_factory=dict)
    scenario: Any = None
    error: str = ""


def told_of(file: str, result: Any) -> Told:
    """Take from a result what stands in the table of all.

    Parameters
    ----------
    file : str
        The scenario's file as it was given.
    result : Simulation, TuneResult, CausesResult or PatternsResult
        Finished result.

    Returns
    -------
    Told
        What was found; the result itself is not kept.
    """
    scenario = result.scenario
    offset = scenario.switching.reference_offset
    now, then, pattern = _now_and_then(result)
    figures: dict[str, Any] = {
        "title": scenario.title,
        "field": scenario.field.name,
        "plantable_m2": scenario.field.plantable_m2,
        **_offset("reference_offset", offset),
        **{key: now[key] for key in _AREAS},
    }
    if "money" in now:
        figures["money"] = now["money"]
    offsets = {"now": offset}
    if then is not None:
        best = then["reference_offset_m"]
        figures |= _offset("recommended_reference_offset", best)
        if getattr(result, "joint", None):
            figures |= {f"recommended_{key}": then[key] for key in ("turn_on_time_s", "turn_off_time_s")}
        figures |= {f"recommended_{key}": then[key] for key in _AREAS}
        figures |= {
            "longest_gap_saved_m": now["longest_gap_m"] - then["longest_gap_m"],
            "combined_saved_m2": now["combined_m2"] - then["combined_m2"],
        }
        if "money" in then:
            figures |= {"recommended_money": then["money"], "money_saved": now["money"] - then["money"]}
        offsets["then"] = best
    if pattern:
        figures["recommended_pattern"] = pattern
    return Told(file, scenario.name, figures, offsets, scenario)


def _now_and_then(result: Any) -> tuple[dict[str, Any], dict[str, Any] | None, str]:
    """Areas as set, areas with what is proposed, and which pattern that is where patterns were compared."""
    if hasattr(result, "patterns"):
        least = min(result.patterns, key=lambda one: round(one["best"]["combined_m2"], 6))
        return result.now["as_set"], least["best"], least["key"]
    run = getattr(result, "as_set", result)
    if not hasattr(result, "recommended"):
        return run.areas, None, ""
    new = result.recommended
    switching = new.scenario.switching
    then = {
        "reference_offset_m": switching.reference_offset,
        "turn_on_time_s": switching.turn_on_time,
        "turn_off_time_s": switching.turn_off_time,
    }
    return run.areas, {**then, **new.areas}, ""


def _offset(key: str, offset: Any) -> dict[str, float]:
    if isinstance(offset, dict):
        return {f"{key}_{rank}_m": value for rank, value in offset.items()}
    return {f"{key}_m": offset}


def in_order(told: Sequence[Told]) -> list[Told]:
    """Sort by the longest gap saved; where nothing was searched, by the longest gap.

    Parameters
    ----------
    told : sequence of Told
        In the order in which they were given.

    Returns
    -------
    list of Told
        The largest first; equal ones as they were given; those at fault last.
    """

    def place(one: Told) -> tuple[bool, float]:
        gap = one.figures.get("longest_gap_saved_m", one.figures.get("longest_gap_m", 0.0))
        # A tenth of a millimetre: what is equal but for rounding stays in order.
        return bool(one.error), -round(gap, 4)

    return sorted(told, key=place)


def summary_columns(told: Sequence[Told]) -> dict[str, np.ndarray]:
    """Lay out the table for other programs.

    Parameters
    ----------
    told : sequence of Told
        In the order of the table.

    Returns
    -------
    dict of str to ndarray
        Columns in SI, a row for each scenario; empty where something does not apply, `error` where something
        was wrong.
    """
    keys = list(dict.fromkeys(key for one in told for key in one.figures))
    rows = [{"scenario": o.name, "file": o.file, **o.figures, "error": o.error} for o in told]
    return {
        key: np.array([row.get(key) for row in rows], dtype=object)
        for key in ("scenario", "file", *keys, "error")
    }


def summary_report(told: Sequence[Told], units: str | None = None) -> dict[str, Any]:
    """Say in one table what all scenarios came to.

    Parameters
    ----------
    told : sequence of Told
        In the order of the table.
    units : {"us", "metric"}, optional
        Default: those of the first scenario.

    Returns
    -------
    dict
        Title and parts.
    """
    good, bad = [one for one in told if not one.error], [one for one in told if one.error]
    parts: list[dict[str, Any]] = []
    if good:
        parts.append(_table(good[:MOST_ROWS], choose(units, good[0].scenario), good))
    if len(good) > MOST_ROWS:
        parts.append(part("", [f"and {len(good) - MOST_ROWS} more, all of them in summary.csv"], "quiet"))
    if bad:
        parts.append(part("AT FAULT", [", ".join(one.file for one in bad)], "warn"))
    count = len(told)
    return {"title": f"{count} scenario{'' if count == 1 else 's'}", "parts": parts}


def _table(shown: list[Told], words: Words, everybody: list[Told]) -> dict[str, Any]:
    searched = any("then" in one.offsets for one in everybody)
    largest = max(one.figures["combined_m2"] for one in everybody)
    unit, size, digits = words.area_scale(largest)

    rows = []
    for one in shown:
        figures = one.figures
        cells = [offset_number(one.scenario, offset, words) for offset in one.offsets.values()]
        keys = ["longest_gap_m"]
        if searched:
            keys += ["recommended_longest_gap_m", "longest_gap_saved_m"]
        cells += [words.short_number(figures[key]) for key in keys]
        keys = ["combined_m2", "combined_saved_m2"][: 1 + searched]
        cells += [format_number(figures[key] / size, digits) for key in keys]
        rows.append({"label": one.name, "cells": cells, "strong": False})
    columns = [
        {"head": ["reference", "offset"], "unit": words.short_unit},
        {"head": ["longest", "gap now"], "unit": words.short_unit},
        {"head": ["lost", "now"], "unit": unit},
    ]
    if searched:
        columns.insert(1, {"head": ["type", "in"], "unit": words.short_unit})
        columns[3:3] = [
            {"head": ["gap", "then"], "unit": words.short_unit},
            {"head": ["gap", "saved"], "unit": words.short_unit},
        ]
        columns.append({"head": ["saved"], "unit": unit})
    return {"label": "", "columns": columns, "rows": rows}
