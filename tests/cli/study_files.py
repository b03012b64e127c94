"""A study that takes no time, as text, and its results as bytes."""

from __future__ import annotations

from pathlib import Path

from tests.cli.small import write

STUDY = """
title = "Small study"
base = "small.toml"
[factors]
"switching.reference_offset" = {from = "70 in", to = "130 in", step = "10 in"}
"speed.working" = ["3 mph", "5 mph", "8 mph"]
"field.end_angle" = ["0 deg", "20 deg", "-35 deg"]
"switching.sections" = [1, 2, "each-row"]
[sample]
chunk = 1
"""


def write_study(folder: Path, change: tuple[str, str] = ("", ""), name: str = "study") -> Path:
    """Write a study with its base; `change` replaces one text in it by another."""
    write(folder, "small")
    assert change[0] in STUDY
    path = folder / f"{name}.toml"
    path.write_text(STUDY.replace(*change) if change[0] else STUDY, encoding="utf-8")
    return path


def contents(folder: Path) -> dict[str, bytes]:
    """Files of a folder."""
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
