"""What each pair of times costs at its own best reference offset: a valley along which nothing changes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.report.phrases import and_words
from overlapsim.report.rounding import plain
from overlapsim.report.style import GREEN, INK, SMALL_PRINT, VERMILION, fitted, new_figure
from overlapsim.report.times_words import times_of
from overlapsim.report.words import Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH, _HEIGHT = 7.4, 5.6  # inches
_DOTS = 240  # along each side
_REACH_S = 0.25  # seconds shown beyond all marks
_ABOVE = (1, 5, 20, 100)  # per cent above the least, where lines run


def draw_times_map(result: Any, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    result : TuneResult
        Finished search over both times as well.
    words : Words
        Units.

    Returns
    -------
    Figure
        Turn-on time to the right, turn-off time upward; the darker, the more is lost at the best reference
        offset for that pair; lines in per cent above the least. Between the pairs that were searched straight
        lines are drawn.
    """
    joint = result.joint
    apart, cost = (np.array(values) for values in joint.curve)
    marks = [times_of(run) for run in (result.as_set, result.recommended, result.best)]
    low, high = joint.lines.limits
    (left, right), (bottom, top) = ((min(t) - _REACH_S, max(t) + _REACH_S) for t in zip(*marks, strict=True))
    on = np.linspace(max(left, low), min(right, high), _DOTS)
    off = np.linspace(max(bottom, low), min(top, high), _DOTS)
    place = np.array([[joint.lines.apart_of((x, y)) for x in on] for y in off])
    unit, size, digits = words.area_scale(float(cost.max()))
    height = np.interp(place, apart, cost, left=np.nan, right=np.nan) / size
    figure = new_figure(_WIDTH, _HEIGHT)
    axes = figure.add_axes((0.095, 0.22, 0.75, 0.62))
    image = axes.imshow(
        height, origin="lower", aspect="auto", cmap="cividis_r", extent=(on[0], on[-1], off[0], off[-1]),
        gid="map",
    )  # fmt: skip
    levels = _lines(axes, on, off, height)
    _box(axes, joint.box)
    for name, times, marker, colour in (
        ("now", marks[0], "X", VERMILION),
        ("type in", marks[1], "o", GREEN),
        ("least", marks[2], "+", INK),
    ):
        axes.plot(
            [times[0]], [times[1]], linestyle="none", marker=marker, markersize=10, markerfacecolor=colour,
            markeredgecolor=INK if marker == "+" else "white", zorder=6, label=name, gid=f"mark:{name}",
            markeredgewidth=2.0 if marker == "+" else 1.0,
        )  # fmt: skip
    axes.set_xlim(on[0], on[-1])
    axes.set_ylim(off[0], off[-1])
    axes.tick_params(labelsize=8.5)
    axes.set_xlabel("turn-on time, s", fontsize=9.5)
    axes.set_ylabel("turn-off time, s", fontsize=9.5)
    bar = figure.colorbar(image, cax=figure.add_axes((0.865, 0.22, 0.025, 0.62)))
    bar.outline.set_visible(False)
    bar.ax.tick_params(labelsize=8.5)
    bar.ax.yaxis.set_major_formatter(lambda value, _: plain(value, digits + 1))
    bar.ax.set_title(unit, fontsize=8.5, color=SMALL_PRINT)
    name = "What each pair of times costs at its own best reference offset"
    figure.text(0.02, 0.945, name, fontsize=11.5, fontweight="bold")
    figure.text(0.02, 0.905, fitted(result.scenario.title, _WIDTH - 0.3, 8), fontsize=8, color=SMALL_PRINT)
    figure.legend(
        loc="lower center", ncol=4, frameon=False, fontsize=8.5, bbox_to_anchor=(0.47, 0.075),
        handletextpad=0.6,
    )  # fmt: skip
    speed = result.scenario.speed
    at = [words.speed(v) for v in dict.fromkeys((speed.at_on, speed.at_off))]
    said = f"Along the valley both times and the offset grow together: at {' and '.join(at)} the same ground."
    figure.text(0.02, 0.02, said, fontsize=8.5, color=SMALL_PRINT)
    said = f"Lines from the valley up: {and_words(levels)} % more than the least. " if levels else ""
    said += "White: not searched." if np.isnan(height).any() else ""
    figure.text(0.02, 0.05, said.strip(), fontsize=8.5, color=SMALL_PRINT)
    return figure


def _lines(axes: Axes, on: Any, off: Any, height: Any) -> list[str]:
    """Draw lines so many per cent above the least, where the picture reaches them, and tell which."""
    least, most = float(np.nanmin(height)), float(np.nanmax(height))
    levels = {least * (1 + per_cent / 100): f"{per_cent}" for per_cent in _ABOVE}
    # Shares of next to nothing say nothing.
    levels = {level: text for level, text in levels.items() if most / 100 < least < level < most}
    if levels:
        axes.contour(on, off, height, levels=list(levels), colors=INK, linewidths=0.7)
    return list(levels.values())


def _box(axes: Axes, box: Any) -> None:
    """Draw the box of equals, where it is wide enough to be seen."""
    (x0, x1), (y0, y1) = box.on, box.off
    if min(x1 - x0, y1 - y0) > 0.01:
        axes.plot(
            [x0, x1, x1, x0, x0], [y0, y0, y1, y1, y0], color=INK, linewidth=1.2, linestyle=(0, (4, 2)),
            label="equal, in any mix", gid="box",
        )  # fmt: skip
