"""Grounds as pieces, held against counting squares of one metre: there an overlay is exact."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from overlapsim.ground.overlay import GRID
from overlapsim.ground.pieces import deeper, joined, left_of, pieces_of, shared

SIDE = 7
COUNTS = st.lists(st.integers(0, 2), min_size=SIDE * SIDE, max_size=SIDE * SIDE).map(
    lambda many: np.array(many).reshape(SIDE, SIDE)
)
grids = pytest.mark.parametrize("grid", [None, GRID])


def pieces(covered: np.ndarray) -> np.ndarray:
    """The ground of all squares that are covered."""
    x, y = np.nonzero(covered)
    return pieces_of(np.array([shapely.union_all(shapely.box(x, y, x + 1, y + 1))]))


def squares(of: np.ndarray) -> np.ndarray:
    """How many pieces each square lies in, by its middle; pieces are made of whole squares."""
    assert shapely.is_valid(of).all()
    x, y = np.mgrid[:SIDE, :SIDE] + 0.5
    found = sum((shapely.contains_xy(piece, x, y).astype(int) for piece in of), np.zeros_like(x, dtype=int))
    assert shapely.area(of).sum() == pytest.approx(found.sum(), abs=1e-9)
    return found


@grids
@given(one=COUNTS, other=COUNTS)
def test_shared_left_and_joined(one: np.ndarray, other: np.ndarray, grid: float | None) -> None:
    a, b = one > 0, other > 0
    assert (squares(shared(pieces(a), pieces(b), grid)) == (a & b)).all()
    assert (squares(left_of(pieces(a), pieces(b), grid)) == (a & ~b)).all()
    assert (squares(joined([pieces(a), pieces(b)], grid)) == (a | b)).all()


@grids
@given(one=COUNTS, other=COUNTS)
def test_what_two_sets_cover_together(one: np.ndarray, other: np.ndarray, grid: float | None) -> None:
    """Counts add up square by square: at least twice, three times, four times."""
    found = deeper([pieces(one >= k) for k in (1, 2)], [pieces(other >= k) for k in (1, 2)], grid)
    wanted = [one + other >= k for k in (2, 3, 4)]
    assert len(found) == sum(covered.any() for covered in wanted)
    for ground, covered in zip(found, wanted, strict=False):
        assert (squares(ground) == covered).all()
