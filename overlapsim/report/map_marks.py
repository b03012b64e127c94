"""What stands on a map besides ground: scale bar, north arrow, letters."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from overlapsim.basics.frames import Floats
from overlapsim.report.rounding import plain
from overlapsim.report.style import INK
from overlapsim.report.words import Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def round_length(most: float) -> float:
    """Choose a round length.

    Parameters
    ----------
    most : float
        How long it may be, in any unit, more than 0.

    Returns
    -------
    float
        1, 2 or 5 times a power of ten, in the same unit.

    Examples
    --------
    >>> round_length(730.0), round_length(0.3)
    (500.0, 0.2)
    """
    power = 10.0 ** math.floor(math.log10(most))
    return next(step * power for step in (5, 2, 1) if step * power <= most * (1 + 1e-12))


def scale_bar(axes: Axes, words: Words, share: float = 0.2, size: float = 7.0, inside: bool = False) -> None:
    """Draw a round length at the lower right.

    Parameters
    ----------
    axes : Axes
        Map with its limits set.
    words : Words
        Units.
    share : float
        Longest share of the map's width that it takes (no unit).
    size : float
        Size of its letters, points of 1/72 inches.
    inside : bool
        Within the frame of the map, else below it.
    """
    low, high = axes.get_xlim()
    length = round_length((high - low) * share / words.long_size)
    # A millimetre or less in from the frame.
    end = high - (0.03 * (high - low) if inside else 0.0)
    start, foot = end - length * words.long_size, 0.06 if inside else -0.012
    axes.plot(
        [start, end], [foot, foot], transform=axes.get_xaxis_transform(), color=INK, linewidth=1.5,
        clip_on=False, solid_capstyle="butt", zorder=9, gid="scale",
    )  # fmt: skip
    said = f"{plain(length, 2)} {words.long_unit}"
    axes.annotate(
        said, ((start + end) / 2, foot), xycoords=("data", "axes fraction"),
        xytext=(0, 2.5 if inside else -2.5 - size), textcoords="offset points", ha="center", fontsize=size,
        annotation_clip=False, zorder=9, bbox=_PAPER if inside else None,
    )  # fmt: skip


_PAPER = {"facecolor": "white", "alpha": 0.75, "linewidth": 0, "pad": 0.6}


def north_arrow(figure: Figure, axes: Axes) -> None:
    """Draw an arrow to the north above the upper right corner.

    Parameters
    ----------
    figure : Figure
        The map's.
    axes : Axes
        Map; north is up on it.
    """
    from matplotlib.transforms import ScaledTranslation

    # Inches from the corner: the arrow's foot and its tip.
    foot, tip = (
        axes.transAxes + ScaledTranslation(-0.07, up, figure.dpi_scale_trans) for up in (0.03, 0.25)
    )
    arrow = {"arrowstyle": "-|>", "color": INK, "linewidth": 0.9, "shrinkA": 0, "shrinkB": 0}
    axes.annotate(
        "", (1.0, 1.0), xycoords=tip, xytext=(1.0, 1.0), textcoords=foot, arrowprops=arrow,
        annotation_clip=False,
    )  # fmt: skip
    axes.annotate(
        "N", (1.0, 1.0), xycoords=tip, xytext=(0, 2), textcoords="offset points", ha="center", fontsize=7.5,
        fontweight="bold", annotation_clip=False, gid="north",
    )  # fmt: skip


def letter(axes: Axes, sign: str, place: Floats, beside: tuple[float, float]) -> None:
    """Mark a spot by a ring and a letter beside it.

    Parameters
    ----------
    axes : Axes
        Map.
    sign : str
        The letter.
    place : ndarray, shape (2,)
        Ground frame, metres.
    beside : (float, float)
        Where its letter stands, points from the spot.
    """
    axes.plot(
        [place[0]], [place[1]], linestyle="none", marker="o", markersize=9, markerfacecolor="none",
        markeredgecolor=INK, markeredgewidth=1.0, zorder=8, clip_on=False, gid=f"spot:{sign}",
    )  # fmt: skip
    axes.annotate(
        sign, (float(place[0]), float(place[1])), xytext=beside, textcoords="offset points", ha="center",
        va="center", fontsize=8, fontweight="bold", zorder=9, annotation_clip=False,
        bbox={"boxstyle": "circle,pad=0.18", "facecolor": "white", "edgecolor": INK, "linewidth": 0.8},
        arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 4.5},
    )  # fmt: skip
