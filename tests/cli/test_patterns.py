"""`overlapsim patterns` as a process: in parallel, killed and started again, Ctrl-C, what it leaves."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from overlapsim.cli import main
from overlapsim.files.cases import work_folder
from tests.cli.test_processes import environment, hears, run

WRITTEN = {"result.json", "summary.txt", "patterns.csv", "maps.png", "report.html", "manifest.json"}
ONE = ("patterns", "small.toml", "--laps", "0")
# 36 patterns of some 30 ms: long enough to be broken off, short enough to be waited for.
MANY = (*ONE, "--headings-step", "5 deg")


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def start(*arguments: str) -> subprocess.Popen[str]:
    """Start the program, and wait until it has kept three patterns."""
    process = subprocess.Popen(
        [sys.executable, "-m", "overlapsim", *arguments],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment(), text=True, start_new_session=True,
        preexec_fn=None if sys.platform == "win32" else hears,
    )  # fmt: skip
    kept, last = work_folder(Path("reports", "small")), time.monotonic() + 60
    while len(list(kept.glob("*.json"))) < 3:
        assert process.poll() is None
        assert time.monotonic() < last
        time.sleep(0.01)
    return process


def children(process: subprocess.Popen[str]) -> list[int]:
    path = Path(f"/proc/{process.pid}/task/{process.pid}/children")
    return [int(number) for number in path.read_text().split()] if path.exists() else []


def works(number: int) -> bool:
    """Whether a process is there and not just waiting for somebody to take note of its end."""
    try:
        return Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def test_what_it_prints_and_leaves(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*ONE, "--heading", "45 deg", "--workers", "1"]) == 0
    out, _ = capsys.readouterr()
    folder = small.parent / "reports" / "small"
    assert set(contents(folder)) == WRITTEN
    assert "* now: no laps, 0 deg" in out
    assert out.splitlines()[-1] == f"RESULTS   {Path('reports', 'small')}"
    assert out.startswith((folder / "summary.txt").read_text("utf-8"))
    result = json.loads((folder / "result.json").read_text("utf-8"))
    assert result["command"] == "patterns"
    assert [one["key"] for one in result["patterns"]] == ["now", "0-laps-45-deg"]
    assert not work_folder(folder).exists()


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--heading", "45", 'heading = "45"  needs a unit. Write "45 deg".'),
        ("--headings-step", "0.1 deg", "is not between 1 and 180 degrees"),
        ("--laps", "7", "7 is not in the range 0<=x<=6"),
        ("--workers", "0", "0 is not in the range"),
    ],
)
def test_options_at_fault(
    option: str, value: str, words: str, small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*ONE[:2], option, value]) == 2
    out, err = capsys.readouterr()
    assert words in err
    assert not out
    assert [path.name for path in small.parent.iterdir()] == ["small.toml"]


def test_the_same_bytes_whatever_the_number_of_workers(small: Path) -> None:
    found = []
    for count in ("1", "2"):
        arguments = (*ONE, "--headings-step", "30 deg", "--workers", count, "--out", f"out{count}")
        done = run(*arguments)
        assert done.returncode == 0, done.stderr
        found.append(contents(small.parent / f"out{count}"))
    assert set(found[0]) == WRITTEN
    assert found[0] == found[1]


@pytest.mark.skipif(sys.platform == "win32", reason="processes are killed another way there")
def test_killed_and_started_again_it_goes_on(small: Path) -> None:
    process = start(*MANY, "--workers", "2")
    own = children(process)
    process.kill()
    process.communicate(timeout=60)
    folder = small.parent / "reports" / "small"
    kept = work_folder(folder)
    names = {path.name for path in kept.glob("*.json")}
    assert 3 <= len(names) < 36
    assert not folder.exists()
    # Whoever worked for it ends too, and does not wait for work for ever.
    last = time.monotonic() + 30
    while any(works(number) for number in own) and time.monotonic() < last:
        time.sleep(0.05)
    assert not [number for number in own if works(number)]
    # What is kept is used: a figure that was tampered with comes back.
    chosen = kept / min(names)
    case = json.loads(chosen.read_text("utf-8"))
    case["outcome"]["unreached_m2"] = 12.5
    chosen.write_text(json.dumps(case), encoding="utf-8")
    done = run(*MANY, "--workers", "2")
    assert done.returncode == 0, done.stderr
    told = f"small: {len(names)} of 36 patterns were done before an earlier run was broken off."
    assert told in done.stderr.decode()
    assert not kept.exists()
    # But for that it is what a run in one go writes.
    assert run(*MANY, "--out", "afresh").returncode == 0
    found, afresh = (
        json.loads((one / "result.json").read_text("utf-8")) for one in (folder, small.parent / "afresh")
    )
    (tampered,) = [one for one in found["patterns"] if one["unreached_m2"]]
    assert tampered["unreached_m2"] == 12.5
    tampered["unreached_m2"] = 0.0
    assert found == afresh


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is sent another way there")
def test_ctrl_c_keeps_what_is_done_and_says_so(small: Path) -> None:
    process = start(*MANY, "--workers", "2", "--quiet")
    # To all processes of the terminal, as a terminal does.
    os.killpg(process.pid, signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 130, err
    assert not out
    lines = [line for line in err.splitlines() if line]
    assert len(lines) == 2
    assert lines[0].startswith("small: ")
    assert lines[0].endswith(" patterns are done and kept. Run it again to go on from there.")
    assert lines[1] == "Stopped. What was not finished is not written."
    kept = work_folder(small.parent / "reports" / "small")
    assert int(lines[0].split()[1]) == len(list(kept.glob("*.json")))
    assert not list(kept.glob("*.tmp"))
