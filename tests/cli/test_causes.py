"""``overlapsim causes``: what it prints and leaves behind, and that its file is its answer."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import overlapsim
from overlapsim.cli import main
from tests.cli.small import write

LEFT = {
    "result.json", "report.html", "summary.txt", "layers.gpkg", "row-ends.png", "field.png", "causes.png",
    "manifest.json",
}  # fmt: skip


def files(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_it_prints_where_the_error_comes_from(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """10 passes of 10 ft are 48 cm wider than 30 m. A row of 38.1 cm stays off; of the next one 9.9 cm lie
    outside, 40 m long: 43 sq ft.
    """
    assert main(["causes", "small.toml"]) == 0
    out, _ = capsys.readouterr()
    assert "WHERE IT COMES FROM" in out
    assert re.search(r"^edges +0 +0 +43 +43$", out, re.MULTILINE)
    assert out.splitlines()[-1] == f"RESULTS   {Path('reports', 'small')}"
    folder = small.parent / "reports" / "small"
    assert files(folder) == LEFT
    assert out.startswith((folder / "summary.txt").read_text("utf-8"))


def test_json_is_the_file_and_what_python_gets(
    small: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    assert main(["causes", "small.toml", "--json", "--out", "there", "--units", "metric"]) == 0
    out, _ = capsysbinary.readouterr()
    assert out == (small.parent / "there" / "result.json").read_bytes()
    told = json.loads(out)
    assert told == json.loads(json.dumps(overlapsim.causes(overlapsim.load_scenario(small)).to_dict()))
    total = sum(line["combined_m2"] for line in told["causes"])
    assert total == pytest.approx(told["total"]["combined_m2"], rel=1e-12)
    assert set(told["stagger"]) == {"at_best", "as_set"}
    assert " cm" in (small.parent / "there" / "summary.txt").read_text("utf-8")


def test_quiet_prints_nothing(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["causes", "small.toml", "--quiet"]) == 0
    assert capsys.readouterr() == ("", "")


def test_bad_input_gets_words(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(here, "bad", ("5 mph", "5"))
    write(here, "good")
    assert main(["causes", "bad.toml", "good.toml"]) == 2
    out, err = capsys.readouterr()
    assert "speed.working" in err
    assert "Small field, good" in out
    assert [path.name for path in (here / "reports").iterdir() if path.is_dir()] == ["good"]


def test_the_same_bytes_each_time(small: Path) -> None:
    runs = []
    for _ in range(2):
        assert main(["causes", "small.toml", "--quiet"]) == 0
        folder = small.parent / "reports" / "small"
        runs.append({name: (folder / name).read_bytes() for name in sorted(files(folder))})
    assert runs[0] == runs[1]


def test_from_tune_to_causes_the_folder_changes_over(small: Path) -> None:
    assert main(["tune", "small.toml", "--quiet"]) == 0
    assert main(["causes", "small.toml", "--quiet"]) == 0
    assert files(small.parent / "reports" / "small") == LEFT


def test_a_notebook_shows_the_picture(small: Path) -> None:
    done = overlapsim.causes(overlapsim.load_scenario(small))
    assert done._repr_png_().startswith(b"\x89PNG")
    assert done._repr_png_() != done.as_set._repr_png_()
    assert set(done.layers) == set(done.as_set.layers)
    assert done.row_ends.columns["leg"].tolist() == done.as_set.row_ends.columns["leg"].tolist()
