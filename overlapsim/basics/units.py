"""Text with units to SI and back: the only place where inches, feet, mph and acres are known.

Numbers are read as exact fractions and rounded once, so ``"84 in"`` is 2.1336 m to the last bit.
"""

from __future__ import annotations

import math
import re
from difflib import get_close_matches
from fractions import Fraction
from functools import lru_cache

__all__ = [
    "ACRE",
    "EXAMPLES",
    "FOOT",
    "HECTARE",
    "INCH",
    "KMH",
    "MPH",
    "UNITS",
    "UnitError",
    "YARD",
    "exact",
    "format_angle",
    "format_area",
    "format_length",
    "format_number",
    "format_speed",
    "format_time",
    "is_metric",
    "parse",
    "si_text",
]

# The international inch, foot, yard, mile and acre are exact by definition (1959 agreement).
_INCH = Fraction("0.0254")
_FOOT = 12 * _INCH
_MILE = 5280 * _FOOT
_DEGREE = Fraction(math.pi) / 180

INCH = float(_INCH)
FOOT = float(_FOOT)
YARD = float(3 * _FOOT)
MPH = float(_MILE / 3600)
KMH = float(Fraction(1, 1) / Fraction("3.6"))
ACRE = float(43560 * _FOOT * _FOOT)
HECTARE = 10000.0

_FACTORS: dict[str, dict[tuple[str, ...], Fraction]] = {
    "length": {
        ("m", "metre", "metres", "meter", "meters"): Fraction(1),
        ("cm", "centimetre", "centimetres", "centimeter", "centimeters"): Fraction(1, 100),
        ("mm", "millimetre", "millimetres", "millimeter", "millimeters"): Fraction(1, 1000),
        ("km", "kilometre", "kilometres", "kilometer", "kilometers"): Fraction(1000),
        ("in", "inch", "inches", '"', "in."): _INCH,
        ("ft", "foot", "feet", "'", "ft."): _FOOT,
        ("yd", "yard", "yards"): 3 * _FOOT,
        ("mi", "mile", "miles"): _MILE,
    },
    "time": {
        ("s", "sec", "second", "seconds"): Fraction(1),
        ("ms", "millisecond", "milliseconds"): Fraction(1, 1000),
    },
    "speed": {
        ("m/s",): Fraction(1),
        ("mph", "mi/h"): _MILE / 3600,
        ("km/h", "kmh", "kph"): 1 / Fraction("3.6"),
        ("ft/s",): _FOOT,
    },
    "angle": {
        ("rad", "radian", "radians"): Fraction(1),
        ("deg", "degree", "degrees", "°"): _DEGREE,
    },
    "rate": {("hz", "hertz"): Fraction(1)},
}
UNITS: dict[str, dict[str, Fraction]] = {
    dimension: {name: factor for names, factor in table.items() for name in names}
    for dimension, table in _FACTORS.items()
}
"""Every unit that is read, by dimension, with its exact size in SI."""

EXAMPLES = {"length": "84 in", "time": "0.40 s", "speed": "5 mph", "angle": "12 deg", "rate": "10 Hz"}
"""How a quantity of each dimension is written."""

_SI = {"length": "m", "time": "s", "speed": "m/s", "angle": "rad", "rate": "Hz"}
_USUAL = {"length": "in", "time": "s", "speed": "mph", "angle": "deg", "rate": "Hz"}
_METRIC = {"m", "cm", "mm", "km", "m/s", "km/h", "kmh", "kph"}

_SIGNS = str.maketrans(
    {
        "″": '"',
        "“": '"',
        "”": '"',
        "„": '"',
        "′": "'",
        "‘": "'",
        "’": "'",
        "−": "-",
        "–": "-",
        "⁄": "/",
        "\u00a0": " ",
        "\u2009": " ",
        "\u202f": " ",
        "º": "°",
    }
)
_VULGAR = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
}
_NUMBER = (
    r"(?:(?P<whole{0}>\d+)(?:\s+|\s*-\s*))?(?P<over{0}>\d+)\s*/\s*(?P<under{0}>\d+)"
    r"|(?P<decimal{0}>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
)
_ONE = re.compile(rf"(?P<sign>[+-]?)\s*(?:{_NUMBER.format('')})\s*(?P<unit>[^\s\d.,+-][^\d,+-]*)?")
_FEET_INCHES = re.compile(
    rf"(?P<sign>[+-]?)\s*(?P<feet>\d+)\s*(?:ft\.?|foot|feet|')\s*(?:-|,|and)?\s*(?:{_NUMBER.format('')})"
    r"\s*(?:in\.?|inch|inches|\"|'')",
    re.IGNORECASE,
)


class UnitError(ValueError):
    """A text is not the quantity that was wanted.

    Parameters
    ----------
    rule : str
        What is wrong.
    remedy : str
        How to write it.
    """

    def __init__(self, rule: str, remedy: str = "") -> None:
        self.rule = rule
        self.remedy = remedy
        super().__init__(f"{rule}. {remedy}".strip())

    def __reduce__(self) -> tuple[type[UnitError], tuple[str, str]]:
        """Let worker processes hand the error over whole.

        Returns
        -------
        tuple
            Class and arguments, as pickle wants them.
        """
        return type(self), (self.rule, self.remedy)


def _clean(text: str) -> str:
    """Bring primes, dashes, hard spaces and fraction signs to their plain form."""
    for sign, plain in _VULGAR.items():
        text = text.replace(sign, f" {plain}")
    return text.translate(_SIGNS).replace("''", '"').strip()


def _number(found: re.Match[str]) -> Fraction:
    """Turn the number groups of a match into an exact fraction."""
    if found["decimal"]:
        decimal = found["decimal"]
        # A huge exponent would build a number of that many digits: not a quantity anyone measures.
        if "e" in decimal.lower() and abs(int(re.split("[eE]", decimal)[1])) > 300:
            raise UnitError("is too large or too small to be meant", "Write the number out.")
        return Fraction(decimal)
    if int(found["under"]) == 0:
        raise UnitError("a fraction over zero", 'Write it as in "7 1/2 in".')
    return int(found["whole"] or 0) + Fraction(int(found["over"]), int(found["under"]))


def _refuse(text: str, dimension: str) -> UnitError:
    """Find the words for a text that no pattern reads."""
    example = EXAMPLES[dimension]
    if not text:
        return UnitError("is empty", f'Write it as in "{example}".')
    comma = re.fullmatch(r"([+-]?\d+),(\d+)\s*(\D*)", text)
    if comma:
        whole, part, unit = comma.groups()
        unit = unit.strip() or _USUAL[dimension]
        other = f' (or "{whole}{part} {unit}" if the comma parts thousands)' if len(part) == 3 else ""
        return UnitError("a comma is not read in a number", f'Write "{whole}.{part} {unit}"{other}.')
    if re.fullmatch(r"[+-]?\d+\s*'\s*\d+[\s\d/-]*", text):
        return UnitError("the inches have no mark", 'Write it as in "12 ft 6 in".')
    if re.match(r"[+-]?(nan|inf)", text, re.IGNORECASE):
        return UnitError("is not a finite number", f'Write it as in "{example}".')
    if not re.search(r"\d", text):
        return UnitError("is not a number with a unit", f'Write it as in "{example}".')
    return UnitError(f"can not be read as {_a(dimension)}", f'Write it as in "{example}".')


def _a(dimension: str) -> str:
    """Name a dimension with its article."""
    return f"an {dimension}" if dimension == "angle" else f"a {dimension}"


def _unit(name: str, number: str, dimension: str) -> Fraction:
    """Look a unit up, or say what else it might be."""
    table = UNITS[dimension]
    key = re.sub(r"\s*/\s*", "/", name.strip().lower())
    if key in table:
        return table[key]
    if not key:
        raise UnitError("needs a unit", f'Write "{number} {_USUAL[dimension]}".')
    for other, units in UNITS.items():
        if key in units:
            raise UnitError(
                f"{name.strip()} is a unit of {other}, {_a(dimension)} is wanted",
                f'Write it as in "{EXAMPLES[dimension]}".',
            )
    near = get_close_matches(key, table, n=1, cutoff=0.6)
    hint = f'Did you mean "{number} {near[0]}"?' if near else f"Known: {', '.join(_names(dimension))}."
    raise UnitError(f"no such unit of {dimension}: {name.strip()}", hint)


def _names(dimension: str) -> list[str]:
    """Name the units of a dimension, one spelling each."""
    return [{"hz": "Hz"}.get(names[0], names[0]) for names in _FACTORS[dimension]]


@lru_cache(maxsize=4096)
def exact(text: str, dimension: str) -> Fraction:
    """Read a quantity as an exact fraction in SI.

    Parameters
    ----------
    text : str
        A number with its unit: ``"7 1/2 in"``, ``"12 ft 6 in"``, ``"2.13 m"``.
    dimension : {"length", "time", "speed", "angle", "rate"}
        What it must be.

    Returns
    -------
    Fraction
        Value in m, s, m/s, rad or Hz, with the sign written.

    Raises
    ------
    UnitError
        If the text is not a quantity of that dimension; it says how to write it.

    Examples
    --------
    >>> exact("7 1/2 in", "length")
    Fraction(381, 2000)
    """
    plain = _clean(text)
    both = _FEET_INCHES.fullmatch(plain) if dimension == "length" else None
    if both:
        inches = _number(both)
        if inches >= 12:
            raise UnitError("more than 12 inches after the feet", 'Write it as in "12 ft 6 in".')
        value = int(both["feet"]) * _FOOT + inches * _INCH
        return -value if both["sign"] == "-" else value
    one = _ONE.fullmatch(plain)
    if one is None:
        raise _refuse(plain, dimension)
    unit = one["unit"] or ""
    value = _number(one) * _unit(unit, plain[: one.start("unit")].strip() if unit else plain, dimension)
    return -value if one["sign"] == "-" else value


def parse(text: str, dimension: str) -> float:
    """Read a quantity as people write it.

    Parameters
    ----------
    text : str
        A number with its unit: ``"84 in"``, ``"7 1/2 in"``, ``"12' 6\\""``, ``"400 ms"``, ``"8 km/h"``.
    dimension : {"length", "time", "speed", "angle", "rate"}
        What it must be.

    Returns
    -------
    float
        Value in m, s, m/s, rad or Hz, with the sign written.

    Raises
    ------
    UnitError
        A ``ValueError`` that says what is wrong and how to write it.

    Examples
    --------
    >>> parse("84 in", "length")
    2.1336
    >>> parse("400 ms", "time")
    0.4
    """
    value = float(exact(text, dimension))
    if not math.isfinite(value):
        raise UnitError("is not a finite number", f'Write it as in "{EXAMPLES[dimension]}".')
    return value


def is_metric(text: str) -> bool:
    """Tell whether a quantity is written in a metric unit.

    Parameters
    ----------
    text : str
        A number with its unit.

    Returns
    -------
    bool
        True for mm, cm, m, km, m/s and km/h.

    Examples
    --------
    >>> is_metric("2.13 m"), is_metric("84 in")
    (True, False)
    """
    one = _ONE.fullmatch(_clean(text))
    unit = one["unit"] if one else None
    return unit is not None and re.sub(r"\s*/\s*", "/", unit.strip().lower()) in _METRIC


def si_text(value: float, dimension: str) -> str:
    """Write an SI number so that `parse` reads the very same number back.

    Parameters
    ----------
    value : float
        In m, s, m/s, rad or Hz.
    dimension : {"length", "time", "speed", "angle", "rate"}
        What it is.

    Returns
    -------
    str
        As in ``"2.1336 m"``.

    Examples
    --------
    >>> si_text(2.1336, "length")
    '2.1336 m'
    """
    return f"{float(value)!r} {_SI[dimension]}"


def format_number(value: float, digits: int = 0) -> str:
    """Write a number with thousands parted by commas and without a minus before zero.

    Parameters
    ----------
    value : float
        Any number.
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


def _feet_inches(metres: float, denominator: int) -> str:
    """Write a length in feet, whole inches and a fraction of an inch."""
    steps = round(Fraction(abs(metres)) / _INCH * denominator)
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
    number = metres / float(UNITS["length"][style])
    return f"{format_number(number, usual[style] if digits is None else digits)} {style}"


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
