"""How large the units are that people use, in SI: each size stands here and nowhere else."""

from __future__ import annotations

import math
from fractions import Fraction

__all__ = [
    "ACRE",
    "EXAMPLES",
    "FACTORS",
    "FOOT",
    "HECTARE",
    "INCH",
    "KMH",
    "METRIC",
    "MPH",
    "SI",
    "UNITS",
    "USUAL",
]

# The international inch, foot, yard, mile and acre are exact by definition (1959 agreement).
_INCH = Fraction("0.0254")
_FOOT = 12 * _INCH
_MILE = 5280 * _FOOT
_ACRE = 43560 * _FOOT * _FOOT
_DEGREE = Fraction(math.pi) / 180

INCH = float(_INCH)
FOOT = float(_FOOT)
MPH = float(_MILE / 3600)
KMH = float(Fraction(1, 1) / Fraction("3.6"))
ACRE = float(_ACRE)
HECTARE = 10000.0

FACTORS: dict[str, dict[tuple[str, ...], Fraction]] = {
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
    "area": {
        ("m²", "sq m", "square metre", "square metres", "square meters"): Fraction(1),
        ("ac", "acre", "acres"): _ACRE,
        ("ha", "hectare", "hectares"): Fraction(10000),
        ("sq ft", "ft²", "square feet"): _FOOT * _FOOT,
    },
    "amount per area": {
        ("/m²", "per m²"): Fraction(1),
        ("/ac", "/acre", "per acre", "per ac", "seeds/ac", "seeds/acre", "seeds per acre"): 1 / _ACRE,
        ("/ha", "/hectare", "per hectare", "per ha", "seeds/ha", "seeds per hectare"): Fraction(1, 10000),
        ("k/ac", "k/acre"): 1000 / _ACRE,
        ("k/ha",): Fraction(1, 10),
    },
}
UNITS: dict[str, dict[str, Fraction]] = {
    dimension: {name: factor for names, factor in table.items() for name in names}
    for dimension, table in FACTORS.items()
}
"""Every unit that is read, by dimension, with its exact size in SI."""

EXAMPLES = {
    "length": "84 in",
    "time": "0.40 s",
    "speed": "5 mph",
    "angle": "12 deg",
    "rate": "10 Hz",
    "area": "0.1 ac",
    "amount per area": "32,000 /ac",
}
"""How a quantity of each dimension is written."""

SI = {
    "length": "m",
    "time": "s",
    "speed": "m/s",
    "angle": "rad",
    "rate": "Hz",
    "area": "m²",
    "amount per area": "/m²",
}
USUAL = {
    "length": "in",
    "time": "s",
    "speed": "mph",
    "angle": "deg",
    "rate": "Hz",
    "area": "ac",
    "amount per area": "/ac",
}
METRIC = {"m", "cm", "mm", "km", "m/s", "km/h", "kmh", "kph", "m²", "sq m", "ha", "/ha", "/m²"}
