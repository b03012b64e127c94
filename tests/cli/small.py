"""A scenario that takes no time, as text."""

from __future__ import annotations

from pathlib import Path

SMALL = """
title = "Small field, {name}"
[machine]
setup = "narrow"
ranks.front = {{rows = 4, spacing = "30 in", behind_pin = "84 in"}}
ranks.rear = {{rows = 4, spacing = "30 in", behind_pin = "119 in", right = "-15 in"}}
setups.narrow = {{ranks = ["front", "rear"], hitch_shift = "7.5 in"}}
[field]
rectangle = ["30 m", "40 m"]
[speed]
working = "5 mph"
[switching]
reference_offset = "84 in"
turn_on_time = "0.40 s"
turn_off_time = "0.25 s"
[response]
on_latency = "0.45 s"
off_latency = "0.30 s"
"""


def write(folder: Path, name: str, change: tuple[str, str] = ("", "")) -> Path:
    """Write a small scenario; `change` replaces one text in it by another."""
    text = SMALL.format(name=name)
    assert change[0] in text
    path = folder / f"{name}.toml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text.replace(*change) if change[0] else text, encoding="utf-8")
    return path
