"""Quantities in the words people read: inches, feet and inches, acres, miles per hour."""

from __future__ import annotations

import math
from fractions import Fraction

from overlapsim.basics.unit_sizes import ACRE, FOOT, HECTARE, KMH, MPH, UNITS

__all__ = ["format_angle", "format_area", "format_length", "format_number", "format_speed", "format_time"]


def format_number(value: float, digits: int = 0) -> str:
    """Write a number with thousands parted by commas and without a minus before zero.

    Parameters
    ----------
    value : float
        In any unit, or a number without one.
    digits : int
        Digits after the point.

    Returns
    -------
    str
        As in ``"1,353"``.

    Examples
    --------
    >>> format_number(1353.2), format_number(-0.01, 1)
    ('1,353', '0.0')
    """
    text = f"{value:,.{digits}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.,") else text


def _decimal(value: float) -> Fraction:
    """Take a number for the decimal that it prints as: 2.6289 m are 103.5 in, and 8.625 ft."""
    return Fraction(repr(float(value)))


def _half_up(value: Fraction, digits: int) -> float:
    """Round as people do: halves away from zero."""
    size = 10**digits
    steps = int(abs(value) * size + Fraction(1, 2))
    return (-steps if value < 0 else steps) / size


def _feet_inches(metres: float, denominator: int) -> str:
    """Write a length in feet, whole inches and a fraction of an inch."""
    steps = int(_decimal(abs(metres)) / UNITS["length"]["in"] * denominator + Fraction(1, 2))
    feet, rest = divmod(steps, 12 * denominator)
    inches, part = divmod(rest, denominator)
    pieces = [f"{feet} ft"] if feet else []
    if part or inches or not feet:
        fraction = Fraction(part, denominator)
        number = " ".join(str(piece) for piece in (inches, fraction) if piece) or "0"
        pieces.append(f"{number} in")
    return ("-" if metres < 0 and steps else "") + " ".join(pieces)


def format_length(metres: float, style: str = "in", digits: int | None = None) -> str:
    """Write a length with its unit.

    Parameters
    ----------
    metres : float
        Length in m, signed.
    style : {"in", "ft-in", "ft", "m", "cm"}
        Unit to write it in.
    digits : int, optional
        Digits after the point (default: in 1, ft 2, m 3, cm 1); for ``"ft-in"`` the
        denominator of the fraction of an inch (default 8).

    Returns
    -------
    str
        As in ``"103.5 in"``, ``"8 ft 7 1/2 in"``, ``"8.63 ft"``, ``"2.629 m"``, ``"262.9 cm"``.

    Raises
    ------
    ValueError
        If the style is unknown.

    Examples
    --------
    >>> format_length(2.6289), format_length(2.6289, "ft-in"), format_length(2.6289, "m")
    ('103.5 in', '8 ft 7 1/2 in', '2.629 m')
    """
    if style == "ft-in":
        return _feet_inches(metres, 8 if digits is None else digits)
    usual = {"in": 1, "ft": 2, "m": 3, "cm": 1}
    if style not in usual:
        raise ValueError(f"no such style: {style}. Known: in, ft-in, ft, m, cm.")
    places = usual[style] if digits is None else digits
    number = _half_up(_decimal(metres) / UNITS["length"][style], places)
    return f"{format_number(number, places)} {style}"


def format_area(square_metres: float, units: str = "us", digits: int | None = None) -> str:
    """Write an area: acres or hectares from one upward, square feet or square metres below.

    Parameters
    ----------
    square_metres : float
        Area in m².
    units : {"us", "metric"}
        Which units to use.
    digits : int, optional
        Digits after the point (default: 1 for acres and hectares, else 0).

    Returns
    -------
    str
        As in ``"80.0 ac"``, ``"117 sq ft"``, ``"32.4 ha"`` or ``"10.9 m²"``.

    Examples
    --------
    >>> format_area(323749.0), format_area(10.87)
    ('80.0 ac', '117 sq ft')
    """
    large, small = (ACRE, FOOT * FOOT) if units == "us" else (HECTARE, 1.0)
    names = ("ac", "sq ft") if units == "us" else ("ha", "m²")
    if abs(square_metres) >= large:
        return f"{format_number(square_metres / large, 1 if digits is None else digits)} {names[0]}"
    return f"{format_number(square_metres / small, 0 if digits is None else digits)} {names[1]}"


def _short(value: float, digits: int) -> str:
    """Write a number without the noughts at its end."""
    text = format_number(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


def format_speed(metres_per_second: float, units: str = "us") -> str:
    """Write a speed.

    Parameters
    ----------
    metres_per_second : float
        Speed in m/s.
    units : {"us", "metric"}
        Miles or kilometres per hour.

    Returns
    -------
    str
        As in ``"5 mph"`` or ``"8 km/h"``.

    Examples
    --------
    >>> format_speed(2.2352), format_speed(2.2352, "metric")
    ('5 mph', '8.05 km/h')
    """
    size, name = (MPH, "mph") if units == "us" else (KMH, "km/h")
    return f"{_short(metres_per_second / size, 2)} {name}"


def format_time(seconds: float) -> str:
    """Write a time to a hundredth of a second, finer only where it is finer.

    Parameters
    ----------
    seconds : float
        Time in s, signed.

    Returns
    -------
    str
        As in ``"0.40 s"``.

    Examples
    --------
    >>> format_time(0.4), format_time(0.125)
    ('0.40 s', '0.125 s')
    """
    fine = abs(seconds - round(seconds, 2)) > 5e-4
    return f"{format_number(seconds, 3 if fine else 2)} s"


def format_angle(radians: float) -> str:
    """Write an angle or a heading in degrees.

    Parameters
    ----------
    radians : float
        Angle in rad.

    Returns
    -------
    str
        As in ``"12 deg"``.

    Examples
    --------
    >>> format_angle(0.20943951023931953)
    '12 deg'
    """
    return f"{_short(math.degrees(radians), 2)} deg"
