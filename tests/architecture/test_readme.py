"""The README is true: its commands, its scenario, its links, and the demo's output letter for letter."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

import overlapsim
from overlapsim.files.manifest import MANIFEST, digest_of, names_below, read_manifest
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


def test_the_demo_prints_what_is_shown_and_writes_what_is_kept(tmp_path: Path) -> None:
    # How closely the witness agrees is rounding, and that is the libraries' business.
    rounding = re.compile(r"\d+e-\d+")
    assert rounding.sub("#", demo_output(tmp_path)) == rounding.sub("#", block("output: demo"))
    made, kept = tmp_path / "reports" / "demo", ROOT / "reports" / "demo"
    assert {path.name for path in made.iterdir()} == {path.name for path in kept.iterdir()}
    new, old = (json.loads((one / "result.json").read_text("utf-8")) for one in (made, kept))
    assert new["overlapsim"] == overlapsim.__version__
    for result in (new, old):
        # Other versions of the libraries round otherwise; what is nothing but rounding is left out.
        for key in ("versions", "witness", "ledger_relative_difference"):
            del result[key]
    assert list(flat(new)) == list(flat(old))
    for (key, one), other in zip(flat(new).items(), flat(old).values(), strict=True):
        if isinstance(one, float):
            # Areas to what the account promises of the field, lengths to a micrometre.
            assert one == pytest.approx(
                other, rel=1e-6, abs=1e-6 * new["plantable_m2"] if "_m2" in key else 1e-6
            )
        else:
            assert one == other, key


def test_what_is_kept_is_as_it_was_written() -> None:
    kept = ROOT / "reports" / "demo"
    listed = read_manifest(kept)
    assert listed is not None
    assert listed == {name: digest_of(kept / name) for name in names_below(kept) if name != MANIFEST}


def flat(value: Any, place: str = "") -> dict[str, Any]:
    """Lay a result out: every value by the way that leads to it."""
    if isinstance(value, dict):
        return {k: v for key, part in value.items() for k, v in flat(part, f"{place}.{key}").items()}
    if isinstance(value, list):
        return {k: v for i, part in enumerate(value) for k, v in flat(part, f"{place}.{i}").items()}
    return {place: value}
