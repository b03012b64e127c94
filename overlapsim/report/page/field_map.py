"""The field from above: legs, exclusions, lost ground; close-ups of the worst spots that need no script."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Any

import numpy as np
import shapely

from overlapsim.basics.units import format_number
from overlapsim.report.map_ground import LOST
from overlapsim.report.map_marks import round_length
from overlapsim.report.page.map_ends import ends_data
from overlapsim.report.page.markup import METRIC, US, data_html, lines_html, number, pair, said
from overlapsim.report.page.paths import CM, MOST_CORNERS, Corner, for_drawing, path_of
from overlapsim.report.rounding import plain
from overlapsim.report.setting import entered_words
from overlapsim.report.spot_panels import spot_lines
from overlapsim.report.spots import Spot, worst_spots
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout

_MARGIN = 0.04  # of the longer side, round the field
_SPOTS = 4
_GROUND = 0.5  # working widths that a close-up shows at least
_SIGNS = "ABCDEFGH"
_NARROW = 360.0  # dots across of a narrow screen: letters on the map are sized for it
_FINE = 0.1  # metres by which legs and the headland's inner edge may be drawn beside themselves
_RIM = 8000  # corners of the boundary, and of legs, that are drawn at most

SCRIPTS = ("map.js",)
"""Scripts that a page with a map needs."""


@dataclass(frozen=True)
class _Sheet:
    """The map's paper, in centimetres of ground."""

    corner: Corner
    wide: float
    high: float

    @property
    def view(self) -> str:
        return f"0 0 {self.wide:.0f} {self.high:.0f}"


def map_section(run: Any) -> str:
    """Draw the map with its close-ups and the data of its row ends.

    Parameters
    ----------
    run : Simulation
        Finished simulation, with its layers.

    Returns
    -------
    str
        HTML. Lost ground is drawn some dots wider than it is, close-ups at true scale.
    """
    layers = run.layers
    sheet = _sheet(layers["boundary"].geometry)
    spots = worst_spots(run, _SPOTS)
    interior = [one for zone in run.drive.zones if zone.laps for one in zone.interior]
    shapes, left_out = _shapes(layers, interior, sheet)
    data = ends_data(run, sheet.corner)
    entered = said(lambda words: entered_words(run.scenario, words))
    drawn = [name for name in ("skip", "overlap", "off_field") if len(layers[name].geometry)]
    named = [(f"map-{name}", LOST[name][1]) for name in drawn]
    named += [("headland", "headland")] * bool(interior)
    holes = shapely.get_num_interior_rings(layers["boundary"].geometry)
    named += [("outside", "exclusion")] * bool(holes.any())
    key = "".join(f'<li><span class="dot {kind}"></span>{name}</li>' for kind, name in named)
    missing = (
        f"<p>{left_out:,} of the smallest pieces are left out of the drawing, none of the figures.</p>"
        if left_out
        else ""
    )
    tap = (
        "Tap the end of a pass to see its rows."
        if data
        else "This field has too many row ends for a page; they stand in layers.gpkg."
    )
    return (
        f"<p>As entered now: {entered}. North is up; the arrow lies on the first pass. Lost ground is drawn "
        f'<span id="wider">some dots</span> wider than it is, or nobody would see it; come nearer, and it '
        f"takes its true size. {tap}</p>"
        f'<div id="map-buttons" class="buttons" hidden>{_buttons(bool(data))}</div>'
        f'<div class="map"><svg id="field-map" viewBox="{sheet.view}" role="img" '
        f'aria-label="{_label(run, drawn)}">{shapes}'
        f"{_content(bool(interior))}{_arrow(layers['passes'], sheet)}{_scale(sheet)}"
        f"{_letters(spots, sheet)}</svg>"
        f'</div><div id="rows" aria-live="polite"></div><ul class="key">{key}</ul>{missing}'
        f"{_close_ups(run, spots, sheet)}{data_html('map-data', data) if data else ''}"
    )


def _sheet(boundary: Any) -> _Sheet:
    west, south, east, north = shapely.total_bounds(boundary)
    rim = _MARGIN * max(east - west, north - south)
    wide, high = (east - west + 2 * rim) * CM, (north - south + 2 * rim) * CM
    return _Sheet(Corner(float(west - rim), float(north + rim)), float(wide), float(high))


def _shapes(layers: Any, interior: list[Any], sheet: _Sheet) -> tuple[str, int]:
    """Every shape once, to be used on the map and in the close-ups."""
    corner, kinds = sheet.corner, np.asarray(layers["passes"].columns["kind"])
    boundary, _ = for_drawing(layers["boundary"].geometry, _RIM)
    rim = path_of(boundary, corner)
    wide, high = sheet.wide, sheet.high
    around = f"M{-wide:.0f} {-high:.0f}H{2 * wide:.0f}V{2 * high:.0f}H{-wide:.0f}z"
    made = [_path("g-boundary", rim)]
    made += [
        f'<clipPath id="{name}"><path d="{side}" clip-rule="evenodd"/></clipPath>'
        for name, side in (("g-inside", rim), ("g-beyond", around + rim))
    ]
    if interior:
        inside, _ = for_drawing(shapely.simplify(np.array(interior, dtype=object), _FINE), _RIM)
        made.append(_path("g-interior", path_of(inside, corner)))
    for kind in ("pass", "lap"):
        lines = shapely.simplify(np.asarray(layers["passes"].geometry, dtype=object)[kinds == kind], _FINE)
        made.append(_path(f"g-{kind}", path_of(lines, corner)))
    lost = {name: np.asarray(layers[name].geometry, dtype=object) for name in LOST}
    count = sum(int(shapely.get_num_coordinates(one).sum()) for one in lost.values())
    left_out = 0
    for name, ground in lost.items():
        # Each kind has the share of the corners that it has of the ground as it stands.
        most = int(MOST_CORNERS * shapely.get_num_coordinates(ground).sum() / max(count, 1)) + 1
        if count > MOST_CORNERS:
            ground, missing = for_drawing(ground, most)
            left_out += missing
        made.append(_path(f"g-{name}", path_of(ground, corner)))
    return f"<defs>{''.join(made)}</defs>", left_out


def _path(name: str, commands: str) -> str:
    return f'<path id="{name}" fill-rule="evenodd" vector-effect="non-scaling-stroke" d="{commands}"/>'


def _content(headland: bool) -> str:
    """The ground of a map, from below to above."""
    ground = '<use href="#g-boundary" class="field"/>'
    if headland:
        ground = '<use href="#g-boundary" class="headland"/><use href="#g-interior" class="field interior"/>'
    return (
        f'<g id="g-all">{ground}<use href="#g-pass" class="leg"/>'
        '<use href="#g-lap" class="leg lap"/><g clip-path="url(#g-beyond)"><use href="#g-off_field" '
        'class="lost map-off_field"/></g><g clip-path="url(#g-inside)"><use href="#g-overlap" '
        'class="lost rim"/><use href="#g-overlap" class="lost map-overlap"/><use href="#g-skip" '
        'class="lost map-skip"/></g><use href="#g-boundary" class="field-rim"/></g>'
    )


def _label(run: Any, drawn: list[str]) -> str:
    laps = f"{run.lap_count} laps and " if run.lap_count else ""
    said_lost = ", ".join(LOST[name][1] for name in drawn) or "no lost ground"
    return escape(f"Map of the field with {laps}{run.pass_count} passes, {said_lost}", quote=True)


def _arrow(passes: Any, sheet: _Sheet) -> str:
    """An arrow where the first pass begins."""
    for one in np.flatnonzero(np.asarray(passes.columns["kind"]) == "pass")[:1]:
        line = shapely.get_coordinates(passes.geometry[one])
        way = (line[-1] - line[0]) / max(float(np.hypot(*(line[-1] - line[0]))), 1e-9)
        size = 0.03 * max(sheet.wide, sheet.high) / CM
        side = np.array([-way[1], way[0]]) * size / 3
        foot, tip = line[0], line[0] + way * 3 * size
        points = [foot, tip, tip - way * size + side, tip, tip - way * size - side]
        return f'<path class="first-pass" d="{path_of([shapely.LineString(points)], sheet.corner)}"/>'
    return ""


def _scale(sheet: _Sheet) -> str:
    """A round length at the lower left, in both systems of units."""
    made = []
    for words in (US, METRIC):
        length = round_length(sheet.wide / CM * 0.3 / words.long_size)
        text = f"{plain(length, 2)} {words.long_unit}"
        x, y = 0.02 * sheet.wide, sheet.high - 0.015 * max(sheet.wide, sheet.high)
        size = sheet.wide / _NARROW * 12
        made.append(
            f'<g class="{words.units}"><path class="scale" d="M{x:.0f} {y:.0f}h'
            f'{length * words.long_size * CM:.0f}"/><text x="{x:.0f}" y="{y - size / 2:.0f}" '
            f'font-size="{size:.0f}">{text}</text></g>'
        )
    return f'<g id="map-scale">{"".join(made)}</g>'


def _letters(spots: list[Spot], sheet: _Sheet) -> str:
    """Letters of the close-ups, drawn about a place and sized by the script as one comes nearer."""
    size = sheet.wide / _NARROW
    made = []
    for sign, spot in zip(_SIGNS, spots, strict=False):
        x, y = sheet.corner.place(spot.middle[None, :])[0].tolist()
        left = 13 if x < sheet.wide / 2 else -13
        up = 12 if y < sheet.high / 2 else -12
        made.append(
            f'<g class="spot" data-x="{x}" data-y="{y}" '
            f'transform="translate({x} {y}) scale({number(size, 2)})">'
            f'<path d="M0 0L{left} {up}"/><circle r="4" class="ring"/><circle cx="{left}" cy="{up}" r="8"/>'
            f'<text x="{left}" y="{up + 4}" text-anchor="middle" font-size="11">{sign}</text></g>'
        )
    return "".join(made)


def _close_ups(run: Any, spots: list[Spot], sheet: _Sheet) -> str:
    """The worst spots at true scale."""
    if not spots:
        return "<p>No ground is lost.</p>"
    least = _GROUND * row_layout(run.scenario).working_width
    figures = []
    for sign, spot in zip(_SIGNS, spots, strict=False):
        side = max(least, 1.1 * spot.reach) * CM
        x, y = sheet.corner.place(spot.middle[None, :])[0].tolist()
        view = f"{x - side / 2:.0f} {y - side / 2:.0f} {side:.0f} {side:.0f}"
        us, metric = (spot_lines(sign, spot, words) for words in (US, METRIC))
        label = escape(f"Close-up {'; '.join(us)}", quote=True)
        bars = "".join(_bar(words, x, y, side) for words in (US, METRIC))
        figures.append(
            f'<figure><svg class="spot-view" viewBox="{view}" role="img" aria-label="{label}">'
            f'<use href="#g-all"/>{bars}</svg><figcaption><b>{pair(us[0], metric[0])}</b>'
            f"{lines_html(us[1:], metric[1:])}</figcaption></figure>"
        )
    total = sum(sum(spot.area.values()) for spot in spots)
    lost = said(lambda words: _lost(total, run, words))
    return (
        f"<h3>The worst spots, at true scale</h3><p>{lost}</p>"
        f'<div class="spots">{"".join(figures)}</div>'
    )


def _lost(total: float, run: Any, words: Words) -> str:
    areas = run.areas
    whole = areas["skip_m2"] + areas["overlap_m2"] + areas["off_field_m2"]
    unit, size, digits = words.area_scale(whole)
    some, all_of_it = (format_number(area / size, digits) for area in (total, whole))
    return f"Together {some} of {all_of_it} {unit} that are lost on the whole field."


def _bar(words: Words, x: int, y: int, side: float) -> str:
    length = round_length(side / CM * 0.4 / words.long_size)
    left, foot = x - 0.45 * side, y + 0.44 * side
    return (
        f'<g class="{words.units}"><path class="scale" d="M{left:.0f} {foot:.0f}h'
        f'{length * words.long_size * CM:.0f}"/><text x="{left:.0f}" y="{foot - 0.02 * side:.0f}" '
        f'font-size="{0.07 * side:.0f}">{plain(length, 2)} {words.long_unit}</text></g>'
    )


def _buttons(ends: bool) -> str:
    names = [("in", "Nearer"), ("out", "Farther"), ("whole", "Whole field")]
    if ends:
        names += [("back", "Row end before"), ("next", "Next row end")]
    return "".join(f'<button type="button" data-do="{key}">{name}</button>' for key, name in names)
