"""Print how long things take as ratios to other things measured in the same run.

Start-up against an empty Python and against importing the libraries that a run needs; one full simulation
without headland laps against the obvious way, whose time on 2 ha is scaled up by area (which flatters it:
its union grows faster than the area).
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

import overlapsim
from tests.benchmarks import laps, page
from tests.benchmarks.obvious import obvious_way

ROOT = Path(__file__).resolve().parents[2]
CLI = "import sys; from overlapsim.cli import main; sys.argv[0] = 'overlapsim'; sys.exit(main())"
LIBRARIES = "import shapely, pyproj, geopandas, matplotlib"


def seconds(action: Callable[[], object]) -> float:
    """How long an action takes."""
    begun = perf_counter()
    action()
    return perf_counter() - begun


def in_turn(one: Callable[[], object], other: Callable[[], object], times: int) -> tuple[float, float]:
    """The same of two actions that take turns, so that other work on the machine hits both alike."""
    one(), other()
    first, second = zip(*((seconds(one), seconds(other)) for _ in range(times)), strict=True)
    return statistics.median(first), statistics.median(second)


def python(cache: str, *arguments: str) -> Callable[[], object]:
    """Start a fresh interpreter in the checkout, with modules compiled before, as installed ones are."""
    given = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    given["PYTHONPYCACHEPREFIX"] = cache
    command = [sys.executable, *arguments]
    return lambda: subprocess.run(command, cwd=ROOT, check=True, capture_output=True, env=given)


def line(what: str, seconds: float, than: str, other: float, aim: str) -> None:
    """Print one ratio."""
    ratio = seconds / other if seconds >= other else other / seconds
    word = "times as long as" if seconds >= other else "times faster than"
    print(f"{what}: {seconds:.3g} s, {ratio:,.3g} {word} {than} ({other:.3g} s); aim: {aim}")


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        cache = f"{folder}/compiled"
        empty, helped = in_turn(python(cache, "-c", "pass"), python(cache, "-c", CLI, "--help"), 9)
        line("overlapsim --help", helped, "python -c pass", empty, "at most 15 times")
        results = ("--out", f"{folder}/results", "--quiet")
        tune = python(cache, "-c", CLI, "tune", "scenarios/demo.toml", *results)
        libraries, tuned = in_turn(python(cache, "-c", LIBRARIES), tune, 5)
        line("tune on the demo", tuned, "importing its libraries", libraries, "at most 3 times")

    for name in ("demo", "textbook-square"):
        scenario = overlapsim.load_scenario(ROOT / "scenarios" / f"{name}.toml")
        run = overlapsim.simulate(scenario)
        slow = obvious_way(scenario)
        line(
            f"simulate {name} ({run.plantable_m2 / 1e4:.1f} ha)",
            laps.seconds(lambda scenario=scenario: overlapsim.simulate(scenario).areas, 9),
            f"the obvious way ({slow.polygons:,} polygons on 2 ha took {slow.seconds:.2f} s)",
            slow.seconds_per_m2 * run.plantable_m2,
            "10,000 times faster",
        )
    laps.main()
    page.main()


if __name__ == "__main__":
    main()
