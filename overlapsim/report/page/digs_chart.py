"""What the digs say, as drawings: how late seed starts and stops, over the speed."""

from __future__ import annotations

from typing import Any

import numpy as np

from overlapsim.report.digs_picture import fitted_line, late_of
from overlapsim.report.page.chart import Axis, Chart, Scale, drawing, key_item
from overlapsim.report.page.markup import METRIC, US, number
from overlapsim.report.phrases import rank_words
from overlapsim.scenario.rows import row_layout

_MOST = 2000  # digs that are drawn at each end; more are a blot


def digs_chart(result: Any) -> str:
    """Draw digs, the fitted line and its 95 % band, starts and stops.

    Parameters
    ----------
    result : CorrectResult
        Finished result.

    Returns
    -------
    str
        HTML.
    """
    model, fit = result.model, result.fit
    speed = np.linspace(0.0, max(dig.speed for dig in result.digs) * 1.12, 40)
    ends = {}
    for end in ("on", "off"):
        chosen = [i for i, dig in enumerate(result.digs) if dig.end == end][:_MOST]
        late = late_of(model, [result.digs[i] for i in chosen]) if chosen else np.empty(0)
        ends[end] = chosen, late, fitted_line(model, fit, end, speed)
    known = np.concatenate([np.concatenate([late, *band]) for _, late, band in ends.values()])
    known = known[np.isfinite(known)]
    low, high = float(known.min(initial=0.0)), float(known.max(initial=0.0))
    rim = 0.06 * (high - low) or 0.05
    ranks = row_layout(result.scenario).working_ranks
    key = "".join(key_item(f"rank{k}", rank_words(rank)) for k, rank in enumerate(ranks))
    key += key_item("line", "fitted") + key_item("band", "95 % sure")
    made = []
    for end, name in (("on", "Starts"), ("off", "Stops")):
        chart = Chart(Axis(0.0, float(speed[-1])), Axis(low - rim, high + rim))
        content = "".join(
            chart.axes(
                words.units, Scale(f"speed, {words.speed_unit}", words.speed_step),
                Scale(f"{name}: late by more than described, {words.short_unit}", words.short_size),
            )
            for words in (US, METRIC)
        )  # fmt: skip
        chosen, late, (line, below, above) = ends[end]
        seen = np.isfinite(line)
        if seen.any():
            content += f'<path class="band" d="{chart.between(speed[seen], below[seen], above[seen])}"/>'
            content += f'<path class="combined" d="{chart.path(speed[seen], line[seen])}"/>'
        for i, value in zip(chosen, late, strict=True):
            dig = result.digs[i]
            x, y = float(chart.x(dig.speed)), float(chart.y(value))
            kind = f"rank{ranks.index(dig.rank)}"
            if i in result.outliers:
                content += f'<circle class="outlier" cx="{number(x)}" cy="{number(y)}" r="7"/>'
            content += f'<circle class="{kind}" cx="{number(x)}" cy="{number(y)}" r="3"/>'
        label = f"{name} dug, over the speed; the table holds the figures"
        made.append(drawing(content, chart.high, label, key + "<li>ringed: outlier</li>"))
    return (
        f'<div class="two">{"".join(made)}</div><p class="small">At speed 0: what the reference offset has '
        "too much; rising: time too short; falling: too long.</p>"
    )
