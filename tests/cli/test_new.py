"""``overlapsim new``: questions, back, quit and on again, options, what is odd, and the demo."""

from __future__ import annotations

import json
import os
import re
import shutil
import tomllib
from pathlib import Path

import pytest

import overlapsim
from overlapsim.cli import main
from overlapsim.files.demo import DEMO_FILES, demo_bytes
from tests.cli.new_helpers import SESSION, as_options, files_of, type_in

ROOT = Path(__file__).resolve().parents[2]
LINES = list(SESSION.values())
AT = {key: number for number, key in enumerate(SESSION)}


def test_a_session_ends_with_files_that_run_with_the_numbers_typed(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ranks 84 in and 9 ft 11 in = 119 in behind the pin, late by 0.05 s at both ends at 5 mph = 88 in/s:
    midway less 4.4 in is 97.1 in, on the half inches of the controller 97 in.
    """
    assert type_in(monkeypatch, LINES) == 0
    out, err = capsys.readouterr()
    first, last = re.findall(r"^TYPE IN +reference offset (\S+) in behind the hitch pin", out, re.M)
    assert (first, last) == ("101.5", "97")  # times are not known yet at the first
    assert "Written: home.toml and machines" in err
    assert err.index("TAPING: machine stopped, engine off") < err.index("the hitch pin does the front rank")
    assert sorted(path.name for path in here.iterdir()) == [
        "home.toml",
        "machine.schema.json",
        "machines",
        "scenario.schema.json",
    ]
    scenario = overlapsim.load_scenario("home.toml")
    front, rear = (scenario.machine.ranks[name] for name in ("front", "rear"))
    assert (front.rows, rear.rows, front.spacing, rear.right) == (16, 16, 0.762, -0.381)
    assert (front.behind_pin, rear.behind_pin) == (2.1336, 3.0226)
    assert scenario.machine.setups["narrow"].hitch_shift == 0.1905
    assert (scenario.switching.turn_on_time, scenario.switching.turn_off_time) == (0.4, 0.25)
    assert scenario.switching.sections == 16
    assert scenario.switching.reference_offset == 2.1336
    assert scenario.basis == {
        "machine.ranks.front.behind_pin": "taped", "machine.ranks.rear.behind_pin": "taped",
        "response.on_latency": "dug", "response.off_latency": "dug",
    }  # fmt: skip
    assert not scenario.assumed
    assert main(["tune", "home.toml", "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["recommended"]["as_typed"] == "97.0 in"
    assert result["title"] == "North, narrow rows"


def test_what_nobody_says_is_marked_as_assumed(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "home", "--front", "84", "--rear", "119"]) == 0
    assert main(["simulate", "home.toml"]) == 0
    assert "Taped: front rank, rear rank. ASSUMED: front rank rows, rear rank rows" in " ".join(
        capsys.readouterr().out.split()
    )
    scenario = overlapsim.load_scenario("home.toml")
    assert {
        "machine.ranks.front.rows",
        "speed.working",
        "switching.turn_on_time",
        "response.on_latency",
    } <= set(scenario.assumed)
    assert not [key for key in scenario.assumed if "behind_pin" in key]
    assert scenario.units == "us"


def test_options_make_the_same_bytes_as_questions(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert type_in(monkeypatch, LINES) == 0
    assert main(["new", "other", *as_options(SESSION)]) == 0
    scenario, machine = files_of("other")
    assert (scenario.replace(b"machines/other", b"machines/home"), machine) == files_of("home")


@pytest.mark.parametrize("key", SESSION)
def test_quitting_at_any_question_and_going_on_loses_nothing(
    key: str, here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("overlapsim.cli.first_answer.tell", lambda answers, first: None)
    assert type_in(monkeypatch, [*LINES[: AT[key]], "Q"]) == 0
    assert Path("home.draft").exists() == (key != "units")
    assert type_in(monkeypatch, LINES[AT[key] :]) == 0
    assert not Path("home.draft").exists()
    assert type_in(monkeypatch, LINES, "whole") == 0
    scenario, machine = files_of("whole")
    assert (scenario.replace(b"machines/whole", b"machines/home"), machine) == files_of("home")


@pytest.mark.parametrize("key", [key for key in SESSION if key != "units"])
def test_going_back_keeps_what_was_typed_and_takes_what_is_typed_now(
    key: str, here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("overlapsim.cli.first_answer.tell", lambda answers, first: None)
    # Back by one, Enter keeps the answer; back once more and another text, then as it was.
    at = AT[key]
    assert type_in(monkeypatch, [*LINES[:at], "<", "", *LINES[at:]]) == 0
    assert type_in(monkeypatch, LINES, "whole") == 0
    scenario, machine = files_of("whole")
    assert (scenario.replace(b"machines/whole", b"machines/home"), machine) == files_of("home")


def test_back_at_the_first_question_after_a_resumption_and_out_again(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("overlapsim.cli.first_answer.tell", lambda answers, first: None)
    assert type_in(monkeypatch, ["<", *LINES[: AT["speed"]], "q"]) == 0
    assert "That is the first question." in capsys.readouterr().err
    # Back over the question that is not asked of a centred machine; the answer is taken out and typed anew.
    assert type_in(monkeypatch, ["<", "-", "7.5", *LINES[AT["speed"] :]]) == 0
    assert overlapsim.load_scenario("home.toml").machine.setups["narrow"].hitch_shift == 0.1905


def test_an_earlier_answer_that_breaks_a_later_one_is_found_on_the_way(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("overlapsim.cli.first_answer.tell", lambda answers, first: None)
    asked = [key for key in SESSION if key != "lateral-offset"]
    back = ["<"] * (asked.index("entered") - asked.index("rows"))
    between = [""] * (asked.index("sections") - asked.index("spacing"))
    # 12 + 12 rows: 16 in the rear rank do not go between them, and 16 sections do not divide 24 rows.
    lines = [*LINES[: AT["entered"]], *back, "12", "", "12", *between, "", "8", *LINES[AT["entered"] :]]
    assert type_in(monkeypatch, lines) == 0
    err = capsys.readouterr().err
    assert "  16  does not go between 12 rows in front. Write 11, 12 or 13;" in err
    assert "  16  does not divide the 24 rows of row setup narrow. Write a list, as in [" in err
    assert overlapsim.load_scenario("home.toml").switching.sections == 8


def test_what_is_odd_is_asked_again_and_enter_keeps_it(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("overlapsim.cli.first_answer.tell", lambda answers, first: None)
    odd = {**SESSION, "speed": "15", "hitch-shift": "-7.5"}
    lines = []
    for key, text in odd.items():
        # Minus instead of plus leaves the rows 15 in off the pin, so the lateral offset is asked for as well.
        lines += {
            "speed": [text, "5"], "rear": ["84", "35", "119"], "hitch-shift": [text, "", "-15"],
        }.get(key, [text])  # fmt: skip
    assert type_in(monkeypatch, lines) == 0
    err = capsys.readouterr().err
    assert "15 mph is unusual for planting. Enter keeps it." in err
    assert (
        "away from the extra row's side: 7.5 in would centre the rows. The other way? Enter keeps it." in err
    )
    assert (
        "35  not behind ranks.front at 84 in. Swapped? Or taped from the front rank? Then it is 119 in."
        in err
    )
    scenario = overlapsim.load_scenario("home.toml")
    assert scenario.speed.working == 5 * 0.44704
    assert scenario.machine.setups["narrow"].hitch_shift == -0.1905
    assert scenario.switching.lateral_offset == -0.381


def test_a_tape_in_centimetres_and_a_field_of_many(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copy(ROOT / "scenarios" / "fields" / "two-fields.geojson", "mine.geojson")
    lines = [
        "metric", "8", "7", "75", "", "160", "2,25 m", "", "mounted", "", "8", "", "", "", "", "", "",
        "theirs.geojson", "mine.geojson", "", "Creek", "Creek corner", "", "0", "", "",
    ]  # fmt: skip
    assert type_in(monkeypatch, lines) == 0
    out, err = capsys.readouterr()
    assert "Did you mean mine.geojson?" in err
    assert err.count("Creek corner") >= 2  # the names are listed where none, or a wrong one, is chosen
    assert re.findall(r"^TYPE IN +reference offset (\S+ \S+) behind", out, re.M)[0].endswith(" cm")
    scenario = overlapsim.load_scenario("home.toml")
    assert (scenario.units, scenario.machine.ranks["rear"].behind_pin) == ("metric", 2.25)
    assert scenario.machine.ranks["rear"].right == 0
    assert scenario.field.name == "Creek corner"
    assert scenario.machine.hitch == "mounted"


def test_the_end_of_input_and_ctrl_c_keep_the_draft(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert type_in(monkeypatch, LINES[:4]) == 2
    draft = Path("home.draft").read_bytes()
    assert "All answers are kept in home.draft." in capsys.readouterr().err

    class Interrupted:
        def readline(self) -> str:
            raise KeyboardInterrupt

    monkeypatch.setattr("sys.stdin", Interrupted())
    assert main(["new", "home"]) == 130
    assert "All answers are kept in home.draft." in capsys.readouterr().err
    assert Path("home.draft").read_bytes() == draft
    assert sorted(os.listdir()) == ["home.draft"]


def test_a_draft_that_is_none_is_refused_and_kept(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for text in ("", "[]", '{"overlapsim draft": {"answers": {"shoe": "9"}, "next": ""}}'):
        Path("home.draft").write_text(text)
        assert main(["new", "home"]) == 2
        assert "home.draft  is no draft that can be read. Move it away" in capsys.readouterr().err
        assert Path("home.draft").read_text() == text


def test_nothing_is_overwritten(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("machines").mkdir()
    Path("machines", "home.toml").write_text("mine")
    assert type_in(monkeypatch, LINES) == 2  # said before anything is asked
    assert main(["new", "home", *as_options(SESSION)]) == 2
    said = f"{Path('machines', 'home.toml')}  is there already, and is kept."
    assert capsys.readouterr().err.count(said) == 2
    assert Path("machines", "home.toml").read_text() == "mine"
    assert not Path("home.toml").exists()
    assert main(["new", "home", *as_options(SESSION), "--out", "there"]) == 0
    assert Path("there", "home.toml").exists()


def test_options_print_what_to_type_in(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Midway between 84 in and 119 in, as at the end of the questions."""
    assert main(["new", "home", "--rows", "16", "--front", '84"', "--rear", "119"]) == 0
    out, err = capsys.readouterr()
    assert re.findall(r"^TYPE IN +reference offset (\S+) in", out, re.M) == ["101.5"]
    assert "Written: home.toml" in err


def test_options_say_all_faults_at_once(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = ["--rows=0", "--front=119", "--rear=84", "--speed=60 mph", "--field=no.zip", "--on-time=45"]
    assert main(["new", "home", *given]) == 2
    err = capsys.readouterr().err.splitlines()
    assert [line.split("  ")[1].split(" = ")[0] for line in err] == [
        "--rows", "--rear", "--speed", "--on-time", "--field",
    ]  # fmt: skip
    assert not os.listdir()


def test_the_demo_is_the_gallerys_and_runs_anywhere(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "--demo", "demo"]) == 0
    assert f"overlapsim tune {Path('demo', 'demo.toml')}" in capsys.readouterr().err
    for name in DEMO_FILES:
        assert Path("demo", name).read_bytes() == (ROOT / "scenarios" / name).read_bytes()
    assert main(["new", "--demo", "demo"]) == 0  # the same is there already
    assert main(["simulate", str(Path("demo", "demo.toml")), "--quiet"]) == 0
    assert overlapsim.load_digs(Path("demo", "demo-digs.csv"), overlapsim.load_scenario("demo/demo.toml"))
    Path("demo", "demo.toml").write_text("mine")
    shutil.rmtree(Path("demo", "fields"))
    assert main(["new", "--demo", "demo"]) == 2
    assert not Path("demo", "fields").exists()
    assert Path("demo", "demo.toml").read_text() == "mine"


def test_a_wheel_takes_the_demo_along() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    taken = project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert taken == {f"scenarios/{name}": f"overlapsim/demo/{name}" for name in DEMO_FILES}
    assert set(demo_bytes()) == set(DEMO_FILES)
    # All that the demo's scenario names is among them.
    demo = tomllib.loads(demo_bytes()["demo.toml"].decode())
    assert {demo["machine"]["file"], demo["field"]["file"]} <= set(DEMO_FILES)


def test_ways_do_not_go_together(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "--demo", "--rows", "16"]) == 2
    assert "--demo and --rows do not go together." in capsys.readouterr().err
