"""What a full simulation with two laps costs: against the obvious way, by area, in memory, confirmed.

On real fields where a collection of them is at hand, else on the demo's field.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import perf_counter
from typing import Any

import shapely

import overlapsim
from overlapsim.control import switched
from overlapsim.files.fields import read_field
from tests.benchmarks.obvious import obvious_way
from tests.helpers import BASE, merge, two_ranks
from tests.robust.test_second_count import COLLECTION

ROOT = Path(__file__).resolve().parents[2]
FIELDS = {"br_lem-048": 500, "msu-001": 500, "bg-045": 100}
"""Names of real fields, and how many times faster than the obvious way a simulation has to be."""

PEAK = """
import re, sys
import overlapsim.control.run
from tests.benchmarks.laps import scenario_on

def now(key):
    return int(re.search(key + r":\\s+(\\d+)", open("/proc/self/status").read())[1])

imports = now("VmRSS")
scenario = scenario_on(sys.argv[1])
open("/proc/self/clear_refs", "w").write("5")
overlapsim.control.run.simulate(scenario).areas
print(now("VmHWM") - imports)
"""
"""Peak of a run above what the imports need, kilobytes; the peak of reading the field is forgotten before."""

TEN_TIMES = 10**0.5


def scenario_on(name: str, scale: float = 1.0) -> overlapsim.Scenario:
    """Two laps first on a real field, or on the demo's, drawn larger by a factor."""
    if name == "demo":
        field = overlapsim.load_scenario(ROOT / "scenarios" / "demo.toml").field
    else:
        field = read_field(COLLECTION, where={"field_id": name})
    (part,) = field.parts
    larger = shapely.transform(part, lambda xy: scale * xy)
    table = {
        "polygon": shapely.get_coordinates(larger.exterior)[:-1].tolist(),
        "exclusions": [shapely.get_coordinates(ring)[:-1].tolist() for ring in larger.interiors],
    }
    more = {
        "machine": two_ranks(16, 15),
        "field": table,
        "plan": {"heading": "auto", "headland_laps": 2},
        "switching": {"turn_off_time": "0.25 s", "sections": [2] * 15 + [1]},
        "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
    }
    return overlapsim.Scenario.from_dict(merge(BASE, more))


def seconds(action: Callable[[], Any], times: int = 5) -> float:
    """Median of the seconds that an action takes; crossings are found anew every time."""
    taken = []
    for _ in range(times):
        switched.forget()
        begun = perf_counter()
        action()
        taken.append(perf_counter() - begun)
    return statistics.median(taken)


def main() -> None:
    """Measure and print."""
    names = FIELDS if COLLECTION.exists() else {"demo": 500}
    for name, least in names.items():
        scenario = scenario_on(name)
        run = overlapsim.simulate(scenario)
        slow = obvious_way(scenario)
        whole = seconds(lambda scenario=scenario: overlapsim.simulate(scenario).areas)
        other = slow.seconds_per_m2 * run.plantable_m2
        print(
            f"simulate {name} with two laps ({run.plantable_m2 / 1e4:.1f} ha): {whole:.3g} s, "
            f"{other / whole:,.3g} times faster than the obvious way ({other:.3g} s); aim: {least} times"
        )
        begun = perf_counter()
        found = run.witness.largest_relative_difference, run.layers
        confirmed = perf_counter() - begun
        print(
            f"  witness and {len(found[1])} layers: {confirmed:.3g} s, {confirmed / whole:.3g} simulations "
            f"(difference {found[0]:.2g}); aim: at most 3"
        )
    name = next(iter(names))
    small, large = (
        seconds(lambda scenario=scenario: overlapsim.simulate(scenario).areas)
        for scenario in (scenario_on(name), scenario_on(name, TEN_TIMES))
    )
    print(f"ten times the area of {name}: {large / small:.3g} times as long; aim: at most 5")
    if sys.platform.startswith("linux"):
        peak = subprocess.run(
            [sys.executable, "-c", PEAK, name], cwd=ROOT, check=True, capture_output=True, text=True
        )
        share = int(peak.stdout) / 1024
        print(f"memory of one run on {name}: {share:.0f} MiB above the imports; aim: less than 200")


if __name__ == "__main__":
    main()
