"""Finished cases in a folder: whole or absent, of use to the code that wrote them only, gone when told."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from overlapsim.files import cases
from overlapsim.files.cases import CaseFolder, work_folder

KEY, OTHER = "0" * 64, "f" * 64
# Doubles whose last bit shows: a third, one tenth times three, the smallest and a large one.
OUTCOME = {"a": 1 / 3, "b": 0.1 * 3, "c": 5e-324, "d": [1.7e308, True, None, "č"], "e": {"f": -0.0}}


def test_the_folder_lies_beside_the_results_and_is_not_theirs(tmp_path: Path) -> None:
    assert work_folder(tmp_path / "reports" / "home") == tmp_path / "reports" / ".home.overlapsim-cases"
    assert work_folder(Path("home")) == Path(".home.overlapsim-cases")


def test_a_case_comes_back_to_the_bit(tmp_path: Path) -> None:
    kept = CaseFolder(tmp_path / "a" / "b")
    assert kept.load(KEY) is None
    assert len(kept) == 0
    kept.save(KEY, OUTCOME)
    assert json.dumps(kept.load(KEY)) == json.dumps(OUTCOME)
    assert kept.load(OTHER) is None
    assert len(kept) == 1
    kept.save(KEY, {"a": 2})
    assert kept.load(KEY) == {"a": 2}
    assert os.listdir(kept.folder) == [f"{KEY}.json"]


@pytest.mark.parametrize("spoilt", ["", "{", "[]", "7", '{"code": 1}', '{"code": "x", "outcome": {"a": 1}}'])
def test_what_cannot_be_read_counts_as_not_done(spoilt: str, tmp_path: Path) -> None:
    kept = CaseFolder(tmp_path)
    (tmp_path / f"{KEY}.json").write_text(spoilt)
    assert kept.load(KEY) is None
    kept.save(KEY, OUTCOME)
    assert kept.load(KEY) == OUTCOME


def test_a_file_cut_short_counts_as_not_done(tmp_path: Path) -> None:
    kept = CaseFolder(tmp_path)
    kept.save(KEY, OUTCOME)
    whole = (tmp_path / f"{KEY}.json").read_bytes()
    (tmp_path / f"{KEY}.json").write_bytes(whole[: len(whole) // 2])
    assert kept.load(KEY) is None


def test_other_code_does_not_trust_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    CaseFolder(tmp_path).save(KEY, OUTCOME)
    monkeypatch.setattr(cases, "code_fingerprint", lambda: "other")
    assert CaseFolder(tmp_path).load(KEY) is None


def test_a_save_that_breaks_off_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = CaseFolder(tmp_path)
    kept.save(KEY, OUTCOME)

    def fail(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("os.replace", fail)
    with pytest.raises(KeyboardInterrupt):
        kept.save(KEY, {"a": 2})
    assert kept.load(KEY) == OUTCOME
    assert os.listdir(tmp_path) == [f"{KEY}.json"]


def test_clearing_takes_only_what_is_ours(tmp_path: Path) -> None:
    folder = tmp_path / "cases"
    kept = CaseFolder(folder)
    kept.clear()
    kept.save(KEY, OUTCOME)
    (folder / f"{OTHER}.4711.tmp").write_text("left by a process that was killed")
    kept.clear()
    assert not folder.exists()
    kept.save(KEY, OUTCOME)
    (folder / "notes.json").write_text("somebody's")
    kept.clear()
    assert os.listdir(folder) == ["notes.json"]
