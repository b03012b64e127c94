"""The pages in Firefox and in WebKit: opened from a file, by mouse and keyboard, to the printed digit."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from overlapsim.basics.units import INCH
from overlapsim.report.page.markup import METRIC, US
from overlapsim.report.page.pages import report_page
from overlapsim.report.pass_end_page import pass_end_page
from overlapsim.report.words import Words
from tests.browser.conftest import missing
from tests.browser.test_field_totals import CLOSE, KEYS, result_of, totals
from tests.browser.test_pass_end_page import compare, put
from tests.browser.test_report import LUMINANCE
from tests.browser.webdriver import Page, firefox, mini_browser, webkit, with_listener

pytestmark = pytest.mark.slow  # continuous integration runs them once, with the newest dependencies

BROWSERS = {"firefox": firefox, "webkit": webkit}


def wanted(kind: str) -> None:
    if kind == "firefox" and not (shutil.which("firefox-esr") or shutil.which("firefox")):
        missing("no Firefox at hand")
    if kind == "webkit" and not (shutil.which("WebKitWebDriver") and shutil.which("Xvfb") and mini_browser()):
        missing("no WebKit at hand, with its driver and a screen that nobody sees")


@pytest.fixture(scope="module", params=BROWSERS)
def kind(request: pytest.FixtureRequest) -> str:
    wanted(request.param)
    return str(request.param)


@pytest.fixture(scope="module")
def begun(kind: str) -> Iterator[Page]:
    with BROWSERS[kind]("light") as ask:
        yield Page(ask)


def shown(page: Page, text: str, folder: Path) -> Page:
    file = folder / "page.html"
    file.write_text(with_listener(text), encoding="utf-8")
    page.goto(file.as_uri())
    return page


def quiet(page: Page) -> bool:
    """No complaint, and nothing asked for besides the file."""
    said = page.evaluate("complaints")
    asked = page.evaluate("performance.getEntriesByType('resource').map((one) => one.name)")
    assert (said, asked) == ([], [])
    return True


@cache
def report(name: str = "demo") -> str:
    return report_page(result_of(name))


@pytest.fixture
def page(begun: Page, tmp_path: Path) -> Iterator[Page]:
    yield shown(begun, report(), tmp_path)
    begun.check("#units-us")  # remembered by the browser
    quiet(begun)


def test_numbers_switch_with_the_units_and_are_kept(page: Page) -> None:
    told = result_of("demo").to_dict()
    offset, gap = told["recommended"]["reference_offset_m"], told["recommended"]["longest_gap_m"]
    for words in (US, METRIC):
        page.check(f"#units-{words.units}")
        assert page.locator("#answer .offset dd b").inner_text() == words.short(offset)
        for n, wide in enumerate((told["longest_gap_m"], gap)):
            assert page.locator("#answer .gaps td:last-child").nth(n).inner_text() == words.short(wide)
    page.reload()
    assert page.locator("#answer .offset dd b").inner_text() == METRIC.short(offset)


def test_the_way_past_the_list_of_sections(page: Page) -> None:
    page.press("Tab")
    assert page.evaluate("document.activeElement.className") == "to-main"
    page.press("Enter")
    page.press("Tab")
    assert page.evaluate("document.activeElement.id") == "pe-offset0"


def test_arrow_keys_on_a_slider_redraw_the_rows_and_the_areas(page: Page) -> None:
    start = result_of("demo").recommended.scenario.switching.reference_offset
    drawn = 'document.querySelector(\'[data-draw="on"] svg\').innerHTML'
    before = page.evaluate(drawn)
    page.locator("#pe-offset0").focus()
    for key, steps in (("ArrowRight", 1), ("ArrowRight", 2), ("ArrowLeft", 1)):
        page.press(key)
        assert page.locator('output[for="pe-offset0"]').inner_text() == US.short(start + steps * INCH / 2)
    assert page.evaluate(drawn) != before
    page.press("Tab")
    page.press("ArrowRight")
    assert page.locator('output[for="pe-on"]').inner_text() == "0.45 s"
    page.press("Home")
    assert page.locator('output[for="pe-on"]').inner_text() == "0.00 s"


@pytest.mark.parametrize("name", ["demo", "two-laps"])
def test_totals_are_those_of_the_sweep(begun: Page, tmp_path: Path, name: str) -> None:
    page, result = shown(begun, report(name), tmp_path), result_of(name)
    table, times = result.sweep_table, result.scenario.switching
    offsets = table["switching_reference_offset_m"]
    found = totals(page, [{"offset": [float(r)], "on": times.turn_on_time, "off": times.turn_off_time}
                          for r in offsets])  # fmt: skip
    known = [i for i, one in enumerate(found) if one is not None]
    assert len(known) > 0.9 * len(offsets)
    for i in known:
        whole = table["combined_m2"][i]
        assert found[i]["combined"] == pytest.approx(whole, rel=CLOSE), offsets[i]
        for part, key in zip(found[i]["parts"], KEYS, strict=True):
            assert part == pytest.approx(table[key][i], abs=CLOSE * whole), (offsets[i], key)
    assert quiet(page)


def test_the_map_by_keys_mouse_and_buttons(page: Page) -> None:
    frame = "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done("
    text = 'document.getElementById("field-map").getAttribute("viewBox")))))'

    def view() -> list[float]:
        return [float(v) for v in page.evaluate(frame + text).split()]

    whole = view()
    page.locator('[data-do="in"]').click()
    near = view()
    assert near[2] == pytest.approx(whole[2] / 2, rel=1e-3)
    page.locator(".map").focus()
    top = page.evaluate('document.querySelector(".map").getBoundingClientRect().top')
    assert 0 <= top < page.evaluate("innerHeight")  # focus does not scroll past it
    page.press("ArrowRight")
    assert view()[0] == pytest.approx(near[0] + near[2] / 8, rel=1e-3)
    before = view()
    page.drag(".map", -60, 0)
    assert view()[0] > before[0]
    page.press("0")
    assert view() == pytest.approx(whole, rel=1e-3)
    page.press("n")
    assert view()[2] < whole[2]
    assert page.locator("#rows .row-list li").count() > 5
    assert page.locator("#rows svg rect").count() > 5


def test_nothing_is_wider_than_the_screen(page: Page) -> None:
    try:
        for width in (1280, 500):
            page.resize(width, 900)
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), width
    finally:
        page.resize(1280, 900)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_pass_end_page_over_random_machines(begun: Page, tmp_path: Path, units: str) -> None:
    page, rng = shown(begun, pass_end_page(), tmp_path), np.random.default_rng(12)
    page.check(f"#units-{units}")
    step = 0.25 if units == "us" else 0.5
    for _ in range(20):
        front = float(rng.integers(160, 440)) * step
        values = {
            "ranks": "2", "front_rows": "8", "rear_rows": "8", "spacing": "30" if units == "us" else "75",
            "front_behind": f"{front:g}", "rear_behind": f"{front + float(rng.integers(40, 200)) * step:g}",
            "offset": f"{float(rng.integers(160, 500)) * step:g}", "on": f"{rng.integers(0, 90) / 100:.2f}",
            "off": f"{rng.integers(0, 90) / 100:.2f}", "speed": f"{rng.integers(10, 40) / 4:g}",
            "on_latency": f"{rng.integers(0, 90) / 100:.2f}", "off_latency": "", "seed": "",
        }  # fmt: skip
        put(page, values)
        assert page.locator("[data-faults]").inner_text() == ""
        compare(page, tmp_path, Words(units))
    page.check("#units-us")
    page.locator("[data-copy]").click()
    said = "document.querySelector('[data-copied]').textContent"
    assert page.evaluate(f"new Promise((done) => setTimeout(() => done({said}), 300))")
    assert quiet(page)


def test_dark_words_stand_out_from_their_paper(kind: str, tmp_path: Path) -> None:
    with BROWSERS[kind]("dark") as ask:
        for text in (report(), pass_end_page()):
            page = shown(Page(ask), text, tmp_path)
            assert page.evaluate('matchMedia("(prefers-color-scheme: dark)").matches')
            assert page.evaluate(LUMINANCE) == []
            assert quiet(page)


def test_what_a_page_must_not_do_is_noticed(begun: Page, tmp_path: Path) -> None:
    """Negative control: a script and an address that somebody has put in: it runs neither and complains."""
    evil = '<script>document.title = "taken"</script><img src="https://example.invalid/x.png"></main>'
    page = shown(begun, report().replace("</main>", evil, 1), tmp_path)
    said: Any = page.evaluate("complaints")
    assert page.evaluate("document.title") != "taken"
    assert {one for one in said if one.startswith("policy")} == {
        "policy: inline", "policy: https://example.invalid/x.png",
    }  # fmt: skip
