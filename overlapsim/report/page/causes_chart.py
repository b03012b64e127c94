"""Where the error comes from, as a drawing: each cause begins where the one above has ended."""

from __future__ import annotations

from html import escape
from typing import Any

from overlapsim.report.origin_words import NAMES
from overlapsim.report.origins import figures_of
from overlapsim.report.page.chart import WIDE, drawing, key_item
from overlapsim.report.page.markup import METRIC, US, number, pair, sentence

_NAMES, _FIGURES = 118.0, 62.0  # room for names and for figures, units of the drawing
_LINE, _BAR = 24.0, 14.0  # from line to line, and a bar's height


def causes_chart(result: Any) -> str:
    """Draw what each cause adds to the combined error, and the whole of it.

    Parameters
    ----------
    result : CausesResult
        Finished result.

    Returns
    -------
    str
        HTML.
    """
    us, metric = figures_of(result, US), figures_of(result, METRIC)
    level, steps = 0.0, []
    for key, line in result.lines.items():
        text = pair(us.text(us.lines[key][4]), metric.text(metric.lines[key][4]), "tspan")
        steps.append((NAMES[key], level, line["combined_m2"], text))
        level += line["combined_m2"]
    whole = pair(us.text(us.total[4]), metric.text(metric.total[4]), "tspan")
    steps.append(("all of it", 0.0, level, whole))
    ends = [end for _, start, more, _ in steps for end in (start, start + more)]
    low, high = min(0.0, *ends), max(*ends, 1e-9)
    room = WIDE - _NAMES - _FIGURES

    def x(area: float) -> float:
        return _NAMES + (area - low) / (high - low) * room

    made = [f'<path class="grid" d="M{number(x(0.0))} 4V{_LINE * len(steps) + 4:.0f}"/>']
    for row, (name, start, more, text) in enumerate(steps):
        y = 6 + _LINE * row
        first, last = sorted((x(start), x(start + more)))
        kind = "whole" if row == len(steps) - 1 else "adds" if more >= 0 else "takes"
        made.append(
            f'<text class="name" x="{_NAMES - 6:.0f}" y="{y + 11:.0f}" text-anchor="end">'
            f"{escape(sentence(name))}</text>"
            f'<rect class="step {kind}" x="{number(first)}" y="{y:.0f}" height="{_BAR:.0f}" '
            f'width="{number(max(last - first, 0.6))}"/>'
            f'<text class="figure" x="{number(last + 4)}" y="{y + 11:.0f}">{text}</text>'
        )
    units = pair(f"figures in {us.unit}", f"figures in {metric.unit}")
    key = key_item("adds", "adds") + key_item("takes", "takes away: two faults cancel") + f"<li>{units}</li>"
    label = "Causes one above the other; the table holds the figures"
    return drawing("".join(made), _LINE * len(steps) + 10, label, key)
