"""The README is true: its commands, its scenario, its links, and the demo's output letter for letter."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import overlapsim
from tests.architecture.readme import ROOT, block, demo_output


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
    # How closely the witness agrees is rounding, and that is the libraries' business.
    rounding = re.compile(r"\d+e-\d+")
    assert rounding.sub("#", demo_output(tmp_path)) == rounding.sub("#", block("output: demo"))
    assert (tmp_path / "reports" / "demo" / "result.json").is_file()
