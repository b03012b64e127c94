"""Which page a result has: its first screen and its sections, in order of importance."""

from __future__ import annotations

from typing import Any

from overlapsim.report.advice import digging_table, moves, offset_of, part, what_stays
from overlapsim.report.fields_table import fields_parts
from overlapsim.report.money import money_parts
from overlapsim.report.page.answer import answer, entered, under_title
from overlapsim.report.page.curve import curve_section
from overlapsim.report.page.field_map import SCRIPTS, map_section
from overlapsim.report.page.frame import document
from overlapsim.report.page.markup import METRIC, US, Section, parts_html, table_html
from overlapsim.report.page.proof import caution_html, closing, run_check, tune_checks
from overlapsim.report.page.tape import tape_section
from overlapsim.report.setting import beware, offset_words
from overlapsim.report.swept_words import swept_parts
from overlapsim.report.table import choices, settings_table
from overlapsim.report.words import Words, choose
from overlapsim.scenario.rows import row_layout

_BOTH = (US, METRIC)


def report_page(result: Any, units: str | None = None) -> str:
    """Write ``report.html``.

    Parameters
    ----------
    result : TuneResult or Simulation
        Finished result.
    units : {"us", "metric"}, optional
        What a reader sees who has not chosen. Default: the scenario's own.

    Returns
    -------
    str
        HTML that needs nothing else, in both systems of units.
    """
    first = choose(units, result.scenario).units
    sections, opening = (_tune(result), answer) if hasattr(result, "recommended") else (_run(result), entered)
    run = getattr(result, "as_set", result)
    return document(result.scenario.title, under_title(run), opening(result), sections, first, SCRIPTS)


def _tune(result: Any) -> list[Section]:
    layout = row_layout(result.scenario)
    lines = choices(result)
    table = table_html(settings_table(lines, US), settings_table(lines, METRIC))
    stays = [[what_stays(result, words, layout), part("MOVES IT", moves(result.sensitivity, words)),
              *swept_parts(result, words)] for words in _BOTH]  # fmt: skip
    return [
        *_warned(result.as_set),
        Section("tape", "Where to put the tape", tape_section(result), "Tape"),
        Section("digging", "What digging should show", _digging(result, result.digging), "Digging"),
        Section("curve", "What each reference offset costs", curve_section(result) + table, "Cost"),
        Section("stays", "What stays, and what moves the number", parts_html(*stays), "What stays"),
        Section("map", "The field", map_section(result.as_set), "Map"),
        *_fields_and_money(result),
        *closing(result, tune_checks(result)),
    ]


def _run(run: Any) -> list[Section]:
    from overlapsim.report.data import digging_of
    from overlapsim.report.table import Choice

    lines = [Choice("as entered", run, True)]
    table = table_html(settings_table(lines, US), settings_table(lines, METRIC))
    digging = digging_of(run, row_layout(run.scenario))
    checks = ["One full simulation.", run_check(run.witness.largest_relative_difference)]
    return [
        *_warned(run),
        Section("cost", "What is lost", table, "Lost"),
        Section("tape", "Where to put the tape", tape_section(run), "Tape"),
        Section("digging", "What digging should show", _digging(run, digging), "Digging"),
        Section("map", "The field", map_section(run), "Map"),
        *_fields_and_money(run),
        *closing(run, checks),
    ]


def _digging(result: Any, found: list[dict[str, Any]]) -> str:
    layout, run = row_layout(result.scenario), getattr(result, "recommended", result)

    def table(words: Words) -> dict[str, Any]:
        return digging_table(found, offset_words(run.scenario, offset_of(run), words), words, layout)

    return table_html(table(US), table(METRIC)) + caution_html()


def _warned(run: Any) -> list[Section]:
    layout = row_layout(run.scenario)
    notes = [part("", beware(run, layout, words), "warn") for words in _BOTH]
    if not notes[0]["lines"]:
        return []
    return [Section("beware", "Beware", parts_html(notes[:1], notes[1:]), "Beware")]


def _fields_and_money(result: Any) -> list[Section]:
    made = []
    for key, title, parts in (("money", "In money", money_parts), ("fields", "Field by field", fields_parts)):
        us, metric = (parts(result, words) for words in _BOTH)
        if us:
            made.append(Section(key, title, parts_html(us, metric), title))
    return made
