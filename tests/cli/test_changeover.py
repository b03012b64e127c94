"""``overlapsim changeover``: what it prints and leaves behind, and what it says of bad input."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import overlapsim
from overlapsim.cli import main
from tests.cli.small import write

WAYS = ["--from", "wide", "--to", "narrow"]
NARROW = 'setups.narrow = {ranks = ["front", "rear"]'
SETUPS = (NARROW, f'setups.wide = {{ranks = ["front"]}}\n{NARROW}')


@pytest.fixture
def both(here: Path) -> Path:
    """A small scenario with two row setups, ``both.toml``."""
    return write(here, "both", SETUPS)


def test_it_prints_what_changes_what_it_costs_and_the_steps(
    both: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["changeover", "both.toml", *WAYS]) == 0
    out, _ = capsys.readouterr()
    folder = both.parent / "reports" / "both"
    left = {path.name for path in folder.iterdir()}
    assert left == {
        "result.json", "summary.txt", "report.html", "card.pdf", "forgotten.png", "manifest.json",
    }  # fmt: skip
    assert out.startswith((folder / "summary.txt").read_text("utf-8"))
    assert re.search(r"^reference offset +79.5 in +97 in$", out, re.MULTILINE)
    assert re.search(r"^rows that work +4 +8$", out, re.MULTILINE)
    assert re.search(r"^rear rank left up +[\d,]+ ", out, re.MULTILINE)
    assert "FORGOTTEN ON THE WAY TO NARROW" in out
    assert "FORGOTTEN ON THE WAY TO WIDE" not in out
    text = " ".join(out.split())
    for words in (
        "STEPS TO NARROW", "STEPS BACK TO WIDE", "operator's manual, local rules and licensed practice",
        "Springs under load", "Treated seed", "common practice",
    ):  # fmt: skip
        assert words in text


def test_back_prices_the_other_way_too(both: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["changeover", "both.toml", *WAYS, "--back", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["from"], told["to"]) == ("wide", "narrow")
    assert (told["back"]["from"], told["back"]["to"]) == ("narrow", "wide")
    assert {change["kind"] for change in told["changes"]} == {"enter", "machine", "check"}
    for way in (told, told["back"]):
        found = [one["extra"] for one in way["forgotten"]]
        keys = {"skip_m2", "combined_m2", "missing_row_m", "unplanted_row_m"}
        assert all(keys <= set(one) for one in found)
        row = [round(one["unplanted_row_m"], 3) for one in found]
        assert row == sorted(row, reverse=True)


def test_json_is_the_file_and_what_python_gets(
    both: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    assert main(["changeover", "both.toml", *WAYS, "--json", "--out", "there", "--units", "metric"]) == 0
    out, _ = capsysbinary.readouterr()
    assert out == (both.parent / "there" / "result.json").read_bytes()
    old, new = (overlapsim.load_scenario(both, setup=name) for name in ("wide", "narrow"))
    assert json.loads(out) == json.loads(json.dumps(overlapsim.changeover(old, new).to_dict()))
    assert " cm" in (both.parent / "there" / "summary.txt").read_text("utf-8")
    again = (both.parent / "there" / "report.html").read_bytes()
    assert main(["changeover", "both.toml", *WAYS, "--quiet", "--out", "there", "--units", "metric"]) == 0
    assert (both.parent / "there" / "report.html").read_bytes() == again


def test_the_page_holds_both_ways_and_needs_nothing_else(both: Path) -> None:
    assert main(["changeover", "both.toml", *WAYS, "--quiet"]) == 0
    page = (both.parent / "reports" / "both" / "report.html").read_text("utf-8")
    for words in ("To narrow", "Back to wide", "Before the first step", "reference offset", "&#9744;"):
        assert words in page
    assert not re.search(r"https?:|<img|<link", page)


@pytest.mark.parametrize(
    ("ways", "said"),
    [
        (["--from", "wide", "--to", "wide"], 'both.toml  "wide"  leads from a row setup to itself'),
        (["--from", "wid", "--to", "narrow"], 'machine.setup = "wid"  this machine has: wide, narrow.'),
        (["--from", "wide", "--to", "15s"], 'machine.setup = "15s"  this machine has: wide, narrow.'),
        (["--to", "narrow"], "Missing option '--from'"),
    ],
)
def test_bad_ways_get_words(
    both: Path, ways: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["changeover", "both.toml", *ways]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert "Traceback" not in err
    assert not (both.parent / "reports").exists()


def test_a_circle_of_steps_is_said_with_its_line(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(here, "both", SETUPS)
    steps = "".join(
        f'[[machine.changeover]]\ntext = "{a}"\nneeds = ["{b}"]\n' for a, b in (("x", "y"), ("y", "x"))
    )
    text = path.read_text("utf-8") + steps
    path.write_text(text, encoding="utf-8")
    assert main(["changeover", "both.toml", *WAYS]) == 2
    line = text[: text.index("needs = ")].count("\n") + 1
    err = capsys.readouterr().err
    said = 'machine.changeover.1.needs  goes round in a circle: "x" needs "y" needs "x"'
    assert f"both.toml:{line}  {said}" in err


def test_a_scenario_that_names_no_setup_is_read_with_either(here: Path) -> None:
    path = write(here, "both", SETUPS)
    path.write_text(path.read_text("utf-8").replace('setup = "narrow"\n', "", 1), encoding="utf-8")
    assert main(["changeover", "both.toml", *WAYS, "--quiet"]) == 0
