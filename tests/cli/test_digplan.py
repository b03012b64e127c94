"""``overlapsim digplan``: what it prints and leaves behind; its sheet, filled in, goes into ``correct``."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import overlapsim
from overlapsim.cli import main

LEFT = {"result.json", "summary.txt", "sheet.csv", "report.html", "manifest.json"}


def test_it_prints_the_plan_and_leaves_the_folder(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["digplan", "small.toml", "--minutes", "10", "--tape-error", "1/2 in"]) == 0
    out, err = capsys.readouterr()
    assert not err
    assert "8 row ends at 1 turn, 5 mph, about 10 minutes" in out
    assert out.splitlines()[-1] == f"RESULTS   {Path('reports', 'small')}"
    folder = small.parent / "reports" / "small"
    assert {path.name for path in folder.iterdir()} == LEFT
    assert out.startswith((folder / "summary.txt").read_text("utf-8"))


def test_json_is_the_file_and_what_python_gets(
    small: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    given = [
        "--offset-within",
        "1.5 in",
        "--time-within",
        "0.05 s",
        "--slowest",
        "2 mph",
        "--fastest",
        "8 mph",
    ]
    assert (
        main(["digplan", "small.toml", "--json", "--scatter", "2 in", *given, "--drift", "--rank-distance"])
        == 0
    )
    out, _ = capsysbinary.readouterr()
    assert out == (small.parent / "reports" / "small" / "result.json").read_bytes()
    told = json.loads(out)
    plan = overlapsim.digplan(
        overlapsim.load_scenario(small), offset_within=0.0381, time_within=0.05, slowest=2 * 0.44704,
        fastest=8 * 0.44704, scatter=0.0508, drift=True, rank_distance=True,
    )  # fmt: skip
    assert told == json.loads(json.dumps(plan.to_dict()))
    assert told["command"] == "digplan"
    assert {"offset_error_m", "on_latency_s", "off_latency_s"} <= set(told["predicted"])
    assert told["not_separable"] == []
    assert {"end", "rank", "row", "direction", "speed_m_per_s", "should_show_m"} <= set(told["digs"][0])


def test_its_sheet_filled_in_goes_into_correct(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["digplan", "small.toml", "--quiet", "--out", "plan"]) == 0
    sheet = small.parent / "plan" / "sheet.csv"
    assert main(["correct", str(sheet), "small.toml"]) == 2
    assert "holds no dig; 24 lines without a distance" in capsys.readouterr().err
    lines = sheet.read_text("utf-8").splitlines()
    first = next(i for i, line in enumerate(lines) if line.startswith("dig,"))
    for i in range(first + 1, len(lines)):
        cells = lines[i].split(",")
        cells[6] = cells[8]
        lines[i] = ",".join(cells)
    (small.parent / "filled.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert main(["correct", "filled.csv", "small.toml", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["recommended"]["turn_on_time_s"] == 0.45
    assert told["recommended"]["turn_off_time_s"] == 0.30


def test_the_same_bytes_each_time(small: Path) -> None:
    runs = []
    for _ in range(2):
        assert main(["digplan", "small.toml", "--quiet", "--units", "metric"]) == 0
        folder = small.parent / "reports" / "small"
        runs.append({name: (folder / name).read_bytes() for name in sorted(LEFT)})
    assert runs[0] == runs[1]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--minutes", "0"], "--minutes"),
        (["--minutes", "soon"], "--minutes"),
        (["--offset-within", "2"], "--offset-within = 2"),
        (["--time-within", "9 s"], "--time-within = 9 s"),
        (["--slowest", "0 mph"], "--slowest = 0 mph"),
        (["--slowest", "7 mph", "--fastest", "3 mph"], "slowest = 7 mph  is not slower than the fastest"),
        (["--slowest", "5 mph", "--fastest", "5 mph"], "fastest, 5 mph. At one speed only a trusted tape"),
        (["--fastest", "2 mph"], "slowest = 3 mph  is not slower than the fastest, 2 mph"),
        (["--scatter", "-1 in"], "--scatter = -1 in"),
    ],
)
def test_bad_options(small: Path, capsys: pytest.CaptureFixture[str], options: list[str], said: str) -> None:
    assert main(["digplan", "small.toml", *options]) == 2
    out, err = capsys.readouterr()
    assert not out
    assert said in err


def test_one_machine_at_a_time(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["digplan", "small.toml", "small.toml"]) == 2
    assert "Name one scenario" in capsys.readouterr().err
