"""Typed sessions of ``overlapsim new``, and the same answers as options."""

from __future__ import annotations

import io
from collections.abc import Sequence

import pytest

from overlapsim.cli import main

#: A session on the machine that the README shows, every question answered, in the order asked.
SESSION = {
    "units": "us", "rows": "16", "rear-rows": "16", "spacing": "30", "extra-row": "left", "setup": "narrow",
    "front": '84"', "rear": "9 ft 11 in", "distances": "taped", "hitch": "drawn", "hitch-shift": "7 1/2 in",
    "speed": "5", "sections": "16", "entered": "84", "on-time": "0,40", "off-time": "250 ms",
    "on-latency": "0.45", "off-latency": ".3", "latencies": "dug", "field": "", "heading": "0", "laps": "0",
    "customer": "Example farm", "title": "North, narrow rows",
}  # fmt: skip


def type_in(monkeypatch: pytest.MonkeyPatch, lines: Sequence[str], name: str = "home") -> int:
    """Type lines at the prompts, then end the input; give the exit status."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    return main(["new", name])


def as_options(answers: dict[str, str]) -> list[str]:
    """Write answers as options."""
    return [f"--{key}={text}" for key, text in answers.items() if text]


def files_of(name: str) -> tuple[bytes, bytes]:
    """Read a pair of files in the current folder."""
    from pathlib import Path

    return Path(f"{name}.toml").read_bytes(), Path("machines", f"{name}.toml").read_bytes()
