"""What studies cost, as ratios measured in one run: `python -m tests.benchmarks.study`.

Two workers against one; 20,000 offsets on one field against full simulations of it; what a study adds to its
cases; peak memory of 10,000 fields against that of 1,000. The first and the last take minutes.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

import numpy as np

import overlapsim
from overlapsim.files.study_chunks import ChunkFolder
from overlapsim.questions import study_case
from overlapsim.questions.study_design import Design, Factor
from overlapsim.questions.swept import OFFSET

ROOT = Path(__file__).resolve().parents[2]
SETTINGS = 20_000
MANY, FEW = 10_000, 1_000

PEAK = """
import re, sys
import overlapsim
from pathlib import Path
from overlapsim.files.study_chunks import ChunkFolder
from overlapsim.report.study_write import write_study

study = overlapsim.load_study(sys.argv[1])
write_study(overlapsim.run_study(study, ChunkFolder(Path(sys.argv[2] + "-chunks"), study)), sys.argv[2])
print(re.search(r"VmHWM:\\s+(\\d+)", open("/proc/self/status").read())[1])
"""
"""Peak of a whole study in one process, imports and results included, kilobytes."""

BASE = """
[machine.ranks.bar]
rows = 8
spacing = "30 in"
behind_pin = "84 in"
[speed]
working = "5 mph"
[switching]
reference_offset = "90 in"
turn_on_time = "0.4 s"
turn_off_time = "0.4 s"
sections = 4
"""


def seconds(action: Callable[[], object], clock: Callable[[], float] = process_time) -> float:
    """How long an action takes: this process's own time, whatever else the machine does."""
    begun = clock()
    action()
    return clock() - begun


def workers(folder: Path) -> None:
    """The worked study on stagger with two workers and with one, processes and their start-up included.

    Processor times of all processes tell whether a busy machine spoilt the measurement.
    """
    study = overlapsim.load_study(ROOT / "scenarios" / "studies" / "stagger.toml")

    def run(many: int) -> tuple[float, float]:
        store = ChunkFolder(folder / f"w{many}-chunks", study)
        begun = sum(os.times()[:4])
        taken = seconds(lambda: overlapsim.run_study(study, store, workers=many), perf_counter)
        return taken, sum(os.times()[:4]) - begun

    (one, alone), (two, both) = run(1), run(2)
    print(
        f"two workers: {one / two:.2f} times one ({one:.1f} s, {two:.1f} s; processor times {alone:.1f} s, "
        f"{both:.1f} s); aim: at least 1.8"
    )


def settings(folder: Path, larger: bool = True) -> None:
    """20,000 reference offsets on one field, as it is or ten times as large, in full simulations of it."""
    # Workers import this module anew: what only this measurement needs is not theirs.
    from overlapsim.report.study_write import write_study
    from tests.benchmarks.laps import TEN_TIMES, scenario_on

    scale = TEN_TIMES if larger else 1.0
    base = scenario_on("demo", scale).with_({"plan.headland_laps": 0})

    def study_of(many: int) -> overlapsim.Study:
        offsets = Factor(OFFSET, tuple(np.linspace(1.8, 3.4, many).tolist()))
        return overlapsim.Study("settings", "settings", (base,), ("demo",), Design((offsets,)))

    overlapsim.run_study(study_of(3))
    study = study_of(SETTINGS)
    once = statistics.median(seconds(lambda: overlapsim.simulate(base).areas) for _ in range(15))
    done: list[Any] = []

    def work() -> None:
        store = ChunkFolder(folder / f"settings{len(done)}-chunks", study)
        done.append(overlapsim.run_study(study, store))

    # Both are medians: one run alone is at the mercy of whatever else the machine does.
    worked = statistics.median(seconds(work) for _ in range(5))
    written = seconds(lambda: write_study(done[0], folder / "settings"))
    print(
        f"{SETTINGS:,} offsets on {base.field.plantable_m2 / 1e4:.0f} ha: {worked / once:.1f} full "
        f"simulations of it ({worked:.3f} s, {once * 1e3:.1f} ms each); aim: less than 20. "
        f"Table, effects, pictures and page: {written:.1f} s"
    )


def overhead(folder: Path) -> None:
    """What a study adds to its cases: design, inputs, chunks on disk, hashes."""
    study = overlapsim.load_study(ROOT / "scenarios" / "studies" / "stagger.toml")
    factors = tuple(replace(one, values=one.values[::2]) for one in study.design.factors)
    study = replace(study, design=Design(factors))
    own, real = [0.0], study_case._Chunk._results

    def timed(self: Any, rows: Any) -> Any:
        begun = process_time()
        try:
            return real(self, rows)
        finally:
            own[0] += process_time() - begun

    study_case._Chunk._results = timed  # type: ignore[method-assign]
    try:
        store = ChunkFolder(folder / "overhead-chunks", study)
        whole = seconds(lambda: overlapsim.run_study(study, store))
    finally:
        study_case._Chunk._results = real  # type: ignore[method-assign]
    share = 100 * (whole / own[0] - 1)
    print(f"a study adds {share:.2f} % to its {len(study)} cases ({own[0]:.1f} s); aim: less than 10 %")


def memory(folder: Path) -> None:
    """Peak of 10,000 small fields against that of 1,000, a case for each."""
    import geopandas
    import shapely

    (folder / "base.toml").write_text(BASE)
    peaks = []
    for many in (FEW, MANY):
        x = 500_000 + 200.0 * np.arange(many)
        shapes = shapely.box(x, 5e6, x + 40 + np.arange(many) % 17, 5e6 + 60)
        names = [f"field {i}" for i in range(many)]
        table = geopandas.GeoDataFrame({"name": names}, geometry=shapes, crs=32633)
        table.to_file(folder / f"{many}.gpkg")
        file = folder / f"{many}.toml"
        file.write_text(f'base = "base.toml"\n[factors]\nfield = [{{file = "{many}.gpkg", all = true}}]\n')
        command = [sys.executable, "-c", PEAK, str(file), str(folder / f"out{many}")]
        done = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
        peaks.append(int(done.stdout) / 1024)
    print(
        f"peak memory of {MANY:,} fields: {peaks[1]:.0f} MiB, {peaks[1] / peaks[0]:.3f} times that of "
        f"{FEW:,} ({peaks[0]:.0f} MiB); aim: at most 1.2"
    )


def main(names: list[str]) -> None:
    """Measure and print: all, or those that are named."""
    parts: dict[str, Callable[[Path], None]] = {
        "settings": settings,
        "small": lambda folder: settings(folder, False),
        "overhead": overhead,
        "workers": workers,
        "memory": memory,
    }
    for name, part in parts.items():
        if not names or name in names:
            with tempfile.TemporaryDirectory() as folder:
                part(Path(folder))


if __name__ == "__main__":
    main(sys.argv[1:])
