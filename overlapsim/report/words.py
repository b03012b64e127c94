"""Quantities as people read them: one unit for each kind, rounded to what is of use."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from overlapsim.basics.units import (
    ACRE,
    FOOT,
    HECTARE,
    INCH,
    KMH,
    MPH,
    format_length,
    format_speed,
)
from overlapsim.report.rounding import plain

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

# A table changes to acres or hectares where its figures would grow past six digits.
_SIX_DIGITS = 999_999.5


@dataclass(frozen=True)
class Words:
    """How quantities are written in one system of units.

    Parameters
    ----------
    units : {"us", "metric"}
        Inches, feet, acres and mph; or centimetres, metres, hectares and km/h.

    Examples
    --------
    >>> Words("us").short(0.4445), Words("metric").short(0.4445)
    ('17.5 in', '44.5 cm')
    """

    units: str

    @property
    def us(self) -> bool:
        """Whether inches and feet are written."""
        return self.units == "us"

    @property
    def short_unit(self) -> str:
        """Unit of offsets and gaps: in or cm."""
        return "in" if self.us else "cm"

    @property
    def short_size(self) -> float:
        """Size of that unit, metres."""
        return INCH if self.us else 0.01

    @property
    def long_unit(self) -> str:
        """Unit of lengths of row: ft or m."""
        return "ft" if self.us else "m"

    @property
    def long_size(self) -> float:
        """Size of that unit, metres."""
        return FOOT if self.us else 1.0

    @property
    def speed_step(self) -> float:
        """One mph or one km/h, m/s."""
        return MPH if self.us else KMH

    @property
    def speed_unit(self) -> str:
        """Unit of speeds: mph or km/h."""
        return "mph" if self.us else "km/h"

    def short_number(self, metres: float) -> str:
        """Write an offset, a gap or an error without its unit.

        Parameters
        ----------
        metres : float
            Signed length, metres.

        Returns
        -------
        str
            To a tenth; finer only where a quarter of an inch is what was entered.
        """
        value = metres / self.short_size
        quarters = value * 4
        exact = self.us and abs(quarters - round(quarters)) < 1e-6
        return plain(value, 2 if exact else 1)

    def short(self, metres: float) -> str:
        """Write an offset, a gap or an error.

        Parameters
        ----------
        metres : float
            Signed length, metres.

        Returns
        -------
        str
            As in ``"17.5 in"`` or ``"44.5 cm"``.
        """
        return f"{self.short_number(metres)} {self.short_unit}"

    def inside(self, low: float, high: float) -> tuple[str, str]:
        """Write the ends of a stretch so that what is printed still lies in it.

        Parameters
        ----------
        low, high : float
            Ends, metres.

        Returns
        -------
        tuple of str
            Both without a unit; rounded inward to a tenth unless the stretch is narrower than that.
        """
        tenth = self.short_size / 10
        # A millionth of a tenth: what rounding in the last bits can move an end that stands on a tenth.
        first, last = math.ceil(low / tenth - 1e-6), math.floor(high / tenth + 1e-6)
        if first > last:
            return self.short_number(low), self.short_number(high)
        return plain(first / 10), plain(last / 10)

    def long(self, metres: float) -> str:
        """Write a width or the side of a field.

        Parameters
        ----------
        metres : float
            Length, metres.

        Returns
        -------
        str
            As in ``"40 ft"`` or ``"12.19 m"``.
        """
        return f"{plain(metres / self.long_size, 1 if self.us else 2)} {self.long_unit}"

    def speed(self, metres_per_second: float) -> str:
        """Write a speed.

        Parameters
        ----------
        metres_per_second : float
            Speed, m/s.

        Returns
        -------
        str
            As in ``"5 mph"``.
        """
        return format_speed(metres_per_second, self.units)

    def ways(self, metres: float) -> list[str]:
        """Write an offset in all the ways in which controllers ask for it.

        Parameters
        ----------
        metres : float
            Offset, metres.

        Returns
        -------
        list of str
            Inches or centimetres first, then feet and inches, decimal feet, metres.
        """
        # Half inches lie on half hundredths of a foot: raised a hair, or their last bits would decide.
        feet = [format_length(metres, "ft-in"), format_length(metres + 1e-9, "ft")]
        if not feet[0].endswith("in"):  # whole feet need not be said twice
            feet = feet[:1]
        metric = format_length(metres, "m")
        ways = [*feet, metric] if self.us else [metric, format_length(metres, "in"), *feet]
        return [self.short(metres), *ways]

    def area_scale(self, largest: float) -> tuple[str, float, int]:
        """Choose one unit for a table of areas.

        Parameters
        ----------
        largest : float
            Largest figure in the table, m².

        Returns
        -------
        unit : str
            Its name.
        size : float
            Its size, m².
        digits : int
            Digits after the point that the table shows.
        """
        unit, size = ("sq ft", FOOT * FOOT) if self.us else ("m²", 1.0)
        figure = largest / size
        if figure > _SIX_DIGITS:
            return ("ac", ACRE, 2) if self.us else ("ha", HECTARE, 2)
        return unit, size, 0 if figure >= 100 else 1 if figure >= 10 else 2

    def land(self, square_metres: float) -> str:
        """Write the area of a field.

        Parameters
        ----------
        square_metres : float
            Area, m².

        Returns
        -------
        str
            In acres or hectares.
        """
        return f"{self.land_number(square_metres)} {self.land_unit}"

    @property
    def land_unit(self) -> str:
        """Unit of areas of fields: ac or ha."""
        return "ac" if self.us else "ha"

    @property
    def land_size(self) -> float:
        """Size of that unit, m²."""
        return ACRE if self.us else HECTARE

    def land_number(self, square_metres: float) -> str:
        """Write the area of a field without its unit.

        Parameters
        ----------
        square_metres : float
            Area, m².

        Returns
        -------
        str
            In acres or hectares.
        """
        return plain(square_metres / self.land_size, 1 if square_metres >= self.land_size else 3)

    def late(self, metres: float, end: str) -> str:
        """Say on which side of the line seed starts or stops.

        Parameters
        ----------
        metres : float
            Signed distance beyond the line along the way of travel, metres.
        end : {"on", "off"}
            A start or a stop.

        Returns
        -------
        str
            As in ``"17.5 in late"``; ``"on the line"`` within half of the last digit.
        """
        number = plain(abs(metres) / self.short_size)
        if number == "0":
            return "on the line"
        word = {"on": ("early", "late"), "off": ("short", "over")}[end][metres > 0]
        return f"{number} {self.short_unit} {word}"


def choose(units: str | None, scenario: Scenario) -> Words:
    """Choose the units of a report.

    Parameters
    ----------
    units : {"us", "metric"} or None
        What was asked for; None leaves it to the scenario.
    scenario : Scenario
        Its own units are how its offset was written.

    Returns
    -------
    Words
        The way to write its quantities.
    """
    return Words(units or scenario.units)
