"""The pass-end page against the program, to the printed digit, over random inputs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from overlapsim import load_scenario
from overlapsim.basics.units import format_time
from overlapsim.control.response import square_ends
from overlapsim.questions.search import with_offset
from overlapsim.questions.square_ends import square_answer
from overlapsim.report.pass_end_page import pass_end_page
from overlapsim.report.words import Words
from tests.browser.conftest import Open


@pytest.fixture
def page(opened: Open) -> Any:
    return opened(pass_end_page())


def scenario_on(page: Any, folder: Path) -> Any:
    file = folder / "copied.toml"
    file.write_text(page.locator("#toml").input_value(), encoding="utf-8")
    return load_scenario(file)


def compare(page: Any, folder: Path, words: Words) -> None:
    scenario = scenario_on(page, folder)
    answer, now = square_answer(scenario), scenario.switching.reference_offset
    said = {key: page.locator(f"[data-{key}]").inner_text() for key in
            ("do", "number", "was", "ways", "good", "gap", "assumed")}  # fmt: skip
    same = abs(answer.recommended - now) < 5e-5
    assert said["do"] == ("Leave it as it is" if same else "Type in")
    assert said["number"] == words.short(answer.recommended)
    assert said["was"] == ("" if same else f"now {words.short(now)}")
    assert said["ways"] == f"behind the hitch pin = {' = '.join(words.ways(answer.recommended)[1:])}"
    low, high = words.inside(*answer.as_good)
    good = f"{low} to {high} {words.short_unit} is just as good"
    assert said["good"] == (good if low != high else "nothing else is as good")
    gaps = [words.short(gap) for gap in (answer.gap_now, answer.gap_then)]
    wanted = f"now {gaps[0]}, then {gaps[1]}" if not same else gaps[0]
    assert said["gap"] == f"longest gap in a row {wanted}"
    assert ("ASSUMED" in said["assumed"]) == bool(scenario.assumed)
    ends = square_ends(with_offset(scenario, answer.recommended))
    for end, error in (("on", ends.on_m), ("off", ends.off_m)):
        told = [
            f"{rank if len(ends.layout.working_ranks) > 1 else 'every row'} "
            f"{words.late(float(error[ends.layout.rank == rank][0]), end)}"
            for rank in ends.layout.working_ranks
        ]
        assert page.locator(f'[data-told="{end}"]').inner_text().split() == " ".join(told).split()
    assert page.locator('output[for="pe-on"]').inner_text() == format_time(scenario.switching.turn_on_time)
    assert page.locator('output[for="pe-speed"]').inner_text() == words.speed(scenario.speed.working)


def put(page: Any, values: dict[str, str]) -> None:
    page.evaluate(
        """(values) => {
            const form = document.getElementById("machine");
            for (const [name, value] of Object.entries(values)) {
                if (name === "ranks") form.querySelector(`[name="ranks"][value="${value}"]`).checked = true;
                else form.elements[name].value = value;
            }
            form.dispatchEvent(new Event("input"));
        }""",
        values,
    )


@pytest.mark.parametrize("units", ["us", "metric"])
def test_numbers_are_the_programs_over_random_machines(page: Any, tmp_path: Path, units: str) -> None:
    page.check(f"#units-{units}")
    rng, us = np.random.default_rng(11), units == "us"

    def length(low: float, high: float) -> str:
        inches = rng.uniform(low, high)
        return f"{round(inches * 4) / 4:g}" if us else f"{round(inches * 2.54, 1):g}"

    def time() -> str:
        return f"{rng.integers(0, 90) / 100:.2f}"

    for _ in range(60):
        rows = int(rng.integers(1, 25))
        front = float(length(40, 110))
        put(page, {
            "ranks": str(rng.integers(1, 3)), "front_rows": str(rows),
            "rear_rows": str(max(1, rows + int(rng.integers(-1, 2)))),
            "spacing": rng.choice(["30", "22", "36"] if us else ["75", "50", "70"]),
            "front_behind": f"{front:g}", "rear_behind": f"{front + float(length(8, 60)):g}",
            "offset": length(40, 150), "on": time(), "off": time(),
            "speed": f"{rng.integers(10, 40) / 4:g}",
            "on_latency": rng.choice([time(), ""]), "off_latency": rng.choice([time(), ""]), "seed": "",
        })  # fmt: skip
        assert page.locator("[data-faults]").inner_text() == ""
        compare(page, tmp_path, Words(units))


def test_switching_units_keeps_the_machine(page: Any, tmp_path: Path) -> None:
    before = square_answer(scenario_on(page, tmp_path))
    page.check("#units-metric")
    assert page.locator("#box-front_behind").input_value() == "213.36"
    after = scenario_on(page, tmp_path)
    compare(page, tmp_path, Words("metric"))
    assert after.units == "metric"
    assert square_answer(after).equal == pytest.approx(before.equal, abs=1e-6)
    page.check("#units-us")
    assert page.locator("#box-front_behind").input_value() == "84"


def test_written_numbers_are_the_programs(page: Any) -> None:
    rng = np.random.default_rng(3)
    values = [float(v) for v in np.concatenate([
        rng.normal(0, 3, 400), np.round(rng.normal(0, 3, 400), 2), rng.integers(-800, 800, 400) * 0.0127,
        rng.integers(-4000, 4000, 200) / 1600, [0.0, -0.0, 1e-9, -1e-4, 12345.675, 0.0005],
    ])]  # fmt: skip
    for words in (Words("us"), Words("metric")):
        found = page.evaluate(
            """([values, us]) => values.map((v) => { const w = globalThis.passEnd.words; return [
                w.short(v, us), w.late(v, "on", us), w.late(v, "off", us), w.speed(Math.abs(v), us),
                w.time(Math.abs(v)), [w.short(v, us), ...w.ways(v, us)], w.inside(v, v + 0.3, us)]; })""",
            [values, words.us],
        )
        for value, got in zip(values, found, strict=True):
            assert got == [
                words.short(value), words.late(value, "on"), words.late(value, "off"),
                words.speed(abs(value)), format_time(abs(value)), words.ways(value),
                list(words.inside(value, value + 0.3)),
            ], value  # fmt: skip


@pytest.mark.parametrize(
    ("box", "text", "word"),
    [("front_rows", "0", "number of rows"), ("on", "45", "a time"), ("speed", "sixty", "a speed"),
     ("rear_behind", "60", "not behind the front rank"), ("rear_rows", "9", "as many rows")],
)  # fmt: skip
def test_what_no_machine_has_is_refused(page: Any, box: str, text: str, word: str) -> None:
    page.fill(f"#box-{box}", text)
    assert word in page.locator("[data-faults]").inner_text()
    assert not page.locator("#answer").is_visible()
    page.reload()
    assert page.locator("#answer").is_visible()


def test_the_scenario_can_be_copied_or_is_selected(page: Any) -> None:
    page.get_by_role("button", name="Copy the scenario").click()
    page.locator("[data-copied]:not(:empty)").wait_for()
    chosen = page.evaluate("getSelection().toString() || document.getElementById('toml').value.slice("
                           "document.getElementById('toml').selectionStart)")  # fmt: skip
    assert "reference_offset = " in chosen


def test_where_copying_is_refused_the_text_is_selected(page: Any) -> None:
    page.evaluate("() => { navigator.clipboard.writeText = async () => { throw new Error('no'); }; }")
    page.get_by_role("button", name="Copy the scenario").click()
    page.get_by_text("Not copied").wait_for()
    assert page.evaluate("document.getElementById('toml').selectionEnd") > 200


def test_without_a_script_it_says_what_to_do_by_hand(opened: Open) -> None:
    page = opened(pass_end_page(), java_script_enabled=False)
    assert "middle between the front and the rear rank" in page.locator("body").inner_text()


def test_on_a_phone_nothing_sticks_out(opened: Open) -> None:
    page = opened(pass_end_page("metric"), "phone")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
