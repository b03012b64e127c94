"""The README is true: its commands, its scenario, its links, and the demo's output letter for letter."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import overlapsim

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(mark: str) -> str:
    """Give the text of the fenced block after a mark."""
    match = re.search(rf"<!-- {re.escape(mark)} -->\n```\w*\n(.*?)\n```", README, re.DOTALL)
    assert match, mark
    return match[1]


def test_commands_are_one_line_each() -> None:
    for mark in ("command: demo", "command: tests"):
        assert "\n" not in block(mark)
    assert block("command: demo").endswith("overlapsim tune scenarios/demo.toml")
    assert block("command: tests").endswith("python -m pytest")


def test_links_and_pictures_exist() -> None:
    for papers in ("README.md", "DEVELOPERS.md"):
        for target in re.findall(r"\]\(([^)#:]+)\)", (ROOT / papers).read_text(encoding="utf-8")):
            assert (ROOT / target).exists(), f"{papers}: {target}"


def test_the_first_scenario_runs() -> None:
    scenario = overlapsim.Scenario.from_dict(tomllib.loads(block("scenario: first")))
    assert scenario.title == "North field, narrow rows"
    assert not scenario.assumed
    assert overlapsim.simulate(scenario).areas["combined_m2"] > 0


def test_the_demo_prints_what_is_shown(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "scenarios", tmp_path / "scenarios")
    done = subprocess.run(
        [sys.executable, "-c", "from overlapsim.cli import main; main()", "tune", "scenarios/demo.toml"],
        cwd=tmp_path, capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip().splitlines() == block("output: demo").strip().splitlines()
    assert (tmp_path / "reports" / "demo" / "result.json").is_file()
