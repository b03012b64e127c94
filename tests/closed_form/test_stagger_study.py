"""The worked study on stagger against a closed form, case by case.

Field 1320 by 2640 ft, passes along its sides, both ends tilted by t: 33 passes of 40 ft tile it, and
every one of them sees the same picture, for a half turn maps the field onto itself. 32 strips of 15 in,
rear and front rank in turn from the left, in sections of n strips that switch where the middle of the
section, at m right of the pass, reaches the edge (switch fraction 1/2). A spot p right of the pass line
is late by

    u(p) = r - a + c + (m - p) tan t

with a the distance of its row behind the pin, c = v (latency - time) at starts and at stops. So a strip
from p0 to p1 loses the integral of |u|, which is (G(u(p0)) - G(u(p1))) / tan t with G(u) = u |u| / 2, or
|u| (p1 - p0) on square ends. Late starts and early stops are skips, the rest lies beyond the boundary.
Stagger is what the best r of all ranks loses (c = 0) more than r = a for each. The sum is convex in r:
its least is found by cutting the range into thirds.

Tolerance: the study asks for 1e-6; 1e-6 of the figure, or 1e-9 of the field for figures near zero.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import overlapsim

ROOT = Path(__file__).resolve().parents[2]
INCH, PASSES, STRIP = 0.0254, 33, 15 * 0.0254
AREA = 1320 * 2640 * (12 * INCH) ** 2
FRONT = 84 * INCH
ON, OFF = 0.45 - 0.40, 0.30 - 0.25


def strips(distance: float, wide: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Left edge, distance behind the pin and middle of the section of each of 32 strips."""
    i = np.arange(32)
    left = (i - 16) * STRIP
    behind = np.where(i % 2 == 0, FRONT + distance, FRONT)
    return left, behind, (i // wide * wide + wide / 2 - 16) * STRIP


def lost(x: np.ndarray, left: np.ndarray, middle: np.ndarray, slope: float) -> tuple[float, float]:
    """Area lost late and early at one edge of one pass, u = x + (m - p) slope."""
    u0, u1 = x + (middle - left) * slope, x + (middle - left - STRIP) * slope

    def one(a: np.ndarray, b: np.ndarray) -> float:
        if slope == 0:
            return float((np.maximum(a, 0) * STRIP).sum())
        return float(((np.maximum(a, 0) ** 2 - np.maximum(b, 0) ** 2) / (2 * slope)).sum())

    return one(u0, u1), one(-u0, -u1) if slope == 0 else float(
        ((np.maximum(-u1, 0) ** 2 - np.maximum(-u0, 0) ** 2) / (2 * slope)).sum()
    )


def by_hand(r: Any, distance: float, wide: int, angle: float, speed: float) -> tuple[float, float]:
    """Skip and off-field of the whole field; speed 0 = times matched."""
    left, behind, middle = strips(distance, wide)
    late_on, early_on = lost(r - behind + speed * ON, left, middle, math.tan(angle))
    late_off, early_off = lost(r - behind + speed * OFF, left, middle, math.tan(angle))
    return PASSES * (late_on + early_off), PASSES * (early_on + late_off)


def least(cost: Callable[[float], float], low: float, high: float) -> float:
    """The least of a convex function."""
    for _ in range(120):
        a, b = low + (high - low) / 3, high - (high - low) / 3
        low, high = (low, b) if cost(a) <= cost(b) else (a, high)
    return cost((low + high) / 2)


def close(ours: float, theirs: float) -> bool:
    return abs(ours - theirs) <= 1e-6 * abs(theirs) + 1e-9 * AREA


def thinned(study: overlapsim.Study, every: dict[str, int]) -> overlapsim.Study:
    factors = tuple(replace(f, values=f.values[:: every.get(f.key, 1)]) for f in study.design.factors)
    return replace(study, design=replace(study.design, factors=factors))


def check(study: overlapsim.Study) -> None:
    table = overlapsim.run_study(study).table
    assert len(table["case"]) == len(study)
    assert not any(table["error"])
    for i in range(len(study)):
        angle, distance = table["field_end_angle_rad"][i], table["machine_ranks_rear_behind_front_m"][i]
        wide, speed = 32 // int(table["switching_sections"][i]), table["speed_working_m_per_s"][i]

        def total(r: float, v: float, given: tuple[Any, ...] = (distance, wide, angle)) -> float:
            return sum(by_hand(r, *given, v))

        skip, off_field = by_hand(FRONT, distance, wide, angle, speed)
        assert close(table["as_set_skip_m2"][i], skip)
        assert close(table["as_set_off_field_m2"][i], off_field)
        assert table["as_set_overlap_m2"][i] <= 1e-9 * AREA
        low, high = FRONT - 1.0, FRONT + distance + 1.0
        best = least(lambda r, v=speed: total(r, v), low, high)  # type: ignore[misc]
        assert close(table["best_combined_m2"][i], best)
        assert close(total(table["best_reference_offset_m"][i], speed), best)
        own = sum(by_hand(strips(distance, wide)[1], distance, wide, angle, 0.0))
        assert close(table["stagger_combined_m2"][i], least(lambda r: total(r, 0.0), low, high) - own)
        assert close(table["as_set_stagger_combined_m2"][i], total(FRONT, 0.0) - own)
        assert abs(table["field_edge_angle_rad"][i] - angle) < 1e-9


def test_by_hand_redoes_the_known_cases() -> None:
    """Square ends, r between the ranks: 16 strips of 15 in times the distance at both ends of 33 passes. A
    slant alone: w² tan t / 4 for each strip and end that is switched at its middle."""
    assert sum(by_hand(FRONT, 0.6, 2, 0.0, 0.0)) == pytest.approx(PASSES * 2 * 16 * STRIP * 0.6)
    own = strips(0.6, 1)[1]
    assert sum(by_hand(own, 0.6, 1, math.radians(30), 0.0)) == pytest.approx(
        PASSES * 2 * 32 * STRIP**2 * math.tan(math.radians(30)) / 4
    )


def test_the_study_on_a_thinned_grid() -> None:
    study = overlapsim.load_study(ROOT / "scenarios" / "studies" / "stagger.toml")
    assert len(study) == 5 * 6 * 5 * 6
    every = {
        "field.end_angle": 2, "machine.ranks.rear.behind_front": 3, "speed.working": 5,
        "switching.sections": 2,
    }  # fmt: skip
    check(thinned(study, every))


@pytest.mark.slow
def test_the_whole_study() -> None:
    check(overlapsim.load_study(ROOT / "scenarios" / "studies" / "stagger.toml"))
