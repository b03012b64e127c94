"""Digs by hand: a machine with known errors, and what a digger finds behind it, seed by seed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from overlapsim import Scenario
from overlapsim.questions.digs import Dig
from tests.helpers import INCH, MPH, merge

TRUE = {"dx": 0.06, "on": 0.46, "off": 0.27}
"""What is wrong with the made-up machine: metres too much, latencies in seconds."""

SPACING = 6 * INCH


def two_ranks(**changes: Any) -> Scenario:
    """The two ranks of the example, 35 in apart, on a small field, 97 in entered."""
    base = {
        "title": "Dug behind",
        "machine": {
            "setup": "narrow",
            "ranks": {
                "front": {"rows": 4, "spacing": "30 in", "behind_pin": "84 in"},
                "rear": {"rows": 4, "spacing": "30 in", "behind_pin": "119 in", "right": "-15 in"},
            },
            "setups": {
                "narrow": {"ranks": ["front", "rear"], "hitch_shift": "7.5 in"},
                "wide": {"ranks": ["front"]},
            },
        },
        "field": {"rectangle": ["30 m", "60 m"]},
        "speed": {"working": "5 mph"},
        "switching": {"reference_offset": "97 in", "turn_on_time": "0.40 s", "turn_off_time": "0.25 s"},
        "response": {"on_latency": "0.40 s", "off_latency": "0.25 s"},
    }
    return Scenario.from_dict(merge(base, changes))


def truth(**changes: Any) -> Scenario:
    """The same machine as it truly is: ranks nearer the pin, latencies its own. Settings as entered."""
    return two_ranks(**changes).with_(
        {
            "machine.ranks.front.behind_pin": 84 * INCH - TRUE["dx"],
            "machine.ranks.rear.behind_pin": 119 * INCH - TRUE["dx"],
            "response.on_latency": TRUE["on"],
            "response.off_latency": TRUE["off"],
        }
    )


@dataclass(frozen=True)
class Entered:
    """What is typed in: reference offset in metres, times in seconds."""

    offset: float = 97 * INCH
    on: float = 0.40
    off: float = 0.25


def flow_ends(dig: Dig, entered: Entered = Entered()) -> float:
    """Where seed begins or ceases to flow beyond the line behind the made-up machine, from first principles.

    The controller believes that seed lands on the reference line: it commands when that line is so many
    seconds short of the edge; the machine answers after its latency; seed lands at the row.
    """
    true_place = {"front": 84 * INCH, "rear": 119 * INCH}[dig.rank] - TRUE["dx"]
    ahead, answer = {"on": (entered.on, TRUE["on"]), "off": (entered.off, TRUE["off"])}[dig.end]
    # The line is at 0 when the pin is `offset` past the edge.
    pin_at_command = entered.offset - dig.speed * ahead
    return pin_at_command + dig.speed * answer - true_place


def seed_found(
    dig: Dig,
    chance: np.random.Generator,
    spacing: float = SPACING,
    entered: Entered = Entered(),
) -> float:
    """The first seed after the flow begins, or the last before it ends; seeds lie anywhere in a spacing."""
    phase = chance.uniform(0.0, spacing)
    return flow_ends(dig, entered) + (phase if dig.end == "on" else -phase)


def plan_of(speeds: Iterable[float], times: int = 1) -> list[Dig]:
    """Starts and stops of both ranks, out and back, at speeds in mph."""
    return [
        Dig(end, rank, way, mph * MPH, 0.0, line=2)
        for mph in speeds
        for end in ("on", "off")
        for rank in ("front", "rear")
        for way in ("out", "back")
        for _ in range(times)
    ]


def dug(
    plan: list[Dig],
    seed: int,
    reading: float = INCH / 4,
    entered: Entered = Entered(),
) -> list[Dig]:
    """The plan with what was found: a seed by chance, a tape read by chance."""
    chance = np.random.default_rng(seed)
    return [
        replace(d, past=seed_found(d, chance, entered=entered) + chance.normal(0.0, reading), line=i)
        for i, d in enumerate(plan, 2)
    ]
