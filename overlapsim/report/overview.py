"""The field from above: passes in driving order, and where ground was lost or planted for nothing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from overlapsim.report.rounding import plain
from overlapsim.report.setting import offset_words
from overlapsim.report.style import DOUBLE, GROUND, INK, OFF_FIELD, SMALL_PRINT, VERMILION, fitted, new_figure
from overlapsim.report.words import Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from overlapsim.ground.layers import Layer

_LONGEST = 6.6  # inches of paper for the longer side of the field
_LEAST = 1.6  # inches for the shorter side
# Slivers a few centimetres wide are drawn at least this wide, points, or nobody would see them.
_SLIVER = 1.6
_PASS = "#9A9A9A"
_PARTS = (
    ("skip", VERMILION, "skip"),
    ("overlap", DOUBLE, "double-planted"),
    ("off_field", OFF_FIELD, "off-field"),
)


def draw_overview(run: Any, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    run : Simulation
        Finished simulation, with its layers.
    words : Words
        Units of the labels.

    Returns
    -------
    Figure
        North is up; thin pieces are drawn wider than they are.
    """
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    layers = run.layers
    west, south, east, north = shapely.total_bounds(layers["boundary"].geometry)
    span_x, span_y = (east - west) * 1.06, (north - south) * 1.06
    scale = _LONGEST / max(span_x, span_y)
    across, up = max(span_x * scale, _LEAST), max(span_y * scale, _LEAST)
    wide, high = max(across + 0.4, 4.2), up + 1.35
    figure = new_figure(wide, high)
    axes = figure.add_axes(((wide - across) / 2 / wide, 0.62 / high, across / wide, up / high))
    axes.set_xlim((west + east) / 2 - across / scale / 2, (west + east) / 2 + across / scale / 2)
    axes.set_ylim((south + north) / 2 - up / scale / 2, (south + north) / 2 + up / scale / 2)
    axes.set_aspect("equal", adjustable="box")
    axes.set_axis_off()
    _add(
        axes,
        layers["boundary"].geometry,
        facecolor=GROUND,
        edgecolor=INK,
        linewidth=1.2,
        zorder=1,
        gid="boundary",
    )
    _passes(axes, layers["passes"])
    handles: list[Any] = [Line2D([], [], color=_PASS, linewidth=1.0, label="pass")]
    for name, colour, label in _PARTS:
        pieces = layers[name].geometry
        _add(axes, pieces, facecolor=colour, edgecolor=colour, linewidth=_SLIVER, zorder=3, gid=name)
        if len(pieces):
            handles.append(Patch(facecolor=colour, label=label))
    _scale_bar(axes, words)
    figure.text(0.14 / wide, 1 - 0.27 / high, _title(run), fontsize=12, fontweight="bold")
    entered = offset_words(run.scenario, run.scenario.switching.reference_offset, words)
    what = fitted(f"{entered} entered; {run.scenario.title}", wide - 0.2, 8)
    figure.text(0.14 / wide, 1 - 0.46 / high, what, fontsize=8, color=SMALL_PRINT)
    figure.legend(
        handles=handles, loc="lower center", ncol=4, frameon=False, fontsize=7.5,
        bbox_to_anchor=(0.5, 0.16 / high), columnspacing=1.4, handletextpad=0.6,
    )  # fmt: skip
    figure.text(
        0.5, 0.1 / high, "north is up; thin pieces are drawn wider than they are", fontsize=6.5,
        color=SMALL_PRINT, ha="center",
    )  # fmt: skip
    return figure


def _title(run: Any) -> str:
    laps = f"{run.lap_count} lap{'' if run.lap_count == 1 else 's'} and " if run.lap_count else ""
    return f"{laps}{run.pass_count} pass{'' if run.pass_count == 1 else 'es'}"


def _add(axes: Axes, polygons: np.ndarray, **look: Any) -> None:
    """Draw polygons, holes left open."""
    from matplotlib.collections import PathCollection
    from matplotlib.path import Path

    paths = []
    for polygon in shapely.get_parts(polygons):
        rings = [polygon.exterior, *polygon.interiors]
        points = [shapely.get_coordinates(ring) for ring in rings]
        codes = np.concatenate(
            [np.r_[Path.MOVETO, np.full(len(ring) - 2, Path.LINETO), Path.CLOSEPOLY] for ring in points]
        )
        paths.append(Path(np.concatenate(points), codes))
    axes.add_collection(PathCollection(paths, **look), autolim=False)


def _passes(axes: Axes, layer: Layer) -> None:
    """Draw the planned lines, with an arrow where the first pass begins."""
    from matplotlib.collections import LineCollection

    points = [shapely.get_coordinates(line) for line in layer.geometry]
    lines = LineCollection(points, colors=_PASS, linewidths=0.5, zorder=2, gid="passes")
    axes.add_collection(lines, autolim=False)
    kinds = layer.columns["kind"]
    for first in [line for line, kind in zip(points, kinds, strict=True) if kind == "pass"][:1]:
        tip = first[0] + 0.12 * (first[-1] - first[0])
        arrow = {"arrowstyle": "-|>", "color": INK, "linewidth": 0.8, "shrinkA": 0, "shrinkB": 0}
        axes.annotate("", tip, xytext=first[0], arrowprops=arrow, zorder=5, annotation_clip=False)


def _scale_bar(axes: Axes, words: Words) -> None:
    """Draw a round length near a fifth of the width."""
    low, high = axes.get_xlim()
    wanted = (high - low) / 5 / words.long_size
    power = 10 ** math.floor(math.log10(wanted))
    length = next(step * power for step in (5, 2, 1) if step * power <= wanted)
    foot = axes.get_xaxis_transform()
    start, end = high - length * words.long_size, high
    axes.plot([start, end], [-0.012, -0.012], transform=foot, color=INK, linewidth=1.5, clip_on=False)
    axes.annotate(
        f"{plain(length)} {words.long_unit}", ((start + end) / 2, -0.012), xycoords=("data", "axes fraction"),
        xytext=(0, -9), textcoords="offset points", ha="center", fontsize=7, annotation_clip=False,
    )  # fmt: skip
