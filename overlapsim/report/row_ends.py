"""Row ends at the line at true scale, row by row: looking down, the machine drives to the right."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.basics.units import INCH
from overlapsim.report.phrases import rank_words
from overlapsim.report.row_ends_panel import POINTS, SEED_SPACING, Panel, draw_panel, row_name
from overlapsim.report.setting import offset_words
from overlapsim.report.style import (
    OFF_FIELD,
    OUTSIDE,
    RANKS,
    SKIP,
    SMALL_PRINT,
    fitted,
    new_figure,
)
from overlapsim.report.words import Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from overlapsim.control.response import SquareEnds
    from overlapsim.scenario.rows import RowLayout
    from overlapsim.scenario.scenario import Scenario

WIDEST = 18.5
"""Metres: 60 ft of working width; of a wider machine the rows from the left up to there are drawn."""

_LEAST_WINDOW = 0.75  # m on either side of the line
_PAGE = (8.2, 6.6)  # inches of paper that all panels may take, across and down
_LARGEST_SCALE = 1.5  # inches of paper per metre
_LEGEND_COLUMNS = 5
_LEAST_PANEL = 1.6  # inches of paper that a panel is wide, at least
_LETTER = 0.072  # inches of paper that a letter of a label takes


def draw_settings(result: Any, words: Words) -> Figure:
    """Draw a result's settings.

    Parameters
    ----------
    result : Simulation or TuneResult
        Finished result; of a search what is entered now and what to type in are drawn.
    words : Words
        Units of the labels.

    Returns
    -------
    Figure
        Row ends at the line at true scale, row by row.
    """
    return draw_row_ends(settings_of(result, words), result.scenario, words)


def draw_row_ends(settings: list[tuple[str, SquareEnds]], scenario: Scenario, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    settings : list of (str, SquareEnds)
        One or two settings with their heading and the row ends that they make.
    scenario : Scenario
        For its title and what the line is called.
    words : Words
        Units of the labels.

    Returns
    -------
    Figure
        Two panels for each setting; one metre is as long across as along.
    """
    layout = settings[0][1].layout
    shown = layout.right_edge - layout.left_edge[0] <= WIDEST + 1e-9
    spacing = scenario.seed.spacing or SEED_SPACING
    panels = [
        Panel(name, end, ends.on_m if end == "on" else ends.off_m, spacing)
        for name, ends in settings
        for end in ("on", "off")
    ]
    working = shown & ~layout.off
    farthest = max((float(np.abs(p.error[working]).max(initial=0.0)) for p in panels), default=0.0)
    step = 12 * INCH if words.us else 0.5
    window = max(_LEAST_WINDOW, math.ceil((farthest + 2.5 * spacing) / (step / 2)) * step / 2)
    height = float(layout.right_edge[shown][-1] - layout.left_edge[0])
    gaps = 0.16 * (len(panels) - 1) + 0.3 * (len(settings) - 1)
    scale = min((_PAGE[0] - gaps) / (2 * window * len(panels)), _PAGE[1] / height, _LARGEST_SCALE)
    longest = max(len(text) for panel in panels for _, text in _errors(panel, layout, words))
    window = max(window, max(longest * _LETTER, _LEAST_PANEL) / (2 * scale))
    names = [row_name(layout, int(i)) for i in np.flatnonzero(shown)]
    left = 0.3 + _LETTER * max(len(name) for name in names)
    ranks = layout.working_ranks
    top = 1.02 + 0.14 * len(ranks)
    bottom = 0.66 + 0.19 * _legend_lines(len(ranks))
    total = 2 * window * scale * len(panels) + gaps
    wide = max(left + total + 0.25, 6.6)
    high = height * scale + top + bottom
    figure = new_figure(wide, high)
    place = max(left, (wide - total) / 2)
    for number, panel in enumerate(panels):
        axes = figure.add_axes(
            (place / wide, bottom / high, 2 * window * scale / wide, height * scale / high)
        )
        draw_panel(axes, panel, layout, shown, window, scale, words)
        _heading(figure, axes, panel, layout, words, (wide, high))
        if number == 0:
            _row_labels(axes, layout, shown, scale)
        place += 2 * window * scale + 0.16 + (0.3 if panel.end == "off" else 0.0)
    _frame_words(figure, scenario, words, layout, int(shown.sum()), (wide, high))
    return figure


def line_name(scenario: Scenario) -> str:
    """Say what the line is at which passes start and stop.

    Parameters
    ----------
    scenario : Scenario
        Its plan tells.

    Returns
    -------
    str
        The headland line, or the field boundary where there are no laps.
    """
    return "headland line" if scenario.plan.headland_laps else "field boundary"


def _heading(
    figure: Figure, axes: Axes, panel: Panel, layout: RowLayout, words: Words, size: tuple[float, float]
) -> None:
    box = axes.get_position()
    high = size[1]
    above = box.y1 + 0.07 / high
    for colour, text in reversed(_errors(panel, layout, words)):
        figure.text(box.x0, above, text, fontsize=7, color=colour, fontweight="bold")
        above += 0.14 / high
    word = "starts" if panel.end == "on" else "stops"
    figure.text(box.x0, above + 0.01 / high, word, fontsize=8, color=SMALL_PRINT)
    if panel.end == "on":
        figure.text(box.x0, above + 0.21 / high, panel.setting, fontsize=10, fontweight="bold")


def _errors(panel: Panel, layout: RowLayout, words: Words) -> list[tuple[str, str]]:
    """Say for each rank where its rows start or stop, with the rank's colour."""
    ranks, said = layout.working_ranks, []
    for rank, (colour, _) in zip(ranks, RANKS, strict=False):
        row = int(np.flatnonzero(layout.rank == rank)[0])
        name = "" if len(ranks) == 1 else f"{rank} "
        said.append((colour, name + words.late(float(panel.error[row]), panel.end)))
    return said


def _row_labels(axes: Axes, layout: RowLayout, shown: np.ndarray, scale: float) -> None:
    pitch = float(np.diff(layout.right).min(initial=np.inf)) * scale * POINTS
    every = 1 if pitch >= 6.5 else math.ceil(6.5 / pitch)
    size = max(5.0, min(7.0, 0.8 * pitch * every))
    for i in np.flatnonzero(shown)[::every]:
        colour = RANKS[layout.working_ranks.index(str(layout.rank[i]))][0]
        axes.annotate(
            row_name(layout, i), (0.0, layout.right[i]), xycoords=("axes fraction", "data"), xytext=(-4, 0),
            textcoords="offset points", ha="right", va="center", fontsize=size, color=colour,
            annotation_clip=False,
        )  # fmt: skip


def _frame_words(
    figure: Figure, scenario: Scenario, words: Words, layout: RowLayout, count: int, size: tuple[float, float]
) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    wide, high = size
    line = line_name(scenario)
    figure.text(0.14 / wide, 1 - 0.26 / high, f"Row ends at the {line}", fontsize=12, fontweight="bold")
    what = f"Row setup {scenario.machine.setup}, {words.speed(scenario.speed.working)}; {scenario.title}"
    if count < len(layout.rank):
        what = f"Rows 1 to {count} of {len(layout.rank)} from the left, the others stand alike; {what}"
    figure.text(0.14 / wide, 1 - 0.44 / high, fitted(what, wide - 0.2, 8), fontsize=8, color=SMALL_PRINT)
    below = (0.38 + 0.19 * _legend_lines(len(layout.working_ranks))) / high
    spacing = scenario.seed.spacing
    seeds = f"seeds {'' if spacing else 'drawn '}{words.short(spacing or SEED_SPACING)} apart"
    axis = (
        f"{words.short_unit} past the {line}, travel to the right →     true scale, ends square to the way, "
        f"{seeds}"
    )
    figure.text(0.5, below, axis, fontsize=7.5, color=SMALL_PRINT, ha="center", va="center")
    outside = "headland" if scenario.plan.headland_laps else "outside the field"
    handles: list[Any] = [
        Line2D([], [], linestyle="none", marker=marker, markersize=5, markerfacecolor=colour,
               markeredgewidth=0, label=rank_words(rank))
        for rank, (colour, marker) in zip(layout.working_ranks, RANKS, strict=False)
    ]  # fmt: skip
    handles += [
        Patch(facecolor=SKIP, alpha=0.75, label="gap: row missing"),
        Patch(facecolor=OFF_FIELD, alpha=0.45, hatch="////", edgecolor="white", label="seed beyond the line"),
        Patch(facecolor=OUTSIDE, label=outside),
    ]
    figure.legend(
        handles=handles, loc="lower center", ncol=_LEGEND_COLUMNS, frameon=False, fontsize=7.5,
        bbox_to_anchor=(0.5, 0.05 / high), borderaxespad=0.2, columnspacing=1.4, handletextpad=0.5,
    )  # fmt: skip


def _legend_lines(ranks: int) -> int:
    return math.ceil((ranks + 3) / _LEGEND_COLUMNS)


def settings_of(result: Any, words: Words) -> list[tuple[str, SquareEnds]]:
    """Choose what to draw of a result.

    Parameters
    ----------
    result : Simulation or TuneResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    list of (str, SquareEnds)
        As entered now and what to type in; one of them where they are the same.
    """

    def named(name: str, run: Any) -> tuple[str, SquareEnds]:
        offset = offset_words(run.scenario, run.scenario.switching.reference_offset, words)
        return f"{name}: {offset}", run.square_ends

    if not hasattr(result, "recommended"):
        return [named("as entered", getattr(result, "as_set", result))]
    now, new = named("now", result.as_set), named("type in", result.recommended)
    if now[0].removeprefix("now") == new[0].removeprefix("type in"):
        return [named("leave it", result.as_set)]
    return [now, new]
