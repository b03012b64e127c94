"""What writing the pages of a search costs, against one full simulation, and when a phone shows them.

Time of this process, so that other work on the machine counts little; both take turns. The first paint, where
playwright and Chromium are at hand, is that of the phone's profile with the processor slowed four times.
"""

from __future__ import annotations

import os
import shutil
import statistics
import tempfile
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from time import process_time
from typing import Any

import overlapsim
from overlapsim.control import switched
from overlapsim.report.page.grower import grower_page
from overlapsim.report.page.pages import report_page
from overlapsim.report.spots import forget_spots
from tests.benchmarks.laps import scenario_on
from tests.browser.conftest import PROFILES
from tests.robust.test_second_count import COLLECTION

ROOT = Path(__file__).resolve().parents[2]
TIMES = 9
SLOWED, PAINT = 4, "first-contentful-paint"


def seconds(action: Callable[[], object]) -> float:
    """How long an action takes on the processor."""
    begun = process_time()
    action()
    return process_time() - begun


def first_paint(text: str) -> float:
    """Milliseconds until a slowed phone shows something of a page; the median of several openings."""
    from playwright.sync_api import sync_playwright

    program = os.environ.get("OVERLAPSIM_BROWSER") or shutil.which("chromium")
    found = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        file = Path(folder) / "page.html"
        file.write_text(text, encoding="utf-8")
        browser = driver.chromium.launch(executable_path=program, args=["--no-sandbox"])
        for _ in range(TIMES):
            context = browser.new_context(**PROFILES["phone"])
            page = context.new_page()
            context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
            page.goto(file.as_uri())
            page.wait_for_function(f"performance.getEntriesByName('{PAINT}').length")
            found.append(page.evaluate(f"performance.getEntriesByName('{PAINT}')[0].startTime"))
            context.close()
        browser.close()
    return statistics.median(found)


def main() -> None:
    """Measure and print."""
    browser = find_spec("playwright") and (os.environ.get("OVERLAPSIM_BROWSER") or shutil.which("chromium"))
    demo = overlapsim.load_scenario(ROOT / "scenarios" / "demo.toml")
    named = {"demo": demo, "demo with two laps": scenario_on("demo")}
    if COLLECTION.exists():
        named |= {f"{name} with two laps": scenario_on(name) for name in ("br_lem-048", "msu-001")}
    for name, scenario in named.items():
        result = overlapsim.tune(scenario)
        pages: list[str] = []

        def write(result: Any = result, pages: list[str] = pages) -> None:
            forget_spots(result.as_set)
            pages[:] = report_page(result), grower_page(result)

        def simulate(scenario: Any = scenario) -> None:
            switched.forget()
            assert overlapsim.simulate(scenario).areas

        first = seconds(write)
        written, run = zip(*((seconds(write), seconds(simulate)) for _ in range(TIMES)), strict=True)
        page, whole = statistics.median(written), statistics.median(run)
        size = sum(len(text.encode()) for text in pages) / 1e3
        print(
            f"pages of {name} ({result.as_set.plantable_m2 / 1e4:.1f} ha, {size:.0f} kB): {page:.3g} s "
            f"(the first time {first:.3g} s), {page / whole:.2g} full simulations ({whole:.3g} s); "
            "aim: at most 0.5"
        )
        if browser:
            paint = first_paint(pages[0])
            print(f"  first paint on a phone slowed {SLOWED} times: {paint:.0f} ms; aim: under 1000")


if __name__ == "__main__":
    main()
