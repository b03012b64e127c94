"""A strip beyond the centre of a bend, whose ground is partly swept twice, measured place by place.

The way goes north to the origin, turns left by a quarter of a circle of radius 2 m round (-2, 0), and goes on
west. The strip from 5 to 4 m left of it lies beyond that centre: on the bend it runs back, over a quarter of
the ring between the radii 2 and 3 m, from west of the centre round to south of it. Its own straight part
before the bend is the ground -5 <= x <= -4 below y = 0. In coordinates from the centre that part holds, of
the quarter ring, what lies at x <= -2: the quarter disc of radius 3 beyond x = 2, which is

    integral of sqrt(9 - x^2) from 2 to 3 = 9/2 (pi/2 - asin(2/3)) - sqrt(5).

So the bend adds (pi/4)(9 - 4) less that to what stops plant. The next metre of straight way sweeps the square
-1 <= x <= 0, -3 <= y <= -2, of which the ring holds

    integral of sqrt(9 - x^2) - 2 from 0 to 1 = sqrt(2) + 9/2 asin(1/3) - 2.

By symmetry starts, measured against what follows, see the same. The arc is drawn in steps of half a degree:
cross lines at its ends lean by a quarter degree, which is 0.022 m at 5 m: the tolerance, with the 0.1 m
between two drawings.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from overlapsim.ground.edges import Ramps
from overlapsim.ground.folds import drawn_areas, with_windows
from overlapsim.ground.profile import Profile, profile_of
from overlapsim.ground.rails import Rails, rails

RADIUS, BEFORE, AFTER = 2.0, 20.0, 20.0
HELD = np.sqrt(2) + 9 / 2 * np.arcsin(1 / 3) - 2
NEW = np.pi / 4 * (9 - 4) - (9 / 2 * (np.pi / 2 - np.arcsin(2 / 3)) - np.sqrt(5))


def way() -> Rails:
    turn = np.radians(np.arange(0.0, 90.25, 0.5))
    bend = np.stack([RADIUS * np.cos(turn) - RADIUS, RADIUS * np.sin(turn)], axis=1)
    ends = np.array([[0.0, -BEFORE]]), np.array([[-RADIUS - AFTER, RADIUS]])
    return rails(np.concatenate([ends[0], bend, ends[1]]), closed=False)


@pytest.fixture(scope="module")
def measured() -> tuple[np.ndarray, list[tuple[np.ndarray, np.ndarray]]]:
    track = way()
    everywhere = shapely.box(-100, -100, 100, 100)
    span = (BEFORE - 1.0, track.length - AFTER + 1.0)
    return drawn_areas(track, -5.0, -4.0, span, [everywhere, shapely.box(-100, -100, 100, -1.5)])


@pytest.mark.parametrize("end", [0, 1])
def test_the_bend_adds_what_was_not_swept_before(measured, end: int) -> None:
    place, found = measured
    bend = [BEFORE, place[-1] - 1.0]
    on_all = np.interp(bend, place, found[2][end])
    assert on_all[1] - on_all[0] == pytest.approx(NEW, abs=0.05)
    # A metre of straight way on either side: on one of them most is swept already.
    assert found[2][end][-1] == pytest.approx(1.0 + NEW + 1.0 - HELD, abs=0.022)


def test_starts_and_stops_see_the_same_ground_in_another_order(measured) -> None:
    """What stops have behind them in the middle of the bend, starts have before them, and the other way."""
    _, found = measured
    starts, stops = found[2]
    assert starts[-1] == pytest.approx(stops[-1], abs=1e-6)
    assert np.abs(starts - (stops[-1] - stops[::-1])).max() < 2e-3
    assert np.abs(starts - stops).max() > 0.1


def test_ground_that_is_taken_is_not_free(measured) -> None:
    """Of the straight metre before the bend everything lies above y = -1.5, and after it too."""
    place, found = measured
    free, plantable, everywhere = (one[1] for one in found)
    assert np.abs(plantable - everywhere).max() < 1e-9
    assert free[-1] < everywhere[-1] - 0.1
    assert np.interp(BEFORE, place, free) == pytest.approx(1.0, abs=0.022)


def test_measured_areas_replace_reckoned_ones(measured) -> None:
    place, found = measured
    nothing = np.empty(0)
    none = Ramps(nothing.astype(np.int64), nothing, nothing, nothing, nothing.astype(np.int64))
    low, high = np.array([0.0, 0.0]), np.array([60.0, 60.0])
    plain: Profile = profile_of(none, 2, start=(low, np.ones(2)), end=high)
    mended = with_windows(plain, np.array([1]), [place], [found[2][1]])
    asked = np.linspace(place[0], place[-1], 7)
    assert mended.at(np.ones(7, dtype=np.int64), asked)[0] == pytest.approx(
        np.interp(asked, place, found[2][1]), abs=1e-9
    )
    before = plain.at(np.zeros(7, dtype=np.int64), asked)[0]
    assert mended.at(np.zeros(7, dtype=np.int64), asked)[0] == pytest.approx(before, abs=1e-12)
