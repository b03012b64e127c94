"""One panel of the row-ends picture: the line, the rows, their seeds, gaps and what lies beyond."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Bools, Floats
from overlapsim.basics.units import INCH
from overlapsim.report.rounding import plain
from overlapsim.report.style import GROUND, INK, OFF_FIELD, OUTSIDE, RANKS, SKIP
from overlapsim.report.words import Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from overlapsim.scenario.rows import RowLayout

_TICKS = (5, 10, 20, 50, 100, 200, 500)  # in or cm
_DIGIT, _BLANK = 0.065, 0.06  # inches of paper that a digit of a tick's label takes, and between two labels

POINTS = 72.0
"""Points per inch of paper."""

SEED_SPACING = 6 * INCH
"""Metres between seeds as drawn where the scenario does not say; no claim about the machine."""


@dataclass(frozen=True)
class Panel:
    """One panel: starts or stops at one setting.

    Attributes
    ----------
    setting : str
        Heading of the pair of panels.
    end : {"on", "off"}
        Starts or stops.
    error : ndarray, shape (n,)
        Signed distance of each row's first or last seed beyond the line, metres, positive = farther along.
    spacing : float
        Between neighbouring seeds of one row, metres.
    """

    setting: str
    end: str
    error: Floats
    spacing: float = SEED_SPACING


def seeds_of(error: float, end: str, window: float, spacing: float = SEED_SPACING) -> Floats:
    """Place the seeds of one row round the line.

    Parameters
    ----------
    error : float
        Where the first (starts) or the last (stops) seed lies beyond the line, metres.
    end : {"on", "off"}
        Starts: seeds follow ahead. Stops: seeds lie behind.
    window : float
        How far to draw on either side of the line, metres.
    spacing : float
        Between neighbouring seeds, metres.

    Returns
    -------
    ndarray
        Distances beyond the line, metres, positive = farther along; the first is `error` itself.

    Examples
    --------
    >>> seeds_of(0.5, "on", 0.75).round(4)
    array([0.5   , 0.6524])
    """
    room = window - error if end == "on" else window + error
    count = max(math.floor(room / spacing + 1e-9) + 1, 0)
    steps = np.arange(count) * spacing
    return error + steps if end == "on" else error - steps


def row_name(layout: RowLayout, i: int) -> str:
    """Name a row.

    Parameters
    ----------
    layout : RowLayout
        The rows.
    i : int
        Which one, from the left, from 0.

    Returns
    -------
    str
        Rank and number, and whether it is off.
    """
    return f"{layout.rank[i]} {layout.number[i]}{' (off)' if layout.off[i] else ''}"


def draw_panel(
    axes: Axes, panel: Panel, layout: RowLayout, shown: Bools, window: float, scale: float, words: Words
) -> None:
    """Draw the rows of one panel at true scale.

    Parameters
    ----------
    axes : Axes
        Empty, of the size that window, rows and scale make.
    panel : Panel
        Which end, and each row's error.
    layout : RowLayout
        The rows.
    shown : ndarray of bool, shape (n,)
        Rows that are drawn, from the left.
    window : float
        How far is drawn on either side of the line, metres.
    scale : float
        Inches of paper per metre.
    words : Words
        Units of the ticks.
    """
    from matplotlib.collections import PolyCollection

    low, high = float(layout.left_edge[0]), float(layout.right_edge[shown][-1])
    axes.set_xlim(-window, window)
    axes.set_ylim(high, low)  # the leftmost row on top: the machine drives to the right
    axes.set_aspect("equal", adjustable="box")
    axes.set_facecolor(GROUND)
    outside = (-window, 0.0) if panel.end == "on" else (0.0, window)
    axes.axvspan(*outside, facecolor=OUTSIDE, linewidth=0, zorder=0)
    for what, pieces in _shaded(panel, layout, shown, window).items():
        missing = what == "gap"
        axes.add_collection(PolyCollection(
            pieces, facecolor=SKIP if missing else OFF_FIELD, alpha=0.75 if missing else 0.45, linewidth=0,
            hatch=None if missing else "////", edgecolor="white", zorder=1, gid=what,
        ), autolim=False)  # fmt: skip
    room = min(panel.spacing, float((layout.right_edge - layout.left_edge).min())) * scale * POINTS
    size = max(1.5, min(0.5 * room, 4.2))
    edge = size / POINTS / scale  # no seed is cut by the frame
    for k, rank in enumerate(layout.working_ranks):
        rows = np.flatnonzero(shown & (layout.rank == rank) & ~layout.off)
        along = [seeds_of(float(panel.error[i]), panel.end, window - edge, panel.spacing) for i in rows]
        across = [np.full(len(seeds), layout.right[i]) for seeds, i in zip(along, rows, strict=True)]
        colour, marker = RANKS[k]
        axes.plot(
            np.concatenate([np.empty(0), *along]), np.concatenate([np.empty(0), *across]), linestyle="none",
            marker=marker, markersize=size, markerfacecolor=colour,
            markeredgewidth=0, zorder=3, gid=f"seeds:{rank}",
        )  # fmt: skip
    axes.axvline(0.0, color=INK, linewidth=1.4, zorder=4, gid="line")
    unit = words.short_size
    room = _DIGIT * len(f"-{window / unit:.0f}") + _BLANK
    step = next((s for s in _TICKS if s * unit * scale >= room), _TICKS[-1])
    ticks = np.arange(-math.floor(window / unit / step), math.floor(window / unit / step) + 1) * step
    axes.set_xticks(ticks * unit, [plain(float(tick)) for tick in ticks])
    axes.set_yticks([])
    axes.tick_params(length=2, pad=2)


def _shaded(panel: Panel, layout: RowLayout, shown: Bools, window: float) -> dict[str, list[Floats]]:
    """Rectangles from the line to each row's end, by what they show: the row missing, or beyond the line."""
    found: dict[str, list[Floats]] = {"gap": [], "beyond": []}
    bare = window if panel.end == "on" else -window
    for i in np.flatnonzero(shown):
        error = float(panel.error[i])
        missing = layout.off[i] or (error > 0 if panel.end == "on" else error < 0)
        reach = bare if layout.off[i] else max(min(error, window), -window)
        near, far = layout.left_edge[i], layout.right_edge[i]
        piece = np.array([(0.0, near), (reach, near), (reach, far), (0.0, far)])
        found["gap" if missing else "beyond"].append(piece)
    return found
