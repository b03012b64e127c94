"""How a quantity may look, as a pattern that editors check while one types."""

from __future__ import annotations

from overlapsim.basics.unit_sizes import UNITS

__all__ = ["quantity_pattern", "quantity_ref"]

_MARKS = ("''", "″", "′", "”", "’")
"""Signs that are read for inches and feet as well."""


def quantity_pattern(dimension: str) -> str:
    """Describe a quantity with its unit: a text with a number in it that ends with a unit.

    Parameters
    ----------
    dimension : {"length", "time", "speed", "angle", "rate", "area", "amount per area"}
        What is measured.

    Returns
    -------
    str
        A regular expression that Python and JavaScript read alike. Whatever `parse` reads fits it; whether a
        text that fits can be read, only `parse` knows.

    Examples
    --------
    >>> import re
    >>> pattern = quantity_pattern("time")
    >>> bool(re.search(pattern, "0.40 s")), bool(re.search(pattern, "0.40"))
    (True, False)
    """
    names = [*UNITS[dimension], *(_MARKS if dimension == "length" else ())]
    # Longer ones first, as people would look for them.
    units = "|".join(map(_any_case, sorted(names, key=lambda name: (-len(name), name))))
    return rf"[0-9½¼¾⅛⅜⅝⅞⅓⅔]\.?\s*({units})\s*$"


def _any_case(unit: str) -> str:
    """Write a unit so that capitals and blanks do not matter."""
    signs = [f"[{sign}{sign.upper()}]" if "a" <= sign <= "z" else sign for sign in unit]
    text = "".join(signs).replace(".", r"\.").replace(" ", r"\s*").replace("/", r"\s*/\s*")
    return text.replace("²", r"(²|2|\^2)")


def quantity_ref(dimension: str) -> str:
    """Name the definition of a quantity in a schema.

    Parameters
    ----------
    dimension : str
        As above.

    Returns
    -------
    str
        As in ``"#/definitions/length"``.
    """
    return f"#/definitions/{dimension.replace(' ', '_')}"
