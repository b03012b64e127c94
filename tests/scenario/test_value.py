"""The ``[value]`` table: what is read, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest

from overlapsim import Scenario
from tests.scenario.files import data, said

GOOD = {"currency": "EUR", "seed": "150 /ha"}


def test_amounts_are_per_area() -> None:
    """An acre has 4046.8564224 m², a hectare 10,000."""
    given = {**GOOD, "lost_stand": "400 /ac", "double_planting": "0 /ac", "free_gap": "1 ft"}
    value = Scenario.from_dict(data(value=given)).value
    assert value.seed == pytest.approx(0.015)
    assert value.lost_stand == pytest.approx(400 / 4046.8564224)
    assert (value.double_planting, value.free_gap, value.currency) == (0.0, 0.3048, "EUR")


@pytest.mark.parametrize("empty", [{}, None])
def test_nothing_said_is_nothing_written(empty: Any) -> None:
    scenario = Scenario.from_dict(data(**({} if empty is None else {"value": empty})))
    assert not scenario.value.given
    assert "value" not in scenario.to_inputs()


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ({"seed": "120 /ha"}, 'value.currency  is missing. Write currency = "EUR", or any other label.'),
        (
            {"currency": "EUR"},
            "value  says no amount. Write seed, lost_stand or double_planting, as in "
            'lost_stand = "900 /ha".',
        ),
        ({**GOOD, "seed": 12}, 'value.seed = 12  needs a unit. Write "12 /ac".'),
        ({**GOOD, "seed": "-1 /ha"}, 'value.seed = "-1 /ha"  may not be negative. Did you mean "1 /ha"?'),
        (
            {**GOOD, "seed": "$120 /ac"},
            'value.seed = "$120 /ac"  cannot be read as an amount per area. Write it as in "120 /ha".',
        ),
        (
            {**GOOD, "lost": "1 /ha"},
            'value.lost = "1 /ha"  no such key. '
            "Known: currency, seed, lost_stand, double_planting, free_gap.",
        ),
        ({**GOOD, "free_gap": 12}, 'value.free_gap = 12  needs a unit. Write "12 in".'),
        (3, "value = 3  is not a table. Write [value] and its keys below."),
    ],
)
def test_what_is_refused(value: Any, words: str) -> None:
    assert said(data(value=value)) == [words]


def test_a_copy_is_checked_as_well() -> None:
    scenario = Scenario.from_dict(data(value=GOOD))
    assert scenario.with_({"value.seed": "200 /ha"}).value.seed == pytest.approx(0.02)
    with pytest.raises(Exception, match="currency"):
        Scenario.from_dict(data()).with_({"value.seed": "200 /ha"})
