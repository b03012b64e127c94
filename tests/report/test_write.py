"""The folder of results, from Python alone, with the program's own results."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import overlapsim
from overlapsim import FolderError, Scenario
from overlapsim.report.data import report_of
from overlapsim.report.terminal import text_of
from overlapsim.report.write import write_results
from tests.report.fake import MACHINE, example

PICTURES = {"row-ends.png", "field.png"}
ALWAYS = {"result.json", "report.html", "summary.txt", "layers.gpkg", "manifest.json"} | PICTURES
SEARCHED = ALWAYS | {"grower.html", "sweep.csv", "offset-curve.png"}


@pytest.fixture(scope="module")
def searched() -> Any:
    ranks = {name: {**rank, "rows": 4} for name, rank in MACHINE["ranks"].items()}
    scenario = Scenario.from_dict(
        {
            "title": "Small",
            "machine": {**MACHINE, "ranks": ranks, "setup": "narrow"},
            "field": {"rectangle": ["40 m", "60 m"], "end_angle": "10 deg"},
            "speed": {"working": "5 mph"},
            "switching": {"reference_offset": "84 in", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s"},
            "response": {"on_latency": "0.45 s", "off_latency": "0.3 s"},
        }
    )
    return overlapsim.tune(scenario)


def _bytes(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_five_lines_of_python_write_all_that_the_command_line_writes(searched: Any, tmp_path: Path) -> None:
    written = write_results(searched, tmp_path / "new")
    assert set(_bytes(written.folder)) == SEARCHED
    assert written.warnings == ()
    assert set(_bytes(write_results(searched.as_set, tmp_path / "one").folder)) == ALWAYS


def test_the_same_bytes_each_time(searched: Any, tmp_path: Path) -> None:
    first = _bytes(write_results(searched, tmp_path / "a").folder)
    assert _bytes(write_results(searched, tmp_path / "b").folder) == first
    assert _bytes(write_results(searched, tmp_path / "a").folder) == first


def test_what_is_in_the_files(searched: Any, tmp_path: Path) -> None:
    folder = write_results(searched, tmp_path / "new", "metric").folder
    result = json.loads((folder / "result.json").read_text("utf-8"))
    assert result == json.loads(json.dumps(searched.to_dict()))
    summary = (folder / "summary.txt").read_text("utf-8")
    assert summary == text_of(report_of(searched, "metric"))
    assert str(tmp_path) not in summary
    table = (folder / "sweep.csv").read_text("utf-8").splitlines()
    assert table[0].startswith("switching_reference_offset_m,skip_m2,")
    assert len(table) > 50


def test_a_folder_that_is_not_ours_is_left_alone(searched: Any, tmp_path: Path) -> None:
    (tmp_path / "photo.jpg").write_text("not ours")
    with pytest.raises(FolderError, match="not a folder of results"):
        write_results(searched, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["photo.jpg"]


def test_a_picture_that_fails_leaves_no_folder(
    searched: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> bytes:
        raise ZeroDivisionError

    monkeypatch.setattr("overlapsim.report.offset_curve.draw_offset_curve", fail)
    with pytest.raises(ZeroDivisionError):
        write_results(searched, tmp_path / "new")
    assert list(tmp_path.iterdir()) == []


def test_a_changed_file_is_kept_and_that_is_said(searched: Any, tmp_path: Path) -> None:
    folder = write_results(searched, tmp_path / "new").folder
    (folder / "summary.txt").write_text("my own notes")
    written = write_results(searched, tmp_path / "new")
    assert (folder / "summary.txt").read_text() == "my own notes"
    assert len(written.warnings) == 1
    assert "summary.txt" in written.warnings[0]


def test_each_file_is_announced(searched: Any, tmp_path: Path) -> None:
    said: list[str] = []
    write_results(searched, tmp_path / "new", progress=said.append)
    assert {*said, "manifest.json"} == SEARCHED


def test_what_is_printed_as_typed_is_what_the_result_says(searched: Any) -> None:
    inches = float(searched.as_typed.removesuffix(" in"))
    assert f"TYPE IN   reference offset {inches:g} in behind the hitch pin" in text_of(report_of(searched))


def test_a_notebook_shows_the_row_ends(searched: Any) -> None:
    for result in (searched, searched.as_set):
        assert result._repr_png_().startswith(b"\x89PNG")
    assert searched._repr_png_() != searched.as_set._repr_png_()


def test_the_words_of_a_real_result_are_those_of_one_made_by_hand(searched: Any) -> None:
    """The hand-made results of the other tests have what real ones have: the same labels come out."""
    real, made = (report_of(result)["parts"] for result in (searched, example()))
    assert [part["label"] for part in real] == [part["label"] for part in made]
