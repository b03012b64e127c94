"""The field from above: legs in driving order, where ground was lost, and the worst spots at true scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import shapely

from overlapsim.report.map_ground import LAP, LOST, PASS, WIDER, draw_field, draw_legs, draw_lost
from overlapsim.report.map_marks import letter, north_arrow, scale_bar
from overlapsim.report.phrases import and_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import offset_words
from overlapsim.report.spot_panels import draw_spot, spot_lines, title_spot
from overlapsim.report.spots import Spot, worst_spots
from overlapsim.report.style import INK, SMALL_PRINT, fitted, new_figure
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_MOST_SPOTS = 4
_WIDE_MAP, _TALL_MAP = (7.8, 4.6), (5.4, 7.0)  # inches of paper that the map may take, beside its spots
_LEAST = 1.6  # inches for the shorter side
_PANEL = 2.15  # inches: width of a spot's picture in a column
_TITLE = 0.46  # inches above a spot's picture
_ARROW = 0.35  # inches: least length of the arrow on the first pass
_EDGE = 0.2  # inches of margin
_ABOVE, _BELOW = 1.02, 0.92  # inches for words
_GROUND = 0.5  # working widths that a spot's picture shows at least


@dataclass(frozen=True)
class _Paper:
    """Where things stand, inches from the lower left."""

    wide: float
    high: float
    map: tuple[float, float, float, float]
    panels: list[tuple[float, float, float, float]]
    scale: float  # inches per metre


def draw_overview(run: Any, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    run : Simulation or TuneResult
        Finished result, with its layers; of a search the run as entered now is drawn, as in its map layers.
    words : Words
        Units of the labels.

    Returns
    -------
    Figure
        North is up; on the map thin pieces are drawn wider than they are, and it says by how much; the worst
        spots stand beside it at true scale.
    """
    run = getattr(run, "as_set", run)
    layers = run.layers
    spots = worst_spots(run, _MOST_SPOTS)
    west, south, east, north = shapely.total_bounds(layers["boundary"].geometry)
    paper = _lay_out((east - west) * 1.08, (north - south) * 1.08, len(spots))
    figure = new_figure(paper.wide, paper.high)
    axes = figure.add_axes(_share(paper.map, paper), gid="map")
    half_x, half_y = paper.map[2] / paper.scale / 2, paper.map[3] / paper.scale / 2
    axes.set_xlim((west + east) / 2 - half_x, (west + east) / 2 + half_x)
    axes.set_ylim((south + north) / 2 - half_y, (south + north) / 2 + half_y)
    axes.set_aspect("equal", adjustable="box")
    axes.set_axis_off()
    draw_field(axes, layers["boundary"])
    draw_legs(axes, layers["passes"], _ARROW / paper.scale)
    draw_lost(axes, layers)
    scale_bar(axes, words)
    north_arrow(figure, axes)
    _spots(figure, axes, run, spots, paper, words)
    _words(figure, run, spots, paper, words)
    return figure


def _lay_out(span_x: float, span_y: float, spots: int) -> _Paper:
    """Place map and spots on paper: a tall field beside them, a wide one above them."""
    tall = span_y >= span_x
    room = _TALL_MAP if tall else _WIDE_MAP
    scale = min(room[0] / span_x, room[1] / span_y)
    across, up = max(span_x * scale, _LEAST), max(span_y * scale, _LEAST)
    if tall:
        side = _PANEL + 0.3 if spots else 0.0
        rows = max(spots, 1)
        each = min((max(up, 4.4) - rows * _TITLE) / rows, _PANEL)
        stack = rows * (each + _TITLE) if spots else 0.0
        wide, high = max(across + side + 2 * _EDGE, 5.2), max(up, stack) + _ABOVE + _BELOW
        left = (wide - across - side) / 2
        box = (left, _BELOW + max(stack - up, 0.0), across, up)
        top = high - _ABOVE
        panels = [
            (left + across + 0.3, top - (i + 1) * (each + _TITLE), _PANEL, each) for i in range(spots)
        ]
        return _Paper(wide, high, box, panels, scale)
    wide = max(across + 2 * _EDGE, 7.4)
    gap = 0.16
    each = (wide - 2 * _EDGE - gap * (_MOST_SPOTS - 1)) / _MOST_SPOTS
    row = each + _TITLE + 0.24 if spots else 0.0
    high = up + row + _ABOVE + _BELOW
    box = ((wide - across) / 2, _BELOW + row, across, up)
    panels = [(_EDGE + i * (each + gap), _BELOW, each, each) for i in range(spots)]
    return _Paper(wide, high, box, panels, scale)


def _share(box: tuple[float, float, float, float], paper: _Paper) -> tuple[float, float, float, float]:
    return box[0] / paper.wide, box[1] / paper.high, box[2] / paper.wide, box[3] / paper.high


def _spots(figure: Figure, axes: Axes, run: Any, spots: list[Spot], paper: _Paper, words: Words) -> None:
    """Draw the spots at true scale, and mark them on the map."""
    least = _GROUND * row_layout(run.scenario).working_width
    middle = (sum(axes.get_xlim()) / 2, sum(axes.get_ylim()) / 2)
    for number, (spot, box) in enumerate(zip(spots, paper.panels, strict=True)):
        sign = "ABCDEFGH"[number]
        panel = figure.add_axes(_share(box, paper), gid=f"panel:{sign}")
        draw_spot(panel, spot, run.layers, least, box[3] / box[2], words)
        title_spot(panel, spot_lines(sign, spot, words), box[2])
        # Letters stand inwards of their spot: on the map there is always room.
        aside = 15 if spot.middle[0] < middle[0] else -15
        letter(axes, sign, spot.middle, (aside, 13 if spot.middle[1] < middle[1] else -13))


def _words(figure: Figure, run: Any, spots: list[Spot], paper: _Paper, words: Words) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    wide, high = paper.wide, paper.high
    figure.text(_EDGE / wide, 1 - 0.29 / high, _title(run), fontsize=12, fontweight="bold")
    entered = offset_words(run.scenario, run.scenario.switching.reference_offset, words)
    what = fitted(f"{entered} entered; {run.scenario.title}", wide - 2 * _EDGE - 0.3, 8)
    figure.text(_EDGE / wide, 1 - 0.48 / high, what, fontsize=8, color=SMALL_PRINT)
    kinds = set(run.layers["passes"].columns["kind"])
    handles: list[Any] = [
        Line2D([], [], color=colour, linewidth=1.2, label=name)
        for name, colour in (("pass", PASS), ("lap", LAP))
        if name in kinds
    ]
    drawn = [name for name in ("skip", "overlap", "off_field") if len(run.layers[name].geometry)]
    handles += [
        Patch(facecolor=LOST[name][0], edgecolor=INK, linewidth=0.4, label=LOST[name][1]) for name in drawn
    ]
    figure.legend(
        handles=handles, loc="lower center", ncol=5, frameon=False, fontsize=7.5,
        bbox_to_anchor=(0.5, 0.34 / high), borderaxespad=0.0, columnspacing=1.4, handletextpad=0.6,
    )  # fmt: skip
    said = _widened(drawn, paper.scale, words)
    if spots:
        letters = "A" if len(spots) == 1 else f"A to {'ABCDEFGH'[len(spots) - 1]}"
        said.append(f"{letters}: the worst spots, at true scale")
    for number, line in enumerate(said):
        figure.text(
            0.5, (0.22 - 0.13 * number) / high, line, fontsize=6.5, color=SMALL_PRINT, ha="center"
        )


def _widened(drawn: list[str], scale: float, words: Words) -> list[str]:
    """Say by how much lost ground is drawn wider than it is."""
    if not drawn:
        return ["No ground is lost."]
    by: dict[str, list[str]] = {}
    for name in drawn:
        metres = WIDER[name] / 72 / scale
        figure = plain(metres / words.long_size, 0 if metres > 3 else 1)
        by.setdefault(f"{figure} {words.long_unit}", []).append(LOST[name][1])
    said = [f"{and_words(names)} by {much}" for much, names in by.items()]
    return [f"drawn wider than it is: {', '.join(said)}"]


def _title(run: Any) -> str:
    laps = f"{run.lap_count} lap{'' if run.lap_count == 1 else 's'} and " if run.lap_count else ""
    return f"{laps}{run.pass_count} pass{'' if run.pass_count == 1 else 'es'}"
