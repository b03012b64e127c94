"""Quantities as people write them, against sizes of units that are exact by definition.

The inch is 25.4 mm, the foot 12 in, the mile 5280 ft (international yard and pound agreement of 1959);
an hour has 3600 s. Expected values are decimal numbers worked out from these by hand.
"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from overlapsim.basics.units import ACRE, FOOT, INCH, MPH, UnitError, exact, is_metric, parse, si_text


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("84 in", 2.1336),
        ("84in", 2.1336),
        ('84"', 2.1336),
        ("84″", 2.1336),
        ("84 inches", 2.1336),
        ("7 1/2 in", 0.1905),
        ("7-1/2 in", 0.1905),
        ("7½ in", 0.1905),
        ("7 ½ in", 0.1905),
        ("½ in", 0.0127),
        ("1/2 in", 0.0127),
        ("101.5 in", 2.5781),
        (".5 in", 0.0127),
        ("12 ft 6 in", 3.81),
        ("12 ft. 6 in.", 3.81),
        ("12ft6in", 3.81),
        ("12 ft, 6 in", 3.81),
        ("12' 6\"", 3.81),
        ("12′ 6″", 3.81),
        ("12’ 6”", 3.81),
        ("12'6\"", 3.81),
        ("7 ft 1-1/2 in", 2.1717),
        ("7 ft 1 1/2 in", 2.1717),
        ("7' 1½\"", 2.1717),
        ("-15 in", -0.381),
        ("−15 in", -0.381),
        ("+ 15 in", 0.381),
        ("-1 ft 3 in", -0.381),
        ("2.13 m", 2.13),
        ("213 cm", 2.13),
        ("2130 mm", 2.13),
        ("0.5 km", 500.0),
        ("40 ft", 12.192),
        ("0.25 mi", 402.336),
        ("10 yd", 9.144),
        ("1e-05 m", 1e-05),
        ("5e-324 m", 5e-324),
        ("84\u00a0in", 2.1336),
        ("84 IN", 2.1336),
    ],
)
def test_lengths(text: str, metres: float) -> None:
    assert parse(text, "length") == metres


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("0.40 s", "time", 0.4),
        ("400 ms", "time", 0.4),
        ("-0.1 s", "time", -0.1),
        ("5 mph", "speed", 2.2352),
        ("8 km/h", "speed", 8 / 3.6),
        ("8 km / h", "speed", 8 / 3.6),
        ("8 kph", "speed", 8 / 3.6),
        ("2.5 m/s", "speed", 2.5),
        ("10 ft/s", "speed", 3.048),
        ("180 deg", "angle", math.pi),
        ("360°", "angle", math.tau),
        ("-90 degrees", "angle", -math.pi / 2),
        ("1 rad", "angle", 1.0),
        ("10 Hz", "rate", 10.0),
        ("10 hz", "rate", 10.0),
    ],
)
def test_other_dimensions(text: str, dimension: str, value: float) -> None:
    assert parse(text, dimension) == value


def test_constants_are_exact() -> None:
    assert (INCH, FOOT, MPH, ACRE) == (0.0254, 0.3048, 0.44704, 4046.8564224)


def test_an_eighth_is_not_rounded_on_the_way() -> None:
    assert exact("1/3 ft", "length") == Fraction("0.1016")


@pytest.mark.parametrize(
    ("text", "dimension", "said"),
    [
        ("84", "length", 'needs a unit. Write "84 in".'),
        ("0.4", "time", 'needs a unit. Write "0.4 s".'),
        ("2,13 m", "length", 'a comma is not read in a number. Write "2.13 m".'),
        ("0,45 s", "time", 'a comma is not read in a number. Write "0.45 s".'),
        (
            "1,320 ft",
            "length",
            'a comma is not read in a number. Write "1.320 ft" (or "1320 ft" if the comma parts thousands).',
        ),
        ("84 s", "length", 's is a unit of time, a length is wanted. Write it as in "84 in".'),
        ("5 in", "angle", 'in is a unit of length, an angle is wanted. Write it as in "12 deg".'),
        ("84 inc", "length", 'no such unit of length: inc. Did you mean "84 inch"?'),
        ("8 knots", "speed", "no such unit of speed: knots. Known: m/s, mph, km/h, ft/s."),
        ("12'6", "length", 'the inches have no mark. Write it as in "12 ft 6 in".'),
        ("12 ft 6", "length", 'the inches have no mark. Write it as in "12 ft 6 in".'),
        ("12 ft 14 in", "length", 'more than 12 inches after the feet. Write it as in "12 ft 6 in".'),
        ("7 1/0 in", "length", 'a fraction over zero. Write it as in "7 1/2 in".'),
        ("nan m", "length", 'is not a finite number. Write it as in "84 in".'),
        ("inf s", "time", 'is not a finite number. Write it as in "0.40 s".'),
        ("1e-325 m", "length", "is too large or too small to be meant. Write the number out."),
        ("1e999 m", "length", "is too large or too small to be meant. Write the number out."),
        ("", "length", 'is empty. Write it as in "84 in".'),
        ("wide", "length", 'is not a number with a unit. Write it as in "84 in".'),
        ("7 1 in", "length", 'cannot be read as a length. Write it as in "84 in".'),
        ("3 4/5/6 in", "length", 'cannot be read as a length. Write it as in "84 in".'),
        ("--3 in", "length", 'cannot be read as a length. Write it as in "84 in".'),
        ("84 in 3", "length", 'cannot be read as a length. Write it as in "84 in".'),
    ],
)
def test_refusals_say_how_to_write_it(text: str, dimension: str, said: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, dimension)
    assert str(caught.value) == said


def test_a_dash_parts_feet_from_inches() -> None:
    assert parse("12 ft - 6 in", "length") == parse("12 ft 6 in", "length")


def test_a_unit_error_is_a_value_error() -> None:
    with pytest.raises(ValueError, match="needs a unit"):
        parse("84", "length")


@given(
    st.floats(-1e300, 1e300, allow_subnormal=False).filter(lambda value: value == 0 or abs(value) > 1e-300),
    st.sampled_from(["length", "time", "speed", "angle", "rate"]),
)
def test_si_text_is_read_back_to_the_last_bit(value: float, dimension: str) -> None:
    assert parse(si_text(value, dimension), dimension) == value


@given(st.integers(0, 400), st.integers(0, 15), st.sampled_from(["{} {}/16 in", "{}-{}/16 in"]))
def test_sixteenths_of_an_inch(inches: int, part: int, form: str) -> None:
    by_hand = (inches * 16 + part) * 25.4 / 16 / 1000
    assert parse(form.format(inches, part), "length") == pytest.approx(by_hand, rel=1e-15)


@given(st.integers(0, 100), st.integers(0, 11), st.integers(0, 7))
def test_feet_and_inches_are_so_many_inches(feet: int, inches: int, eighths: int) -> None:
    text = f"{feet} ft {inches} {eighths}/8 in"
    assert exact(text, "length") == exact(f"{12 * feet + inches} {eighths}/8 in", "length")
    assert exact(f"-{text}", "length") == -exact(text, "length")


@pytest.mark.parametrize(
    ("text", "metric"), [("2.13 m", True), ("8 km/h", True), ("84 in", False), ("5 mph", False)]
)
def test_metric_is_known_by_its_unit(text: str, metric: bool) -> None:
    assert is_metric(text) is metric


# An acre has 43,560 square feet of 0.3048 m on each side: 4046.8564224 m².
@pytest.mark.parametrize(
    ("text", "per_square_metre"),
    [
        ("32,000 /ac", 32000 / 4046.8564224),
        ("32000 /ac", 32000 / 4046.8564224),
        ("1,250,000 seeds/acre", 1250000 / 4046.8564224),
        ("32.5 k/ac", 32500 / 4046.8564224),
        ("32000 per acre", 32000 / 4046.8564224),
        ("80000 /ha", 8.0),
        ("80,000 / ha", 8.0),
        ("8 /m2", 8.0),
        ("8.5 /m²", 8.5),
        ("120.50 /ha", 0.01205),
    ],
)
def test_amounts_per_area(text: str, per_square_metre: float) -> None:
    value = parse(text, "amount per area")
    assert value == pytest.approx(per_square_metre, rel=1e-15)
    assert parse(si_text(value, "amount per area"), "amount per area") == value


@pytest.mark.parametrize(
    "text", ["8,500 /m2", "80,5 /ha", "0,080 /ha", "32,00 /ac", "1,20,000 /ac", "32,000,0 /ac"]
)
def test_commas_that_could_mean_something_else_are_refused(text: str) -> None:
    with pytest.raises(UnitError):
        parse(text, "amount per area")
