"""Scenarios by hand for the checks: small dictionaries with text quantities, merged key by key.

Nothing here is computed by the package: lengths and speeds are turned into metres with the two unit
identities below (an inch is 0.0254 m and a mile 1609.344 m by definition).
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

import overlapsim
from overlapsim import Scenario

INCH = 0.0254
FOOT = 12 * INCH
MPH = 1609.344 / 3600
ACRE = 43560 * FOOT**2

# Sums of a few hundred products of doubles with six leading digits in common (coordinates of some hundred
# metres, errors of some tenths): a dozen roundings at 1e-16 of a coordinate, on errors 1e-3 of it.
EXACT = 1e-9
# Metres: the same, for one place along a leg of less than 1 km.
EXACT_M = 1e-9


def inches(*values: float) -> str | list[str]:
    """Quantities as text in inches: one, or a list of them."""
    texts = [f"{value!r} in" for value in values]
    return texts[0] if len(texts) == 1 else texts


def metres(value: float) -> str:
    """A length as text in metres, every digit of the double in it."""
    return f"{value:.17f} m"


def merge(base: Mapping[str, Any], more: Mapping[str, Any]) -> dict[str, Any]:
    """`base` with the keys of `more` laid over it, table by table; None takes a key away."""
    result = copy.deepcopy(dict(base))
    for key, value in more.items():
        if value is None:
            result.pop(key, None)
        elif isinstance(value, Mapping) and isinstance(result.get(key), Mapping):
            result[key] = merge(result[key], value)
        else:
            result[key] = copy.deepcopy(value)
    return result


def one_rank(rows: int = 16, spacing: str = "30 in", behind_pin: str = "84 in") -> dict[str, Any]:
    """A machine with one rank."""
    return {
        "title": "one rank",
        "hitch": "drawn",
        "ranks": {"front": {"rows": rows, "spacing": spacing, "behind_pin": behind_pin, "right": "0 in"}},
        "setups": {"wide": {"ranks": ["front"]}},
        "setup": "wide",
    }


def two_ranks(front: int = 16, rear: int = 16, **more: Any) -> dict[str, Any]:
    """Two ranks at 30 in, 84 and 119 in behind the pin, set up narrow; 16 + 16 are re-centred by 7.5 in.

    With equally many rows the extra row stands on the left; with one row fewer the rear rank is centred.
    """
    right, shift = ("-15 in", "7.5 in") if front == rear else ("0 in", "0 in")
    base = {
        "title": f"{front} + {rear} rows",
        "hitch": "drawn",
        "ranks": {
            "front": {"rows": front, "spacing": "30 in", "behind_pin": "84 in", "right": "0 in"},
            "rear": {"rows": rear, "spacing": "30 in", "behind_pin": "119 in", "right": right},
        },
        "setups": {
            "wide": {"ranks": ["front"]},
            "narrow": {"ranks": ["front", "rear"], "hitch_shift": shift},
        },
        "setup": "narrow",
    }
    return merge(base, more)


def square(east: str, north: str, **more: Any) -> dict[str, Any]:
    """A rectangle with square ends for passes driven north."""
    return {"rectangle": [east, north], **more}


def block(west: float, south: float, east: float, north: float) -> list[list[float]]:
    """The corners of an upright rectangle, metres."""
    return [[west, south], [east, south], [east, north], [west, north]]


BASE: dict[str, Any] = {
    "title": "check",
    "plan": {"heading": "0 deg", "headland_laps": 0},
    "speed": {"working": "5 mph"},
    "switching": {"reference_offset": "84 in", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s"},
    "response": {"on_latency": "0.4 s", "off_latency": "0.4 s"},
}


def scenario(machine: Mapping[str, Any], field: Mapping[str, Any] | None, **tables: Any) -> Scenario:
    """A scenario: 5 mph, reference at 84 in, times and latencies all 0.4 s unless `tables` say otherwise."""
    data = merge(BASE, {"machine": machine, **tables})
    if field is not None:
        data["field"] = copy.deepcopy(dict(field))
    return Scenario.from_dict(data)


def areas(machine: Mapping[str, Any], field: Mapping[str, Any] | None, **tables: Any) -> dict[str, float]:
    """The areas of one simulation of `scenario(...)`."""
    return overlapsim.simulate(scenario(machine, field, **tables)).areas


def check(result: Mapping[str, float], scale: float, **expected: float) -> None:
    """Compare keys of an areas object; `scale` is the ground that the roundings are a share of (EXACT)."""
    for key, value in expected.items():
        assert abs(result[key] - value) <= EXACT * scale, f"{key}: {result[key]!r}, by hand {value!r}"
