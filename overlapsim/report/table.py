"""The table of settings laid side by side: what each of them leaves, rounded so that it adds up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from overlapsim.basics.units import format_number
from overlapsim.report.phrases import rank_words, times_words
from overlapsim.report.rounding import adding_up
from overlapsim.report.setting import offset_number
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout

# Settings nearer than a tenth of a millimetre and a tenth of a millisecond are one and the same line.
_SAME = 4

# The least area is worth a line where it lies one per cent below what to type in; nearer, it is as good.
_WORTH = 1.01


@dataclass(frozen=True)
class Choice:
    """One line of the table.

    Attributes
    ----------
    label : str
        What it is.
    run : Simulation
        Its full simulation.
    strong : bool
        Whether it is what to type in.
    """

    label: str
    run: Any
    strong: bool = False


def choices(result: Any) -> list[Choice]:
    """Lay out what is entered now, what to type in and the obvious alternatives.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    list of Choice
        Lines that would stand twice are joined: their labels then stand in one.
    """
    ranks = row_layout(result.scenario).working_ranks
    others, several = result.alternatives, len(ranks) > 1
    new = result.recommended
    # Times that are said nowhere else in the table are said here.
    known = _times(new) == _times(result.as_set) or _setting(new) == _setting(others["times_matched"])
    name = "type in" if known else f"type in, {_times_of(new)}"
    lines = [Choice("now", result.as_set), Choice(name, new, True)]
    positions = [("foremost_rank", rank_words(ranks[0]))]
    if several:
        positions += [("midway", "midway"), ("rearmost_rank", rank_words(ranks[-1]))]
    lines += [Choice(label, others[key]) for key, label in positions]
    matched = others["times_matched"]
    if _times(matched) != _times(result.as_set):
        lines.append(Choice(f"times {_times_of(matched)}", matched))
    if several:
        lines.append(Choice("one per rank", others["offset_per_rank"]))
        if _times(result.floor) != _times(result.as_set):
            lines.append(Choice("per rank + times", result.floor))
    if result.recommended.areas["combined_m2"] >= _WORTH * result.best.areas["combined_m2"]:
        lines.insert(2, Choice("least area", result.best))
    return _joined(lines)


def _times(run: Any) -> tuple[float, float]:
    switching = run.scenario.switching
    return round(switching.turn_on_time, _SAME), round(switching.turn_off_time, _SAME)


def _times_of(run: Any) -> str:
    return times_words(run.scenario.switching.turn_on_time, run.scenario.switching.turn_off_time)


def _setting(run: Any) -> tuple[Any, ...]:
    offset = run.scenario.switching.reference_offset
    if isinstance(offset, dict):
        values = {round(value, _SAME) for value in offset.values()}
        place: Any = values.pop() if len(values) == 1 else tuple(round(v, _SAME) for v in offset.values())
    else:
        place = round(float(offset), _SAME)
    return (place, *_times(run))


def _joined(lines: list[Choice]) -> list[Choice]:
    kept: dict[tuple[Any, ...], Choice] = {}
    for line in lines:
        key = _setting(line.run)
        first = kept.get(key)
        if first is None:
            kept[key] = line
        elif line.label != "least area":
            kept[key] = Choice(f"{first.label} = {line.label}", first.run, first.strong or line.strong)
    return list(kept.values())


def settings_table(lines: list[Choice], words: Words) -> dict[str, Any]:
    """Write the table.

    Parameters
    ----------
    lines : list of Choice
        Full simulations, in the order in which they are read.
    words : Words
        Units.

    Returns
    -------
    dict
        Columns (``head``: the name, in pieces for a narrow column; ``unit``) and rows (``label``,
        ``cells``, ``strong``), all text. Skip, double-planted and off-field add up to the total as
        printed; weights other than 1 add a column with the combined error, amounts stated in
        ``[value]`` one with what it costs.
    """
    areas = [line.run.areas for line in lines]
    totals = [a["skip_m2"] + a["overlap_m2"] + a["off_field_m2"] for a in areas]
    combined = [a["combined_m2"] for a in areas]
    weighted = any(abs(c - t) > 1e-9 * max(t, 1.0) for c, t in zip(combined, totals, strict=True))
    unit, size, digits = words.area_scale(max(totals + combined))
    paid = lines[0].run.scenario.value.given
    rows = []
    for line, area, error in zip(lines, areas, combined, strict=True):
        parts = [area[key] / size for key in ("skip_m2", "overlap_m2", "off_field_m2")]
        figures, total = adding_up(parts, digits)
        if weighted:
            figures.append(error / size)
        scenario = line.run.scenario
        rows.append({
            "label": line.label,
            "cells": [
                offset_number(scenario, scenario.switching.reference_offset, words),
                words.short_number(area["longest_gap_m"]),
                format_number(area["missing_row_m"] / words.long_size),
                *(format_number(figure, digits) for figure in (*figures[:3], total, *figures[3:])),
                *([format_number(area["money"])] if paid else []),
            ],
            "strong": line.strong,
        })  # fmt: skip
    columns = [
        {"head": ["reference", "offset"], "unit": words.short_unit},
        {"head": ["longest", "gap"], "unit": words.short_unit},
        {"head": ["row", "missing"], "unit": words.long_unit},
        {"head": ["skip"], "unit": unit},
        {"head": ["double-", "planted"], "unit": unit},
        {"head": ["off-", "field"], "unit": unit},
        {"head": ["total"], "unit": unit},
    ]
    if weighted:
        columns.append({"head": ["weighted"], "unit": unit})
    if paid:
        columns.append({"head": ["money"], "unit": str(lines[0].run.scenario.value.currency)})
    return {"columns": columns, "rows": rows}
