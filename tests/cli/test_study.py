"""`overlapsim study` as a process: killed, started again, in parts, on a cluster; always the same bytes."""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from overlapsim.cli import main
from tests.cli.study_files import contents, write_study
from tests.cli.test_patterns import children, works
from tests.cli.test_processes import environment

CHUNKS = Path("reports", "study-chunks")


def finished(folder: Path = CHUNKS) -> int:
    return len(list(folder.glob("*.chunk")))


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder = tmp_path_factory.mktemp("undisturbed")
    file = write_study(folder)
    assert main(["study", str(file), "--workers", "1", "--quiet", "--out", str(folder / "out")]) == 0
    return contents(folder / "out")


def own_environment() -> dict[str, str]:
    """As for every process, with what this one was told to look through behind it."""
    paths = [environment()["PYTHONPATH"], os.environ.get("PYTHONPATH", "")]
    return environment(PYTHONPATH=os.pathsep.join(path for path in paths if path))


def start(*more: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "overlapsim", "study", "study.toml", *more], env=own_environment(),
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip


def test_what_it_prints_and_leaves(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_study(here)
    assert main(["study", "study.toml", "--workers", "1", "--bundle"]) == 0
    out, _ = capsys.readouterr()
    assert out.startswith("Small study\n189 cases on one field; a full grid of: field.end_angle, ")
    assert "RESULTS   " in out
    left = set(contents(Path("reports", "study")))
    assert {"columns.csv", "effects.csv", "indices.csv", "result.json", "report.html", "bundle.zip"} <= left
    # Each case's columns are all described.
    described = Path("reports", "study", "columns.csv").read_text().splitlines()
    assert described[0] == "column,kind,unit,definition"
    assert all(line.count(",") >= 3 and not line.endswith(",") for line in described)
    # What is done is not done again.
    assert main(["study", "study.toml", "--quiet"]) == 0
    assert capsys.readouterr() == ("", "")


def test_killed_at_random_moments_it_ends_with_the_same_bytes(
    here: Path, undisturbed: dict[str, bytes]
) -> None:
    """Killed with all its processes, four times with two workers and with one, then left to end."""
    write_study(here)
    chance = random.Random(7)
    for workers in ("2", "1", "2", "1"):
        before, last = finished(), time.monotonic() + 60
        process = start("--workers", workers)
        while finished() <= before and process.poll() is None:
            assert time.monotonic() < last
            time.sleep(0.005)
        time.sleep(chance.uniform(0.0, 0.2))
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
    done = finished()
    process = start("--workers", "2")
    _, err = process.communicate(timeout=120)
    assert process.returncode == 0
    assert f"{done} of 27 chunks of cases were done before an earlier run ended." in err
    assert contents(Path("reports", "study")) == undisturbed
    assert not list(CHUNKS.glob("*.tmp"))


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="children are not listed there")
def test_a_worker_that_is_killed_costs_nothing(here: Path, undisturbed: dict[str, bytes]) -> None:
    """Killed when it has kept a chunk; the program stands still meanwhile, or it would be done before."""
    write_study(here)
    process, last = start("--workers", "2"), time.monotonic() + 90
    while not (finished() and children(process)):
        assert process.poll() is None
        assert time.monotonic() < last
        time.sleep(0.005)
    os.kill(process.pid, signal.SIGSTOP)
    before = finished()
    while finished() == before:
        assert time.monotonic() < last
        time.sleep(0.005)
    workers = [number for number in children(process) if works(number)]
    for number in workers:
        os.kill(number, signal.SIGKILL)
    os.kill(process.pid, signal.SIGCONT)
    process.communicate(timeout=120)
    assert workers
    assert process.returncode == 0
    assert contents(Path("reports", "study")) == undisturbed


def test_parts_share_a_folder(
    here: Path, undisturbed: dict[str, bytes], capsys: pytest.CaptureFixture[str]
) -> None:
    write_study(here)
    for part in ("2/3", "3/3"):
        assert main(["study", "study.toml", "--workers", "1", "--part", part]) == 0
        assert not Path("reports", "study").exists()
    assert "part 3 of 3 is done; 9 of 27 chunks are still to come" in capsys.readouterr().err
    assert main(["study", "study.toml", "--workers", "1", "--part", "1/3", "--quiet"]) == 0
    assert contents(Path("reports", "study")) == undisturbed


@pytest.mark.parametrize("part", ["0/3", "4/3", "x", "3"])
def test_a_part_that_is_none(here: Path, part: str, capsys: pytest.CaptureFixture[str]) -> None:
    write_study(here)
    assert main(["study", "study.toml", "--part", part]) == 2
    assert re.search(r'is no part\. Write "3/40"', capsys.readouterr().err)


def test_on_a_cluster_that_loses_a_worker(
    here: Path, undisturbed: dict[str, bytes], capsys: pytest.CaptureFixture[str]
) -> None:
    """Two workers on loopback; one is killed when the first chunks are there."""
    distributed = pytest.importorskip("distributed")
    write_study(here)
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None,
    ) as cluster:  # fmt: skip
        process = start("--scheduler", cluster.scheduler_address)
        last = time.monotonic() + 90
        while finished() < 2:
            assert process.poll() is None, process.communicate()
            assert time.monotonic() < last
            time.sleep(0.005)
        os.kill(next(iter(cluster.workers.values())).pid, signal.SIGKILL)
        _, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    assert contents(Path("reports", "study")) == undisturbed


def test_a_scheduler_that_is_none(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    pytest.importorskip("distributed")
    from overlapsim.questions import study_cluster

    monkeypatch.setattr(study_cluster, "PATIENCE", "1s")
    write_study(here)
    assert main(["study", "study.toml", "--scheduler", "tcp://127.0.0.1:9"]) == 2
    assert "scheduler = tcp://127.0.0.1:9  does not answer as a Dask scheduler" in capsys.readouterr().err


def test_the_bundle_reruns_itself(here: Path) -> None:
    write_study(here)
    assert main(["study", "study.toml", "--workers", "1", "--quiet", "--bundle"]) == 0
    moved = here / "moved.zip"
    Path("reports", "study", "bundle.zip").rename(moved)
    Path("small.toml").unlink()
    done = subprocess.run(
        [sys.executable, str(moved), "again"], env=environment(), capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout) == (0, "Same bytes as in the archive.\n"), done.stderr
    assert {"cases.parquet", "cases.csv"} & set(contents(here / "again"))
