"""The box of equals: reference offsets and times any of which, taken together, plant the same ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from overlapsim.questions.search import EQUAL_GROUND, EQUAL_SHARE, Best, Offset, Span, find_best
from overlapsim.questions.time_lines import TimeLines

TIGHT = 1e-7
"""Metres to which the ends of the box are found."""

SHRINKS, SMALLER = 16, 0.8
"""How often, and by which factor, the box is made smaller until all of it is equal; then it is a point."""


@dataclass(frozen=True)
class Box:
    """Settings that are equal, in any combination of them.

    Attributes
    ----------
    offset : tuple of float, or dict of str to tuple
        Metres behind the hitch pin; by rank where there is one per rank.
    on, off : tuple of float
        Turn-on and turn-off times, seconds.
    """

    offset: Span | dict[str, Span]
    on: Span
    off: Span

    @property
    def middle_offset(self) -> Offset:
        """Middle of the offsets, metres behind the hitch pin."""
        if isinstance(self.offset, dict):
            return {rank: sum(ends) / 2 for rank, ends in self.offset.items()}
        return sum(self.offset) / 2

    @property
    def middle_times(self) -> tuple[float, float]:
        """Middle of the turn-on and of the turn-off times, seconds."""
        return sum(self.on) / 2, sum(self.off) / 2

    def to_dict(self) -> dict[str, Any]:
        """The box as plain data.

        Returns
        -------
        dict
            `reference_offset_m`, `turn_on_time_s` and `turn_off_time_s`, two ends each.
        """
        offset = self.offset
        return {
            "reference_offset_m": {k: list(v) for k, v in offset.items()}
            if isinstance(offset, dict)
            else list(offset),
            "turn_on_time_s": list(self.on),
            "turn_off_time_s": list(self.off),
        }


def flat_box(found: Best, times: tuple[float, float]) -> Box:
    """Make a box out of one search, its times fixed.

    Parameters
    ----------
    found : Best
        The search.
    times : tuple of float
        Its turn-on and turn-off time, seconds.

    Returns
    -------
    Box
        The stretch of equal offsets; no room for the times.
    """
    equal = found.equal
    offset = {k: (v[0], v[1]) for k, v in equal.items()} if isinstance(equal, dict) else equal
    return Box(offset, (times[0], times[0]), (times[1], times[1]))


def box_of_equals(lines: TimeLines, apart: float) -> Box:
    """Find a box in which everything is equal to the least.

    Parameters
    ----------
    lines : TimeLines
        Continuous updates, no headland laps, one offset for all ranks.
    apart : float
        Line of the least, metres.

    Returns
    -------
    Box
        Over where starts and stops land the equal settings fill a rectangle, or an oval that is cut to
        one: its corners are the equal settings that lie farthest apart. Half of the way from its middle to
        the nearer side is given to the offset, the rest to each time. Its middle has times as near to
        matching as can be.
    """
    least = lines.least(apart)
    level = least + max(EQUAL_SHARE * abs(least), EQUAL_GROUND * lines.scenario.field.plantable_m2)
    low, high = _end(lines, apart, level, -1), _end(lines, apart, level, 1)
    corners = [_middle_of(lines, end, level) for end in (high, low)]
    (x0, y1), (x1, y0) = corners
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    half = np.array([max(x1 - x0, 0.0) / 2, max(y1 - y0, 0.0) / 2])
    if _value(lines, *middle) > level:
        return flat_box(find_best(lines.at(apart)), lines.times_at(apart))
    for _ in range(SHRINKS):
        if not half.any() or all(_value(lines, *(middle + half * side)) <= level for side in _SIDES):
            break
        half = half * SMALLER
    else:
        half = np.zeros(2)
    return _box(lines, middle, half)


_SIDES = [np.array([i, j]) for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j]


def _end(lines: TimeLines, inside: float, level: float, way: int) -> float:
    """Go along the lines until none of their offsets is equal any more; the last that has one."""
    limit = lines.range[way > 0]
    step = TIGHT
    while True:
        outside = inside + way * step
        if way * (outside - limit) >= 0:
            outside = limit
        if lines.ledger(outside).combined.least() > level:
            break
        inside = outside
        if outside == limit:
            return limit
        step *= 4
    while abs(outside - inside) > TIGHT:
        middle = (inside + outside) / 2
        if lines.ledger(middle).combined.least() <= level:
            inside = middle
        else:
            outside = middle
    return inside


def _middle_of(lines: TimeLines, apart: float, level: float) -> tuple[float, float]:
    """Where starts and stops land in the middle of the longest equal stretch of a line, metres."""
    a, b = max(lines.ledger(apart).combined.below(level), key=lambda ends: ends[1] - ends[0])
    on, off = lines.times_at(apart)
    return (a + b) / 2 - lines.speeds[0] * on, (a + b) / 2 - lines.speeds[1] * off


def _value(lines: TimeLines, x: float, y: float) -> float:
    """Combined error where starts land at x and stops at y, m²."""
    (v_on, v_off), (on, off) = lines.speeds, lines.matched
    apart = (y + v_off * off) - (x + v_on * on)
    curve, offset = lines.ledger(apart).combined, lines.offset_at(x, apart)
    if not curve.knot[0] <= offset <= curve.knot[-1]:
        return np.inf
    return float(curve.at(np.array([offset]))[0, 0])


def _box(lines: TimeLines, middle: np.ndarray, half: np.ndarray) -> Box:
    """Turn a rectangle over where starts and stops land into offsets and times."""
    speeds, matched = np.array(lines.speeds), np.array(lines.matched)
    offset = float(np.mean(middle + speeds * matched))
    on, off = (offset - middle) / speeds
    (on, off), shift = lines.into_limits((float(on), float(off)))
    offset += shift
    room = float(half.min()) / 2
    low, high = lines.limits
    wide = [
        max(0.0, min((float(h) - room) / v, t - low, high - t))
        for h, v, t in zip(half, lines.speeds, (on, off), strict=True)
    ]
    return Box((offset - room, offset + room), (on - wide[0], on + wide[0]), (off - wide[1], off + wide[1]))
