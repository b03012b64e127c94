"""``overlapsim correct``: sheets and prompts, what is printed and left behind, words for bad sheets."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest

import overlapsim
from overlapsim.cli import main, waiting

LEFT = {"result.json", "report.html", "summary.txt", "digs.png", "manifest.json"}
HEAD = "end,rank,row,direction,speed (mph),past line (in),from\n"


def sheet(folder: Path, speeds: tuple[int, ...] = (3, 7), name: str = "digs.csv") -> Path:
    """Digs behind the small scenario as it is: on latency 0.45 s for 0.40 s, off 0.30 s for 0.25 s, 84 in
    entered.

    Late by 0.05 s at both ends: 3 mph 2.64 in, 7 mph 6.16 in; rear rows 35 in less; half of 6 in of seed
    spacing.
    """
    lines = [
        f"{end},{rank},,{way},{mph},{0.05 * mph * 17.6 - place + half:.4f},line"
        for mph in speeds
        for end, half in (("on", 3), ("off", -3))
        for rank, place in (("front", 0), ("rear", 35))
        for way in ("out", "back")
    ]
    path = folder / name
    path.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_it_prints_what_to_type_in_and_leaves_the_folder(
    small: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # On a slow machine it would be told how far it is.
    monkeypatch.setattr(waiting, "PATIENCE_S", 3600.0)
    sheet(small.parent)
    assert main(["correct", "digs.csv", "small.toml"]) == 0
    out, err = capsys.readouterr()
    assert not err
    assert re.search(
        r"^TYPE IN +reference offset .* turn-on time 0\.45 s,?\s+turn-off time 0\.30 s$", out, re.M
    )
    assert re.search(r"^on latency +0\.45 s .* 0\.40 s$", out, re.M)
    assert "ASSUMED: seed spacing." in out
    assert out.splitlines()[-1] == f"RESULTS   {Path('reports', 'small')}"
    folder = small.parent / "reports" / "small"
    assert {path.name for path in folder.iterdir()} == LEFT
    assert out.startswith((folder / "summary.txt").read_text("utf-8"))


def test_json_is_the_file_and_what_python_gets(
    small: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    sheet(small.parent)
    given = ["--json", "--out", "there", "--seed-spacing", "6 in", "--tape-error", "1/2 in"]
    assert main(["correct", "digs.csv", "small.toml", *given]) == 0
    out, _ = capsysbinary.readouterr()
    assert out == (small.parent / "there" / "result.json").read_bytes()
    told = json.loads(out)
    scenario = overlapsim.load_scenario(small)
    digs = overlapsim.load_digs(small.parent / "digs.csv", scenario)
    done = overlapsim.correct(scenario, digs, seed_spacing=0.1524, tape_error=0.0127)
    assert told == json.loads(json.dumps(done.to_dict()))
    assert told["command"] == "correct"
    assert "seed.spacing" not in told["assumed"]
    assert set(told["estimates"]) == {"offset_error_m", "on_latency_s", "off_latency_s"}
    assert {"value", "standard_error", "low", "high"} == set(told["estimates"]["on_latency_s"])
    assert {"line", "residual_m", "outlier"} <= set(told["digs"][0])
    assert told["digs"][0]["line"] == 2
    assert {"reference_offset_m", "turn_on_time_s", "turn_off_time_s"} == set(told["recommended"])
    # Both lie on the flat stretch between the ranks; what is left to choose is the longest gap: rear rows
    # stop 35 - 4.4 in short now.
    assert told["after"]["combined_m2"] <= told["before"]["combined_m2"] * 1.01
    assert told["before"]["longest_gap_m"] == pytest.approx(30.6 * 0.0254, abs=1e-6)
    assert told["after"]["longest_gap_m"] == pytest.approx(17.5 * 0.0254, abs=1e-6)


def test_the_same_bytes_each_time(small: Path) -> None:
    sheet(small.parent)
    runs = []
    for _ in range(2):
        assert main(["correct", "digs.csv", "small.toml", "--quiet"]) == 0
        folder = small.parent / "reports" / "small"
        runs.append({name: (folder / name).read_bytes() for name in sorted(LEFT)})
    assert runs[0] == runs[1]


def test_files_may_be_named_the_other_way_round(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet(small.parent)
    assert main(["correct", "small.toml", "digs.csv"]) == 0
    assert "TYPE IN" in capsys.readouterr().out


def test_one_speed_is_told_with_what_would_settle_it(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet(small.parent, (5,))
    assert main(["correct", "digs.csv", "small.toml", "--units", "metric"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "on latency not told" in out
    assert "known only together: offset has too much + 8.05 km/h x on latency = " in out
    assert "starts at another speed" in out
    assert "right at 8.05 km/h only" in out


def test_all_that_is_wrong_with_a_sheet_is_said_and_nothing_written(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sheet(small.parent)
    path.write_text(
        path.read_text("utf-8") + "on,front,,out,0,3,line\nof,middle,,out,3,3x,line\n", encoding="utf-8"
    )
    assert main(["correct", "digs.csv", "small.toml"]) == 2
    out, err = capsys.readouterr()
    assert not out
    assert err.splitlines() == [
        "digs.csv:18  speed = 0  nobody plants standing still. Write the speed at which the row"
        " started or stopped.",
        "digs.csv:19  end = of  is none of these. Write on or off.",
        "digs.csv:19  rank = middle  no such rank. This machine has: front, rear.",
        "digs.csv:19  past line = 3x  no such unit of length: x. Known: m, cm, mm, km, in, ft, yd, mi.",
    ]
    assert not (small.parent / "reports").exists()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "digs.csv  is empty."),
        (HEAD, "digs.csv  holds no dig."),
        (HEAD + "on,front,,out,5,3,line\n", "digs.csv  holds one dig."),
        (HEAD.replace(",rank", "") + "on,,out,5,3,line\n", "digs.csv:1  rank  this column is missing."),
        (HEAD + "on,front,,out,5,300,line\n" * 2, "nothing to say"),
    ],
)
def test_bad_sheets(small: Path, capsys: pytest.CaptureFixture[str], text: str, said: str) -> None:
    (small.parent / "digs.csv").write_text(text, encoding="utf-8")
    if said == "nothing to say":
        # 25 ft late, starts alone: strange, but a sheet; what cannot be told is said.
        assert main(["correct", "digs.csv", "small.toml"]) == 0
        assert "stops" in capsys.readouterr().out
        return
    assert main(["correct", "digs.csv", "small.toml"]) == 2
    out, err = capsys.readouterr()
    assert not out
    assert err.startswith(said)


def test_digs_that_no_machine_shows(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Everything 6 m early: ranks would stand 8 and 9 m behind the pin; 9 m early: beyond 10 m, no
    machine."""
    path = sheet(small.parent)
    lines = path.read_text("utf-8").splitlines()
    moved = [re.sub(r",([-\d.]+),line", lambda m: f",{float(m[1]) - 340:.4f},line", line) for line in lines]
    path.write_text("\n".join(moved) + "\n", encoding="utf-8")
    assert main(["correct", "digs.csv", "small.toml"]) == 2
    err = capsys.readouterr().err
    assert "the digs show a machine that is none" in err
    assert "Look at units, signs and ends of the sheet." in err


@pytest.mark.parametrize("files", [[], ["a.csv", "b.csv", "small.toml"]])
def test_how_many_files(small: Path, capsys: pytest.CaptureFixture[str], files: list[str]) -> None:
    assert main(["correct", *files]) == 2
    assert "Usage" in capsys.readouterr().err


@pytest.mark.parametrize(
    "option", [["--seed-spacing", "6"], ["--tape-error", "3 m"], ["--seed-spacing", "0 in"]]
)
def test_bad_options(small: Path, capsys: pytest.CaptureFixture[str], option: list[str]) -> None:
    sheet(small.parent)
    assert main(["correct", "digs.csv", "small.toml", *option]) == 2
    assert " = ".join(option) in capsys.readouterr().err


TYPED = [
    "", "", "", "3", "", "5.64",  # a start of the front rank, out, 3 mph, from the line
    "of", "off", "", "", "", "", "-0.36",  # a slip, then a stop at the same speed
    "on", "", "", "seven", "7", "", "9.16",
    "off", "", "", "", "", "3.16",
]  # fmt: skip


@pytest.mark.parametrize(
    "ending", [["", "", "", "", "", ""], []], ids=["an empty distance", "the end of input"]
)
@pytest.mark.parametrize("files", [["-", "small.toml"], ["small.toml"]])
def test_digs_typed_at_prompts(
    small: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, files: list[str],
    ending: list[str],
) -> None:  # fmt: skip
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join([*TYPED, *ending]) + "\n"))
    assert main(["correct", *files, "--json"]) == 0
    out, err = capsys.readouterr()
    told = json.loads(out)
    assert [(dig["end"], round(dig["speed_m_per_s"] / 0.44704)) for dig in told["digs"]] == [
        ("on", 3), ("off", 3), ("on", 7), ("off", 7),
    ]  # fmt: skip
    assert told["estimates"]["on_latency_s"]["value"] == pytest.approx(0.45, abs=1e-6)
    assert told["estimates"]["off_latency_s"]["value"] == pytest.approx(0.30, abs=1e-6)
    assert "end = of  is none of these. Write on or off." in err
    assert "speed = seven" in err
    assert "1 end (on, off) [on]: " in err
    assert "2 speed (mph) [3]: " in err


def test_one_dig_typed_is_too_few(
    small: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(TYPED[:6]) + "\n"))
    assert main(["correct", "small.toml"]) == 2
    assert "one dig" in capsys.readouterr().err


def test_a_notebook_shows_the_picture(small: Path) -> None:
    scenario = overlapsim.load_scenario(small)
    done = overlapsim.correct(scenario, overlapsim.load_digs(sheet(small.parent), scenario))
    assert done._repr_png_().startswith(b"\x89PNG")
