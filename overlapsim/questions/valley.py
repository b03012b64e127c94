"""The pair of times with the least combined error, each pair at its own best offset: one valley."""

from __future__ import annotations

import math
from collections.abc import Callable

from overlapsim.questions.time_lines import TimeLines

FIRST_STEP = 0.25
"""Metres between the first lines that are tried: finer than ranks stand apart, coarse enough to be few."""

SAME = 1e-9
"""Share of the combined error by which two lines differ for nothing but rounding."""

_GOLDEN = (3 - math.sqrt(5)) / 2


def lowest_line(lines: TimeLines, start: float, fine: float) -> float:
    """Find the line with the least combined error.

    Parameters
    ----------
    lines : TimeLines
        Searches.
    start : float
        Where to begin, `apart` in metres.
    fine : float
        How near to come, metres.

    Returns
    -------
    float
        `apart`, metres. Starts and stops hardly ever contest the same ground, so the least over one and
        the least over the other add up, and one valley is all that there is.
    """
    low, high = lines.range

    def cost(apart: float) -> float:
        return lines.least(apart)

    places = sorted({min(max(start + n * FIRST_STEP, low), high) for n in range(-2, 3)})
    reach = FIRST_STEP
    while True:
        lowest = min(map(cost, places))
        reach *= 2
        down = [
            end + way * reach
            for end, beside, way in ((places[0], places[1], -1), (places[-1], places[-2], 1))
            if cost(end) <= lowest < cost(beside) and low < end < high
        ]
        if not down:
            break
        places = sorted({*places, *(min(max(p, low), high) for p in down)})
    flat = lowest + SAME * abs(lowest)
    best = min((p for p in places if cost(p) <= flat), key=lambda p: abs(p - start))
    number = places.index(best)
    a, b = places[max(number - 1, 0)], places[min(number + 1, len(places) - 1)]
    return _section(cost, a, best, b, fine)


def _section(cost: Callable[[float], float], a: float, middle: float, b: float, fine: float) -> float:
    """Golden section (Kiefer, 1953, Proc. AMS 4, 502-506) from a point that is no higher than the ends."""
    if max(cost(a), cost(b)) <= cost(middle) * (1.0 + SAME):
        return middle
    while b - a > fine:
        into_right = b - middle > middle - a
        new = middle + _GOLDEN * (b - middle) if into_right else middle - _GOLDEN * (middle - a)
        if cost(new) < cost(middle) * (1.0 - SAME):
            a, b = (middle, b) if into_right else (a, middle)
            middle = new
        elif into_right:
            b = new
        else:
            a = new
    return middle
