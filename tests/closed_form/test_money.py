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
import shapely

from overlapsim import Scenario, causes, correct, patterns, simulate, tune
from overlapsim.control.money import MONEY
from overlapsim.questions.digs import Dig
from overlapsim.report.data import report_of
from overlapsim.report.terminal import text_of
from overlapsim.report.values import json_text
from overlapsim.scenario.side_by_side import side_by_side

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


@pytest.mark.parametrize("laps", [0, 1])
def test_the_table_of_a_sweep_tells_what_each_row_costs(laps: int) -> None:
    """Row by row what a full simulation says; without laps by hand.

    At an offset x too far behind all starts are x late, 24 m x of skip, free below 0.6 m; at x too far ahead
    all stops are short; the other end is seed off the field."""
    one = scenario(value={**AMOUNTS, "free_gap": "60 cm"}, headland_laps=laps)
    offsets = [1.0, 1.75, 2.0, 2.25, 2.75, 3.5]
    table = tune(one.model_copy(update={"sweep": {"switching.reference_offset": tuple(offsets)}})).sweep_table
    for i, offset in enumerate(offsets):
        areas = simulate(one.with_({"switching.reference_offset": offset})).areas
        for key in MONEY:
            # With laps contested ground is counted on points: within 0.1 % of the table's largest error.
            near = 1e-3 * table["combined_m2"].max() * STAND if laps else 1e-9
            assert table[key][i] == pytest.approx(areas[key], abs=near), (key, offset)
        x = abs(offset - 2.0)
        if not laps:
            assert table["money_lost_stand"][i] == pytest.approx(
                24 * x * STAND if x >= 0.6 else 0.0, abs=1e-9
            )
            assert table["money_seed"][i] == pytest.approx(24 * x * SEED, abs=1e-9)


def test_without_amounts_a_sweep_has_no_column_of_money() -> None:
    assert not set(MONEY) & set(tune(scenario()).sweep_table)


def test_correcting_tells_money_before_and_after() -> None:
    """Digs at 2 and 3 m/s that say what the scenario is, starts and stops 0.5 m late: nothing is left."""
    digs = [
        Dig(end, "bar", way, speed, LATE + half)
        for end, half in (("on", 0.05), ("off", -0.05))
        for way in ("out", "back")
        for speed in (2.0, 3.0)
    ]
    result = correct(scenario(value=AMOUNTS), digs, seed_spacing=0.1)
    told = result.to_dict()
    assert told["before"]["money"] == pytest.approx(12 * (STAND + SEED))
    assert told["after"]["money"] == pytest.approx(0, abs=1e-6)
    said = " ".join(text_of(report_of(result)).split())
    assert (
        "MONEY now 1.62 EUR: lost stand 1.44 EUR, seed 0.18 EUR as typed in 0.00 EUR; 1.62 EUR less" in said
    )


def test_the_table_of_fields_has_a_column_of_money() -> None:
    """The rectangle above twice, taken together: each pays the 1.62 EUR, and a search saves them."""
    boxes = {"one": shapely.box(0, 0, 24, 100), "two": shapely.box(240, 0, 264, 100)}
    two = scenario(value=AMOUNTS).with_({"field": side_by_side(boxes)})
    for result in (simulate(two), tune(two)):
        text = text_of(report_of(result))
        rows = text[text.index("FIELD BY FIELD") :].splitlines()
        assert [line.split()[-1] for line in rows if line.startswith(("one", "two"))] == ["1.62", "1.62"]


def test_without_amounts_there_is_no_money_anywhere() -> None:
    for result in (tune(scenario()), causes(scenario())):
        assert "money" not in json_text(result)
        assert "money" not in text_of(report_of(result)).lower()
