"""The curve of the combined error over the reference offset, with its parts, as a drawing of the page."""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np

from overlapsim.report.advice import offset_of
from overlapsim.report.offset_curve import PARTS
from overlapsim.report.page.chart import Axis, Chart, Scale, drawing, key_item
from overlapsim.report.page.markup import METRIC, US, number, short
from overlapsim.report.phrases import rank_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import behind_what, measured_from
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout

_POINTS = 400  # points of the curve that are drawn, at most


def curve_section(result: Any) -> str:
    """Draw the curve and say what is on it.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    str
        HTML.
    """
    scenario, curve = result.scenario, result.curve
    offset = np.asarray(curve.offset_m)
    keep = np.unique(np.linspace(0, len(offset) - 1, min(len(offset), _POINTS)).round().astype(int))
    # Where the curve lies lowest must not fall between two points.
    keep = np.union1d(keep, [int(np.argmin(curve.combined_m2))])
    offset, top = offset[keep], np.asarray(curve.combined_m2)[keep]
    most = float(np.max(curve.combined_m2)) * 1.04 or 1.0
    chart = Chart(Axis(float(offset[0]), float(offset[-1])), Axis(0.0, most))
    parts, key, bottom = [], [], np.zeros_like(offset)
    for name, weight, _, word in PARTS:
        times = getattr(scenario.weights, weight)
        upper = bottom + np.asarray(getattr(curve, name))[keep] * times
        if np.any(upper > bottom):
            parts.append(f'<path class="area {weight}" d="{chart.between(offset, bottom, upper)}"/>')
            key.append(key_item(weight, word if times == 1 else f"{word} times {plain(times, 2)}"))
        bottom = upper
    content = [
        *(_axes(chart, words, result) for words in (US, METRIC)), *_stretches(chart, result), *parts,
        f'<path class="combined" d="{chart.path(offset, top)}"/>',
        *_ranks(chart, result), *_marks(chart, result),
    ]  # fmt: skip
    key += [key_item("line", "combined error"), key_item("good", "just as good"), key_item("equal", "equal")]
    label = "Combined error over the reference offset, with its parts; the table holds the figures"
    return drawing("".join(content), chart.high, label, "".join(key))


def _axes(chart: Chart, words: Words, result: Any) -> str:
    unit, area, _ = words.area_scale(float(np.max(result.curve.combined_m2)))
    name = f"reference offset, {words.short_unit} {behind_what(result.scenario)}"
    across = Scale(name, words.short_size, measured_from(result.scenario))
    return chart.axes(
        words.units, across, Scale(f"{unit} on {words.land(result.scenario.field.plantable_m2)}", area)
    )


def _stretches(chart: Chart, result: Any) -> list[str]:
    found = result.joint.typed_found if getattr(result, "joint", None) else result.found
    made = []
    for stretch, kind, y, high in (
        (found.as_good, "good", chart.top, chart.foot - chart.top),
        (found.equal, "equal", chart.foot - 5, 5),
    ):
        for low, far in stretch.values() if isinstance(stretch, dict) else [stretch]:
            x, end = np.clip([chart.x(low), chart.x(far)], chart.left, chart.right)
            wide = number(max(float(end - x), 1.5))
            made.append(
                f'<rect class="{kind}" x="{number(x)}" y="{y:.0f}" width="{wide}" height="{high:.0f}"/>'
            )
    return made


def _ranks(chart: Chart, result: Any) -> list[str]:
    layout = row_layout(result.scenario)
    made: list[str] = []
    taken: list[float] = []
    for k, rank in enumerate(layout.working_ranks):
        x = float(chart.x(layout.behind_pin_of(rank)))
        level = sum(abs(x - other) < 64 for other in taken)
        taken.append(x)
        made.append(f'<path class="drop" d="M{number(x)} {chart.top:.0f}V{chart.foot:.0f}"/>')
        y = chart.top - 4 - 11 * min(level, 1)
        made.append(f'<text class="name rank{k}" x="{number(x)}" y="{y:.0f}" text-anchor="middle">'
                    f"{escape(rank_words(rank))}</text>")  # fmt: skip
    return made


def _marks(chart: Chart, result: Any) -> list[str]:
    """What is entered now and what to type in, on the curve."""
    made = []
    now, typed = (result.as_set, "now", "now"), (result.recommended, "type in", "then")
    same = offset_of(result.as_set) == offset_of(result.recommended)
    for run, name, sign in [(result.recommended, "now = type in", "then")] if same else [now, typed]:
        offset = offset_of(run)
        if isinstance(offset, dict):
            continue
        x, y = float(chart.x(offset)), float(chart.y(run.areas["combined_m2"]))
        made.append(mark(x, y, sign))
        text = short(offset + measured_from(run.scenario), f"{name} ", "tspan")
        side, at = ("end", x - 8) if x > (chart.left + chart.right) / 2 + 60 else ("start", x + 8)
        made.append(f'<text class="name {sign} halo" x="{number(at)}" y="{number(y - 8)}" '
                    f'text-anchor="{side}">{text}</text>')  # fmt: skip
    return made


def mark(x: float, y: float, sign: str) -> str:
    """Draw the sign of a setting: a cross for what is entered now, a diamond for what to type in.

    Parameters
    ----------
    x, y : float
        Its place on the drawing, no unit.
    sign : {"now", "then"}
        Which one.

    Returns
    -------
    str
        SVG.
    """
    shape = "l8 8m0 -8l-8 8" if sign == "now" else "m4 -1l5 5l-5 5l-5 -5z"
    return f'<path class="mark {sign}" d="M{number(x - 4)} {number(y - 4)}{shape}"/>'
