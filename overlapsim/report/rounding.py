"""Rounding for people: no noughts at the end, and parts that add up to their total."""

from __future__ import annotations

import math
from collections.abc import Sequence

from overlapsim.basics.units import format_number


def plain(value: float, digits: int = 1) -> str:
    """Write a number without the noughts at its end.

    Parameters
    ----------
    value : float
        Any number, in any unit.
    digits : int
        Most digits after the point.

    Returns
    -------
    str
        As in ``"17.5"`` or ``"97"``.

    Examples
    --------
    >>> plain(97.0), plain(17.46), plain(-0.01), plain(1250.0)
    ('97', '17.5', '0', '1,250')
    """
    text = format_number(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


def adding_up(
    parts: Sequence[float], digits: int = 0, whole: float | None = None
) -> tuple[list[float], float]:
    """Round parts so that they add up to their rounded total.

    Parameters
    ----------
    parts : sequence of float
        Figures of one kind, none negative.
    digits : int
        Digits after the point that are kept.
    whole : float, optional
        Total that stands rounded elsewhere, same unit, less than a step from the sum of the parts.

    Returns
    -------
    rounded : list of float
        Each part cut or raised to a neighbouring step: those with the largest remainders are raised.
    total : float
        The rounded sum of the parts, or `whole`, in their unit.

    Notes
    -----
    The largest-remainder rule (common practice for shares that must add up). Ties go to the earlier part.

    Examples
    --------
    >>> adding_up([1.4, 1.4, 1.4])
    ([2.0, 1.0, 1.0], 4.0)
    """
    size = 10.0**digits
    steps = [part * size for part in parts]
    floors = [math.floor(step) for step in steps]
    total = math.floor((sum(steps) if whole is None else whole * size) + 0.5)
    order = sorted(range(len(steps)), key=lambda i: (floors[i] - steps[i], i))
    missing = total - sum(floors)
    for i in order[: max(missing, 0)]:
        floors[i] += 1
    # A whole that was rounded down below the sum of the floors: the smallest remainders give way.
    for i in order[::-1][: max(-missing, 0)]:
        floors[i] -= 1
    return [floor / size for floor in floors], total / size
