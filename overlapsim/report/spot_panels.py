"""The worst spots at true scale: what was planted, missed, planted twice and planted outside."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from overlapsim.basics.frames import Bools, Floats
from overlapsim.basics.units import format_number
from overlapsim.report.map_ground import LOST, add_polygons
from overlapsim.report.map_marks import scale_bar
from overlapsim.report.rounding import plain
from overlapsim.report.spots import SLENDER, Spot
from overlapsim.report.style import INK, OUTSIDE, SMALL_PRINT, fitted
from overlapsim.report.words import Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from overlapsim.ground.layers import Layer

PLANTED, BARE = "#E4EDD8", "#FFFFFF"
"""Fill of planted ground, and of ground that is not planted and lies outside all layers of lost ground."""

_NAMES = {"skip": "gap", "overlap": "double-planted", "off_field": "off-field"}
# Share of a spot's ground below which a kind is not worth a word.
_WORTH = 0.1
# Inches or centimetres from which on feet or metres are written.
_FEW = 100
# These lines are narrower than most text, by so much (measured: digits, commas, i and l).
_LETTERS = 1.07
_HATCH = {"off_field": "////", "overlap": "\\\\\\\\", "skip": ""}


def spot_lines(sign: str, spot: Spot, words: Words) -> list[str]:
    """Describe a spot.

    Parameters
    ----------
    sign : str
        Its letter.
    spot : Spot
        Where it is and what is lost there.
    words : Words
        Units.

    Returns
    -------
    list of str
        Its name, then a line for each kind of loss, the largest first.
    """
    total = sum(spot.area.values())
    lines = [f"{sign}  {spot.where}"]
    for kind, area in sorted(spot.area.items(), key=lambda item: -item[1]):
        if area < _WORTH * total or area <= 0.0:
            continue
        unit, size, digits = words.area_scale(area)
        depth, breadth = spot.depth[kind], spot.breadth[kind]
        if depth > SLENDER * breadth:
            how = f"{_length(breadth, words)} x {_length(depth, words)}"
        else:
            how = f"{_length(depth, words)} over {_length(breadth, words)}"
        figure = format_number(area / size, min(digits, 0 if area / size >= 10 else 1))
        lines.append(f"{_NAMES[kind]} {how}, {figure} {unit}")
    return lines


def _length(metres: float, words: Words) -> str:
    """Write a length: short ones as gaps are written, long ones as widths are."""
    if metres < _FEW * words.short_size:
        return f"{plain(metres / words.short_size, 1 if metres < 0.1 else 0)} {words.short_unit}"
    value = metres / words.long_size
    return f"{plain(value, 0 if value >= 10 else 1)} {words.long_unit}"


def draw_spot(
    axes: Axes, spot: Spot, layers: dict[str, Layer], least: float, shape: float, words: Words
) -> None:
    """Draw one spot at true scale.

    Parameters
    ----------
    axes : Axes
        Empty; keeps its shape on paper.
    spot : Spot
        Which one.
    layers : dict of str to Layer
        Map layers.
    least : float
        Side of the ground that is shown at least, metres.
    shape : float
        Height of its paper over the width (no unit).
    words : Words
        Units of the scale bar.
    """
    from matplotlib.collections import LineCollection

    half = max(least, 1.1 * spot.reach) / 2
    half_x, half_y = (half, half * shape) if shape >= 1 else (half / shape, half)
    (x, y) = spot.middle
    axes.set_xlim(x - half_x, x + half_x)
    axes.set_ylim(y - half_y, y + half_y)
    axes.set_aspect("equal", adjustable="box")
    axes.set_xticks([])
    axes.set_yticks([])
    axes.set_facecolor(OUTSIDE)
    window = np.array([x - half_x, y - half_y, x + half_x, y + half_y])

    def near(name: str) -> np.ndarray:
        found: np.ndarray = np.asarray(layers[name].geometry, dtype=object)
        return found[_meet(shapely.bounds(found).reshape(-1, 4), window)]

    add_polygons(axes, near("boundary"), facecolor=BARE, linewidth=0, zorder=1)
    # Passes in turn: their borders show where one ends and the next begins.
    add_polygons(axes, near("planted"), facecolor=PLANTED, edgecolor="#B9C8A6", linewidth=0.4, zorder=2)
    for zorder, (name, (colour, _)) in enumerate(LOST.items(), start=3):
        add_polygons(
            axes, near(name), facecolor=colour, edgecolor=INK, linewidth=0.2, hatch=_HATCH[name],
            zorder=zorder, gid=name,
        )  # fmt: skip
    add_polygons(
        axes, near("boundary"), facecolor="none", edgecolor=INK, linewidth=1.0, zorder=6, gid="boundary"
    )
    lines = [shapely.get_coordinates(line) for line in near("passes")]
    axes.add_collection(
        LineCollection(lines, colors=SMALL_PRINT, linewidths=0.6, linestyles=(0, (5, 3)), zorder=7),
        autolim=False,
    )
    scale_bar(axes, words, share=0.35, size=6.0, inside=True)


def _meet(bounds: Floats, window: Floats) -> Bools:
    """Which bounds meet the window."""
    return (
        (bounds[:, 0] <= window[2]) & (bounds[:, 2] >= window[0])
        & (bounds[:, 1] <= window[3]) & (bounds[:, 3] >= window[1])
    )  # fmt: skip


def title_spot(axes: Axes, lines: list[str], wide: float) -> None:
    """Write what a spot is above its picture.

    Parameters
    ----------
    axes : Axes
        The picture.
    lines : list of str
        As `spot_lines` makes them.
    wide : float
        Inches of paper that they may take.
    """
    for number, line in enumerate(reversed(lines)):
        size, weight, ink = (6.8, "bold", INK) if number == len(lines) - 1 else (6.3, "normal", SMALL_PRINT)
        # What is said in a line is worth more than the area behind its last comma.
        most = wide * _LETTERS
        short = line if fitted(line, most, size) == line else line.rpartition(", ")[0] or line
        axes.annotate(
            fitted(short, most, size), (0.0, 1.0), xycoords="axes fraction", xytext=(0, 2.5 + 8.2 * number),
            textcoords="offset points", fontsize=size, fontweight=weight, color=ink, annotation_clip=False,
        )  # fmt: skip
