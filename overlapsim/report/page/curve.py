"""The curve of the combined error over the reference offset, with its parts, as a drawing of the page."""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.report.advice import offset_of
from overlapsim.report.map_marks import round_length
from overlapsim.report.offset_curve import PARTS
from overlapsim.report.page.markup import METRIC, US, number, short
from overlapsim.report.phrases import rank_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import behind_what, measured_from
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout

_WIDE, _HIGH = 400.0, 262.0  # units of the drawing: about a phone's dots
_LEFT, _RIGHT, _TOP, _FOOT = 46.0, 392.0, 34.0, 222.0  # its frame
_POINTS = 400  # points of the curve that are drawn, at most


class _Frame:
    """From offsets and areas to units of the drawing."""

    def __init__(self, low: float, high: float, most: float) -> None:
        self.low, self.high, self.most = low, high, most or 1.0

    def x(self, metres: Any) -> Any:
        return _LEFT + (metres - self.low) / (self.high - self.low) * (_RIGHT - _LEFT)

    def y(self, area: Any) -> Any:
        return _FOOT - area / self.most * (_FOOT - _TOP)


def curve_section(result: Any) -> str:
    """Draw the curve and say what is on it.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    str
        HTML.
    """
    scenario, curve = result.scenario, result.curve
    offset = np.asarray(curve.offset_m)
    keep = np.unique(np.linspace(0, len(offset) - 1, min(len(offset), _POINTS)).round().astype(int))
    # Where the curve lies lowest must not fall between two points.
    keep = np.union1d(keep, [int(np.argmin(curve.combined_m2))])
    offset, top = offset[keep], np.asarray(curve.combined_m2)[keep]
    frame = _Frame(float(offset[0]), float(offset[-1]), float(np.max(curve.combined_m2)) * 1.04)
    parts, key, bottom = [], [], np.zeros_like(offset)
    for name, weight, _, word in PARTS:
        times = getattr(scenario.weights, weight)
        upper = bottom + np.asarray(getattr(curve, name))[keep] * times
        if np.any(upper > bottom):
            parts.append(f'<path class="area {weight}" d="{_between(frame, offset, bottom, upper)}"/>')
            text = word if times == 1 else f"{word} times {plain(times, 2)}"
            key.append(f'<li><span class="dot {weight}"></span>{escape(text)}</li>')
        bottom = upper
    drawing = [
        *(_axes(frame, words, result) for words in (US, METRIC)), *_stretches(frame, result), *parts,
        f'<path class="combined" d="{_path(frame.x(offset), frame.y(top))}"/>',
        *_ranks(frame, result), *_marks(frame, result),
    ]  # fmt: skip
    key += [
        '<li><span class="dot line"></span>combined error</li>',
        '<li><span class="dot good"></span>just as good</li>',
        '<li><span class="dot equal"></span>equal</li>',
    ]
    label = "Combined error over the reference offset, with its parts"
    return (
        f'<figure><svg class="drawing" viewBox="0 0 {_WIDE:.0f} {_HIGH:.0f}" role="img" '
        f'aria-label="{label}; the table holds the figures">{"".join(drawing)}</svg>'
        f'<figcaption><ul class="key">{"".join(key)}</ul></figcaption></figure>'
    )


def _path(x: Floats, y: Floats) -> str:
    points = [f"{number(a)} {number(b)}" for a, b in zip(x, y, strict=True)]
    return "M" + "L".join(points)


def _between(frame: _Frame, offset: Floats, low: Floats, high: Floats) -> str:
    x = np.concatenate([offset, offset[::-1]])
    return _path(frame.x(x), frame.y(np.concatenate([high, low[::-1]]))) + "z"


def _axes(frame: _Frame, words: Words, result: Any) -> str:
    """Grid, figures and names of both axes in one system of units."""
    more = measured_from(result.scenario)
    unit, area, _ = words.area_scale(float(np.max(result.curve.combined_m2)))
    up = round_length(max(frame.most / area / 3.0, 1e-9))
    marks, grid = [], ""
    for value in np.arange(0.0, frame.most / area, up):
        y = frame.y(value * area)
        grid += f"M{_LEFT:.0f} {number(y)}H{_RIGHT:.0f}"
        text = plain(float(value), 2)
        marks.append(f'<text class="figure" x="{_LEFT - 4:.0f}" y="{number(y + 3.5)}" '
                     f'text-anchor="end">{text}</text>')  # fmt: skip
    low, high = (frame.low + more) / words.short_size, (frame.high + more) / words.short_size
    along = round_length((high - low) / 4.0)
    for value in np.arange(np.ceil(low / along) * along, high, along):
        x = frame.x(value * words.short_size - more)
        grid += f"M{number(x)} {_FOOT:.0f}v4"
        marks.append(f'<text class="figure" x="{number(x)}" y="{_FOOT + 15:.0f}" text-anchor="middle">'
                     f"{plain(float(value))}</text>")  # fmt: skip
    land = words.land(result.scenario.field.plantable_m2)
    name = f"reference offset, {words.short_unit} {behind_what(result.scenario)}"
    middle = (_LEFT + _RIGHT) / 2
    return (
        f'<g class="{words.units}"><path class="grid" d="{grid}"/>{"".join(marks)}'
        f'<text class="name" x="{middle:.0f}" y="{_FOOT + 32:.0f}" text-anchor="middle">{escape(name)}</text>'
        f'<text class="name" x="2" y="12">{escape(f"{unit} on {land}")}</text></g>'
    )


def _stretches(frame: _Frame, result: Any) -> list[str]:
    found = result.joint.typed_found if getattr(result, "joint", None) else result.found
    made = []
    for stretch, kind, y, high in (
        (found.as_good, "good", _TOP, _FOOT - _TOP),
        (found.equal, "equal", _FOOT - 5, 5),
    ):
        for low, far in stretch.values() if isinstance(stretch, dict) else [stretch]:
            x, end = np.clip([frame.x(low), frame.x(far)], _LEFT, _RIGHT)
            wide = number(max(float(end - x), 1.5))
            made.append(f'<rect class="{kind}" x="{number(x)}" y="{y:.0f}" width="{wide}" height="{high}"/>')
    return made


def _ranks(frame: _Frame, result: Any) -> list[str]:
    layout = row_layout(result.scenario)
    made: list[str] = []
    taken: list[float] = []
    for k, rank in enumerate(layout.working_ranks):
        x = float(frame.x(layout.behind_pin_of(rank)))
        level = sum(abs(x - other) < 64 for other in taken)
        taken.append(x)
        made.append(f'<path class="drop" d="M{number(x)} {_TOP:.0f}V{_FOOT:.0f}"/>')
        made.append(f'<text class="name rank{k}" x="{number(x)}" y="{_TOP - 4 - 11 * min(level, 1):.0f}" '
                    f'text-anchor="middle">{escape(rank_words(rank))}</text>')  # fmt: skip
    return made


def _marks(frame: _Frame, result: Any) -> list[str]:
    """What is entered now and what to type in, on the curve."""
    made = []
    for name, run, sign in (("now", result.as_set, "now"), ("type in", result.recommended, "then")):
        offset = offset_of(run)
        if isinstance(offset, dict):
            continue
        x, y = float(frame.x(offset)), float(frame.y(run.areas["combined_m2"]))
        shape = "l8 8m0 -8l-8 8" if sign == "now" else "m4 -1l5 5l-5 5l-5 -5z"
        made.append(f'<path class="mark {sign}" d="M{number(x - 4)} {number(y - 4)}{shape}"/>')
        text = short(offset + measured_from(run.scenario), f"{name} ", "tspan")
        side, at = ("end", x - 8) if x > (_LEFT + _RIGHT) / 2 + 60 else ("start", x + 8)
        made.append(f'<text class="name {sign} halo" x="{number(at)}" y="{number(y - 8)}" '
                    f'text-anchor="{side}">{text}</text>')  # fmt: skip
    return made
