"""Places where no results can be put: refused in words, before anything is written."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from overlapsim.basics.errors import FolderError
from overlapsim.files import folder as folder_module
from overlapsim.files.folder import must_be_free, writing
from overlapsim.files.manifest import MANIFEST


@pytest.fixture
def target(tmp_path: Path) -> Path:
    (tmp_path / "reports").mkdir()
    return tmp_path / "reports" / "home-80"


def words(target: Path) -> str:
    with pytest.raises(FolderError) as caught, writing(target):
        pytest.fail("must be refused before anything is written")
    with pytest.raises(FolderError) as before:
        must_be_free(target)
    assert str(before.value) == str(caught.value)
    return str(caught.value).replace(f"{target.parent}{os.sep}", "")


def test_a_folder_that_is_not_ours_is_refused(target: Path) -> None:
    target.mkdir()
    (target / "thesis.txt").write_text("years of work")
    assert words(target) == (
        "home-80  holds files and no manifest.json of ours: not a folder of results. "
        "Choose another folder with --out."
    )
    for text in (
        "",
        "{",
        "[]",
        "{}",
        '{"files": {}}',
        '{"made_by": "x", "files": {}}',
        '{"made_by": "overlapsim"}',
    ):
        (target / MANIFEST).write_text(text)
        assert "not a folder of results" in words(target)
    assert (target / "thesis.txt").read_text() == "years of work"


def test_a_file_is_refused(target: Path) -> None:
    target.write_text("mine")
    assert words(target) == "home-80  is a file, not a folder. Choose another folder with --out."
    for below in (target / "below", target / "far" / "below"):
        with pytest.raises(FolderError, match=r"home-80  is a file, not a folder\. Choose another folder"):
            must_be_free(below)
        with pytest.raises(FolderError, match=r"home-80  is a file, not a folder"), writing(below):
            pytest.fail("must be refused")
    assert target.read_text() == "mine"


def test_a_link_is_refused(target: Path, tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    target.symlink_to(tmp_path / "real")
    assert words(target) == "home-80  is a link. Name the folder that it leads to."
    target.unlink()
    target.symlink_to(tmp_path / "nowhere")
    assert "is a link" in words(target)


def test_the_folder_one_stands_in_is_refused(target: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target.mkdir()
    monkeypatch.chdir(target)
    for here in (Path("."), target, target.parent, Path("/")):
        with (
            pytest.raises(FolderError, match=r"the folder you are in, or holds it|not a folder of results"),
            writing(here),
        ):
            pytest.fail("must be refused")


def test_a_folder_that_cannot_be_written(target: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def denied(*args: object, **more: object) -> str:
        raise PermissionError(13, "Permission denied", str(target))

    monkeypatch.setattr(folder_module.tempfile, "mkdtemp", denied)
    assert (
        words(target)
        == "home-80  cannot be written: permission denied. Free it, or choose another folder with --out."
    )
    monkeypatch.undo()
    if os.name == "posix" and os.geteuid() != 0:
        target.parent.chmod(0o555)
        try:
            assert "cannot be written" in words(target)
        finally:
            target.parent.chmod(0o755)


def test_a_full_disk_is_said(target: Path) -> None:
    with pytest.raises(FolderError, match="cannot be written: no space left on device"), writing(target):
        raise OSError(28, "No space left on device")
    assert not target.exists()
    assert list(target.parent.iterdir()) == []


def test_asking_for_a_place_makes_and_changes_nothing(target: Path) -> None:
    must_be_free(target / "with" / "more")
    assert not target.exists()
    with writing(target) as new:
        (new / "result.json").write_text("{}")
    (target / "mine.txt").write_text("mine")
    before = {path.name: path.read_bytes() for path in target.iterdir()}
    must_be_free(target)
    assert {path.name: path.read_bytes() for path in target.iterdir()} == before
    assert list(target.parent.iterdir()) == [target]
