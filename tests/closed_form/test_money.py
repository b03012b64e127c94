"""Lost ground in money, by hand on a textbook rectangle.

Eight rows of 1 m behind one bar, 3 passes of 100 m on 24 m, times and latencies 0: with the reference offset
e too far behind, every row starts e late and stops e late. Skipped: 3 x 8 m x e at the starts; off the field
as much at the stops. Nothing is planted twice.

With one headland lap first a pass stops e beyond the lap's inner edge, on ground that the lap has planted:
planted twice there instead of off the field.
"""

from __future__ import annotations

from typing import Any

import pytest

from overlapsim import Scenario, causes, patterns, simulate, tune
from overlapsim.control.money import MONEY
from overlapsim.report.data import report_of
from overlapsim.report.terminal import text_of
from overlapsim.report.values import json_text

LATE = 0.5
AMOUNTS = {"currency": "EUR", "seed": "150 /ha", "lost_stand": "1200 /ha", "double_planting": "80 /ha"}
SEED, STAND, DOUBLE = 0.015, 0.12, 0.008  # EUR per m²


def scenario(late: float = LATE, value: dict[str, str] | None = None, **plan: Any) -> Scenario:
    return Scenario.from_dict({
        "title": "By hand",
        "machine": {"ranks": {"bar": {"rows": 8, "spacing": "1 m", "behind_pin": "2 m"}}},
        "field": {"rectangle": ["24 m", "100 m"]},
        "plan": plan,
        "speed": {"working": "2 m/s"},
        "switching": {"reference_offset": f"{2 + late} m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
        "response": {"on_latency": "0 s", "off_latency": "0 s"},
        **({"value": value} if value else {}),
    })  # fmt: skip


def test_late_starts_and_stops() -> None:
    """Skip 12 m², off-field 12 m²: 12 x 0.12 and 12 x 0.015 EUR."""
    areas = simulate(scenario(value=AMOUNTS)).areas
    assert areas["money_lost_stand"] == pytest.approx(12 * STAND, rel=1e-9)
    assert areas["money_seed"] == pytest.approx(12 * SEED, rel=1e-9)
    assert areas["money_double_planting"] == pytest.approx(0, abs=1e-9)
    assert areas["money"] == pytest.approx(12 * (STAND + SEED), rel=1e-9)


@pytest.mark.parametrize(("free", "charged"), [("40 cm", 12.0), ("60 cm", 0.0)])
def test_gaps_shorter_than_the_free_one_cost_nothing(free: str, charged: float) -> None:
    """All gaps are 0.5 m long: either all of them are charged or none. Seed off the field stays charged."""
    areas = simulate(scenario(value={**AMOUNTS, "free_gap": free})).areas
    assert areas["money_lost_stand"] == pytest.approx(charged * STAND, abs=1e-9)
    assert areas["money_seed"] == pytest.approx(12 * SEED, rel=1e-9)


def test_early_stops_are_gaps_too_and_early_starts_are_none() -> None:
    """The reference 0.5 m too far ahead: rows start 0.5 m early (off the field), stop 0.5 m early."""
    paid = simulate(scenario(-LATE, {**AMOUNTS, "free_gap": "40 cm"})).areas
    free = simulate(scenario(-LATE, {**AMOUNTS, "free_gap": "60 cm"})).areas
    assert paid["money_lost_stand"] == pytest.approx(12 * STAND, rel=1e-9)
    assert free["money_lost_stand"] == pytest.approx(0, abs=1e-9)


def test_a_row_that_is_off_is_never_free() -> None:
    """A row of 1 m over 3 passes of 100 m is bare."""
    one = scenario(0.0, {**AMOUNTS, "free_gap": "20 m"}).with_({"machine.rows_off": ["bar 3"]})
    assert simulate(one).areas["money_lost_stand"] == pytest.approx(300 * STAND, rel=1e-9)


def test_double_planting_costs_seed_and_more() -> None:
    """Amounts times the areas of the same result, whatever these are."""
    areas = simulate(scenario(value=AMOUNTS, headland_laps=1)).areas
    assert areas["overlap_m2"] > 1.0
    assert areas["money_double_planting"] == pytest.approx(areas["overlap_m2"] * DOUBLE)
    assert areas["money_seed"] == pytest.approx((areas["overlap_m2"] + areas["off_field_m2"]) * SEED)


@pytest.mark.parametrize("key", ["seed", "lost_stand", "double_planting"])
def test_amounts_that_are_not_stated_count_nothing(key: str) -> None:
    value = {"currency": "EUR", key: AMOUNTS[key]}
    areas = simulate(scenario(value=value, headland_laps=1)).areas
    own = f"money_{key}"
    assert areas["money"] == areas[own] > 0
    assert all(areas[other] == 0 for other in MONEY[1:] if other != own)


def test_weights_have_no_part_in_money() -> None:
    one = scenario(value=AMOUNTS)
    assert simulate(one.with_({"weights.skip": 7})).areas["money"] == simulate(one).areas["money"]


def test_every_command_tells_money_and_its_parts_add_up() -> None:
    one = scenario(value=AMOUNTS)
    tuned, why, ways = tune(one), causes(one), patterns(one, [0.0], laps=[0, 1])
    told = tuned.to_dict()
    for areas in (told, told["recommended"], told["floor"], *told["alternatives"]):
        assert areas["money"] == pytest.approx(sum(areas[key] for key in MONEY[1:]))
    assert told["recommended"]["money"] == pytest.approx(0, abs=1e-6)
    lines = why.to_dict()["causes"]
    assert sum(line["money"] for line in lines) == pytest.approx(told["money"])
    assert next(line for line in lines if line["key"] == "offset")["money"] == pytest.approx(told["money"])
    assert ways.to_dict()["patterns"][0]["as_set"]["money"] == pytest.approx(told["money"])
    for result in (tuned, tuned.as_set, why, ways):
        text = " ".join(text_of(report_of(result)).split())
        assert "MONEY now 1.62 EUR: lost stand 1.44 EUR, seed 0.18 EUR" in text


def test_without_amounts_there_is_no_money_anywhere() -> None:
    for result in (tune(scenario()), causes(scenario())):
        assert "money" not in json_text(result)
        assert "money" not in text_of(report_of(result)).lower()
