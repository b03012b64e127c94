"""Cases worked out here and in other processes: each once, in order, and nobody left when one is lost."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from overlapsim.questions.cases import run_cases


def who(shared: Path, case: int) -> dict[str, Any]:
    """Says which process worked; the first one waits until another one works too."""
    (shared / f"{os.getpid()}").touch()
    last = time.monotonic() + 60
    while len(list(shared.iterdir())) < 2 and time.monotonic() < last:
        time.sleep(0.01)
    return {"case": case, "by": os.getpid()}


def lethal(shared: Path, case: int) -> dict[str, Any]:
    """Ends every process but the first at once, as want of memory does."""
    if multiprocessing.parent_process() is not None:
        (shared / "killed").touch()
        os.kill(os.getpid(), signal.SIGKILL)
    last = time.monotonic() + 60
    while not (shared / "killed").exists() and time.monotonic() < last:
        time.sleep(0.01)
    return {"case": case}


def faulty(shared: str, case: int) -> dict[str, Any]:
    """Fails in whatever process comes to the seventh case."""
    if case == 7:
        raise ValueError(f"{shared} {case}")
    return {"case": case}


def test_this_process_works_too_and_the_order_is_kept(tmp_path: Path) -> None:
    keys = [str(n % 40) for n in range(50)]
    seen: list[int] = []
    found = run_cases(
        who, tmp_path, range(50), keys, workers=2, progress=lambda done, of, what: seen.append(done)
    )
    assert [one["case"] for one in found] == [n % 40 for n in range(50)]
    by = {one["by"] for one in found}
    assert os.getpid() in by
    assert len(by) == 2
    assert seen == list(range(41))
    assert not multiprocessing.active_children()


@pytest.mark.skipif(sys.platform == "win32", reason="processes are killed another way there")
def test_a_process_that_is_lost_is_said(tmp_path: Path) -> None:
    with pytest.raises(MemoryError, match="ended from outside"):
        run_cases(lethal, tmp_path, range(4), list("abcd"), workers=2)
    assert (tmp_path / "killed").exists()
    assert not multiprocessing.active_children()


def test_a_fault_comes_through(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="it 7"):
        run_cases(faulty, "it", range(20), [str(n) for n in range(20)], workers=3)
    assert not multiprocessing.active_children()
