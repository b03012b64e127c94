"""Sections that several pages share: warnings, tape, digging, cost, map, joints, what was swept."""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np

from overlapsim.basics.units import format_number, format_time
from overlapsim.report.advice import digging_table, moves, offset_of, part, what_stays
from overlapsim.report.fields_table import fields_parts
from overlapsim.report.latency_map import latency_keys, panels_of
from overlapsim.report.money import money_parts
from overlapsim.report.page.curve import curve_section
from overlapsim.report.page.field_map import map_section
from overlapsim.report.page.markup import METRIC, US, Section, parts_html, said, short, table_html
from overlapsim.report.page.proof import caution_html
from overlapsim.report.page.tape import tape_section
from overlapsim.report.setting import beware, measured_from, offset_words
from overlapsim.report.swept_words import swept_parts
from overlapsim.report.table import Choice, choices, settings_table
from overlapsim.report.uncertain_words import uncertain_parts
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout

_BOTH = (US, METRIC)
_NOTHING = 0.005  # m²: less is nought in every unit that is printed
_SHADES = 5  # of a table over latencies: enough to see the slope, few enough to tell apart


def warned(run: Any) -> list[Section]:
    """Say what no reference offset cures.

    Parameters
    ----------
    run : Simulation
        The scenario as set, run.

    Returns
    -------
    list of Section
        One, or none.
    """
    layout = row_layout(run.scenario)
    notes = [part("", beware(run, layout, words), "warn") for words in _BOTH]
    if not notes[0]["lines"]:
        return []
    return [Section("beware", "Beware", parts_html(notes[:1], notes[1:]), "Beware")]


def tape_of(result: Any) -> Section:
    """Say where to put the tape.

    Parameters
    ----------
    result : TuneResult or Simulation
        Finished result.

    Returns
    -------
    Section
        With the machine from above.
    """
    return Section("tape", "Where to put the tape", tape_section(result), "Tape")


def digging_section(result: Any, run: Any, found: list[dict[str, Any]]) -> Section:
    """Say what digging should show, and what everybody must know before.

    Parameters
    ----------
    result : TuneResult or Simulation
        Finished result.
    run : Simulation
        At the settings that are entered then.
    found : list of dict
        ``rank``, ``on_m`` and ``off_m``: signed distances beyond the line, metres, positive = farther along.

    Returns
    -------
    Section
        With the cautions.
    """
    layout = row_layout(result.scenario)

    def table(words: Words) -> dict[str, Any]:
        return digging_table(found, offset_words(run.scenario, offset_of(run), words), words, layout)

    body = table_html(table(US), table(METRIC)) + caution_html()
    return Section("digging", "What digging should show", body, "Digging")


def curve_and_cost(result: Any) -> Section:
    """Lay out what each reference offset costs, as a curve and as a table.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    Section
        Curve first.
    """
    lines = choices(result)
    table = table_html(settings_table(lines, US), settings_table(lines, METRIC))
    return Section("curve", "What each reference offset costs", curve_section(result) + table, "Cost")


def cost_section(run: Any) -> Section:
    """Lay out what one setting costs.

    Parameters
    ----------
    run : Simulation
        Finished simulation.

    Returns
    -------
    Section
        A table.
    """
    lines = [Choice("as entered", run, True)]
    table = table_html(settings_table(lines, US), settings_table(lines, METRIC))
    return Section("cost", "What is lost", table, "Lost")


def stays_section(result: Any) -> Section:
    """Say what stays on the ground whatever one enters, and what moves the number.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    Section
        Text.
    """
    layout = row_layout(result.scenario)
    stays = [
        [
            what_stays(result, words, layout),
            part("MOVES IT", moves(result.sensitivity, words)),
            *swept_parts(result, words),
        ]
        for words in _BOTH
    ]
    return Section("stays", "What stays, and what moves the number", parts_html(*stays), "What stays")


def map_of(run: Any) -> Section:
    """Draw the field.

    Parameters
    ----------
    run : Simulation
        Finished simulation.

    Returns
    -------
    Section
        With its close-ups.
    """
    return Section("map", "The field", map_section(run), "Map")


def joints_section(run: Any) -> Section:
    """Say what lies in the joints between neighbouring passes.

    Parameters
    ----------
    run : Simulation
        Finished simulation.

    Returns
    -------
    Section
        Text.
    """
    joints, layout = run.joints, run.layout
    aside = 2 * abs(layout.middle)
    pieces = [("skip", joints.skip_m2), ("double-planted", joints.overlap_m2)]

    def lost(words: Words) -> str:
        unit, size, digits = words.area_scale(max(area for _, area in pieces))
        return "; ".join(f"{name} {format_number(area / size, digits)} {unit}" for name, area in pieces)

    where = "Between neighbouring passes, away from their ends"
    body = f"<p>{where}: {said(lost)}.</p>"
    if joints.skip_m2 + joints.overlap_m2 < _NOTHING:
        body = f"<p>{where} no ground is lost.</p>"
    if aside > 5e-4:
        body += f"<p>Every other joint is {short(aside)} too wide, those between as much too narrow.</p>"
    else:
        body += "<p>The machine runs on its line: all joints are as wide as they should be.</p>"
    return Section("joints", "Side joints", body, "Joints")


def latency_section(result: Any) -> list[Section]:
    """Lay the best reference offset out over both latencies, where both were swept.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    list of Section
        One, or none.
    """
    sweep = getattr(result, "sweep", None)
    if sweep is None or not latency_keys(sweep.cases):
        return []
    panels, on, off = panels_of(result, US)
    more, made = measured_from(result.scenario), []
    values = np.concatenate([one.best.ravel() for one in panels])
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    heads = "".join(f'<th scope="col">{escape(format_time(time))}</th>' for time in on)
    for panel in panels:
        rows = "".join(
            f'<tr><th scope="row">{escape(format_time(time))}</th>'
            + "".join(_cell(float(best), more, low, high) for best in line)
            + "</tr>"
            for time, line in zip(off, panel.best, strict=True)
        )
        title = f": {escape(panel.title)}" if panel.title else ""
        made.append(
            '<div class="wide" role="region" tabindex="0" aria-label="Best reference offset over both '
            f'latencies"><table class="heat"><caption>Best reference offset, {said(lambda w: w.short_unit)}'
            f'{title}</caption><thead><tr><td>off latency down, on latency across</td>{heads}</tr></thead>'
            f"<tbody>{rows}</tbody></table></div>"
        )
    return [Section("latencies", "The best number over both latencies", "".join(made), "Latencies")]


def _cell(best: float, more: float, low: float, high: float) -> str:
    if not np.isfinite(best):
        return "<td></td>"
    shade = min(int((best - low) / max(high - low, 1e-12) * _SHADES), _SHADES - 1)
    return f'<td class="shade{shade}">{said(lambda words: words.short_number(best + more))}</td>'


def asked_besides(result: Any) -> list[Section]:
    """Say how sure it is, what it is in money, and what it is field by field, where that was asked for.

    Parameters
    ----------
    result : TuneResult or Simulation
        Finished result.

    Returns
    -------
    list of Section
        Three at most.
    """
    made = []
    kinds = (
        ("uncertain", "How sure the number is", uncertain_parts),
        ("money", "In money", money_parts),
        ("fields", "Field by field", fields_parts),
    )
    for key, title, parts in kinds:
        us, metric = (parts(result, words) for words in _BOTH)
        if us:
            made.append(Section(key, title, parts_html(us, metric), title))
    return made
