"""What each forgotten step of a changeover costs, as bars: metres of row missing, dearest first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from overlapsim.report.changeover_report import setups_of
from overlapsim.report.changeover_words import forgotten_words, unpriced_words
from overlapsim.report.phrases import and_words
from overlapsim.report.rounding import plain
from overlapsim.report.style import GRID, INK, SMALL_PRINT, fitted, new_figure
from overlapsim.report.words import Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDE, _HEAD, _FOOT = 8.2, 0.62, 0.62  # inches of the page
_TITLE, _ROW = 0.34, 0.3  # inches of a panel's title and of a line
_LEFT, _SHARE = 0.29, 0.43  # where panels begin and how wide they are, as shares of the page
_HIGH = 0.62  # of a line's height that its bar takes


def draw_forgotten(result: Any, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.
    words : Words
        Units of the labels.

    Returns
    -------
    Figure
        A panel for each way that was priced. Nothing is told by colour: a bar to the right is row missing, an
        empty one to the left row that is missing less.
    """
    ways = [way for way in (result, result.way_back) if way]
    lines = [max(len(way.forgotten), 1) for way in ways]
    high = _HEAD + _FOOT + sum(_TITLE + _ROW * count for count in lines)
    figure = new_figure(_WIDE, high)
    figure.text(0.02, 1 - 0.27 / high, "What a forgotten step costs", fontsize=12, fontweight="bold")
    land = words.land(result.scenario.field.plantable_m2)
    under = fitted(f"{land}, each by itself; {result.scenario.title}", _WIDE - 0.3, 8)
    figure.text(0.02, 1 - 0.47 / high, under, fontsize=8, color=SMALL_PRINT)
    top = high - _HEAD
    longest = [abs(one["extra"]["unplanted_row_m"]) for way in ways for one in way.forgotten]
    scale = max(longest, default=0.0) / words.long_size or 1.0
    for way, count in zip(ways, lines, strict=True):
        top -= _TITLE + _ROW * count
        axes = figure.add_axes((_LEFT, top / high, _SHARE, _ROW * count / high))
        _bars(axes, way, words, scale)
    axes.set_xlabel(f"row missing beyond what is missing anyhow, {words.long_unit}")
    axes.tick_params(axis="x", labelbottom=True)
    return figure


def _bars(axes: Axes, way: Any, words: Words, scale: float) -> None:
    rows = way.forgotten
    values = [one["extra"]["unplanted_row_m"] / words.long_size for one in rows]
    for place, (one, value) in enumerate(zip(rows, values, strict=True)):
        axes.barh(
            place, value, height=_HIGH, facecolor=INK if value >= 0 else "white", edgecolor=INK,
            linewidth=0.8, hatch=None if value >= 0 else "////", gid=f"bar:{one['key']}",
        )  # fmt: skip
        axes.annotate(
            _figure_words(value, one["extra"]["longest_gap_m"], words), (max(value, 0.0), place),
            xytext=(4, 0), textcoords="offset points", va="center",
            fontsize=7.5, color=INK, annotation_clip=False, gid=f"figure:{one['key']}",
        )  # fmt: skip
    axes.set_xlim(min([*values, 0.0]), scale)
    axes.set_ylim(max(len(rows), 1) - 0.5, -0.5)
    names = [fitted(forgotten_words(one), _LEFT * _WIDE - 0.2, 8) for one in rows]
    axes.set_yticks(range(len(rows)), names)
    axes.tick_params(axis="y", length=0, labelsize=8.0, labelcolor=INK)
    axes.tick_params(axis="x", labelbottom=False)
    axes.locator_params(axis="x", nbins=5)
    axes.xaxis.set_major_formatter(lambda value, _: plain(value, 1))
    axes.grid(axis="x", color=GRID, linewidth=0.5)
    axes.set_axisbelow(True)
    axes.axvline(0.0, color=INK, linewidth=0.8)
    for side in ("top", "right", "left", "bottom"):
        axes.spines[side].set_visible(False)
    old, new = setups_of(way)
    without = [unpriced_words(key) for key in way.unpriced]
    priceless = f" (without a price: {and_words(without)})" if without else ""
    axes.set_title(
        fitted(f"on the way from {old} to {new}{priceless}", _WIDE - 0.4, 8.5), fontsize=8.5,
        fontweight="bold", loc="left", x=(0.02 - _LEFT) / _SHARE, pad=5,
    )  # fmt: skip


def _figure_words(value: float, gap: float, words: Words) -> str:
    """Length of row in the reader's unit, and how much longer the longest gap gets, which no sum shows."""
    said = f"{plain(value, 0)} {words.long_unit}"
    longer = words.short(gap)
    return said if longer.startswith(("0 ", "-")) else f"{said}; longest gap {longer} longer"
