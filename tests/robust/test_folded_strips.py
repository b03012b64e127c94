"""Strips on bends so tight that an inner edge runs back: their ring may be simple and yet miss ground."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from overlapsim.ground.cover import cover_of, quads_of, strips_on
from overlapsim.ground.rails import rails


def swept(points: list[tuple[float, float]], left: float, right: float) -> tuple:
    """A strip over a whole way, and a count of its ground from points in its quadrilaterals."""
    track = rails(np.array(points), closed=False)
    ends = np.array([0.0]), np.array([track.length])
    offsets = np.array([left]), np.array([right])
    _, corner = quads_of(track, *offsets, *ends)
    # Every point between two successive cross lines: no polygon is formed.
    share = np.linspace(0.0, 1.0, 41)
    a = corner[:, None, 0] + share[None, :, None] * (corner[:, None, 3] - corner[:, None, 0])
    b = corner[:, None, 1] + share[None, :, None] * (corner[:, None, 2] - corner[:, None, 1])
    spots = a[:, :, None] + share[None, None, :, None] * (b - a)[:, :, None]
    return track, offsets, ends, spots.reshape(-1, 2)


#: A way of short sides that turns by 55 degrees in all, where a strip of 6 m reaches beyond its pivot.
HOOK = [(0, 0), (0, 20), (0.4, 20.5), (1.0, 20.8), (1.8, 20.9), (20, 33)]
#: The same at the very start of a way: nothing goes forward before the edge runs back.
START = [(0, 0), (0.5, 0.2), (0.9, 0.6), (1.1, 1.1), (-3, 20)]


@pytest.mark.parametrize("points", [HOOK, START, [(-x, y) for x, y in START]])
@pytest.mark.parametrize(("left", "right"), [(-6.0, -3.0), (3.0, 6.0), (-6.0, 6.0)])
def test_all_ground_that_is_swept_is_in_the_strip(points: list, left: float, right: float) -> None:
    track, offsets, ends, spots = swept(points, left, right)
    (strip,) = strips_on(track, *offsets, *ends)
    cover = cover_of(track, *offsets, *ends)
    # 1e-6 m: spots on the border lie there but for rounding and the grid of 1e-9 m.
    for ground in (strip, cover):
        assert shapely.is_valid(ground)
        assert shapely.dwithin(ground, shapely.points(spots), 1e-6).all()
    assert strip.area == pytest.approx(cover.area, abs=1e-6)
