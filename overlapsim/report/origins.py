"""Where the error comes from, as data for a report: a line for each cause, in words and in figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from overlapsim.basics.units import format_number
from overlapsim.report.advice import offset_of, part
from overlapsim.report.fields_table import fields_parts
from overlapsim.report.money import money_parts
from overlapsim.report.origin_words import NAMES, meanings
from overlapsim.report.phrases import and_words
from overlapsim.report.rounding import adding_up, plain
from overlapsim.report.setting import (
    behind_what,
    beware,
    field_words,
    heading_lines,
    machine_words,
    offset_words,
    times_entered,
)
from overlapsim.report.sources import sources
from overlapsim.report.words import Words, choose
from overlapsim.scenario.rows import row_layout

LABELS = {
    "geometry": "EDGES",
    "setup": "ROW SETUP",
    "sections": "SECTIONS",
    "stagger": "STAGGER",
    "timing": "TIMES",
    "offset": "REFERENCE",
    "updates": "UPDATES",
}
"""What stands in the margin where a cause is explained."""

PARTS = (("skip_m2", ("skip",)), ("overlap_m2", ("double-", "planted")), ("off_field_m2", ("off-", "field")))
"""Kinds of lost ground, and how a column of them is headed."""

ON_RAILS = "The machine runs on rails: what a trailing one adds by swinging is not in these figures."


@dataclass(frozen=True)
class Figures:
    """The lines as they are printed: rounded so that they add up both ways.

    Attributes
    ----------
    unit : str
        Of all figures.
    size : float
        Size of the unit, m².
    digits : int
        Digits after the point.
    lines : dict of list of float
        By cause: skip, double-planted, off-field, their sum, and the weighted sum; in the unit.
    total : list of float
        The same of the scenario as it stands.
    weighted : bool
        Whether the kinds of ground weigh differently.
    """

    unit: str
    size: float
    digits: int
    lines: dict[str, list[float]]
    total: list[float]
    weighted: bool

    def text(self, figure: float) -> str:
        """Write a figure.

        Parameters
        ----------
        figure : float
            Area in the unit of the table: sq ft, m², ac or ha.

        Returns
        -------
        str
            Without the unit.
        """
        return format_number(figure, self.digits)

    def area(self, square_metres: float) -> str:
        """Write an area in the unit of the table.

        Parameters
        ----------
        square_metres : float
            Area, m².

        Returns
        -------
        str
            Without the unit.
        """
        return self.text(square_metres / self.size)


def figures_of(result: Any, words: Words) -> Figures:
    """Round the lines so that they add up across and down.

    Parameters
    ----------
    result : CausesResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    Figures
        Differences of rounded totals, so that a figure may be one step of the last digit off its own
        rounding, and no sum is.
    """
    runs = {key: run.areas for key, run in result.runs.items()}
    totals = [sum(areas[key] for key, _ in PARTS) for areas in runs.values()]
    combined = [areas["combined_m2"] for areas in runs.values()]
    unit, size, digits = words.area_scale(max(totals + combined))
    before, lines = [0.0] * 5, {}
    for key, areas in runs.items():
        rounded, total = adding_up([areas[name] / size for name, _ in PARTS], digits)
        now = [*rounded, total, round(areas["combined_m2"] / size, digits)]
        lines[key] = [round(a - b, digits) + 0.0 for a, b in zip(now, before, strict=True)]
        before = now
    weights = result.scenario.weights
    alike = weights.skip == weights.overlap == weights.off_field == 1.0
    return Figures(unit, size, digits, lines, before, not alike)


def causes_report(result: Any, units: str | None = None) -> dict[str, Any]:
    """Say where the error comes from.

    Parameters
    ----------
    result : CausesResult
        Finished result.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    dict
        Title and parts.
    """
    scenario, run = result.scenario, result.as_set
    words, layout = choose(units, scenario), row_layout(scenario)
    figures = figures_of(result, words)
    at = offset_words(scenario, offset_of(run), words)
    many = "s" if isinstance(offset_of(run), dict) else ""
    setting = [
        *heading_lines(scenario),
        field_words(scenario, run.drive.heading, words),
        machine_words(scenario, layout, words),
    ]
    entered = f"reference offset{many} {at} {behind_what(scenario)}; {times_entered(scenario)}"
    notes = beware(run, layout, words)
    parts = [
        part("", setting),
        part("ENTERED", [entered]),
        part("LOST", [lost_words(result, figures)], "strong"),
        causes_table(figures),
        part("", ["From the top down: what each fault adds to those above it."]),
        *_explained(result, figures, words),
        *_cancelling(figures),
        *money_parts(result, words),
        *fields_parts(result, words),
        *([part("BEWARE", notes, "warn")] if notes else []),
        part("NOT IN IT", [ON_RAILS], "quiet"),
        part("FROM", [sources(scenario.basis, scenario.assumed)]),
        part("CHECKED", [_checked(result)]),
    ]
    return {"title": scenario.title, "parts": [one for one in parts if one.get("lines", True)]}


def causes_table(figures: Figures) -> dict[str, Any]:
    """Write the table.

    Parameters
    ----------
    figures : Figures
        Rounded lines.

    Returns
    -------
    dict
        A table part; skip, double-planted and off-field add up to the total, and the lines to the last one.
    """
    heads = [list(head) for _, head in PARTS] + [["total"], ["weighted"]]
    shown = 5 if figures.weighted else 4
    rows = [
        {"label": label, "cells": [figures.text(x) for x in line[:shown]], "strong": strong}
        for label, line, strong in [
            *((NAMES[key], line, False) for key, line in figures.lines.items()),
            ("all of it", figures.total, True),
        ]
    ]
    columns = [{"head": head, "unit": figures.unit} for head in heads[:shown]]
    return {"label": "", "title": "WHERE IT COMES FROM", "columns": columns, "rows": rows}


def lost_words(result: Any, figures: Figures) -> str:
    """Say how much is lost, and which cause has the largest part in it.

    Parameters
    ----------
    result : CausesResult
        Finished result.
    figures : Figures
        Its rounded lines.

    Returns
    -------
    str
        Without a full stop.
    """
    areas = result.as_set.areas
    if not any(figures.total):
        return "nothing that would show in a figure"
    weighed = " (weighted)" if figures.weighted else ""
    share = areas["combined_m2"] / result.as_set.plantable_m2 * 100
    said = f"{figures.text(figures.total[4])} {figures.unit}{weighed}, {share:.2f} % of the plantable ground"
    largest = max(figures.lines, key=lambda key: figures.lines[key][4])
    most = figures.lines[largest][4]
    if most <= 0.0:
        return said
    said += f"; the largest part: {NAMES[largest]}, {figures.text(most)} {figures.unit}"
    # Where two faults cancel a part may be larger than the whole: no share of it, then.
    return said if most > figures.total[4] else f"{said}, {plain(most / figures.total[4] * 100, 0)} %"


def _explained(result: Any, figures: Figures, words: Words) -> list[dict[str, Any]]:
    """Say what stands behind every line that is not nothing."""
    said = meanings(result, words, row_layout(result.scenario), figures.area)
    return [part(LABELS[key], [said[key]]) for key, line in figures.lines.items() if any(line)]


def _cancelling(figures: Figures) -> list[dict[str, Any]]:
    """Say that two faults cancel where a line is below nothing."""
    below = [f'"{NAMES[key]}"' for key, line in figures.lines.items() if line[4] < 0.0]
    if not below:
        return []
    lines = f"the lines {and_words(below)} are" if len(below) > 1 else f"the line {below[0]} is"
    return [
        part(
            "CANCELS",
            [
                f"Two faults cancel: {lines} below nothing, taking away what lines above add. Mend one of "
                "the two alone, and the other shows."
            ],
            "warn",
        )
    ]


def _checked(result: Any) -> str:
    count = len({id(run) for run in (*result.runs.values(), *result.today)})
    worst = result.largest_witness_difference
    return f"{count} full simulations; areas balance; a second witness agrees to {worst:.0e}."
