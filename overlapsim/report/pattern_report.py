"""What a comparison of ways to drive a field tells: which loses least, what today's could save, the table."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from overlapsim.basics.units import format_number
from overlapsim.report.advice import part
from overlapsim.report.money import money_parts
from overlapsim.report.pattern_words import DIGITS, change_number, driven_words, pattern_words
from overlapsim.report.setting import field_words, heading_lines, machine_words, offset_number, offset_words
from overlapsim.report.sources import sources
from overlapsim.report.words import Words, choose
from overlapsim.scenario.rows import row_layout

MOST_ROWS = 12
"""Patterns that are printed and drawn (a screenful, no source)."""

LEFT_OUT = (
    "time, turns and the room they need, and wheels on planted ground are not reckoned here; seed beyond the "
    "boundary counts as lost"
)
"""What a comparison by ground and length does not know of."""


def patterns_report(result: Any, units: str | None = None) -> dict[str, Any]:
    """Say which ways to drive a field lose less ground than today's.

    Parameters
    ----------
    result : PatternsResult
        Finished comparison.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    dict
        Title and parts.
    """
    scenario, words = result.scenario, choose(units, result.scenario)
    layout = row_layout(scenario)
    heading = math.radians(result.now["heading_deg"])
    setting = [
        *heading_lines(scenario),
        field_words(scenario, heading, words),
        machine_words(scenario, layout, words),
    ]
    notes = _beware(result)
    parts = [
        part("", setting),
        *_advice(result, words),
        {"label": "", **patterns_table(result, shown_of(result), words)},
        part("", _table_notes(result, words), "quiet"),
        *money_parts(result, words),
        *([part("BEWARE", notes, "warn")] if notes else []),
        part("LEFT OUT", [LEFT_OUT]),
        part("FROM", [sources(scenario.basis, scenario.assumed)]),
        part(
            "CHECKED",
            [
                "Full simulations; areas balance; a second witness agrees to "
                f"{result.largest_witness_difference:.0e}."
            ],
        ),
    ]
    return {"title": scenario.title, "parts": parts}


def shown_of(result: Any) -> list[int]:
    """Choose the patterns that are printed and drawn.

    Parameters
    ----------
    result : PatternsResult
        Finished comparison.

    Returns
    -------
    list of int
        At most :data:`MOST_ROWS` indices: today's, then by ground lost at its best the unbeaten ones and, as
        far as there is room, those that lose least. Of more unbeaten ones than fit both ends stay, and what
        lies between them at even steps.
    """
    patterns = result.patterns
    order = sorted(range(len(patterns)), key=lambda i: (round(patterns[i]["best"]["combined_m2"], 6), i))
    room = min(MOST_ROWS, len(patterns)) - 1
    front = [i for i in order if patterns[i]["unbeaten"] and i]
    if len(front) > room:
        front = [front[i] for i in np.linspace(0, len(front) - 1, room).round().astype(int)]
    others = [i for i in order if i not in front and i][: room - len(front)]
    return [0, *sorted([*front, *others], key=order.index)]


def _lost(one: dict[str, Any], setting: str) -> float:
    return float(one[setting]["combined_m2"])


def _alike(result: Any) -> str:
    """The word that tells that areas are weighted."""
    weights = result.scenario.weights
    return "" if (weights.skip, weights.overlap, weights.off_field) == (1.0, 1.0, 1.0) else " (weighted)"


def _advice(result: Any, words: Words) -> list[dict[str, Any]]:
    """Say what today's way loses, what its offset alone would save, and which way loses least."""
    scenario, now = result.scenario, result.now
    today, unit = _lost(now, "as_set"), words.land_unit
    number, far = driven_words(now["working_m"], words)
    land = f"{format_number(today / words.land_size, DIGITS)} {unit}{_alike(result)}"
    entered = offset_words(scenario, scenario.switching.reference_offset, words)
    count = now["pass_count"]
    said = [
        f"{pattern_words(now)}: loses {land} at {entered}; {number} {far} with the machine down, "
        f"{count} pass{'' if count == 1 else 'es'}",
        f"{_against(_lost(now, 'best') - today, words)} with its own best offset, "
        f"{offset_words(scenario, now['best']['reference_offset_m'], words)}",
    ]
    best = least_words(result, words)
    return [
        part("LEAST", best[:1], "strong"),
        part("", best[1:], inset=True),
        part("NOW", said[:1]),
        part("", said[1:], inset=True),
    ]


def least_words(result: Any, words: Words) -> list[str]:
    """Say which way to drive loses least, against today's as it is entered.

    Parameters
    ----------
    result : PatternsResult
        Finished comparison.
    words : Words
        Units.

    Returns
    -------
    list of str
        Without full stops: at its own best reference offset, then at today's; one where today's way loses
        least.
    """
    scenario, today = result.scenario, _lost(result.now, "as_set")
    least = result.patterns[min(range(len(result.patterns)), key=lambda i: (_key(result.patterns[i]), i))]
    if _key(least) >= _key(result.now):
        return ["no other pattern here loses less ground than today's"]
    offset = offset_words(scenario, least["best"]["reference_offset_m"], words)
    entered = offset_words(scenario, scenario.switching.reference_offset, words)
    return [
        f"{pattern_words(least)}, reference offset {offset}: "
        f"{_against(_lost(least, 'best') - today, words)} than now",
        f"{_against(_lost(least, 'as_set') - today, words)} than now if {entered} stays entered",
    ]


def _key(pattern: dict[str, Any]) -> float:
    """Ground lost at its best, to the square millimetre: what differs by less is rounding."""
    return round(_lost(pattern, "best"), 6)


def _against(change: float, words: Words) -> str:
    number = change_number(change, words)
    if not number.strip("+-0."):
        return "no more and no less ground lost"
    return f"{number.lstrip('+-')} {words.land_unit} {'less' if number.startswith('-') else 'more'} lost"


def patterns_table(result: Any, shown: list[int], words: Words) -> dict[str, Any]:
    """Write the table of patterns.

    Parameters
    ----------
    result : PatternsResult
        Finished comparison.
    shown : list of int
        Patterns that get a line.
    words : Words
        Units.

    Returns
    -------
    dict
        Columns and rows, all text; unbeaten patterns bear a star.
    """
    scenario, today = result.scenario, _lost(result.now, "as_set")
    rows = []
    for i in shown:
        one = result.patterns[i]
        label = f"{'* ' if one['unbeaten'] else '  '}{'now: ' if i == 0 else ''}{pattern_words(one)}"
        rows.append({
            "label": label,
            "cells": [
                format_number(one["pass_count"]),
                driven_words(one["working_m"], words)[0],
                change_number(_lost(one, "as_set") - today, words),
                offset_number(scenario, one["best"]["reference_offset_m"], words),
                change_number(_lost(one, "best") - today, words),
            ],
            "strong": one["unbeaten"],
        })  # fmt: skip
    columns = [
        {"head": ["passes"], "unit": ""},
        {"head": ["driven"], "unit": driven_words(0.0, words)[1]},
        {"head": ["lost, at", "today's"], "unit": words.land_unit},
        {"head": ["reference", "offset"], "unit": words.short_unit},
        {"head": ["lost, at", "its best"], "unit": words.land_unit},
    ]
    return {"title": "AGAINST NOW", "columns": columns, "rows": rows}


def _table_notes(result: Any, words: Words) -> list[str]:
    count = sum(one["unbeaten"] for one in result.patterns)
    total = len(result.patterns)
    return [
        f"* unbeaten: no other pattern loses less ground at its best and is no longer to drive ({count} of "
        f"{total}). Driven: with the machine down. Lost: more (+) or less (-) than now as entered.",
        *([f"All {total} stand in patterns.csv."] if total > MOST_ROWS else []),
    ]


def _beware(result: Any) -> list[str]:
    said = []
    open_ended = [one["key"] for one in result.patterns if not one["bracketed"]]
    if open_ended:
        said.append(f"The least lies at the end of the range that was searched: {', '.join(open_ended)}.")
    if result.failed:
        said.append(f"No result, by a fault of this program: {', '.join(result.failed)}.")
    return [*said, *(str(note) for note in result.scenario.warnings)]
