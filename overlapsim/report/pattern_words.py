"""Ways to drive a field in words: their names, how far is driven, how much more or less is lost."""

from __future__ import annotations

import math
from typing import Any

from overlapsim.basics.units import UNITS, format_angle, format_number
from overlapsim.report.words import Words

DIGITS = 3
"""Digits of acres or hectares: a few square metres."""


def pattern_words(pattern: dict[str, Any]) -> str:
    """Name a pattern.

    Parameters
    ----------
    pattern : dict
        As results tell it.

    Returns
    -------
    str
        As in ``"2 laps first, 4 deg"``.

    Examples
    --------
    >>> pattern_words({"headland_laps": 2, "headland_order": "first", "heading_deg": 4.0})
    '2 laps first, 4 deg'
    >>> pattern_words({"headland_laps": 0, "headland_order": "first", "heading_deg": 94.0})
    'no laps, 94 deg'
    """
    laps = pattern["headland_laps"]
    said = f"{laps} lap{'' if laps == 1 else 's'} {pattern['headland_order']}" if laps else "no laps"
    return f"{said}, {format_angle(math.radians(pattern['heading_deg']))}"


def driven_words(metres: float, words: Words) -> tuple[str, str]:
    """Write a length that is driven.

    Parameters
    ----------
    metres : float
        Length, metres.
    words : Words
        Units.

    Returns
    -------
    number, unit : str
        Miles or kilometres.

    Examples
    --------
    >>> driven_words(16093.44, Words("us")), driven_words(16093.44, Words("metric"))
    (('10.00', 'mi'), ('16.09', 'km'))
    """
    unit = "mi" if words.us else "km"
    return format_number(metres / float(UNITS["length"][unit]), 2), unit


def change_number(square_metres: float, words: Words) -> str:
    """Write a change of ground lost, with its sign.

    Parameters
    ----------
    square_metres : float
        More (> 0) or less (< 0) than today, m².
    words : Words
        Units.

    Returns
    -------
    str
        Acres or hectares.

    Examples
    --------
    >>> change_number(-404.68564224, Words("us")), change_number(25.0, Words("metric"))
    ('-0.100', '+0.003')
    >>> change_number(-0.1, Words("us"))
    '0.000'
    """
    text = format_number(square_metres / words.land_size, DIGITS)
    return text if text.startswith("-") or not text.strip("0.,") else f"+{text}"
