"""Folders of results: whole or not at all, and nobody loses a file."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from pathlib import Path

import pytest

from overlapsim.files import folder as folder_module
from overlapsim.files.folder import writing
from overlapsim.files.manifest import MANIFEST


def run(folder: Path, **files: str) -> list[str]:
    """Write a folder of results; `_` in a name stands for a dot."""
    with writing(folder) as new:
        for name, text in files.items():
            (new / name.replace("_", ".")).write_text(text)
    return new.kept


def broken_off(folder: Path, end: type[BaseException]) -> None:
    """Let a run end in the middle of writing."""
    with pytest.raises(end):  # noqa: PT012
        with writing(folder) as new:
            (new / "result.json").write_text("half")
            raise end


def content(folder: Path) -> dict[str, str]:
    found = {p.relative_to(folder).as_posix(): p.read_text() for p in folder.rglob("*") if p.is_file()}
    found.pop(MANIFEST, None)
    return found


def alone(folder: Path) -> bool:
    """Nothing was left beside the folder."""
    return [p.name for p in folder.parent.iterdir()] == [folder.name]


@pytest.fixture
def target(tmp_path: Path) -> Path:
    (tmp_path / "reports").mkdir()
    return tmp_path / "reports" / "home-80"


def test_a_new_folder_with_its_manifest(target: Path) -> None:
    assert run(target, result_json="{}", sweep_csv="1") == []
    assert content(target) == {"result.json": "{}", "sweep.csv": "1"}
    manifest = json.loads((target / MANIFEST).read_text())
    assert manifest["files"] == {
        "result.json": hashlib.sha256(b"{}").hexdigest(),
        "sweep.csv": hashlib.sha256(b"1").hexdigest(),
    }
    assert alone(target)


def test_the_folders_above_are_made_and_go_again_if_nothing_comes_of_it(tmp_path: Path) -> None:
    run(tmp_path / "a" / "b" / "c", x_txt="1")
    assert content(tmp_path / "a" / "b" / "c") == {"x.txt": "1"}
    with pytest.raises(RuntimeError), writing(tmp_path / "p" / "q" / "r"):
        raise RuntimeError
    assert [p.name for p in tmp_path.iterdir()] == ["a"]


def test_an_empty_folder_is_taken(target: Path) -> None:
    target.mkdir()
    run(target, x_txt="1")
    assert content(target) == {"x.txt": "1"}


def test_others_may_read_the_folder(target: Path) -> None:
    before = os.umask(0o022)
    try:
        run(target, x_txt="1")
    finally:
        os.umask(before)
    if os.name == "posix":
        assert target.stat().st_mode & 0o777 == 0o755


def test_a_rerun_replaces_its_own_files_and_no_others(target: Path) -> None:
    run(target, result_json="old", sweep_csv="old")
    (target / "notes.txt").write_text("mine")
    (target / "dug").mkdir()
    (target / "dug" / "photo.txt").write_text("mine too")
    (target / "empty").mkdir()
    assert run(target, result_json="new") == []
    # What the old run wrote and the new one does not is gone: results of two runs are never mixed.
    assert content(target) == {"result.json": "new", "notes.txt": "mine", "dug/photo.txt": "mine too"}
    assert (target / "empty").is_dir()
    assert set(json.loads((target / MANIFEST).read_text())["files"]) == {"result.json"}
    assert alone(target)


def test_a_file_that_somebody_changed_is_kept_and_said_at_every_rerun(target: Path) -> None:
    run(target, result_json="1", layers_gpkg="1")
    (target / "layers.gpkg").write_text("edited")
    for number in "23":
        with writing(target) as new:
            (new / "result.json").write_text(number)
            (new / "layers.gpkg").write_text(number)
        assert new.kept == ["layers.gpkg"]
        assert new.warnings == [
            "home-80/layers.gpkg was changed by somebody: kept, the new one is not written. "
            "Delete it and run again to get the new one."
        ]
        assert content(target) == {"result.json": number, "layers.gpkg": "edited"}
    (target / "layers.gpkg").unlink()
    assert run(target, result_json="4", layers_gpkg="4") == []
    assert content(target) == {"result.json": "4", "layers.gpkg": "4"}


def test_a_file_of_somebody_else_with_a_result_s_name_is_kept(target: Path) -> None:
    run(target, result_json="1")
    (target / "sweep.csv").write_text("mine")
    assert run(target, result_json="2", sweep_csv="2") == ["sweep.csv"]
    assert content(target) == {"result.json": "2", "sweep.csv": "mine"}


def test_a_link_in_place_of_a_result_is_kept_and_never_written_through(target: Path, tmp_path: Path) -> None:
    run(target, result_json="1")
    (tmp_path / "precious").write_text("1")
    (target / "result.json").unlink()
    (target / "result.json").symlink_to(tmp_path / "precious")
    assert run(target, result_json="2") == ["result.json"]
    assert (tmp_path / "precious").read_text() == "1"
    assert (target / "result.json").is_symlink()


def test_a_linked_folder_inside_is_carried_along_as_a_link(target: Path, tmp_path: Path) -> None:
    run(target, result_json="1")
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "one").write_text("1")
    (target / "photos").symlink_to(tmp_path / "photos")
    assert run(target, result_json="2") == []
    assert (target / "photos").is_symlink()
    assert (tmp_path / "photos" / "one").read_text() == "1"


@pytest.mark.parametrize("end", [KeyboardInterrupt, RuntimeError, SystemExit, OSError])
def test_an_end_in_the_middle_leaves_the_old_folder_and_nothing_else(
    target: Path, end: type[BaseException]
) -> None:
    broken_off(target, end)
    assert list(target.parent.iterdir()) == []
    run(target, result_json="old")
    (target / "notes.txt").write_text("mine")
    before = content(target), (target / MANIFEST).read_text()
    broken_off(target, end)
    assert (content(target), (target / MANIFEST).read_text()) == before
    assert alone(target)


@pytest.mark.parametrize("step", range(1, 9))
def test_an_end_while_the_folders_change_places(
    target: Path, step: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C at every step of the file system's work: then there is the old folder or the new one, whole."""
    run(target, result_json="old", sweep_csv="old")
    (target / "notes.txt").write_text("mine")
    count = 0

    def stop_at_step(original: object) -> object:
        def wrapped(*args: object, **more: object) -> object:
            nonlocal count
            count += 1
            if count == step:
                raise KeyboardInterrupt
            return original(*args, **more)  # type: ignore[operator]

        return wrapped

    with monkeypatch.context() as patch:
        patch.setattr(Path, "rename", stop_at_step(Path.rename))
        patch.setattr(os, "link", stop_at_step(os.link))
        patch.setattr(Path, "write_text", stop_at_step(Path.write_text))
        patch.setattr(Path, "chmod", stop_at_step(Path.chmod))
        patch.setattr(shutil, "rmtree", stop_at_step(shutil.rmtree))
        try:
            run(target, result_json="new")
        except KeyboardInterrupt:
            pass
        else:
            assert count < step
    old = {"result.json": "old", "sweep.csv": "old", "notes.txt": "mine"}
    new = {"result.json": "new", "notes.txt": "mine"}
    assert content(target) in (old, new)
    listed = json.loads((target / MANIFEST).read_text())["files"]
    assert set(listed) == set(content(target)) - {"notes.txt"}
    # The next run goes through and clears up.
    assert run(target, result_json="next") == []
    assert content(target) == {"result.json": "next", "notes.txt": "mine"}


def test_a_kill_between_the_two_steps_is_mended_by_the_next_run(target: Path) -> None:
    run(target, result_json="old")
    (target / "notes.txt").write_text("mine")
    target.rename(folder_module._old_name(target))
    assert run(target, result_json="new") == []
    assert content(target) == {"result.json": "new", "notes.txt": "mine"}
    assert alone(target)


def test_where_files_cannot_have_a_second_name_they_are_copied(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*args: object, **more: object) -> None:
        raise OSError(1, "Operation not permitted")

    run(target, result_json="1")
    (target / "notes.txt").write_text("mine")
    monkeypatch.setattr(os, "link", refused)
    assert run(target, result_json="2") == []
    assert content(target) == {"result.json": "2", "notes.txt": "mine"}


def test_the_same_bytes_each_time(tmp_path: Path) -> None:
    for name in ("one", "two"):
        run(tmp_path / name, result_json="{}", sweep_csv="1")
    assert (tmp_path / "one" / MANIFEST).read_bytes() == (tmp_path / "two" / MANIFEST).read_bytes()


def test_writing_stands_for_its_path(target: Path) -> None:
    with writing(target) as new:
        assert Path(new) == new.path
        with open(os.path.join(new, "x.txt"), "w") as stream:
            stream.write("1")
    assert content(target) == {"x.txt": "1"}
