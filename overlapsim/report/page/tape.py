"""Where to put the tape: the machine from above with its ranks, the tape, and what is typed in beside it."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Any

import numpy as np

from overlapsim.basics.units import INCH
from overlapsim.report.advice import offset_of
from overlapsim.report.page.chart import WIDE
from overlapsim.report.page.curve import mark
from overlapsim.report.page.markup import METRIC, US, number, said, short
from overlapsim.report.phrases import rank_words
from overlapsim.report.setting import behind_what, measured_from
from overlapsim.report.words import Words
from overlapsim.scenario.rows import RowLayout, row_layout

_LEFT, _RIGHT = 16.0, 384.0  # between which it lies, units of the drawing
_BAR, _TAPE = 66.0, 128.0  # where the machine's middle and the tape lie
_HALF = 34.0  # units that half of the machine's width takes
_ROOM = 100.0  # units that a label takes
_RIM = 64.0  # units from a border within which a label does not stand about its place
_LINE = 13.0  # units from one line of labels to the next
_STEPS = {"us": (6 * INCH, 24 * INCH), "metric": (0.1, 0.5)}  # marks and figures on the tape, metres


@dataclass(frozen=True)
class _Scale:
    """From metres behind the hitch pin to units of the drawing."""

    low: float
    high: float

    def x(self, metres: float) -> float:
        return _LEFT + (metres - self.low) / (self.high - self.low) * (_RIGHT - _LEFT)


def tape_section(result: Any) -> str:
    """Draw the machine with its tape, and say how it is measured.

    Parameters
    ----------
    result : TuneResult or Simulation
        Finished result.

    Returns
    -------
    str
        HTML.
    """
    scenario, layout = result.scenario, row_layout(result.scenario)
    more = measured_from(scenario)
    marks = _marks(result)
    ranks = [(rank_words(rank), layout.behind_pin_of(rank)) for rank in layout.working_ranks]
    farthest = max([metres for _, metres, _ in marks] + [metres for _, metres in ranks])
    scale = _Scale(-more - 0.3, farthest + 0.35)
    how = (
        "From the middle of the hitch pin straight back to where the seed meets the ground, machine in the "
        "ground and level, each rank by itself."
    )
    typed = ""
    if more:
        typed = "<p>" + said(lambda w: f"Typed in is the tape plus {w.short(more)}: this controller measures "
                             f"from the rear axle.") + "</p>"  # fmt: skip
    rows = "".join(
        f'<tr><th scope="row">{escape(name)}</th><td>{short(metres)}</td>'
        f"<td>{escape(_basis(scenario, rank))}</td></tr>"
        for (name, metres), rank in zip(ranks, layout.working_ranks, strict=True)
    )
    table = (
        '<table class="left"><caption>What the tape reads</caption><thead><tr><td></td>'
        f'<th scope="col">behind the hitch pin</th><th scope="col">from</th></tr></thead>{rows}</table>'
    )
    return f"<p>{how}</p>{typed}{_drawing(scale, ranks, marks, result, layout)}{table}"


def _basis(scenario: Any, rank: str) -> str:
    for key in ("behind_pin", "behind_front"):
        if told := scenario.basis.get(f"machine.ranks.{rank}.{key}"):
            return str(told)
    return "not said"


def _marks(result: Any) -> list[tuple[str, float, str]]:
    """What is typed in: name, metres behind the hitch pin, class of its sign."""
    now, made = offset_of(getattr(result, "as_set", result)), []
    settings = [("now", now, "now")]
    if hasattr(result, "recommended"):
        typed = offset_of(result.recommended)
        both = ("now = type in", now, "then")
        settings = [both] if typed == now else [*settings, ("type in", typed, "then")]
    for name, offset, sign in settings:
        by = offset if isinstance(offset, dict) else {"": offset}
        made += [(f"{name} {rank}".strip(), float(metres), sign) for rank, metres in by.items()]
    return made


def _drawing(
    scale: _Scale, ranks: list[tuple[str, float]], marks: list[tuple[str, float, str]], result: Any,
    layout: RowLayout,
) -> str:  # fmt: skip
    scenario, more = result.scenario, measured_from(result.scenario)
    above = _levels([scale.x(metres) for _, metres in ranks])
    below = _levels([scale.x(metres) for _, metres, _ in marks])
    top = _BAR - _HALF - 19 - _LINE * max(above)
    foot = _TAPE + 36 + _LINE * (max(below) + 1)
    across = _HALF / max(float(np.abs(layout.right).max()), 1e-9)
    pin, last = scale.x(0.0), scale.x(max(metres for _, metres in ranks))
    parts = [f'<path class="frame" d="M{number(pin)} {_BAR:.0f}H{number(last)}"/>']
    for k, ((name, metres), rank) in enumerate(zip(ranks, layout.working_ranks, strict=True)):
        x, rows = scale.x(metres), np.flatnonzero(layout.rank == rank)
        low, high = float(layout.right[rows].min()) * across, float(layout.right[rows].max()) * across
        parts.append(f'<path class="frame" d="M{number(x)} {number(_BAR + low)}V{number(_BAR + high)}"/>')
        parts += [
            f'<circle class="rank{k}{" off" if layout.off[i] else ""}" cx="{number(x)}" '
            f'cy="{number(_BAR + layout.right[i] * across, 2)}" r="1.6"/>'
            for i in rows
        ]
        parts.append(f'<path class="drop" d="M{number(x)} {number(_BAR + _HALF + 3)}V{_TAPE:.0f}"/>')
        text = short(metres, f"{name} ", "tspan")
        parts.append(_label(x, _BAR - _HALF - 6 - _LINE * above[k], text, f"name rank{k}"))
    parts.append(f'<circle class="pin" cx="{number(pin)}" cy="{_BAR:.0f}" r="4"/>')
    parts.append(_label(pin, _BAR - 9, "hitch pin", "name"))
    if more:
        axle = scale.x(-more)
        parts.append(f'<path class="frame" d="M{number(axle)} {_BAR - 16:.0f}v32"/>')
        parts.append(_label(axle, _BAR + 28, "rear axle", "name"))
    parts.append(f'<path class="drop" d="M{number(pin)} {_BAR + 4:.0f}V{_TAPE:.0f}"/>')
    parts += [_tape(words, scale, pin, last) for words in (US, METRIC)]
    parts += _stretch(result, scale)
    for (name, metres, sign), level in zip(marks, below, strict=True):
        x, y = scale.x(metres), _TAPE + 24
        parts.append(mark(x, y, sign))
        text = short(metres + more, f"{name} ", "tspan")
        parts.append(_label(x, y + 19 + _LINE * level, text, f"name {sign}"))
    label = escape(
        f"Machine from above: {', '.join(f'{n} {US.short(m)}' for n, m in ranks)} behind the hitch pin; "
        + ", ".join(f"{n} {US.short(m + more)}" for n, m, _ in marks) + f" {behind_what(scenario)}",
        quote=True,
    )  # fmt: skip
    return (
        f'<figure><svg class="drawing" viewBox="0 {number(top)} {WIDE:.0f} {number(foot - top)}" role="img" '
        f'aria-label="{label}">{"".join(parts)}</svg><figcaption>Along the way true to scale, across not; '
        "the machine drives to the left.</figcaption></figure>"
    )


def _tape(words: Words, scale: _Scale, pin: float, last: float) -> str:
    """The tape with marks in one system of units."""
    step, big = _STEPS[words.units]
    end = (last - pin) / (scale.x(1.0) - scale.x(0.0))
    marks = np.arange(0.0, end + 1e-9, step)
    small = "".join(f"M{number(scale.x(float(m)))} {_TAPE:.0f}v5" for m in marks)
    figures = "".join(
        _label(scale.x(float(m)), _TAPE + 11.5, words.short_number(float(m)), "figure")
        for m in np.arange(big, end - step / 2, big)
    )
    return (
        f'<g class="{words.units}"><rect class="tape" x="{number(pin)}" y="{_TAPE:.0f}" '
        f'width="{number(last - pin)}" height="14"/><path class="tick" d="{small}"/>{figures}</g>'
    )


def _stretch(result: Any, scale: _Scale) -> list[str]:
    good = getattr(result, "as_good_m", None)
    if getattr(result, "joint", None):
        good = result.joint.typed_found.as_good
    spans = list(good.values()) if isinstance(good, dict) else [good] if good is not None else []
    return [
        f'<rect class="good" x="{number(scale.x(low))}" y="{_TAPE + 17:.0f}" height="4" '
        f'width="{number(max(scale.x(high) - scale.x(low), 1.0))}"/>'
        for low, high in spans
    ]


def _levels(places: list[float]) -> list[int]:
    """Lines on which labels stand so that none lies over another."""
    made: list[int] = []
    for i, place in enumerate(places):
        level = 0
        while any(made[j] == level and abs(places[j] - place) < _ROOM for j in range(i)):
            level += 1
        made.append(level)
    return made


def _label(x: float, y: float, text: str, kind: str) -> str:
    """Text about a place; near the borders of the drawing it ends or begins there."""
    anchor = "start" if x < 50 else "end" if x > WIDE - _RIM else "middle"
    at = max(x, 2.0) if anchor != "end" else min(x + 14, WIDE - 2)
    at = max(at - 14, 2.0) if anchor == "start" else at
    return f'<text class="{kind}" x="{number(at)}" y="{number(y)}" text-anchor="{anchor}">{text}</text>'
