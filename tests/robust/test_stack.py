"""Ground under many sheets, counted by laying one upon another and by faces: both against hand counts."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity

from overlapsim.ground.stack import FEW, levels


def row_of_squares(count: int, step: float, turn: float) -> np.ndarray:
    """Squares of 1 m side in a row, each `step` m on from the last, the whole turned by some degrees."""
    squares = [shapely.box(k * step, 0.0, k * step + 1.0, 1.0) for k in range(count)]
    return np.array([affinity.rotate(one, turn, origin=(0.3, 0.7)) for one in squares], dtype=object)


@pytest.mark.parametrize("turn", [0.0, 33.0, 77.7])
@pytest.mark.parametrize("count", [FEW, FEW + 1, 60])
def test_squares_in_a_row_are_counted_as_by_hand(count: int, turn: float) -> None:
    # A step of 1/4 m: k sheets or more lie from where the k-th begins, (k - 1)/4, to where the last but k - 1
    # ends, (count - k)/4 + 1; that is (count - 2 k + 1)/4 + 1 m, and none beyond four. On the grid of 1e-9 m
    # each of the two ends is off by no more than a few grid steps.
    found = [ground.area for ground in levels(row_of_squares(count, 0.25, turn))]
    wanted = [(count - 2 * k + 1) / 4 + 1 for k in range(1, 5)]
    assert found[:4] == pytest.approx(wanted, abs=1e-7)
    # Squares that only touch share a hair at most.
    assert sum(found[4:]) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_areas_of_all_levels_add_up_to_the_sheets(seed: int) -> None:
    # Every sheet counts once wherever it lies: the sum over levels is the sum over sheets.
    random = np.random.default_rng(seed)
    sheets = np.array(
        [
            affinity.rotate(shapely.box(x, y, x + a, y + b), turn)
            for x, y, a, b, turn in random.uniform([0, 0, 1, 0.1, 0], [6, 6, 5, 1, 180], (40, 5))
        ],
        dtype=object,
    )
    found = levels(sheets)
    assert sum(ground.area for ground in found) == pytest.approx(shapely.area(sheets).sum(), abs=1e-6)
    assert found[0].area == pytest.approx(shapely.union_all(sheets).area, abs=1e-6)
    for upper, lower in zip(found[1:], found, strict=False):
        assert upper.difference(lower.buffer(1e-6)).area == pytest.approx(0.0, abs=1e-9)
