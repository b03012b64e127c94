"""Draws from the command line: what is written, said and refused, and that workers change nothing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from overlapsim.cli import lengthy, main
from tests.cli.small import write

SPREADS = """
[uncertain]
"response.on_latency" = "0.05 s"
"machine.ranks.rear.behind_pin" = {spread = "1/2 in", shape = "even"}
"""
ACROSS = '"controller.drift" = "1 in"\n'


def with_table(folder: Path, name: str, more: str = SPREADS) -> Path:
    """A small scenario with more at its end."""
    path = write(folder, name)
    path.write_text(path.read_text("utf-8") + more, encoding="utf-8")
    return path


def test_the_folder_and_the_words(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with_table(here, "unsure")
    assert main(["tune", "unsure.toml", "--uncertain", "--draws", "50"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "HOW SURE 50 draws of what may be off (one standard deviation, or anywhere within): on " in said
    assert "on latency 0.05 s; tape to" in said
    assert "tape to the rear rank within 0.5 in" in said
    assert "ASSUMED" not in said.split("HOW SURE")[1].split("FROM")[0]
    folder = here / "reports" / "unsure"
    assert (folder / "uncertain.png").read_bytes().startswith(b"\x89PNG")
    told = json.loads((folder / "result.json").read_text("utf-8"))["uncertain"]
    assert (told["draws"], told["seed"], told["assumed"]) == (50, 1, False)
    assert [one["key"] for one in told["points"]] == ["now", "type_in", "on_average"]


def test_without_a_table_spreads_are_assumed_and_it_is_said(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tune", "small.toml", "--uncertain", "--draws", "20"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "These spreads are ASSUMED: state your own below [uncertain], as in" in said
    assert json.loads((small.parent / "reports" / "small" / "result.json").read_text("utf-8"))["uncertain"][
        "assumed"
    ]


def test_without_the_option_nothing_is_drawn(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with_table(here, "unsure")
    assert main(["tune", "unsure.toml"]) == 0
    assert "HOW SURE" not in capsys.readouterr().out
    assert not (here / "reports" / "unsure" / "uncertain.png").exists()


def test_seeds_and_workers(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Drift across the passes is worked out draw by draw: two processes give the bytes of one; a seed of 0
    others."""
    with_table(here, "unsure", SPREADS + ACROSS)
    texts = []
    for more in (["--workers", "1"], ["--workers", "2"], ["--seed", "0"], ["--seed", "0"]):
        assert main(["tune", "unsure.toml", "--uncertain", "--draws", "8", "--json", *more]) == 0
        texts.append(capsys.readouterr().out)
    assert texts[0] == texts[1]
    assert texts[2] == texts[3]
    assert texts[0] != texts[2]
    assert json.loads(texts[0])["uncertain"]["read"] == "draw by draw"


def test_what_takes_long_is_said_before(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lengthy, "LONG_S", 0.0)
    with_table(here, "unsure", SPREADS + ACROSS)
    assert main(["tune", "unsure.toml", "--uncertain", "--draws", "8", "--workers", "1"]) == 0
    assert "unsure: 8 draws will take about " in capsys.readouterr().err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--draws", "5"], "--draws goes with --uncertain."),
        (["--seed", "0"], "--seed goes with --uncertain."),
        (["--workers", "2"], "--workers goes with --uncertain or --also patterns."),
        (["--uncertain", "--draws", "1"], "1 is not in the range 2<=x<=10000"),
        (["--uncertain", "--seed", "-1"], "-1 is not in the range x>=0"),
        (["--uncertain", "--seed", "one"], "'one' is not a valid integer"),
    ],
)
def test_options_that_do_not_go(
    small: Path, options: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert small.exists()
    assert main(["tune", "small.toml", *options]) == 2
    assert said in " ".join(capsys.readouterr().err.split())


def test_faults_of_the_table_are_said_with_their_line(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = with_table(
        here, "unsure", '[uncertain]\n"response.on_latency" = "0.3 s"\n"speed.workin" = "1 mph"\n'
    )
    lines = path.read_text("utf-8").splitlines()
    assert main(["tune", "unsure.toml", "--uncertain"]) == 2
    said = capsys.readouterr().err
    for key in ("response.on_latency", "speed.workin"):
        number = next(i for i, line in enumerate(lines, 1) if line.startswith(f'"{key}" ='))
        assert f'unsure.toml:{number}  uncertain."{key}"' in said
    assert "0.45 s then turns negative" in said
    assert "Did you mean speed.working?" in said


def test_an_offset_per_rank_is_refused_before_anything_is_searched(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write(
        here, "ranks", ('reference_offset = "84 in"', 'reference_offset = {front = "84 in", rear = "119 in"}')
    )
    assert main(["tune", "ranks.toml", "--uncertain"]) == 2
    assert "is one per rank: what is uncertain is searched for one offset" in capsys.readouterr().err
    assert not (here / "reports").exists()


def test_with_times_as_well(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Today's times stand in the line of today, searched ones in the others'."""
    with_table(here, "unsure")
    assert main(["tune", "unsure.toml", "--uncertain", "--with-times", "--draws", "20", "--json"]) == 0
    now, typed, average = json.loads(capsys.readouterr().out)["uncertain"]["points"]
    assert (now["turn_on_time_s"], now["turn_off_time_s"]) == (0.4, 0.25)
    assert typed["turn_on_time_s"] == average["turn_on_time_s"] != 0.4
