"""The causes of the error one above the other: each begins where the one before has ended."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from overlapsim.report.origin_words import NAMES
from overlapsim.report.origins import PARTS, Figures, figures_of
from overlapsim.report.rounding import plain
from overlapsim.report.setting import offset_words
from overlapsim.report.style import (
    BLUE,
    DOUBLE,
    GRID,
    INK,
    OFF_FIELD,
    ORANGE,
    SKIP,
    SMALL_PRINT,
    fitted,
    new_figure,
)
from overlapsim.report.words import Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIZE = (8.2, 4.6)  # inches
_COLOURS = {"skip_m2": SKIP, "overlap_m2": DOUBLE, "off_field_m2": OFF_FIELD}
_KINDS = {"skip_m2": "skip", "overlap_m2": "double-planted", "off_field_m2": "off-field"}
_HIGH = 0.56  # of a line's height that its bar takes
_FOOT, _UP = 0.20, 0.625  # where the panels stand on the page
_ROOM = 0.16  # of a panel's width kept free beyond the longest bar, for its figure


def draw_causes(result: Any, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    result : CausesResult
        Finished result.
    words : Words
        Units of the labels.

    Returns
    -------
    Figure
        To the left what each cause adds to the combined error, and the whole of it; to the right the same by
        kind of ground, not weighted.
    """
    figures = figures_of(result, words)
    figure = new_figure(*_SIZE)
    left = figure.add_axes((0.155, _FOOT, 0.46, _UP))
    right = figure.add_axes((0.655, _FOOT, 0.315, _UP))
    _steps(left, result, figures)
    _kinds(right, result, figures)
    rows = len(result.lines) + 1
    for axes in (left, right):
        axes.set_ylim(rows - 0.5, -0.5)
        axes.grid(axis="x", color=GRID, linewidth=0.5)
        axes.set_axisbelow(True)
        axes.axvline(0.0, color=INK, linewidth=0.8)
        axes.axhline(rows - 1.5, color=SMALL_PRINT, linewidth=0.6)
        axes.tick_params(axis="y", length=0)
        axes.locator_params(axis="x", nbins=5)
        axes.xaxis.set_major_formatter(lambda value, _: plain(value, 2))
        for side in ("top", "right", "left"):
            axes.spines[side].set_visible(False)
    left.set_yticks(range(rows), [*(NAMES[key] for key in result.lines), "all of it"])
    left.tick_params(axis="y", labelsize=8.0, labelcolor=INK)
    left.get_yticklabels()[-1].set_fontweight("bold")
    right.set_yticks([])
    weighed = ", weighted" if figures.weighted else ""
    land = words.land(result.scenario.field.plantable_m2)
    left.set_xlabel(f"combined error{weighed}, {figures.unit} on {land}")
    right.set_xlabel(f"by kind of ground, {figures.unit}")
    figure.text(0.02, 0.925, "Where the error comes from", fontsize=12, fontweight="bold")
    switching = result.scenario.switching
    entered = offset_words(result.scenario, switching.reference_offset, words)
    under = fitted(f"{entered} entered; {result.scenario.title}", _SIZE[0] - 0.3, 8)
    figure.text(0.02, 0.875, under, fontsize=8, color=SMALL_PRINT)
    named = [axes.get_legend_handles_labels() for axes in (left, right)]
    figure.legend(
        [handle for handles, _ in named for handle in handles],
        [name for _, names in named for name in names],
        loc="lower center", ncol=6, frameon=False, fontsize=7.5, bbox_to_anchor=(0.5, 0.028),
        columnspacing=1.5, handletextpad=0.6,
    )  # fmt: skip
    figure.text(
        0.5, 0.018, "the same field with one fault more from line to line: each bar is what that one adds",
        fontsize=6.5, color=SMALL_PRINT, ha="center",
    )  # fmt: skip
    return figure


def _steps(axes: Axes, result: Any, figures: Figures) -> None:
    """Draw the combined error as a stair: each bar begins where the one before has ended."""
    level, ends = 0.0, [0.0]
    seen: set[str] = set()
    for row, (key, line) in enumerate(result.lines.items()):
        more = line["combined_m2"] / figures.size
        name = "adds" if more >= 0.0 else "takes away: two faults cancel"
        axes.barh(
            row, more, left=level, height=_HIGH, facecolor=BLUE if more >= 0.0 else ORANGE,
            hatch=None if more >= 0.0 else "////", edgecolor="white" if more < 0.0 else BLUE, linewidth=0.4,
            label=None if name in seen or not figures.lines[key][4] else name, gid=f"step:{key}",
        )  # fmt: skip
        if figures.lines[key][4]:
            seen.add(name)
        axes.plot(
            [level + more] * 2, [row - _HIGH / 2, row + 1 + _HIGH / 2], color=SMALL_PRINT, linewidth=0.6
        )
        _figure(axes, max(level, level + more), row, figures.text(figures.lines[key][4]), f"figure:{key}")
        level += more
        ends.append(level)
    axes.barh(len(result.lines), level, height=_HIGH, facecolor=INK, linewidth=0, gid="step:total")
    _figure(axes, level, len(result.lines), figures.text(figures.total[4]), "figure:total")
    # Without any error the panel still has a width.
    axes.set_xlim(min(ends), max(ends) * (1.0 + _ROOM) or 1.0)


def _figure(axes: Axes, place: float, row: int, text: str, gid: str) -> None:
    axes.annotate(
        text, (place, row), xytext=(4, 0), textcoords="offset points", va="center", fontsize=7.5, color=INK,
        annotation_clip=False, gid=gid,
    )  # fmt: skip


def _kinds(axes: Axes, result: Any, figures: Figures) -> None:
    """Draw skip, double-planted and off-field ground of every line, what it takes away to the left."""
    rows = {**result.lines, "total": result.as_set.areas}
    least = 10.0**-figures.digits / 2 * figures.size  # half of the last digit that is printed
    kinds = [key for key, _ in PARTS if any(abs(line[key]) >= least for line in rows.values())]
    thick = _HIGH * 1.2 / max(len(kinds), 1)
    widest, lowest = 0.0, 0.0
    for place, key in enumerate(kinds):
        centre = (place - (len(kinds) - 1) / 2) * thick
        shown = {row: line for row, line in enumerate(rows.values()) if abs(line[key]) >= least}
        values = [line[key] / figures.size for line in shown.values()]
        bars = axes.barh(
            [row + centre for row in shown], values, height=thick, facecolor=_COLOURS[key], edgecolor=INK,
            linewidth=0.4, label=_KINDS[key],
        )  # fmt: skip
        for bar, row in zip(bars, shown, strict=True):
            bar.set_gid(f"{key}:{list(rows)[row]}")
        widest, lowest = max(widest, *values), min(lowest, *values)
    axes.set_xlim(lowest * 1.08, widest * 1.08 or 1.0)
