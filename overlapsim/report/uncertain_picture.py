"""How sure one can be: the combined error over all draws, and where each draw has its own best."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.questions.uncertain_result import BAND
from overlapsim.report.offset_curve import rank_lines
from overlapsim.report.rounding import plain
from overlapsim.report.setting import behind_what, measured_from
from overlapsim.report.style import (
    BLUE,
    GREEN,
    GRID,
    INK,
    SMALL_PRINT,
    VERMILION,
    fitted,
    new_figure,
    tint,
)
from overlapsim.report.uncertain_words import NAMES
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIZE = (7.4, 5.6)  # inches
_BINS = 60  # of the lower panel
_BESIDE = 0.4  # metres beside the ranks and all else that is of interest
_MARKS = {"now": ("X", VERMILION), "type_in": ("o", GREEN), "on_average": ("D", BLUE)}


def draw_uncertain(result: Any, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    result : TuneResult
        Finished search with draws of what may be off.
    words : Words
        Units of the labels.

    Returns
    -------
    Figure
        Above, the mean over all draws and the band that 9 of 10 lie in; below, how many draws have their own
        best at each offset, and where an offset is just as good on average.
    """
    sure, scenario = result.uncertain, result.scenario
    more, size = measured_from(scenario), words.short_size
    figure = new_figure(*_SIZE)
    above = figure.add_axes((0.115, 0.44, 0.855, 0.42))
    below = figure.add_axes((0.115, 0.175, 0.855, 0.2), sharex=above)
    x = (sure.offset_m + more) / size
    unit, area, _ = words.area_scale(float(sure.high_m2.max()))
    above.fill_between(
        x, sure.low_m2 / area, sure.high_m2 / area, facecolor=tint(BLUE, 0.3), linewidth=0,
        label="9 of 10 draws", gid="band",
    )  # fmt: skip
    above.plot(x, sure.mean_m2 / area, color=INK, linewidth=1.6, label="mean of all draws", gid="mean")
    first, last = _shown(sure)
    seen = (sure.offset_m >= first) & (sure.offset_m <= last)
    above.set_xlim((first + more) / size, (last + more) / size)
    above.set_ylim(0.0, float(sure.high_m2[seen].max()) / area * 1.04 or 1.0)
    _marks(above, sure, words, more, area)
    rank_lines(above, scenario, more, size)
    above.set_ylabel(f"{unit} on {words.land(scenario.field.plantable_m2)}")
    above.yaxis.set_major_formatter(lambda value, _: plain(value, 2))
    above.tick_params(labelbottom=False)
    below.hist(
        (sure.found.best + more) / size, bins=np.linspace(*above.get_xlim(), _BINS + 1).tolist(),
        color=tint(SMALL_PRINT, 0.6), label="draws whose own best is there",
    )  # fmt: skip
    low, high = ((end + more) / size for end in sure.as_good)
    below.axvspan(
        low, high, color=GREEN, alpha=0.18, linewidth=0, label="just as good on average", gid="good"
    )
    below.set_ylabel(f"of {sure.draws:,} draws")
    below.set_xlabel(f"reference offset, {words.short_unit} {behind_what(scenario)}")
    for axes in (above, below):
        axes.grid(axis="y", color=GRID, linewidth=0.5)
        axes.set_axisbelow(True)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    figure.text(0.02, 0.95, "How sure the number is", fontsize=12, fontweight="bold")
    assumed = " (spreads ASSUMED)" if sure.assumed else ""
    title = fitted(f"{scenario.title}{assumed}", _SIZE[0] - 0.3, 8)
    figure.text(0.02, 0.92, title, fontsize=8, color=SMALL_PRINT)
    handles, labels = (
        a + b for a, b in zip(*(p.get_legend_handles_labels() for p in (above, below)), strict=True)
    )
    figure.legend(
        handles, labels, loc="lower center", ncol=4, frameon=False, fontsize=7.5,
        bbox_to_anchor=(0.53, 0.0), columnspacing=1.5, handletextpad=0.6,
    )  # fmt: skip
    return figure


def _shown(sure: Any) -> tuple[float, float]:
    """Range of offsets that is drawn: the ranks, what is looked at and all draws' own best, and some more."""
    layout = row_layout(sure.scenario)
    places = [layout.behind_pin_of(rank) for rank in layout.working_ranks]
    places += [float(one.run.scenario.switching.reference_offset) for one in sure.points]
    places += [float(end) for end in np.quantile(sure.found.best, BAND)]
    return max(min(places) - _BESIDE, float(sure.offset_m[0])), min(
        max(places) + _BESIDE, float(sure.offset_m[-1])
    )


def _marks(axes: Axes, sure: Any, words: Words, more: float, area: float) -> None:
    """Mark the offsets that are looked at, on the mean at their own times."""
    for point in sure.points:
        offset = float(point.run.scenario.switching.reference_offset)
        marker, colour = _MARKS[point.key]
        axes.plot(
            [(offset + more) / words.short_size], [float(point.combined.mean()) / area], linestyle="none",
            marker=marker, markersize=6 if point.key == "on_average" else 9, markerfacecolor=colour,
            markeredgecolor="white", markeredgewidth=1.0, zorder=6, clip_on=False,
            label=f"{NAMES[point.key]}: {words.short(offset + more)}", gid=f"mark:{point.key}",
        )  # fmt: skip
