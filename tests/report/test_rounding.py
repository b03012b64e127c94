"""Figures that people add up in their heads do add up."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from overlapsim.report.rounding import adding_up, plain


@given(
    st.lists(st.floats(0, 1e7, allow_subnormal=False), min_size=1, max_size=6),
    st.integers(0, 2),
)
def test_rounded_parts_add_up_and_stay_next_to_the_truth(parts: list[float], digits: int) -> None:
    rounded, total = adding_up(parts, digits)
    step = 10.0**-digits
    assert math.isclose(sum(rounded), total, abs_tol=step / 1000)
    assert abs(total - sum(parts)) <= step / 2 + 1e-6
    for part, figure in zip(parts, rounded, strict=True):
        # One step at most: a part is cut or raised, nothing else.
        assert abs(figure - part) <= step + 1e-6


def test_plain_rounding_would_not_add_up() -> None:
    """The rule is needed: three times 1.4 is 4.2, and 1 + 1 + 1 is not 4."""
    assert adding_up([1.4, 1.4, 1.4]) == ([2.0, 1.0, 1.0], 4.0)


def test_the_largest_remainder_is_raised() -> None:
    assert adding_up([10.1, 20.8, 30.2]) == ([10.0, 21.0, 30.0], 61.0)


def test_no_minus_before_nothing() -> None:
    assert plain(-0.004, 2) == "0"


@pytest.mark.parametrize(
    ("parts", "whole", "rounded"),
    [
        ([1.4, 1.4, 1.4], 5.0, [2.0, 2.0, 1.0]),
        ([1.0, 2.0], 3.0, [1.0, 2.0]),
        # A sum of 3.2 that stands rounded to 2 elsewhere: the smallest remainder gives way.
        ([1.1, 2.1], 2.0, [1.0, 1.0]),
        ([0.3, 0.3], 0.0, [0.0, 0.0]),
    ],
)
def test_parts_add_up_to_a_whole_that_stands_elsewhere(
    parts: list[float], whole: float, rounded: list[float]
) -> None:
    assert adding_up(parts, 0, whole) == (rounded, whole)
