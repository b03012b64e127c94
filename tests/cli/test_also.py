"""``overlapsim tune --also``: other questions in the same report, and what is wrong with them, said first."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import overlapsim
from overlapsim import InputError
from overlapsim.cli import main
from overlapsim.questions.digs import Dig
from tests.cli.small import write

NARROW = 'setups.narrow = {ranks = ["front", "rear"]'
SETUPS = (NARROW, f'setups.wide = {{ranks = ["front"]}}\n{NARROW}')
SHEET = """end,rank,row,direction,speed (mph),past line (in),from
on,front,1,out,3,2,line
on,rear,1,out,6,-25,line
off,front,2,out,3,-2,line
off,rear,2,back,6,-40,line
"""
HEAD = {
    "command", "schema", "title", "overlapsim", "inputs", "inputs_sha256", "field_sha256", "versions",
}  # fmt: skip


@pytest.fixture
def both(here: Path) -> Path:
    """A small scenario with two row setups, ``both.toml``, and digs behind its machine, ``digs.csv``."""
    (here / "digs.csv").write_text(SHEET, encoding="utf-8")
    return write(here, "both", SETUPS)


def test_one_report_holds_all_that_was_asked(both: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["--also", "changeover, causes", "--also", "digplan", "--digs", "digs.csv"]
    assert main(["tune", "both.toml", *asked]) == 0
    out = capsys.readouterr().out
    folder = both.parent / "reports" / "both"
    left = {path.name for path in folder.iterdir()}
    assert {"causes.png", "forgotten.png", "digs.png", "sheet.csv", "sweep.csv", "grower.html"} <= left
    told = json.loads((folder / "result.json").read_text("utf-8"))
    assert list(told["also"]) == ["causes", "changeover", "correct", "digplan"]
    # Each is what its own command leaves, less the head that the search has told.
    narrow, wide = (overlapsim.load_scenario(both, setup=name) for name in ("narrow", "wide"))
    alone = {
        "causes": overlapsim.causes(narrow),
        "changeover": overlapsim.changeover(wide, narrow),
        "correct": overlapsim.correct(narrow, overlapsim.load_digs("digs.csv", narrow)),
        "digplan": overlapsim.digplan(narrow),
    }
    for kind, answer in alone.items():
        own = json.loads(json.dumps({k: v for k, v in answer.to_dict().items() if k not in HEAD}))
        assert told["also"][kind] == ([own] if kind == "changeover" else own)
    for label in ("CAUSES ", "FORGOTTEN ", "DIGS ", "DIG PLAN "):
        assert sum(line.startswith(label) for line in out.splitlines()) >= 1, label
    page = (folder / "report.html").read_bytes()
    assert main(["tune", "both.toml", *asked, "--quiet"]) == 0
    assert (folder / "report.html").read_bytes() == page


def test_without_it_nothing_else_is_reckoned(both: Path) -> None:
    assert main(["tune", "both.toml", "--quiet"]) == 0
    assert "also" not in json.loads((both.parent / "reports/both/result.json").read_text("utf-8"))
    assert not (both.parent / "reports/both/causes.png").exists()


def test_patterns_go_on_all_processes_and_leave_nothing_behind(both: Path) -> None:
    assert main(["tune", "both.toml", "--also", "patterns", "--workers", "1", "--quiet"]) == 0
    folder = both.parent / "reports"
    assert [path.name for path in folder.iterdir()] == ["both"]
    assert {"patterns.csv", "maps.png"} <= {path.name for path in (folder / "both").iterdir()}
    ways = json.loads((folder / "both" / "result.json").read_text("utf-8"))["also"]["patterns"]["patterns"]
    assert ways[0]["key"] == "now"


def test_all_faults_are_said_before_the_search(
    small: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(overlapsim, "tune", lambda *_, **__: pytest.fail("the search has started"))
    (small.parent / "bad.csv").write_text(SHEET.replace("on,front", "on,middle"), encoding="utf-8")
    assert main(["tune", "small.toml", "--also", "causes,changeover", "--digs", "bad.csv"]) == 2
    err = capsys.readouterr().err
    rule = "this machine has one row setup: there is nothing to change over from."
    assert f"small.toml  --also changeover  {rule}" in err
    assert "bad.csv:2  rank = middle  no such rank" in err
    assert "Traceback" not in err
    assert not (small.parent / "reports").exists()


def test_another_row_setup_s_faults_are_said_with_their_line(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write(here, "both", SETUPS)
    text = path.read_text("utf-8") + '[switching.wide]\nturn_on_time = "45 s"\n'
    path.write_text(text, encoding="utf-8")
    assert main(["tune", "both.toml", "--also", "changeover"]) == 2
    line = text[: text.index('turn_on_time = "45')].count("\n") + 1
    assert f"both.toml:{line}  switching.wide.turn_on_time" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["--also", "causes,digs"], "--also digs: no such question. There are: causes, patterns, changeover"),
        (["--also", "digs"], "Digs come with --digs SHEET.csv."),
        (["--workers", "2"], "--workers goes with --uncertain or --also patterns."),
        (["other.toml", "--digs", "digs.csv"], "--digs goes with one scenario"),
        (["--card", "--digs", "digs.csv"], "overlapsim correct DIGS.csv SCENARIO --card leaves theirs."),
    ],
)
def test_what_does_not_go_together_gets_words(
    both: Path, typed: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tune", "both.toml", *typed]) == 2
    assert said in " ".join(capsys.readouterr().err.split())


def test_answers_for_another_scenario_are_refused(both: Path) -> None:
    narrow, wide = (overlapsim.load_scenario(both, setup=name) for name in ("narrow", "wide"))
    tuned = overlapsim.tune(narrow)
    other = narrow.with_({"speed.working": "6 mph"})
    digs = [Dig("on", "front", "out", v, 0.1) for v in (1.0, 2.0)]
    with pytest.raises(InputError) as caught:
        overlapsim.together(
            tuned, overlapsim.digplan(other), overlapsim.changeover(narrow, wide),
            overlapsim.correct(narrow, digs), overlapsim.correct(narrow, digs),
        )  # fmt: skip
    assert [(fault.value, fault.rule) for fault in caught.value.faults] == [
        ("digplan", "is an answer for another scenario"),
        ("changeover", "is an answer for another scenario"),
        ("correct", "stands there twice"),
    ]


def test_digs_that_agree_say_so(both: Path) -> None:
    """Digs reckoned from the scenario's own latencies and offset, times on their steps: the same is said."""
    from overlapsim.report.also_words import digs_words
    from overlapsim.report.words import Words

    scenario = overlapsim.load_scenario(both).with_(
        {"switching.turn_on_time": "0.45 s", "switching.turn_off_time": "0.30 s"}
    )
    plan = overlapsim.digplan(scenario)
    digs = [
        Dig(dig.end, dig.rank, dig.direction, dig.speed, shown, row=dig.row, origin=dig.origin)
        for dig, shown in zip(plan.digs, plan.should_show, strict=True)
    ]
    done = overlapsim.together(overlapsim.tune(scenario), overlapsim.correct(scenario, digs))
    assert digs_words(done, Words("us")) == [f"The {len(digs)} digs say the same."]
