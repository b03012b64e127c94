"""Words for values that are hardly meant: the unit that was left out, the point that slipped."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Mapping
from difflib import get_close_matches
from typing import Any

from overlapsim.basics.units import (
    AMOUNT,
    FOOT,
    INCH,
    KMH,
    MPH,
    UNITS,
    UnitError,
    format_amount,
    parse,
    si_text,
)

__all__ = ["bare_number", "hint", "likely_slip", "limit_text", "limits", "listed", "shown"]

# Which units a number without one is tried in: common practice, in this order.
_TRIED = {
    "length": ("in", "m", "ft", "cm", "mm"),
    "time": ("s", "ms"),
    "speed": ("mph", "km/h"),
    "angle": ("deg",),
    "rate": ("Hz",),
    "area": ("ac", "ha", "m²"),
    AMOUNT: ("/ac", "/ha", "/m²"),
}
# Which unit was probably meant instead of one that is too large.
_SMALLER = {
    "m": ("cm", "mm", "ft", "in"),
    "km": ("m",),
    "yd": ("ft", "in"),
    "ft": ("in", "cm", "mm"),
    "in": ("cm", "mm"),
    "cm": ("mm",),
}
_LONGEST = 60


def shown(value: Any) -> str:
    """Write a value as it would stand in TOML, cut where it is long.

    Parameters
    ----------
    value : Any
        Text, number, list or table.

    Returns
    -------
    str
        One line.

    Examples
    --------
    >>> shown("84 in"), shown(True), shown([1, 2])
    ('"84 in"', 'true', '[1, 2]')
    """
    text = _toml(value)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def _toml(value: Any) -> str:
    if isinstance(value, str):
        # An inch mark inside is easier to read in single quotes.
        if '"' in value and "'" not in value and value.isprintable():
            return f"'{value}'"
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return (
            "{" + ", ".join(f"{name} = {_toml(part)}" for name, part in list(value.items())[:_LONGEST]) + "}"
        )
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_toml(part) for part in value[:_LONGEST]) + "]"
    return str(value)


def listed(names: Any) -> str:
    """List names for a sentence.

    Parameters
    ----------
    names : iterable of str
        The names.

    Returns
    -------
    str
        As in ``wide, narrow``.
    """
    return ", ".join(str(name) for name in names)


def hint(name: str, known: Any) -> str:
    """Name the known name nearest to an unknown one, or all of them.

    Parameters
    ----------
    name : str
        What was written.
    known : iterable of str
        What could have been meant.

    Returns
    -------
    str
        A sentence.

    Examples
    --------
    >>> hint("turn_on_tme", ["turn_on_time", "turn_off_time"])
    'Did you mean turn_on_time?'
    """
    known = list(known)
    near = get_close_matches(name, known, n=1, cutoff=0.6)
    if near:
        return f"Did you mean {near[0]}?"
    return f"Known: {listed(known)}." if known else ""


def bare_number(value: float, dimension: str, likely: tuple[float, float] | None) -> str:
    """Write a number that lacks its unit with the unit that it probably has.

    Parameters
    ----------
    value : float
        As written, in any unit.
    dimension : str
        What is wanted.
    likely : tuple of float or None
        SI; where such values usually lie.

    Returns
    -------
    str
        As in ``84 in``.

    Examples
    --------
    >>> bare_number(84, "length", (0.3, 6.0)), bare_number(2.13, "length", (0.3, 6.0))
    ('84 in', '2.13 m')
    """
    units = _TRIED[dimension]
    if likely is not None:
        for unit in units:
            if likely[0] <= abs(value) * float(UNITS[dimension][unit.lower()]) <= likely[1]:
                return f"{value} {unit}"
    return f"{value} {units[0]}"


def likely_slip(text: str, number: float, dimension: str, likely: tuple[float, float]) -> str:
    """Guess what was meant by a quantity that no machine has.

    Parameters
    ----------
    text : str
        As written.
    number : float
        The same in SI.
    dimension : str
        What it is.
    likely : tuple of float
        SI; where it probably wanted to go.

    Returns
    -------
    str
        A sentence, or nothing where no guess is good.

    Examples
    --------
    >>> likely_slip("45 s", 45.0, "time", (0.0, 1.0))
    'Did you mean "0.45 s"? ("450 ms" works too)'
    >>> likely_slip("12 m", 12.0, "length", (0.3, 6.0))
    'Did you mean "12 ft" or "1.2 m"?'
    >>> likely_slip("0 m", 0.0, "length", (10.0, 6000.0))
    ''
    """
    simple = re.fullmatch(r"\s*([+-]?[\d.]+)\s*(\D+?)\s*", text)
    if simple is None:
        return ""
    written, unit = simple.groups()
    guesses = []
    if number < 0:
        turned = f"{written.lstrip('-')} {unit}"
        return f'Did you mean "{turned}"?' if likely[0] <= -number <= likely[1] else ""
    if number == 0:
        return ""
    smaller = {"length": _SMALLER.get(unit, ("in",)), "time": ("ms",) if number >= 100 else ()}
    for other in smaller.get(dimension, ()):
        size = float(UNITS[dimension][other])
        if (
            other != unit
            and size < number / float(written)
            and likely[0] <= float(written) * size <= likely[1]
        ):
            guesses.append(f"{written} {other}")
            break
    guesses += _shifted(float(written), unit, dimension, likely)
    if not guesses:
        return ""
    also = ""
    if dimension == "time" and guesses[0].endswith(" s"):
        also = f' ("{parse(guesses[0], "time") * 1000:g} ms" works too)'
    return "Did you mean " + " or ".join(f'"{guess}"' for guess in guesses[:2]) + "?" + also


def _shifted(number: float, unit: str, dimension: str, likely: tuple[float, float]) -> list[str]:
    """Move the point to the left until the value is likely."""
    for places in (1, 2, 3):
        guess = f"{number / 10**places:.10g} {unit}"
        try:
            if likely[0] <= parse(guess, dimension) <= likely[1]:
                return [guess]
        except UnitError:
            return []
    return []


def limits(value: float, low: float, high: float, write: Callable[[float], str]) -> str:
    """Say which limit a value breaks.

    Parameters
    ----------
    value, low, high : float
        In one and the same unit.
    write : callable
        Writes a limit for people.

    Returns
    -------
    str
        Empty where it breaks none.
    """
    if value < low:
        return "may not be negative" if low == 0 else f"less than {write(low)}"
    return f"more than {write(high)}" if value > high else ""


def limit_text(value: float, dimension: str) -> str:
    """Write a limit in the units of both sides of the ocean.

    Parameters
    ----------
    value : float
        SI.
    dimension : str
        What it is.

    Returns
    -------
    str
        As in ``"10 m (33 ft)"``.

    Examples
    --------
    >>> limit_text(10.0, "length"), limit_text(20 * MPH, "speed"), limit_text(3.0, "time")
    ('10 m (33 ft)', '20 mph (32 km/h)', '3 s')
    """
    if dimension == "length":
        other = f"{value / FOOT:.0f} ft" if abs(value) >= 1 else f"{value / INCH:.2g} in"
        return f"{value:g} m ({other})"
    if dimension == "speed":
        return f"{value / MPH:.3g} mph ({value / KMH:.2g} km/h)"
    if dimension == AMOUNT:
        return f"{format_amount(value)} ({format_amount(value, 'metric')})"
    if dimension == "angle":
        return f"{math.degrees(value):.4g} deg"
    return si_text(value, dimension).replace(".0 ", " ")
