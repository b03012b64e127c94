"""Kill a study again and again at random moments, let it end, and hold it against one that was left alone.

`python -m tests.benchmarks.killed scenarios/studies/real-fields.toml 20`
"""

from __future__ import annotations

import filecmp
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

LATEST = 1.0
"""Seconds by which a run is killed after its first new chunk, or, every third time, after its start."""


def command(study: str, out: Path, workers: int) -> list[str]:
    """The program with everything in place."""
    more = ["--out", str(out), "--workers", str(workers), "--quiet"]
    return [sys.executable, "-m", "overlapsim", "study", study, *more]


def _count(chunks: Path) -> int:
    return len(list(chunks.glob("*.chunk"))) if chunks.exists() else 0


def main(study: str, kills: int, seed: int = 1) -> bool:
    """Kill and compare; True where all files are the same bytes."""
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as home:
        alone, killed = Path(home, "alone"), Path(home, "killed")
        subprocess.run(command(study, alone, 1), check=True)
        done, chunks = 0, Path(home, "killed-chunks")
        while done < kills:
            begun = _count(chunks)
            started = command(study, killed, chance.choice((1, 2, 3)))
            process = subprocess.Popen(started, start_new_session=True)
            while done % 3 and process.poll() is None and _count(chunks) <= begun:
                time.sleep(0.01)
            time.sleep(chance.uniform(0.0, LATEST))
            if process.poll() is not None:
                print(f"ended by itself after {done} kills: not killed as often as asked for")
                return False
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
            done += 1
            print(f"kill {done}: {begun} chunks before, {_count(chunks)} after", flush=True)
        subprocess.run(command(study, killed, 2), check=True)
        names = sorted(path.name for path in alone.iterdir())
        same = names == sorted(path.name for path in killed.iterdir()) and all(
            filecmp.cmp(alone / name, killed / name, shallow=False) for name in names
        )
        print(f"{len(names)} files, {'the same bytes' if same else 'DIFFERENT'}")
        return same


if __name__ == "__main__":
    sys.exit(0 if main(sys.argv[1], int(sys.argv[2])) else 1)
