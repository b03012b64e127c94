"""Borders that are one but for rounding: nothing is switched for the ground, or the gap, between them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from overlapsim.drive.laps import outer_less
from overlapsim.ground.crossings import stretches
from overlapsim.ground.edges import edges_of
from overlapsim.ground.profile import profile

BAND = np.array([0.0]), np.array([6.0])
LEVEL = np.array([3.0])


def met(*polygons: shapely.Polygon, without: shapely.Polygon | None = None) -> list[tuple[float, float]]:
    """Stretches of a band 6 m wide on ground."""
    ground = edges_of(polygons)
    if without is not None:
        ground = outer_less(ground, edges_of([without]))
    found = stretches(profile(ground, *BAND), LEVEL)
    return list(zip(found.low.round(3).tolist(), found.high.round(3).tolist(), strict=True))


@pytest.mark.parametrize(("apart", "pieces"), [(1e-9, 1), (-1e-9, 1), (1e-4, 2)])
def test_two_pieces_that_meet_are_one(apart: float, pieces: int) -> None:
    """Ground up to 40 m and from 40 m on: a tenth of a millimetre between them is a gap, 1e-9 m is none."""
    found = met(shapely.box(0, 0, 6, 40), shapely.box(0, 40 + apart, 6, 90))
    assert found == ([(0.0, 90.0)] if pieces == 1 else [(0.0, 40.0), (40.0, 90.0)])


@pytest.mark.parametrize(("left", "pieces"), [(0.0, 0), (1e-9, 0), (1e-4, 1)])
def test_what_is_left_between_two_borders_is_ground_only_where_it_is_more_than_rounding(
    left: float, pieces: int
) -> None:
    """Ground from 10 m to 40 m, planted from 10 m + what is left on: nothing to plant but for that."""
    found = met(shapely.box(0, 10, 6, 40), without=shapely.box(0, 10 + left, 6, 40))
    assert len(found) == pieces
