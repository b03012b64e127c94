"""Sweeps from the command line: what is written, and what is said before it takes long."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from overlapsim.cli import lengthy, main
from overlapsim.cli.lengthy import duration, foretold
from tests.cli.small import write

BOTH = """
[sweep]
"response.on_latency" = ["0.40 s", "0.45 s"]
"response.off_latency" = ["0.25 s", "0.30 s", "0.35 s"]
"""


@pytest.fixture
def swept(here: Path) -> Path:
    """A small scenario in which both latencies are swept."""
    path = write(here, "swept")
    path.write_text(path.read_text("utf-8") + BOTH, encoding="utf-8")
    return path


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything takes long."""
    monkeypatch.setattr(lengthy, "LONG_S", 0.0)


def test_a_row_and_a_best_offset_for_each_combination_and_the_picture(
    swept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tune", "swept.toml"]) == 0
    assert "SWEPT     6 combinations of conditions, 6 rows in sweep.csv" in capsys.readouterr().out
    folder = swept.parent / "reports" / "swept"
    assert (folder / "best-offset.png").read_bytes().startswith(b"\x89PNG")
    lines = (folder / "sweep.csv").read_text("utf-8").splitlines()
    assert lines[0].startswith(
        "response_on_latency_s,response_off_latency_s,switching_reference_offset_m,skip_m2,overlap_m2,"
    )
    assert len(lines) == 1 + 6
    conditions = json.loads((folder / "result.json").read_text("utf-8"))["conditions"]
    assert [(c["response_on_latency_s"], c["response_off_latency_s"]) for c in conditions] == [
        (on, off) for on in (0.4, 0.45) for off in (0.25, 0.3, 0.35)
    ]


@pytest.mark.usefixtures("impatient", "swept")
def test_what_takes_long_is_said_on_standard_error_only(capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["tune", "swept.toml", "--json"]) == 0
    out, err = capsysbinary.readouterr()
    assert json.loads(out)["command"] == "tune"
    assert err.startswith(b"swept: 6 combinations of conditions will take about ")


@pytest.mark.usefixtures("impatient", "swept")
def test_quiet_says_nothing_of_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tune", "swept.toml", "--quiet"]) == 0
    assert capsys.readouterr() == ("", "")


def test_only_what_takes_long_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    before = foretold("home", quiet=False)
    before("two conditions", 9.0)
    assert capsys.readouterr().err == ""
    before("1,000 combinations of conditions", 300.0)
    said = "home: 1,000 combinations of conditions will take about 5 minutes. "
    assert capsys.readouterr().err.startswith(said)


def test_durations_are_said_in_round_figures() -> None:
    assert [duration(s) for s in (12.4, 89.9, 90, 599, 600, 5399, 5400, 360000)] == [
        "12 seconds", "90 seconds", "1.5 minutes", "10 minutes", "10 minutes", "90 minutes", "1.5 hours",
        "100 hours",
    ]  # fmt: skip


def test_with_times_searches_both_times_as_well(
    here: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    write(here, "timed")
    assert main(["tune", "timed.toml", "--with-times", "--json"]) == 0
    told = json.loads(capsysbinary.readouterr().out)
    assert (told["recommended"]["turn_on_time_s"], told["recommended"]["turn_off_time_s"]) == (0.45, 0.3)
    for key in ("reference_offset_m", "turn_on_time_s", "turn_off_time_s"):
        assert told["best"][key] == pytest.approx(sum(told["equal_box"][key]) / 2)
    assert (here / "reports" / "timed" / "times.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.usefixtures("impatient")
def test_a_search_over_times_says_beforehand_how_long_it_takes(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write(here, "timed")
    assert main(["tune", "timed.toml", "--with-times"]) == 0
    out, err = capsys.readouterr()
    assert err.startswith("timed: the search over both times will take about ")
    assert "TYPE IN   reference offset 101.5 in" in out
    assert "ONE SPEED cannot tell reference offset and times apart" in out


def test_only_tune_searches_times(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(here, "timed")
    assert main(["simulate", "timed.toml", "--with-times"]) == 2
    assert "--with-times" in capsys.readouterr().err
