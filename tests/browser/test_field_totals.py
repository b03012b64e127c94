"""The field's areas under the sliders: those of `sweep.csv`, and of full simulations at other settings."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

import overlapsim
from overlapsim import load_scenario
from overlapsim.basics.units import format_number
from overlapsim.report.page.markup import METRIC, US
from overlapsim.report.page.pages import report_page
from overlapsim.report.rounding import adding_up
from tests.architecture.readme import ROOT
from tests.browser.conftest import Open

CLOSE = 1e-3
"""Asked for: a tenth of a per cent of the combined error."""

KEYS = ("skip_m2", "overlap_m2", "off_field_m2")


@cache
def result_of(name: str) -> Any:
    return overlapsim.tune(load_scenario(ROOT / "scenarios" / f"{name}.toml"))


def totals(page: Any, changes: list[dict[str, Any]]) -> list[Any]:
    found = page.evaluate(
        "all => all.map((one) => document.getElementById('pass-end-view').passEnd.totals(one))", changes
    )
    return list(found)


@pytest.mark.parametrize("name", ["demo", "two-laps", "laps-last", "double-correction", "latency-per-rank"])
def test_they_are_those_of_the_sweep(opened: Open, name: str) -> None:
    result = result_of(name)
    page, table = opened(report_page(result)), result.sweep_table
    offsets = table["switching_reference_offset_m"]
    found = totals(page, [{"offset": [float(r)], "on": result.scenario.switching.turn_on_time,
                           "off": result.scenario.switching.turn_off_time} for r in offsets])  # fmt: skip
    known = [i for i, one in enumerate(found) if one is not None]
    assert len(known) > 0.9 * len(offsets)
    for i in known:
        whole = table["combined_m2"][i]
        assert found[i]["combined"] == pytest.approx(whole, rel=CLOSE), offsets[i]
        for part, key in zip(found[i]["parts"], KEYS, strict=True):
            assert part == pytest.approx(table[key][i], abs=CLOSE * whole), (offsets[i], key)


@pytest.mark.parametrize("name", ["demo", "two-laps", "offset-per-rank", "latency-per-rank"])
def test_they_are_those_of_full_simulations_at_any_setting(opened: Open, name: str) -> None:
    result = result_of(name)
    scenario, rng = result.scenario, np.random.default_rng(7)
    page = opened(report_page(result))
    set_now = page.evaluate("document.getElementById('pass-end-view').passEnd.settings")
    tried = 0
    while tried < 8:
        more = rng.uniform(-0.3, 0.3, len(set_now["offset"]))
        changes = {
            "offset": [float(a + b) for a, b in zip(set_now["offset"], more, strict=True)],
            "on": float(rng.uniform(0.2, 0.6)), "off": float(rng.uniform(0.2, 0.6)),
            "speed": float(rng.uniform(1.5, 3.0)),
        }  # fmt: skip
        later = float(rng.uniform(-0.1, 0.1))
        changes["onLatency"] = [value + later for value in set_now["onLatency"]]
        (found,) = totals(page, [changes])
        if found is None:
            continue
        tried += 1
        ranks = list(scenario.response.on_latency)
        run = overlapsim.simulate(scenario.with_({
            "switching.reference_offset": changes["offset"][0] if len(more) == 1
            else dict(zip(result.found.offset, changes["offset"], strict=True)),
            "switching.turn_on_time": changes["on"], "switching.turn_off_time": changes["off"],
            "speed.working": changes["speed"],
            "response.on_latency": {rank: scenario.response.on_latency[rank] + later for rank in ranks},
        }))  # fmt: skip
        whole = run.areas["combined_m2"]
        assert found["combined"] == pytest.approx(whole, rel=CLOSE)
        for part, key in zip(found["parts"], KEYS, strict=True):
            assert part == pytest.approx(run.areas[key], abs=CLOSE * whole)


@pytest.mark.parametrize("name", ["demo", "two-laps"])
def test_what_is_shown_first_is_what_to_type_in(opened: Open, name: str) -> None:
    """To the printed digit, in both systems of units."""
    result = result_of(name)
    page = opened(report_page(result))
    for words in (US, METRIC):
        page.check(f"#units-{words.units}")
        for column, run in enumerate((result.recommended, result.as_set)):
            areas = [run.areas[key] for key in KEYS]
            unit, size, digits = words.area_scale(sum(areas))
            parts, whole = adding_up([area / size for area in areas], digits)
            for key, value in zip(("skip", "overlap", "off_field", "total"), [*parts, whole], strict=True):
                cell = page.locator(f'[data-cell="{key}"]').nth(column)
                assert cell.inner_text() == f"{format_number(value, digits)} {unit}"
            gap = page.locator('[data-cell="gap"]').nth(column)
            assert gap.inner_text() == words.short(run.areas["longest_gap_m"])


def test_least_times_and_speed_are_asked_of_the_sliders(opened: Open) -> None:
    """While they decide nothing the areas are those of a full simulation; where they do the page says none.

    The demo's shortest gap is 2.7 m: at 2.2 m/s it lasts 1.2 s, and less when starts are given sooner.
    """
    least = {"minimum_on_time": 1.0, "minimum_off_time": 1.0, "minimum_speed": 1.3}
    start = load_scenario(ROOT / "scenarios" / "demo.toml").with_(
        {f"controller.{key}": value for key, value in least.items()}
    )
    page = opened(report_page(overlapsim.tune(start)))
    times = {"on": start.switching.turn_on_time, "off": start.switching.turn_off_time}
    sooner = {"on": times["on"] + 0.2, "off": times["off"] - 0.2}
    slow, near, fair = totals(page, [{"speed": 1.29}, sooner, {"speed": 1.5, "on": times["on"] + 0.1}])
    assert slow is None
    assert near is None
    offset = page.evaluate("document.getElementById('pass-end-view').passEnd.settings")["offset"][0]
    given = {"turn_on_time": times["on"] + 0.1, "reference_offset": offset}
    asked = {f"switching.{key}": value for key, value in given.items()} | {"speed.working": 1.5}
    run = overlapsim.simulate(start.with_(asked))
    assert fair["combined"] == pytest.approx(run.areas["combined_m2"], rel=CLOSE)
    page.evaluate("document.getElementById('pass-end-view').passEnd.put({speed: 1.29})")
    assert "the controller’s least times or speed" in page.locator("[data-beyond]").inner_text()


def test_where_commands_wait_for_updates_the_page_says_so(opened: Open) -> None:
    page = opened(report_page(result_of("slow-updates")))
    assert "commands wait for the controller's updates" in page.locator("#pass-end-view").inner_text()
    assert page.locator('[data-cell="gap"]').count() == 2
    assert page.locator('[data-cell="skip"]').count() == 0


def test_far_off_the_page_says_that_it_does_not_know(opened: Open) -> None:
    page = opened(report_page(result_of("demo")))
    page.locator("#pe-on").focus()
    page.keyboard.press("End")
    assert page.locator('[data-cell="total"]').first.inner_text() == "–"
    assert page.locator("[data-beyond]").is_visible()
    page.get_by_role("button", name="What to type in").click()
    assert not page.locator("[data-beyond]").is_visible()
