"""Ways to drive a field as drawings: ground lost against what is driven, and small maps side by side."""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np
import shapely

from overlapsim.drive.plan import plan_drive
from overlapsim.questions.pattern_cases import with_pattern
from overlapsim.questions.pattern_run import working_stretches
from overlapsim.report.maps import leg_line
from overlapsim.report.page.chart import Axis, Chart, Scale, drawing, key_item
from overlapsim.report.page.curve import mark
from overlapsim.report.page.markup import METRIC, US, Section, number, said
from overlapsim.report.page.paths import CM, Corner, path_of
from overlapsim.report.pattern_report import shown_of
from overlapsim.report.pattern_words import change_number, driven_words, pattern_words
from overlapsim.report.words import Words

_HOUR = 3600.0


def ways_chart(result: Any) -> str:
    """Draw the ground that each way loses at its best against the time or the length that it takes.

    Parameters
    ----------
    result : PatternsResult
        Finished comparison.

    Returns
    -------
    str
        HTML. Time where the result tells it, else the length driven with the machine down.
    """
    patterns = result.patterns
    timed = all(one.get("time_h") for one in patterns)
    effort = np.array([one["time_h"] * _HOUR if timed else one["working_m"] for one in patterns])
    lost = np.array([one["best"]["combined_m2"] for one in patterns])
    now = (effort[0], patterns[0]["as_set"]["combined_m2"])
    chart = Chart(_roomy(effort), _roomy(np.append(lost, now[1]), from_zero=True))
    points = []
    for one, x, y in zip(patterns, chart.x(effort), chart.y(lost), strict=True):
        kind = "unbeaten" if one["unbeaten"] else "beaten"
        points.append(f'<circle class="{kind}" cx="{number(x)}" cy="{number(y)}" r="4"><title>'
                      f"{escape(pattern_words(one))}</title></circle>")  # fmt: skip
    points.append(mark(float(chart.x(now[0])), float(chart.y(now[1])), "now"))
    axes = "".join(_axes(chart, words, result, timed, float(lost.max())) for words in (US, METRIC))
    key = (
        key_item("unbeaten", "unbeaten, at its best reference offset")
        + key_item("beaten", "another loses less and is no longer")
        + "<li><b>×</b> now as entered</li>"
    )
    label = f"Ground lost against {'time' if timed else 'length driven'}; the table holds the figures"
    return drawing(axes + "".join(points), chart.high, label, key)


def _roomy(values: Any, from_zero: bool = False) -> Axis:
    low, high = (0.0 if from_zero else float(values.min())), float(values.max())
    rim = 0.06 * (high - low) or max(abs(high), 1.0) * 0.06
    return Axis(low if from_zero else low - rim, high + rim)


def _axes(chart: Chart, words: Words, result: Any, timed: bool, most: float) -> str:
    unit, area, _ = words.area_scale(most)
    if timed:
        across = Scale("time in the field, h", _HOUR)
    else:
        _, length = driven_words(1.0, words)
        across = Scale(f"driven with the machine down, {length}", 1609.344 if words.us else 1000.0)
    return chart.axes(words.units, across, Scale(f"lost, {unit}", area))


def ways_section(result: Any) -> Section:
    """Lay the ways that the table shows side by side.

    Parameters
    ----------
    result : PatternsResult
        Finished comparison.

    Returns
    -------
    Section
        Small maps.
    """
    return Section("ways", "The ways side by side", ways_maps(result), "Maps")


def ways_maps(result: Any) -> str:
    """Draw a small map for each way that the table shows.

    Parameters
    ----------
    result : PatternsResult
        Finished comparison.

    Returns
    -------
    str
        HTML; north is up, all at one scale.
    """
    parts = np.array(result.scenario.field.parts, dtype=object)
    west, south, east, north = shapely.total_bounds(parts)
    rim = 0.03 * max(east - west, north - south)
    corner = Corner(float(west - rim), float(north + rim))
    view = f"0 0 {(east - west + 2 * rim) * CM:.0f} {(north - south + 2 * rim) * CM:.0f}"
    ground = path_of(shapely.simplify(parts, 0.5), corner)
    today = result.now["as_set"]["combined_m2"]
    figures = []
    for place in shown_of(result):
        one = result.patterns[place]
        drive = plan_drive(with_pattern(result.scenario, result.cases[place]))
        legs = list(zip(drive.legs, working_stretches(drive), strict=True))
        lines = "".join(
            f'<path class="leg{" lap" * (kind == "lap")}" vector-effect="non-scaling-stroke" d="'
            + path_of(
                shapely.simplify(
                    [shapely.LineString(leg_line(leg, down, drive.heading)) for leg, down in legs
                     if leg.kind == kind], 0.5,
                ), corner,
            ) + '"/>'
            for kind in ("pass", "lap")
        )  # fmt: skip
        name = f"{'now: ' if place == 0 else ''}{pattern_words(one)}"
        change = one["best"]["combined_m2"] - today
        told = said(lambda words, c=change: f"{change_number(c, words)} {words.land_unit} lost, at its best")  # type: ignore[misc]
        kind = ' class="unbeaten"' if one["unbeaten"] else ""
        figures.append(
            f'<figure{kind}><svg viewBox="{view}" role="img" aria-label="{escape(name, quote=True)}">'
            f'<path class="field" d="{ground}"/>{lines}<path class="field-rim" '
            f'vector-effect="non-scaling-stroke" d="{ground}"/></svg>'
            f"<figcaption><b>{escape(name)}</b><p>{told}</p></figcaption></figure>"
        )
    return f'<div class="spots maps">{"".join(figures)}</div>'
