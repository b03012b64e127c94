"""Where laps are cut: a corner turns by more than 60 degrees within half a working width of way.

Round a square island a lap runs on arcs, of radius W/2 in the first lap: half a working width of way then
turns by (W/2)/(W/2) = 1 rad = 57.3 degrees, in outer laps by less. So it is one closed leg for any width,
however finely its arcs are divided. The field's own four corners turn by 90 degrees at once: four legs.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from overlapsim.drive.laps import lap_legs
from overlapsim.drive.zones import zones
from overlapsim.scenario.corners import cuts

FIELD = shapely.box(0, 0, 400, 400).difference(shapely.box(180, 180, 220, 230))


@pytest.mark.parametrize("width", [1.5, 3.048, 4.57, 6.096, 9.144, 12.192, 18.288, 27.432, 36.576])
def test_arcs_round_an_island_are_no_corners(width: float) -> None:
    for number, lap in enumerate(zones(FIELD, 2, width).laps):
        legs = lap_legs(number, lap, width, 0.0)
        assert [(leg.track.closed, leg.exclusion) for leg in legs] == [(False, False)] * 4 + [(True, True)]


@pytest.mark.parametrize(("sides", "cut"), [(5, True), (7, False)])
def test_a_corner_turns_by_more_than_sixty_degrees(sides: int, cut: bool) -> None:
    """Regular polygons turn by 360/n degrees at each corner: 72 are corners, 51.4 are not."""
    turn = 2 * math.pi / sides
    field = shapely.Polygon([(300 * math.sin(k * turn), 300 * math.cos(k * turn)) for k in range(sides)])
    (lap,) = zones(field, 1, 12.192).laps
    legs = lap_legs(0, lap, 12.192, 0.0)
    assert [leg.track.closed for leg in legs] == ([False] * sides if cut else [True])


def test_cuts_do_not_depend_on_where_a_ring_begins() -> None:
    """A ring 8 m by 90 m, 12 m working width: the corners of a short side are closer than two windows of 6 m.

    So they are one bend of 180 degrees, done by half at the first of its corners: two cuts, at opposite
    corners.
    """
    ring = np.array([[0.0, 0.0], [0.0, 90.0], [8.0, 90.0], [8.0, 0.0]])
    for first in range(4):
        at = np.roll(ring, -first, axis=0)[cuts(np.roll(ring, -first, axis=0), 12.0)]
        assert sorted(at.tolist()) == [[0.0, 90.0], [8.0, 0.0]]
