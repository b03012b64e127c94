"""A study's factors and levels as people write them."""

from __future__ import annotations

from typing import Any

from overlapsim.basics.units import UNITS
from overlapsim.questions.study_columns import without_unit


def in_words(told: dict[str, Any], units: str) -> dict[str, Any]:
    """Name factors and levels of main effects for people.

    Parameters
    ----------
    told : dict
        `to_dict` of a study, SI.
    units : {"us", "metric"}
        Of speeds; angles are degrees either way, lengths stay in metres, as studies lay them out.

    Returns
    -------
    dict
        The same with `factor` and `level` of each effect in words; no figure of a result is changed.
    """
    effects = [
        {**one, "factor": factor_words(one["factor"], units),
         "level": level_words(one["level"], one["factor"], units)}
        for one in told["effects"]
    ]  # fmt: skip
    return {**told, "effects": effects}


def factor_words(column: str, units: str) -> str:
    """Name a factor.

    Parameters
    ----------
    column : str
        As it stands in the table.
    units : {"us", "metric"}
        Of speeds.

    Returns
    -------
    str
        With its unit.

    Examples
    --------
    >>> factor_words("field_end_angle_rad", "us"), factor_words("switching_sections", "us")
    ('field end angle, deg', 'switching sections')
    >>> factor_words("field_perimeter_per_area_per_m", "metric")
    'field perimeter per area, 1/m'
    """
    unit, _ = _spoken(column, units)
    return without_unit(column)[0].replace("_", " ") + (f", {unit}" if unit else "")


def level_words(level: str, column: str, units: str) -> str:
    """Write a level, or the two ends of a class, in the unit of its factor's name.

    Parameters
    ----------
    level : str
        SI.
    column : str
        Its factor, as it stands in the table.
    units : {"us", "metric"}
        Of speeds.

    Returns
    -------
    str
        Texts stay as they are.

    Examples
    --------
    >>> level_words("1.34112", "speed_working_m_per_s", "us"), level_words("0 to 0.7854", "edge_rad", "us")
    ('3', '0 to 45')
    """
    _, size = _spoken(column, units)
    if size == 1.0:
        return level
    try:
        return " to ".join(f"{float(end) / size:.4g}" for end in level.split(" to "))
    except ValueError:
        return level


def _spoken(column: str, units: str) -> tuple[str, float]:
    """Unit that people use in place of a column's own, and its size in SI."""
    _, si = without_unit(column)
    speed = "mph" if units == "us" else "km/h"
    spoken = {"rad": ("deg", UNITS["angle"]["deg"]), "m/s": (speed, UNITS["speed"][speed])}
    unit, size = spoken.get(si, (si, 1))
    return unit, float(size)
