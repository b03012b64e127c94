"""Quantities as people read them: each expected text can be redone with a pocket calculator."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from overlapsim.basics.units import (
    format_angle,
    format_area,
    format_length,
    format_number,
    format_speed,
    format_time,
    parse,
)


@pytest.mark.parametrize(
    ("style", "text"),
    [("in", "103.5 in"), ("ft-in", "8 ft 7 1/2 in"), ("ft", "8.63 ft"), ("m", "2.629 m"), ("cm", "262.9 cm")],
)
def test_one_length_in_every_style(style: str, text: str) -> None:
    assert format_length(2.6289, style) == text


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (0.0, "0 in"),
        (0.5, "1/2 in"),
        (11.99, "1 ft"),
        (12.0, "1 ft"),
        (12.5, "1 ft 1/2 in"),
        (-15.0, "-1 ft 3 in"),
        (97.1, "8 ft 1 1/8 in"),
        (-0.01, "0 in"),
    ],
)
def test_feet_and_inches_to_an_eighth(inches: float, text: str) -> None:
    assert format_length(inches * 0.0254, "ft-in") == text


def test_an_unknown_style_is_refused() -> None:
    with pytest.raises(ValueError, match="no such style: yd"):
        format_length(1.0, "yd")


@pytest.mark.parametrize(
    ("square_metres", "units", "text"),
    [
        (323748.513792, "us", "80.0 ac"),
        (10.87, "us", "117 sq ft"),
        (323748.513792, "metric", "32.4 ha"),
        (1234.4, "metric", "1,234 m²"),
        (-0.01, "us", "0 sq ft"),
    ],
)
def test_areas(square_metres: float, units: str, text: str) -> None:
    assert format_area(square_metres, units) == text


def test_speeds_times_angles_numbers() -> None:
    assert format_speed(2.2352) == "5 mph"
    assert format_speed(8 / 3.6, "metric") == "8 km/h"
    assert format_time(0.4) == "0.40 s"
    assert format_time(0.125) == "0.125 s"
    assert format_angle(parse("12.5 deg", "angle")) == "12.5 deg"
    assert format_number(1353.2) == "1,353"
    assert format_number(-0.4) == "0"


@given(st.integers(-4000, 4000))
def test_what_is_written_in_feet_and_inches_is_read_back(eighths: int) -> None:
    metres = eighths * 0.0254 / 8
    assert parse(format_length(metres, "ft-in"), "length") == pytest.approx(metres, abs=1e-12)
