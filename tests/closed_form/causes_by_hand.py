"""What the checks of causes share: cases, and the comparison of every line with sums made by hand.

3 passes of 40 ft on 120 x 400 ft at 5 mph = 88 in/s unless a test says otherwise. On square ends a row end
costs its strip's width times its error, so figures are given as inches: multiples of S, the strip width of
all row ends, 3 x 2 x 40 ft.
"""

from __future__ import annotations

from typing import Any

import pytest

import overlapsim
from overlapsim.questions.breakdown import KEYS
from tests.helpers import EXACT, FOOT, INCH, scenario, square

FIELD = square("120 ft", "400 ft")
GROUND = 120 * FOOT * 400 * FOOT
ENDS = 3 * 2 * 40 * FOOT
# A searched offset may lie anywhere in the stretch that is equal to the least within 1e-6 of it.
EQUAL = 1e-6


def causes(machine: dict[str, Any], field: dict[str, Any] = FIELD, **tables: Any) -> Any:
    return overlapsim.causes(scenario(machine, field, **tables))


def settings(offset: Any, on: float = 0.4, off: float = 0.4, **more: Any) -> dict[str, Any]:
    return {"reference_offset": offset, "turn_on_time": f"{on} s", "turn_off_time": f"{off} s", **more}


def check(done: Any, unit: float = ENDS * INCH, **expected: float) -> None:
    """Compare every line's combined error, in units of S x 1 in; lines that are not named are 0."""
    assert tuple(done.lines) == KEYS
    for key, line in done.lines.items():
        wanted = expected.get(key, 0.0) * unit
        near = EXACT * GROUND + EQUAL * sum(abs(value) for value in expected.values()) * unit
        assert line["combined_m2"] == pytest.approx(wanted, abs=near), key
    assert sum(line["combined_m2"] for line in done.lines.values()) == pytest.approx(
        overlapsim.simulate(done.scenario).areas["combined_m2"], abs=EXACT * GROUND
    )
