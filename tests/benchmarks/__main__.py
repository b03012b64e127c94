"""Print how long things take as ratios to other things measured in the same run.

Start-up against an empty Python and against importing the libraries that a run needs; one full simulation
without headland laps against the obvious way, whose time on 2 ha is scaled up by area (which flatters it:
its union grows faster than the area).
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

import overlapsim
from tests.benchmarks.obvious import obvious_way

ROOT = Path(__file__).resolve().parents[2]
CLI = "import sys; from overlapsim.cli import main; sys.argv[0] = 'overlapsim'; sys.exit(main())"
LIBRARIES = "import shapely, pyproj, geopandas, matplotlib"


def median(action: Callable[[], object], times: int) -> float:
    """Median of the seconds that an action takes, after one round that warms the caches."""
    action()
    taken = []
    for _ in range(times):
        begun = perf_counter()
        action()
        taken.append(perf_counter() - begun)
    return statistics.median(taken)


def python(*arguments: str) -> Callable[[], object]:
    """Start a fresh interpreter in the checkout."""
    return lambda: subprocess.run([sys.executable, *arguments], cwd=ROOT, check=True, capture_output=True)


def line(what: str, seconds: float, than: str, other: float, aim: str) -> None:
    """Print one ratio."""
    ratio = seconds / other if seconds >= other else other / seconds
    word = "times as long as" if seconds >= other else "times faster than"
    print(f"{what}: {seconds:.3g} s, {ratio:,.3g} {word} {than} ({other:.3g} s); aim: {aim}")


def main() -> None:
    """Measure and print."""
    empty = median(python("-c", "pass"), 9)
    line(
        "overlapsim --help",
        median(python("-c", CLI, "--help"), 9),
        "python -c pass",
        empty,
        "at most 15 times",
    )
    libraries = median(python("-c", LIBRARIES), 5)
    with tempfile.TemporaryDirectory() as folder:
        tune = python("-c", CLI, "tune", "scenarios/demo.toml", "--out", folder, "--quiet")
        line("tune on the demo", median(tune, 5), "importing its libraries", libraries, "at most 3 times")

    for name in ("demo", "textbook-square"):
        scenario = overlapsim.load_scenario(ROOT / "scenarios" / f"{name}.toml")
        run = overlapsim.simulate(scenario)
        slow = obvious_way(scenario)
        line(
            f"simulate {name} ({run.plantable_m2 / 1e4:.1f} ha)",
            median(lambda scenario=scenario: overlapsim.simulate(scenario).areas, 9),
            f"the obvious way ({slow.polygons:,} polygons on 2 ha took {slow.seconds:.2f} s)",
            slow.seconds_per_m2 * run.plantable_m2,
            "10,000 times faster",
        )


if __name__ == "__main__":
    main()
