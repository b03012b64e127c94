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


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("closed", [False, True])
def test_a_cover_is_what_its_strips_hold_together(seed: int, closed: bool) -> None:
    """Strips side by side with ragged ends, gaps and overlaps, along ways that bend, fold and go round.

    Drawn round together, or strip by strip and united on a grid: the same ground but for 1e-9 m along each
    border, some hundred metres of them.
    """
    rng = np.random.default_rng(seed)
    sides = 14
    bearing = 2 * np.pi * np.arange(sides) / sides if closed else np.cumsum(rng.uniform(-0.7, 0.7, sides))
    step = np.full(sides, 4.0) if closed else rng.uniform(1.0, 12.0, sides)
    points = np.cumsum(step[:, None] * np.stack([np.sin(bearing), np.cos(bearing)], axis=1), axis=0)
    track = rails(points, closed)
    borders = np.linspace(-6.0, 6.0, 9)
    left, right, low, high = [], [], [], []
    for band in range(8):
        ends = np.sort(rng.uniform(-3.0, track.length + 3.0, 4))
        for begin, end in ((ends[0], ends[1]), (ends[2], ends[3])):
            # A strip that comes back over its own start counts once all the same.
            left.append(borders[band]), right.append(borders[band + 1])
            low.append(begin), high.append(end)
    strips = tuple(np.array(v) for v in (left, right, low, high))
    cover = cover_of(track, *strips)
    one_by_one = shapely.union_all(strips_on(track, *strips), grid_size=1e-9)
    assert shapely.is_valid(cover)
    assert shapely.symmetric_difference(cover, one_by_one, grid_size=1e-9).area < 1e-5
