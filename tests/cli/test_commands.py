"""Commands in this very process: what is printed where, which status comes back, what is left behind."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

import overlapsim
from overlapsim.basics.errors import BalanceError
from overlapsim.cli import QUESTIONS, main
from overlapsim.cli.options import OPTIONS
from tests.cli.small import write

SEARCHED = {
    "result.json", "report.html", "grower.html", "summary.txt", "sweep.csv", "layers.gpkg", "row-ends.png",
    "offset-curve.png", "field.png", "manifest.json",
}  # fmt: skip


def files(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_every_command_is_a_function_of_the_package() -> None:
    assert set(QUESTIONS) <= set(overlapsim.__all__)


@pytest.mark.parametrize("arguments", [["--help"], ["-h"], ["tune", "--help"], ["simulate", "-h"]])
def test_help(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 0
    out, err = capsys.readouterr()
    assert "Usage: overlapsim" in out
    assert not err
    words = [option.flag for option in OPTIONS] if len(arguments) > 1 else list(QUESTIONS)
    for word in words:
        assert word in out


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.splitlines()[0] == f"overlapsim {overlapsim.__version__}"


def test_tune_prints_what_to_type_in_and_leaves_the_folder(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tune", "small.toml"]) == 0
    out, err = capsys.readouterr()
    assert "TYPE IN   reference offset 97 in behind the hitch pin  (now 84 in)" in out
    assert out.splitlines()[-1] == f"RESULTS   {Path('reports', 'small')}"
    assert not [line for line in err.splitlines() if not line.startswith("small: ")]
    assert files(small.parent / "reports" / "small") == SEARCHED


def test_simulate(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["simulate", "small.toml", "--out", "here/it/is", "--units", "metric"]) == 0
    assert "ENTERED   reference offset 213.4 cm" in capsys.readouterr().out
    of_a_search = {"sweep.csv", "offset-curve.png", "grower.html"}
    assert files(small.parent / "here" / "it" / "is") == SEARCHED - of_a_search


def test_quiet_prints_nothing(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tune", "small.toml", "--quiet"]) == 0
    assert capsys.readouterr() == ("", "")
    assert files(small.parent / "reports" / "small") == SEARCHED


@pytest.mark.parametrize("command", ["tune", "simulate"])
def test_json_is_the_file_and_nothing_else(
    command: str, small: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    assert main([command, "small.toml", "--json"]) == 0
    out, _ = capsysbinary.readouterr()
    assert out == (small.parent / "reports" / "small" / "result.json").read_bytes()
    assert json.loads(out)["command"] == command


def test_several_as_json_are_one_list(here: Path, capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    write(here, "one")
    write(here, "two")
    write(here, "bad", ("5 mph", "5"))
    assert main(["simulate", "one.toml", "bad.toml", "two.toml", "--json"]) == 2
    titles = [result["title"] for result in json.loads(capsysbinary.readouterr().out)]
    assert titles == ["Small field, one", "Small field, two"]


def test_a_bad_scenario_does_not_stop_the_rest(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(here, "bad", ("5 mph", "5"))
    write(here, "good")
    write(here, "fine")
    assert main(["simulate", "bad.toml", "good.toml", "missing.toml", "fine.toml", "--out", "all"]) == 2
    out, err = capsys.readouterr()
    assert files(here / "all") == {"good", "fine", "summary.csv", "manifest.json"}
    assert out.index("Small field, good") < out.index("Small field, fine")
    assert err.splitlines()[0].startswith("bad.toml:")
    assert "missing.toml" in err


def test_equal_names_are_refused_before_anything_runs(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(here / "a", "home")
    write(here / "b", "Home")
    write(here, "other")
    assert main(["simulate", "a/home.toml", "b/Home.toml", "other.toml", "--quiet"]) == 2
    assert "a/home.toml, b/Home.toml  would share one folder of results" in capsys.readouterr().err
    assert files(here / "reports") == {"other", "summary.csv", "manifest.json"}


FAULTS = {
    "no unit": (("5 mph", "5"), ["speed.working"]),
    "wrong unit": (("5 mph", "5 in"), ["speed.working"]),
    "unknown key": (("turn_on_time", "turn_on_tme"), ["turn_on_tme", "turn_on_time"]),
    "negative rows": (("rows = 4", "rows = -4"), ["rows"]),
    "ranks swapped": (('behind_pin = "84 in"', 'behind_pin = "840 in"'), ["behind_pin"]),
    "inch mark in quotes": (('"84 in"\nturn', '"84""\nturn'), ['Write "84 in"']),
    "no such setup": (('setup = "narrow"', 'setup = "15s"'), ["narrow"]),
    "no field file": (('rectangle = ["30 m", "40 m"]', 'file = "north.zip"'), ["north.zip"]),
    "empty field": (('"30 m"', '"0 m"'), ["field.rectangle"]),
    "not a number": (('rectangle = ["30 m", "40 m"]', "polygon = [[0, 0], [nan, 0], [9, 9]]"), ["polygon"]),
    "laps": (("[speed]", "[plan]\nheadland_laps = 70\n[speed]"), ["headland_laps"]),
}


@pytest.mark.parametrize("name", FAULTS)
def test_bad_input_gets_words(name: str, here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    change, words = FAULTS[name]
    write(here, "bad", change)
    assert main(["tune", "bad.toml"]) == 2
    out, err = capsys.readouterr()
    assert not out
    for word in words:
        assert word in err
    assert "Traceback" not in err
    assert files(here) == {"bad.toml"}


def test_a_scenario_that_may_not_be_read(
    small: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    read = Path.read_bytes

    def denied(path: Path) -> bytes:
        if path.name == "small.toml":
            raise PermissionError(13, "Permission denied", str(path))
        return read(path)

    monkeypatch.setattr(Path, "read_bytes", denied)
    monkeypatch.setattr(os, "access", lambda *_, **__: False)
    assert main(["tune", "small.toml", "--quiet"]) == 2
    said = "small.toml  cannot be read (Permission denied). Check its name and permissions.\n"
    assert capsys.readouterr() == ("", said)


def test_what_shows_only_while_driving_names_the_file_too(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = write(here, "bad", ('["30 m", "40 m"]', '["3 m", "5 m"]')).read_text()
    (here / "bad.toml").write_text(text.replace("rows = 4", "rows = 12"))
    assert main(["tune", "bad.toml", "--quiet"]) == 2
    err = capsys.readouterr().err
    assert err.startswith("bad.toml  field")
    assert "is 5 m long, less than a pass is wide: 9.14 m." in err
    assert files(here) == {"bad.toml"}


@pytest.mark.parametrize("command", QUESTIONS)
@pytest.mark.parametrize(
    ("out", "words"),
    [
        ("photos", "photos  holds files and no manifest.json of ours: not a folder of results."),
        ("small.toml", "small.toml  is a file, not a folder."),
        ("small.toml/below", "small.toml  is a file, not a folder."),
        (".", "the folder you are in, or holds it."),
    ],
)
def test_a_folder_that_is_not_ours_is_refused_before_anything_is_computed(
    command: str,
    out: str,
    words: str,
    small: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fail(*_: object, **__: object) -> None:
        pytest.fail("nothing may be computed for nothing")

    monkeypatch.setattr(overlapsim, command, fail)
    (small.parent / "photos").mkdir()
    (small.parent / "photos" / "dog.jpg").write_text("woof")
    ways = ["--from", "wide", "--to", "narrow"] if command == "changeover" else []
    assert main([command, "small.toml", *ways, "--out", out]) == 2
    assert words in capsys.readouterr().err
    assert files(small.parent) == {"small.toml", "photos"}
    assert files(small.parent / "photos") == {"dog.jpg"}


@pytest.mark.parametrize(
    "arguments", [["tune"], ["tun", "x"], ["tune", "x", "--units", "yards"], ["tune", "--no"]]
)
def test_a_slip_of_the_command_line_is_bad_input(
    arguments: list[str], here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert "Error: " in err
    assert not out


@pytest.mark.parametrize("error", [ZeroDivisionError("by nothing"), BalanceError("1 m2 too much")])
@pytest.mark.parametrize("debug", [False, True])
def test_a_fault_of_ours_is_owned_up_to(
    error: Exception,
    debug: bool,
    small: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fail(_: object) -> None:
        raise error

    monkeypatch.setattr(overlapsim, "simulate", fail)
    if debug:
        monkeypatch.setenv("OVERLAPSIM_DEBUG", "1")
    write(small.parent, "bad", ("5 mph", "5"))
    # A fault of ours is told by the status, whatever else was wrong.
    assert main(["simulate", "bad.toml", "small.toml"]) == 1
    err = capsys.readouterr().err
    assert "A fault of overlapsim itself" in err
    assert str(error) in err
    assert ("Traceback" in err) is debug
    assert ("OVERLAPSIM_DEBUG=1" in err) is not debug
    assert files(small.parent) == {"small.toml", "bad.toml"}


def test_what_cannot_be_written_is_said_in_words(
    small: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise PermissionError(13, "Permission denied", "layers.gpkg")

    monkeypatch.setattr("overlapsim.files.layers.write_layers", fail)
    assert main(["simulate", "small.toml"]) == 2
    assert "layers.gpkg  cannot be used: permission denied." in capsys.readouterr().err
    assert files(small.parent) == {"small.toml"}


def test_a_changed_file_is_kept_and_that_is_said(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["simulate", "small.toml", "--quiet"]) == 0
    notes = small.parent / "reports" / "small" / "summary.txt"
    notes.write_text("mine")
    assert main(["simulate", "small.toml", "--quiet"]) == 0
    assert notes.read_text() == "mine"
    assert "summary.txt was changed by somebody" in capsys.readouterr().err


def test_the_same_bytes_each_time(small: Path) -> None:
    runs = []
    for _ in range(2):
        assert main(["tune", "small.toml", "--quiet"]) == 0
        folder = small.parent / "reports" / "small"
        runs.append({name: (folder / name).read_bytes() for name in sorted(os.listdir(folder))})
    assert runs[0] == runs[1]
