"""What the README of the worked studies says of the textbook field, sentences 1 to 6, from closed forms.

Every number in them is held, in the order in which it is printed and to the digits that are printed; a number
that nobody derives here makes the test fail. The closed forms and what they are called stand in
`test_stagger_study.py`, which also runs the study against them; sentences 7 to 10 are about open fields and
are held by `tests/published/test_worked_studies.py`.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import overlapsim
from tests.closed_form.test_stagger_study import (
    AREA,
    FRONT,
    INCH,
    OFF,
    ON,
    PASSES,
    ROOT,
    STRIP,
    by_hand,
    close,
    least,
    strips,
)

FOLDER = ROOT / "scenarios" / "studies"
ACRE, MPH = 4046.8564224, 0.44704
WIDE = (1, 2, 4, 8, 16)
NUMBER = re.compile(r"\d+(?:,\d{3})*(?:\.\d+)?(?:e-?\d+)?")


def printed(sentence: int) -> list[str]:
    """All numbers of a sentence; names of files are none."""
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    found = re.search(rf"^{sentence}\. (.+)$", text, re.MULTILINE)
    assert found
    return NUMBER.findall(re.sub(r"`[^`]*`", "", found[1]))


def study() -> overlapsim.Study:
    return overlapsim.load_study(FOLDER / "stagger.toml")


def left_at_best(distance: float, wide: int, angle: float, speed: float = 0.0) -> float:
    """What the best offset leaves, share of the field; speed 0 = times matched."""
    low, high = FRONT - 1.0, FRONT + distance + 1.0
    return least(lambda r: sum(by_hand(r, distance, wide, angle, speed)), low, high) / AREA


@cache
def stagger(distance: float, wide: int, angle: float) -> float:
    """What one offset for both ranks adds at best, share of the field; less than 0 = saves."""
    own = sum(by_hand(strips(distance, wide)[1], distance, wide, angle, 0.0)) / AREA  # type: ignore[arg-type]
    return left_at_best(distance, wide, angle) - own


def test_sentence_1_square_ends() -> None:
    """Between the ranks one rank's 16 strips are late and the other's early, together by D, at both ends of
    33 passes: 33 · 2 · 16 · 15 in · D, in whatever sections, for each rank is as wrong in all of them."""
    distances = (0.3, 0.9, 1.8)
    costs = [PASSES * 2 * 16 * STRIP * d / AREA for d in distances]
    for d, cost in zip(distances, costs, strict=True):
        assert [stagger(d, wide, 0.0) for wide in WIDE] == pytest.approx([cost] * 5, rel=1e-9)
    shares, acres = [f"{100 * cost:.4f}" for cost in costs], f"{AREA / ACRE:.0f}"
    assert printed(1) == [*shares, acres, *map(str, distances), str(len(study())), "1e-6"]
    # That much and no more is what the study is held to.
    assert not close(AREA * (1 + 1.1e-6), AREA * 1.0)


def test_sentence_2_slants() -> None:
    costs = [stagger(0.9, wide, math.radians(30)) for wide in (1, 4, 16)]
    assert printed(2) == ["0.9", "30", *(f"{100 * cost:.4f}" for cost in costs)]
    assert sorted(costs, reverse=True) == costs


def test_sentence_3_wide_sections() -> None:
    left = [left_at_best(0.9, wide, math.radians(60)) for wide in (1, 16)]
    assert printed(3) == ["60", "0.9", *(f"{100 * one:.4f}" for one in left)]
    # More than stagger ever cost: on square ends.
    assert left[1] - left_at_best(0.9, 1, math.radians(60)) > stagger(1.8, 1, 0.0)


def test_sentence_4_two_rows_either_way() -> None:
    """Where ends fall away on the other side they are tilted the other way; and a run finds of both what is
    said."""
    one, other = (stagger(0.9, 2, sign * math.radians(60)) for sign in (1, -1))
    costs, saves = max(one, other), -min(one, other)
    assert printed(4) == ["0.9", "60", f"{100 * costs:.3f}", f"{100 * saves:.3f}"]
    table = overlapsim.run_study(reduced([-math.pi / 3, math.pi / 3], [16], [3 * MPH])).table
    assert close(table["stagger_combined_m2"][0], other * AREA)
    assert close(table["stagger_combined_m2"][1], one * AREA)


def test_sentence_5_shares_of_the_variance() -> None:
    """Over the full grid, all combinations of equal weight: alone = variance of the means over the others,
    with what it shares = all but the variance of the means over itself; of closed forms, case by case."""
    values = {one.key: one.values for one in study().design.factors}
    angles, distances = values["field.end_angle"], values["machine.ranks.rear.behind_front"]
    sections, speeds = values["switching.sections"], values["speed.working"]
    cube = np.array([[[stagger(d, 32 // n, a) for n in sections] for d in distances] for a in angles])
    cube = np.repeat(cube[..., None], len(speeds), axis=3)
    whole, axes = cube.var(), range(4)
    alone = [cube.mean(axis=tuple(j for j in axes if j != i)).var() / whole for i in axes]
    shared = [1 - cube.mean(axis=i).var() / whole for i in axes]
    order = (1, 0, 2)
    assert printed(5) == [f"{100 * share[i]:.0f}" for i in order for share in (alone, shared)]
    assert abs(alone[3]) < 1e-12
    assert abs(shared[3]) < 1e-12


def test_sentence_6_speed_moves_the_best_and_not_the_loss() -> None:
    """Late by the same c at starts and stops, all row ends stand where r - c would put them: the best goes
    forward by c = 0.05 s · v, from the middle of the stretch between the ranks, all of which is as good."""
    assert pytest.approx(OFF) == ON
    at = [(FRONT + 0.9 / 2 - ON * v * MPH) / INCH for v in (3, 8)]
    assert printed(6) == [f"{ON:.2f}", f"{at[0]:.1f}", "3", f"{at[1]:.1f}", "8", "0.9"]
    table = overlapsim.run_study(reduced([0.0, math.pi / 6], [32], [3 * MPH, 8 * MPH])).table
    assert table["best_reference_offset_m"][:2] / INCH == pytest.approx(at, abs=1e-6)
    best = table["best_combined_m2"].reshape(2, 2)
    assert best[:, 0] == pytest.approx(best[:, 1], rel=1e-9)
    assert best[:, 0] / AREA == pytest.approx([left_at_best(0.9, 1, a) for a in (0.0, math.pi / 6)], rel=1e-6)


def reduced(angles: list[float], sections: list[int], speeds: list[float]) -> overlapsim.Study:
    """The study at 0.9 m with other values."""
    whole = study()
    values = {
        "field.end_angle": tuple(angles), "machine.ranks.rear.behind_front": (0.9,),
        "switching.sections": tuple(sections), "speed.working": tuple(speeds),
    }  # fmt: skip
    factors = tuple(replace(one, values=values[one.key]) for one in whole.design.factors)
    return replace(whole, design=replace(whole.design, factors=factors))
