"""Small maps side by side: one for each way to drive a field."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, to_ground
from overlapsim.drive.legs import Leg
from overlapsim.drive.plan import plan_drive
from overlapsim.questions.pattern_cases import with_pattern
from overlapsim.questions.pattern_run import working_stretches
from overlapsim.report.map_ground import add_polygons
from overlapsim.report.pattern_report import shown_of
from overlapsim.report.pattern_words import change_number, driven_words, pattern_words
from overlapsim.report.style import BLUE, GROUND, INK, SMALL_PRINT, VERMILION, fitted, new_figure
from overlapsim.report.words import Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDE = 7.6  # inches of paper
_ACROSS = 4  # maps in a row, at most
_LONGEST, _SHORTEST = 2.6, 0.7  # inches: height of a map
_WORDS = 0.62  # inches for the words under a map
_HEAD, _FOOT = 0.62, 0.42  # inches
_MARGIN = 0.12  # inches round a map
_PASS, _LAP = "#8A8A8A", BLUE


def draw_maps(result: Any, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    result : PatternsResult
        Finished comparison.
    words : Words
        Units of the labels.

    Returns
    -------
    Figure
        The patterns of the printed table, in its order; north is up, all at one scale.
    """
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    shown = shown_of(result)
    west, south, east, north = shapely.total_bounds(np.array(result.scenario.field.parts, dtype=object))
    across = min(_ACROSS, len(shown))
    down = math.ceil(len(shown) / across)
    wide = _WIDE / _ACROSS
    room = wide - 2 * _MARGIN
    scale = min(room / (east - west), _LONGEST / (north - south))
    tall = max((north - south) * scale, _SHORTEST) + 2 * _MARGIN
    high = _HEAD + down * (tall + _WORDS) + _FOOT
    figure = new_figure(_WIDE, high)
    for place, number in enumerate(shown):
        column, row = place % across, place // across
        left, top = column * wide, high - _HEAD - row * (tall + _WORDS)
        size = room, tall - 2 * _MARGIN
        corner = (left + _MARGIN) / _WIDE, (top - tall + _MARGIN) / high
        axes = figure.add_axes((*corner, size[0] / _WIDE, size[1] / high))
        _map(axes, result, number, ((west + east) / 2, (south + north) / 2), scale, size)
        lines = _lines(result, number, words)
        for step, (text, points, look) in enumerate(lines):
            figure.text(
                (left + _MARGIN) / _WIDE, (top - tall - 0.08 - 0.15 * step) / high,
                fitted(text, wide - _MARGIN, points), fontsize=points, **look,
            )  # fmt: skip
        if result.patterns[number]["unbeaten"]:
            inset = 0.03
            figure.add_artist(
                Rectangle(
                    ((left + inset) / _WIDE, (top - tall - _WORDS + 0.14) / high),
                    (wide - 2 * inset) / _WIDE, (tall + _WORDS - 0.16) / high,
                    fill=False, edgecolor=VERMILION, linewidth=1.2, gid="unbeaten",
                )
            )  # fmt: skip
    figure.text(0.12 / _WIDE, 1 - 0.27 / high, "Ways to drive the field", fontsize=12, fontweight="bold")
    title = fitted(f"{result.scenario.title}; against now as entered", _WIDE - 0.24, 8)
    figure.text(0.12 / _WIDE, 1 - 0.46 / high, title, fontsize=8, color=SMALL_PRINT)
    handles: list[Any] = [
        Line2D([], [], color=_LAP, linewidth=1.2, label="headland lap"),
        Line2D([], [], color=_PASS, linewidth=1.0, label="pass"),
        Rectangle(
            (0, 0), 1, 1, fill=False, edgecolor=VERMILION, linewidth=1.2,
            label="unbeaten: none loses less ground and is no longer to drive",
        ),
    ]  # fmt: skip
    figure.legend(
        handles=handles, loc="lower left", ncol=3, frameon=False, fontsize=7.5,
        bbox_to_anchor=(0.06 / _WIDE, 0.03 / high), columnspacing=1.4, handletextpad=0.6,
    )  # fmt: skip
    return figure


def _lines(result: Any, number: int, words: Words) -> list[tuple[str, float, dict[str, Any]]]:
    """The words under a map: what it is, what it loses more or less, how far it is."""
    one, today = result.patterns[number], result.now["as_set"]["combined_m2"]
    change = change_number(one["best"]["combined_m2"] - today, words)
    length, unit = driven_words(one["working_m"], words)
    count = one["pass_count"]
    name = f"{'now: ' if number == 0 else ''}{pattern_words(one)}"
    return [
        (name, 7.5, {"fontweight": "bold"}),
        (f"{change} {words.land_unit} lost, at its best", 6.5, {"color": SMALL_PRINT}),
        (f"{length} {unit}, {count} pass{'' if count == 1 else 'es'}", 6.5, {"color": SMALL_PRINT}),
    ]


def _map(
    axes: Axes,
    result: Any,
    number: int,
    middle: tuple[float, float],
    scale: float,
    size: tuple[float, float],
) -> None:
    """Draw one map: its middle in the ground frame, inches of paper to a metre, its size on paper, inches."""
    from matplotlib.collections import LineCollection

    axes.set_xlim(middle[0] - size[0] / scale / 2, middle[0] + size[0] / scale / 2)
    axes.set_ylim(middle[1] - size[1] / scale / 2, middle[1] + size[1] / scale / 2)
    axes.set_axis_off()
    parts = np.array(result.scenario.field.parts, dtype=object)
    add_polygons(axes, parts, facecolor=GROUND, edgecolor=INK, linewidth=0.7, zorder=1, gid="boundary")
    drive = plan_drive(with_pattern(result.scenario, result.cases[number]))
    legs = list(zip(drive.legs, working_stretches(drive), strict=True))
    for kind, colour, zorder in (("pass", _PASS, 2), ("lap", _LAP, 3)):
        lines = [leg_line(leg, down, drive.heading) for leg, down in legs if leg.kind == kind]
        look = {"colors": colour, "linewidths": 0.45 if kind == "pass" else 0.7}
        axes.add_collection(LineCollection(lines, zorder=zorder, gid=kind, **look), autolim=False)


def leg_line(leg: Leg, down: tuple[float, float], heading: float) -> Floats:
    """Lay out the planned line of a leg where the machine is down.

    Parameters
    ----------
    leg : Leg
        Any leg.
    down : tuple of float
        Where along it the machine is lowered and raised, metres.
    heading : float
        Of the first pass, rad clockwise from north.

    Returns
    -------
    ndarray, shape (n, 2)
        Ground frame, metres.
    """
    if leg.track is not None:
        points = leg.track.place
        return np.concatenate([points, points[:1]]) if leg.closed else points
    ends = np.array([[leg.across, leg.direction * place] for place in down])
    return to_ground(ends, heading)
