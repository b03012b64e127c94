"""What a report says, as plain data: text in pieces, before anything is rendered.

A report is a dictionary with a ``title`` and ``parts`` in order of importance. A part has a ``label``
(may be empty) and either ``lines`` (text that may be wrapped) or ``columns`` and ``rows`` (a table).
``tone`` is ``strong`` for what to do, ``warn`` for what to beware of, ``quiet`` for the small print.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

import numpy as np

from overlapsim.basics.units import format_number
from overlapsim.report.advice import digging_table, moves, offset_of, part, type_in, what_stays
from overlapsim.report.also_words import also_parts
from overlapsim.report.fields_table import fields_parts
from overlapsim.report.money import money_parts
from overlapsim.report.setting import (
    CAUTION,
    behind_what,
    beware,
    field_words,
    heading_lines,
    machine_words,
    offset_words,
    times_entered,
    typed,
)
from overlapsim.report.sources import sources
from overlapsim.report.swept_words import swept_parts
from overlapsim.report.table import Choice, choices, settings_table
from overlapsim.report.times_words import type_in_with_times
from overlapsim.report.uncertain_words import uncertain_parts
from overlapsim.report.words import Words, choose
from overlapsim.scenario.rows import RowLayout, row_layout

_OTHERS = {
    "forgotten": ("changeover_report", "changeover_report"),
    "patterns": ("pattern_report", "patterns_report"),
    "turns": ("dig_plan_report", "plan_report"),
    "estimates": ("correction_report", "correction_report"),
    "lines": ("origins", "causes_report"),
}
"""What tells results of other commands than tune and simulate apart, and what tells them."""


def report_of(result: Any, units: str | None = None) -> dict[str, Any]:
    """Say what a finished result tells.

    Parameters
    ----------
    result : Simulation, TuneResult, CausesResult, PatternsResult, CorrectResult, DigPlan or ChangeoverResult
        Finished result.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    dict
        Title and parts.
    """
    for mark, (module, function) in _OTHERS.items():
        if hasattr(result, mark):
            tell = getattr(import_module(f"overlapsim.report.{module}"), function)
            told: dict[str, Any] = tell(result, units)
            return told
    return tune_report(result, units) if hasattr(result, "recommended") else run_report(result, units)


def tune_report(result: Any, units: str | None = None) -> dict[str, Any]:
    """Say what to type in, what it saves and what it leaves.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    dict
        Title and parts.
    """
    scenario = result.scenario
    words, layout = choose(units, scenario), row_layout(scenario)
    notes = beware(result.as_set, layout, words)
    if not result.bracketed:
        notes.insert(
            0, "The least area lies at the end of the range that was searched: look at the settings."
        )
    at = offset_words(scenario, offset_of(result.recommended), words)
    parts = [
        part("", _setting(result.as_set, layout, words)),
        *(type_in_with_times if getattr(result, "joint", None) else type_in)(result, words),
        {"label": "", **settings_table(choices(result), words)},
        *money_parts(result, words),
        *fields_parts(result, words),
        digging_table(result.digging, at, words, layout),
        what_stays(result, words, layout),
        part("MOVES IT", moves(result.sensitivity, words)),
        *swept_parts(result, words),
        *uncertain_parts(result, words),
        *also_parts(result, words),
        *_warned(notes),
        part("FROM", [sources(scenario.basis, scenario.assumed)]),
        _checked("Full simulations", result.largest_witness_difference),
        part("DIGGING", [CAUTION], "warn"),
    ]
    return {"title": scenario.title, "parts": parts}


def run_report(run: Any, units: str | None = None) -> dict[str, Any]:
    """Say what the settings leave as they stand.

    Parameters
    ----------
    run : Simulation
        Finished simulation.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    dict
        Title and parts.
    """
    scenario = run.scenario
    words, layout = choose(units, scenario), row_layout(scenario)
    at, value = offset_words(scenario, offset_of(run), words), typed(scenario, offset_of(run))
    ways = [] if isinstance(value, dict) else ["= " + " = ".join(words.ways(value)[1:])]
    share = run.areas["combined_m2"] / run.plantable_m2 * 100
    entered = f"reference offset{'s' if isinstance(value, dict) else ''} {at} {behind_what(scenario)}"
    parts = [
        part("", _setting(run, layout, words)),
        part("ENTERED", [entered], "strong"),
        part("", [*ways, times_entered(scenario)], inset=True),
        {"label": "", **settings_table([Choice("as entered", run, True)], words)},
        *fields_parts(run, words),
        *money_parts(run, words),
        part("LOST", [f"{share:.2f} % of the plantable ground, all told", *_places(run, words)]),
        part("", _row_ends(run, words), inset=True),
        digging_table(digging_of(run, layout), at, words, layout),
        *_warned(beware(run, layout, words)),
        part("FROM", [sources(scenario.basis, scenario.assumed)]),
        _checked("One full simulation", run.witness.largest_relative_difference),
        part("DIGGING", [CAUTION], "warn"),
    ]
    return {"title": scenario.title, "parts": parts}


def digging_of(run: Any, layout: RowLayout) -> list[dict[str, Any]]:
    """Tell where a run's ranks start and stop on a square edge.

    Parameters
    ----------
    run : Simulation
        Finished simulation.
    layout : RowLayout
        Its rows.

    Returns
    -------
    list of dict
        ``rank``, ``on_m`` and ``off_m`` (signed, metres, positive = farther along), foremost rank first.
    """
    ends = run.square_ends
    first = {rank: int(np.flatnonzero(layout.rank == rank)[0]) for rank in layout.working_ranks}
    return [
        {"rank": rank, "on_m": float(ends.on_m[i]), "off_m": float(ends.off_m[i])}
        for rank, i in first.items()
    ]


def _setting(run: Any, layout: RowLayout, words: Words) -> list[str]:
    scenario = run.scenario
    field, machine = field_words(scenario, run.drive.heading, words), machine_words(scenario, layout, words)
    return [*heading_lines(scenario), field, machine]


def _warned(notes: list[str]) -> list[dict[str, Any]]:
    return [part("BEWARE", notes, "warn")] if notes else []


def _places(run: Any, words: Words) -> list[str]:
    unit, size, digits = words.area_scale(run.areas["combined_m2"])
    by_place, said = run.to_dict()["by_place"], []
    for place, name in (("headland", "on the headland"), ("joints", "in joints between passes")):
        for key, word in (("skip_m2", "skip"), ("overlap_m2", "double-planted")):
            figure = format_number(by_place[place][key] / size, digits)
            if figure.strip("0."):
                said.append(f"{word} {figure} {unit} {name}")
    return [f"of that: {'; '.join(said)}"] if said else []


def _row_ends(run: Any, words: Words) -> list[str]:
    ends = run.row_ends_summary
    if ends["median_m"] is None or not np.isfinite(ends["median_m"]):
        return ["no row ends to speak of"]
    median, most, largest = (words.short(ends[key]) for key in ("median_m", "p95_m", "largest_m"))
    return [
        f"row ends on this field: half within {median} of the line, 95 % within {most}, largest {largest}"
    ]


def _checked(first: str, worst: float) -> dict[str, Any]:
    return part("CHECKED", [f"{first}; areas balance; a second witness agrees to {worst:.0e}."])
