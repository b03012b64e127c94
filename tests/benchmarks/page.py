"""What writing the pages of a search costs, against one full simulation of the same scenario.

Time of this process, so that other work on the machine counts little; both take turns.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable
from pathlib import Path
from time import process_time
from typing import Any

import overlapsim
from overlapsim.control import switched
from overlapsim.report.page.grower import grower_page
from overlapsim.report.page.pages import report_page
from overlapsim.report.spots import forget_spots
from tests.benchmarks.laps import scenario_on
from tests.robust.test_second_count import COLLECTION

ROOT = Path(__file__).resolve().parents[2]
TIMES = 9


def seconds(action: Callable[[], object]) -> float:
    """How long an action takes on the processor."""
    begun = process_time()
    action()
    return process_time() - begun


def main() -> None:
    """Measure and print."""
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


if __name__ == "__main__":
    main()
