"""Text with units to SI and back: the only place where inches, feet, mph and acres are known.

Numbers are read as exact fractions and rounded once, so ``"84 in"`` is 2.1336 m to the last bit.
"""

from __future__ import annotations

import re
from difflib import get_close_matches
from fractions import Fraction
from functools import lru_cache

from overlapsim.basics.unit_amounts import AMOUNT, format_amount, plain_amount
from overlapsim.basics.unit_sizes import (
    ACRE,
    EXAMPLES,
    FACTORS,
    FOOT,
    HECTARE,
    INCH,
    KMH,
    METRIC,
    MPH,
    SI,
    UNITS,
    USUAL,
)
from overlapsim.basics.unit_text import (
    format_angle,
    format_area,
    format_length,
    format_number,
    format_speed,
    format_time,
)

__all__ = [
    "ACRE",
    "AMOUNT",
    "EXAMPLES",
    "FOOT",
    "HECTARE",
    "INCH",
    "KMH",
    "MPH",
    "UNITS",
    "UnitError",
    "exact",
    "format_amount",
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

_SIGNS = str.maketrans("″“”„′‘’−–⁄\u00a0\u2009\u202fº", '""""\'\'\'--/   °')
_VULGAR = dict(zip("½¼¾⅛⅜⅝⅞⅓⅔", "1/2 1/4 3/4 1/8 3/8 5/8 7/8 1/3 2/3".split(), strict=True))
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


#: Exponents of ten that are read: the smallest double is 4.9e-324, the largest 1.8e308 with room for a unit.
_LOWEST, _HIGHEST = -324, 300
#: Characters of a quantity that are looked at: the longest that this program writes has 45.
_LONGEST = 200


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
        # A huge exponent would build a number of that many digits: not a quantity anyone measures. What a
        # double can hold is read, so that whatever was written by this program comes back.
        if "e" in decimal.lower() and not _LOWEST <= int(re.split("[eE]", decimal)[1]) <= _HIGHEST:
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
        unit = unit.strip() or USUAL[dimension]
        other = f' (or "{whole}{part} {unit}" if the comma parts thousands)' if len(part) == 3 else ""
        return UnitError("a comma is not read in a number", f'Write "{whole}.{part} {unit}"{other}.')
    if re.fullmatch(r"[+-]?\d+\s*(?:'|ft|feet|foot)\s*\d+[\s\d/.-]*", text):
        return UnitError("the inches have no mark", 'Write it as in "12 ft 6 in".')
    if re.match(r"[+-]?(nan|inf)", text, re.IGNORECASE):
        return UnitError("is not a finite number", f'Write it as in "{example}".')
    if not re.search(r"\d", text):
        return UnitError("is not a number with a unit", f'Write it as in "{example}".')
    return UnitError(f"cannot be read as {_a(dimension)}", f'Write it as in "{example}".')


def _a(dimension: str) -> str:
    """Name a dimension with its article."""
    return f"an {dimension}" if dimension.startswith("a") else f"a {dimension}"


def _unit(name: str, number: str, dimension: str) -> Fraction:
    """Look a unit up, or say what else it might be."""
    table = UNITS[dimension]
    key = re.sub(r"\s*/\s*", "/", name.strip().lower())
    if key in table:
        return table[key]
    if not key:
        raise UnitError("needs a unit", f'Write "{number} {USUAL[dimension]}".')
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
    return [{"hz": "Hz"}.get(names[0], names[0]) for names in FACTORS[dimension]]


@lru_cache(maxsize=4096)
def exact(text: str, dimension: str) -> Fraction:
    """Read a quantity as an exact fraction in SI.

    Parameters
    ----------
    text : str
        A number with its unit: ``"7 1/2 in"``, ``"12 ft 6 in"``, ``"2.13 m"``.
    dimension : {"length", "time", "speed", "angle", "rate", "area", "amount per area"}
        What it must be.

    Returns
    -------
    Fraction
        Value in m, s, m/s, rad, Hz, m² or 1/m², with the sign written.

    Raises
    ------
    UnitError
        If the text is not a quantity of that dimension; it says how to write it.

    Examples
    --------
    >>> exact("7 1/2 in", "length")
    Fraction(381, 2000)
    """
    if len(text) > _LONGEST:
        raise UnitError("is too long for a quantity", f'Write it as in "{EXAMPLES[dimension]}".')
    plain = plain_amount(_clean(text)) if dimension == AMOUNT else _clean(text)
    both = _FEET_INCHES.fullmatch(plain) if dimension == "length" else None
    if both:
        inches = _number(both)
        if inches >= 12:
            raise UnitError("more than 12 inches after the feet", 'Write it as in "12 ft 6 in".')
        value = int(both["feet"]) * UNITS["length"]["ft"] + inches * UNITS["length"]["in"]
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
    dimension : {"length", "time", "speed", "angle", "rate", "area", "amount per area"}
        What it must be.

    Returns
    -------
    float
        Value in m, s, m/s, rad, Hz, m² or 1/m², with the sign written.

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
    try:
        return float(exact(text, dimension))
    except OverflowError:
        raise UnitError("is too large or too small to be meant", "Write the number out.") from None


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
    return unit is not None and re.sub(r"\s*/\s*", "/", unit.strip().lower()) in METRIC


def si_text(value: float, dimension: str) -> str:
    """Write an SI number so that `parse` reads the very same number back.

    Parameters
    ----------
    value : float
        In m, s, m/s, rad, Hz, m² or 1/m².
    dimension : {"length", "time", "speed", "angle", "rate", "area", "amount per area"}
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
    return f"{float(value)!r} {SI[dimension]}"
