"""Which page a result has: its first screen and its sections, in order of importance."""

from __future__ import annotations

from html import escape
from typing import Any

from overlapsim.report import pass_end
from overlapsim.report.page.answer import answer, corrected, entered, under_title
from overlapsim.report.page.beside import also_checks, also_sections
from overlapsim.report.page.field_map import SCRIPTS
from overlapsim.report.page.frame import document
from overlapsim.report.page.markup import Section
from overlapsim.report.page.proof import closing, tune_checks
from overlapsim.report.page.sections import (
    asked_besides,
    cost_section,
    curve_and_cost,
    digging_section,
    joints_section,
    latency_section,
    map_of,
    stays_section,
    tape_of,
    warned,
)
from overlapsim.report.page.told import opening, told, told_sections
from overlapsim.report.setting import heading_lines
from overlapsim.report.words import choose


def report_page(result: Any, units: str | None = None) -> str:
    """Write ``report.html``.

    Parameters
    ----------
    result : Simulation, TuneResult, CausesResult, PatternsResult, CorrectResult, DigPlan or ChangeoverResult
        Finished result.
    units : {"us", "metric"}, optional
        What a reader sees who has not chosen. Default: the scenario's own.

    Returns
    -------
    str
        HTML that needs nothing else, in both systems of units.
    """
    scenario = result.scenario
    first, sections = content_of(result)
    keys = {one.key for one in sections}
    scripts = pass_end.SCRIPTS * (pass_end.KEY in keys) + SCRIPTS * ("map" in keys)
    styles = pass_end.STYLES * (pass_end.KEY in keys)
    return document(
        scenario.title, _under(result), first, sections, choose(units, scenario).units, scripts, styles
    )


def _under(result: Any) -> str:
    """What stands below the title: of a result without a simulation, for whom it is."""
    run = getattr(result, "as_set", None) or getattr(result, "base", None) or getattr(result, "before", None)
    run = result if hasattr(result, "drive") else run
    if run is not None:
        return under_title(run)
    return "".join(f'<p class="about">{escape(line)}</p>' for line in heading_lines(result.scenario))


def content_of(result: Any) -> tuple[str, list[Section]]:
    """Choose the first screen and the sections of a result, by what it has.

    Parameters
    ----------
    result : Simulation, TuneResult, CausesResult, PatternsResult, CorrectResult, DigPlan or ChangeoverResult
        Finished result.

    Returns
    -------
    first : str
        HTML.
    sections : list of Section
        In order of importance.
    """
    if hasattr(result, "forgotten"):
        from overlapsim.report.page.change_sheet import change_opening, change_sections

        checked = told(result).lines("CHECKED")
        return change_opening(result), [*change_sections(result), *closing(result, checked)]
    if hasattr(result, "patterns"):
        return _patterns(result)
    if hasattr(result, "turns"):
        from overlapsim.report.page.dig_plan import plan_opening, plan_sections

        return plan_opening(result), [*plan_sections(result), *closing(result, [])]
    if hasattr(result, "estimates"):
        return _correct(result)
    if hasattr(result, "lines"):
        return _causes(result)
    if hasattr(result, "recommended"):
        return answer(result), _tune(result)
    return entered(result), _run(result)


def _tune(result: Any) -> list[Section]:
    return [
        *warned(result.as_set),
        pass_end.pass_end_section(result),
        tape_of(result),
        digging_section(result, result.recommended, result.digging),
        curve_and_cost(result),
        stays_section(result),
        map_of(result.as_set),
        joints_section(result.as_set),
        *also_sections(result),
        *latency_section(result),
        *asked_besides(result),
        *closing(result, [*tune_checks(result), *also_checks(result)]),
    ]


def _run(run: Any) -> list[Section]:
    from overlapsim.report.data import digging_of

    return [
        *warned(run),
        pass_end.pass_end_section(run),
        cost_section(run),
        tape_of(run),
        digging_section(run, run, digging_of(run, run.layout)),
        map_of(run),
        joints_section(run),
        *asked_besides(run),
        *closing(run, told(run).lines("CHECKED")),
    ]


def _causes(result: Any) -> tuple[str, list[Section]]:
    from overlapsim.report.page.causes_chart import causes_chart

    sections = [
        *told_sections(result), map_of(result.as_set), joints_section(result.as_set), tape_of(result.as_set),
        *closing(result, told(result).lines("CHECKED")),
    ]  # fmt: skip
    return opening(result, causes_chart(result)), sections


def _patterns(result: Any) -> tuple[str, list[Section]]:
    from overlapsim.report.page.ways_chart import ways_chart, ways_section

    sections = [
        *told_sections(result),
        ways_section(result),
        *closing(result, told(result).lines("CHECKED")),
    ]
    return opening(result, ways_chart(result)), sections


def _correct(result: Any) -> tuple[str, list[Section]]:
    from overlapsim.report.page.digs_chart import digs_chart

    first = corrected(result) if result.before and result.after else opening(result)
    sections = [
        Section("chart", "What the digs say", digs_chart(result), "Digs"),
        *told_sections(result),
        *closing(result, told(result).lines("CHECKED")),
    ]
    return first, sections
