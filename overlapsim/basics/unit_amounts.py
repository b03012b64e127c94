"""Amounts per area, as in seeds per acre: how people write them, and how they are written for people."""

from __future__ import annotations

import re

from overlapsim.basics.unit_sizes import ACRE, HECTARE
from overlapsim.basics.unit_text import format_number

__all__ = ["AMOUNT", "format_amount", "plain_amount"]

AMOUNT = "amount per area"
"""The dimension's name: a number of anything on a unit of ground, as in seeds or money per acre."""

# With acres and hectares "32,000" can only part thousands: nobody writes a population to three decimals.
_THOUSANDS = re.compile(r"([1-9]\d{0,2}(?:,\d{3})+)(?!\d)(?=[^,]*(?:ac|ha|acre|hectare)s?$)", re.IGNORECASE)


def plain_amount(text: str) -> str:
    """Bring an amount per area to the form that quantities are read in.

    Parameters
    ----------
    text : str
        As written, with its unit.

    Returns
    -------
    str
        Commas between thousands left out (only where the unit is an acre or a hectare), square metres with
        their sign.

    Examples
    --------
    >>> plain_amount("32,000 /ac"), plain_amount("8 /m2")
    ('32000 /ac', '8 /m²')
    """
    text = re.sub(r"(?<=m)(?:2|\^2)$", "²", text)
    return _THOUSANDS.sub(lambda found: found[1].replace(",", ""), text)


def format_amount(per_square_metre: float, units: str = "us", digits: int = 0) -> str:
    """Write an amount per area with its unit.

    Parameters
    ----------
    per_square_metre : float
        1/m².
    units : {"us", "metric"}
        Per acre or per hectare.
    digits : int
        Digits after the point.

    Returns
    -------
    str
        As in ``"32,000 /ac"``.

    Examples
    --------
    >>> format_amount(8.0, "metric")
    '80,000 /ha'
    """
    size, name = (ACRE, "/ac") if units == "us" else (HECTARE, "/ha")
    return f"{format_number(per_square_metre * size, digits)} {name}"
