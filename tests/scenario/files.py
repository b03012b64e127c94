"""A machine and a scenario as people write them, for tests that read files or change one thing."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

from overlapsim import InputError, Scenario

MACHINE = """\
title = "16-row wide / 32-row narrow drawn planter"
hitch = "drawn"
axle_to_pin = "1.1 m"
pin_to_wheels = "3.4 m"

[ranks.front]
rows = 16
spacing = "30 in"
behind_pin = "84 in"
right = "0 in"

[ranks.rear]
rows = 16
spacing = "30 in"
behind_pin = "119 in"
right = "-15 in"

[setups.wide]
ranks = ["front"]

[setups.narrow]
ranks = ["front", "rear"]
hitch_shift = "7.5 in"
"""

SCENARIO = """\
title = "Narrow rows"

[machine]
file = "machines/x.toml"
setup = "narrow"

[speed]
working = "5 mph"

[switching]
reference_offset = "101.5 in"
turn_on_time = "0.40 s"
turn_off_time = "0.25 s"
sections = 16

[response]
on_latency = "0.45 s"
off_latency = "0.30 s"
"""

DATA: dict[str, Any] = {
    "title": "Narrow rows",
    "machine": {
        "hitch": "drawn",
        "axle_to_pin": "1.1 m",
        "ranks": {
            "front": {"rows": 16, "spacing": "30 in", "behind_pin": "84 in", "right": "0 in"},
            "rear": {"rows": 16, "spacing": "30 in", "behind_pin": "119 in", "right": "-15 in"},
        },
        "setups": {
            "wide": {"ranks": ["front"]},
            "narrow": {"ranks": ["front", "rear"], "hitch_shift": "7.5 in"},
        },
        "setup": "narrow",
    },
    "speed": {"working": "5 mph"},
    "switching": {
        "reference_offset": "101.5 in",
        "turn_on_time": "0.40 s",
        "turn_off_time": "0.25 s",
        "sections": 16,
    },
    "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
}


def data(**changes: Any) -> dict[str, Any]:
    """The scenario above with dotted keys (dots as ``__``) set, or taken away by None."""
    made = copy.deepcopy(DATA)
    for key, value in changes.items():
        place = made
        *path, last = key.split("__")
        for name in path:
            place = place.setdefault(name, {})
        if value is None:
            place.pop(last)
        else:
            place[last] = value
    return made


def faults(run: Callable[[], object]) -> list[str]:
    """The lines of the error that a call raises; none where it raises none."""
    try:
        run()
    except InputError as error:
        return str(error).splitlines()
    return []


def said(made: object) -> list[str]:
    """The faults of a scenario that is made of a dictionary."""
    return faults(lambda: Scenario.from_dict(made))  # type: ignore[arg-type]


def write(folder: Path, scenario: str = SCENARIO, machine: str | None = MACHINE) -> Path:
    """Write the two files into a folder, the machine's in a folder below."""
    path = folder / "home.toml"
    path.write_text(scenario, encoding="utf-8")
    if machine is not None:
        (folder / "machines").mkdir(exist_ok=True)
        (folder / "machines" / "x.toml").write_text(machine, encoding="utf-8")
    return path
