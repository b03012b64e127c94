"""Ground drawn round without an overlay: against an overlay that can be trusted, and given something lost."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import overlapsim
from overlapsim.basics.errors import BalanceError
from overlapsim.ground.areas import account
from overlapsim.ground.outlines import outlines
from overlapsim.ground.shapes import shapes
from tests.helpers import scenario, two_ranks

Columns = list[list[int]]


@st.composite
def columns(draw: st.DrawFn) -> Columns:
    """Up to six columns one metre wide, each with up to four stretches between whole metres, 0 to 9."""
    places = st.lists(st.integers(0, 9), min_size=0, max_size=8, unique=True)
    return [sorted(one)[: len(one) // 2 * 2] for one in draw(st.lists(places, min_size=1, max_size=6))]


def rectangles(of: Columns) -> np.ndarray:
    """Left, right, low and high of all stretches, shape (4, n)."""
    found = [(k, k + 1, one[i], one[i + 1]) for k, one in enumerate(of) for i in range(0, len(one), 2)]
    return np.array(found, dtype=float).reshape(-1, 4).T


@given(columns())
def test_drawn_round_is_the_union(of: Columns) -> None:
    """Whole metres: an overlay engine is exact there. Corners touch in every way that they can."""
    left, right, low, high = rectangles(of)
    drawn = outlines(left, right, low, high, np.zeros(len(left), dtype=np.int64))
    union = shapely.union_all(shapely.box(left, low, right, high))
    assert shapely.area(drawn).sum() == float((high - low).sum())
    for ground in drawn:
        assert ground.is_valid
        assert ground.symmetric_difference(union).area == 0.0
        assert len(shapely.get_parts(ground)) == len(shapely.get_parts(union))


@given(columns(), st.integers(2, 4))
def test_groups_are_drawn_apart(of: Columns, groups: int) -> None:
    """Column by column in turn: no two columns of a group are neighbours, and nothing is joined."""
    left, right, low, high = rectangles(of)
    group = left.astype(np.int64) % groups
    drawn = outlines(left, right, low, high, group)
    assert [shapely.area(one) for one in drawn] == [
        float((high - low)[group == k].sum()) for k in np.unique(group)
    ]
    assert sum(len(shapely.get_parts(one)) for one in drawn) == len(left)


def test_ground_that_meets_in_corners_alone_is_drawn_apart() -> None:
    """Three columns, the middle one open from 2 to 4; the right one begins at 2, the left one ends at 4."""
    left, right = np.array([0.0, 1.0, 1.0, 2.0]), np.array([1.0, 2.0, 2.0, 3.0])
    low, high = np.array([0.0, 0.0, 4.0, 2.0]), np.array([4.0, 2.0, 6.0, 6.0])
    (drawn,) = outlines(left, right, low, high, np.zeros(4, dtype=np.int64))
    # The left column and the middle one's lower piece hang together, and so do the other two.
    assert shapely.to_wkt(shapely.normalize(drawn), trim=True) == (
        "MULTIPOLYGON (((1 4, 1 6, 3 6, 3 2, 2 2, 2 4, 1 4)), ((0 0, 0 4, 1 4, 1 2, 2 2, 2 0, 0 0)))"
    )
    assert drawn.is_valid


@pytest.fixture(scope="module")
def simulation() -> overlapsim.Simulation:
    """Thirty-two rows on a field with one slanted end."""
    field = {"polygon": [[0, 0], [120, 30], [120, 300], [0, 300]]}
    return overlapsim.simulate(scenario(two_ranks(), field))


@pytest.mark.parametrize("which", [0, 17, -1])
def test_a_strip_that_is_not_drawn_is_noticed(simulation: overlapsim.Simulation, which: int) -> None:
    """The account of all strips but one, drawn for all of them: 0.381 m by some 290 m of 36,000 m²."""
    strips, (field,) = simulation.strips, simulation.scenario.field.parts
    some = np.delete(np.arange(len(strips.leg)), which)
    fewer = type(strips)(**{name: values[some] for name, values in vars(strips).items()})
    wrong = account(fewer, simulation.drive.plantable[0], field.area)
    heading = simulation.drive.heading
    shapes(wrong, fewer, field, heading)
    with pytest.raises(BalanceError, match="lost"):
        shapes(wrong, strips, field, heading)


def test_strips_that_are_drawn_too_short_are_noticed(simulation: overlapsim.Simulation) -> None:
    """All cells of the account end a metre sooner: 120 m² of 36,000 are missing."""
    (found,), strips, (field,) = simulation.accounts, simulation.strips, simulation.scenario.field.parts
    cut = dataclasses.replace(found.cells, high=found.cells.high - 1.0)
    with pytest.raises(BalanceError, match="lost"):
        shapes(dataclasses.replace(found, cells=cut), strips, field, simulation.drive.heading)
