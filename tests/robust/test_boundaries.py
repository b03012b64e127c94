"""Boundaries as they come: what is repaired, and said; what is refused, and where it is wrong.

Expected areas are counted on paper: all outlines are made of squares, triangles and lines.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from overlapsim.basics.errors import FieldError
from overlapsim.scenario.boundary import sound_polygons
from overlapsim.scenario.field import Field
from overlapsim.scenario.winding import faces_of, meetings, signed_area, winding_numbers

SQUARE = [[0, 0], [100, 0], [100, 100], [0, 100]]


def words(*args: Any, **more: Any) -> str:
    with pytest.raises(FieldError) as caught:
        Field.polygon(*args, **more)
    assert len(caught.value.faults) == 1
    return str(caught.value)


def square(x: float, y: float, side: float) -> list[list[float]]:
    return [[x, y], [x + side, y], [x + side, y + side], [x, y + side]]


def test_a_sound_ring_keeps_every_coordinate() -> None:
    ring = [[0.1, 0.2], [100.3, 0.7], [99.9, 100.11], [0.05, 99.3]]
    field = Field.polygon(ring, [square(10, 10, 5.5)])
    assert shapely.get_coordinates(field.parts[0].exterior)[:-1].tolist() == ring
    assert field.notes == ()
    again = Field.polygon(
        shapely.get_coordinates(field.parts[0].exterior).tolist(),
        [shapely.get_coordinates(hole).tolist() for hole in field.parts[0].interiors],
    )
    assert again == field


def test_either_way_round_closed_or_not_it_is_one_field() -> None:
    field = Field.polygon(SQUARE)
    assert Field.polygon([*SQUARE, SQUARE[0]]) == field
    assert Field.polygon(SQUARE[:1] + SQUARE[:0:-1]) == field
    assert field.parts[0].exterior.is_ccw


def test_repeated_points_are_dropped() -> None:
    repeated = [[0, 0], [0, 0], [100, 0], [100, 0], [100, 100], [0, 100], [0, 100], [0, 0], [0, 0]]
    assert Field.polygon(repeated) == Field.polygon(SQUARE)
    assert Field.polygon(repeated).notes == ()


REPAIRED = {
    "a spike without width, outward": (
        [[0, 0], [100, 0], [150, 0], [100, 0], [100, 100], [0, 100]],
        [],
        10_000,
        1,
    ),
    "a spike without width, inward": (
        [[0, 0], [50, 0], [50, 60], [50, 0], [100, 0], [100, 100], [0, 100]],
        [],
        10_000,
        1,
    ),
    "a ring that touches itself at a point, from inside": (
        [[0, 0], [100, 0], [100, 100], [50, 100], [60, 50], [40, 50], [50, 100], [0, 100]],
        [],
        10_000 - 500,
        1,
    ),
    "a hole tied to the boundary by a slit": (
        [
            [0, 0],
            [100, 0],
            [100, 50],
            [60, 50],
            [60, 40],
            [40, 40],
            [40, 60],
            [60, 60],
            [60, 50],
            [100, 50],
            [100, 100],
            [0, 100],
        ],
        [],
        10_000 - 400,
        1,
    ),
    "two squares that touch at a point, round the same way": (
        [[0, 0], [50, 0], [50, 50], [100, 50], [100, 100], [50, 100], [50, 50], [0, 50]],
        [],
        5_000,
        2,
    ),
    "two holes that overlap": (SQUARE, [square(20, 20, 20), square(30, 30, 20)], 10_000 - 700, 1),
    "two holes that share an edge": (SQUARE, [square(20, 20, 20), square(40, 20, 20)], 10_000 - 800, 1),
    "the same hole twice": (SQUARE, [square(20, 20, 20), square(20, 20, 20)], 10_000 - 400, 1),
    "a hole that reaches beyond the boundary": (SQUARE, [square(90, 40, 20)], 10_000 - 200, 1),
    "a hole outside of it": (SQUARE, [square(200, 200, 20)], 10_000, 1),
    "a hole that shares an edge with the boundary": (SQUARE, [square(80, 40, 20)], 10_000 - 400, 1),
    "a hole without area": (SQUARE, [[[10, 10], [20, 20], [30, 30]]], 10_000, 1),
    "a hole that cuts it in two": (SQUARE, [[[-10, 45], [110, 45], [110, 55], [-10, 55]]], 9_000, 2),
}


@pytest.mark.parametrize("what", REPAIRED)
def test_one_reading_only_is_repaired_and_said(what: str) -> None:
    ring, holes, area, parts = REPAIRED[what]
    field = Field.polygon(ring, holes)
    assert field.plantable_m2 == pytest.approx(area, rel=1e-12)
    assert len(field.parts) == parts
    assert all(part.is_valid for part in field.parts)
    assert field.notes, "a repair must be said"
    assert Field.from_geometry(shapely.multipolygons(list(field.parts))).notes == ()


def test_what_is_said_about_repairs() -> None:
    ring, holes, *_ = REPAIRED["a spike without width, outward"]
    assert Field.polygon(ring, holes).notes == (
        "the boundary touches itself or doubles back at x 150.00 m, y 0.00 m: repaired, all readings agree",
    )
    ring, holes, *_ = REPAIRED["two holes that overlap"]
    assert Field.polygon(ring, holes).notes == ("exclusions 1 and 2 overlap by 100.0 m2: taken together",)
    ring, holes, *_ = REPAIRED["a hole outside of it"]
    assert Field.polygon(ring, holes).notes == ("exclusion 1 lies outside of the boundary: left out",)
    ring, holes, *_ = REPAIRED["a hole that cuts it in two"]
    assert Field.polygon(ring, holes).notes == (
        "exclusion 1 reaches 200.0 m2 beyond the boundary: cut there",
        "exclusions cut the boundary into 2 parts",
    )


REFUSED = {
    "a bow-tie": (
        [[0, 0], [100, 100], [100, 0], [0, 100]],
        [],
        "field.polygon  the boundary crosses or covers itself at x 50.00 m, y 50.00 m (after points 1 and 3)"
        ": what lies inside has more than one reading. Mend it there.",
    ),
    "a small loop the other way round": (
        [[0, 0], [100, 0], [100, 100], [52, 100], [48, 104], [52, 104], [48, 100], [0, 100]],
        [],
        "field.polygon  the boundary crosses or covers itself at x 50.00 m, y 102.00 m (after points 4 and 6)"
        ": what lies inside has more than one reading. Mend it there.",
    ),
    "a loop that lies over itself": (
        [[0, 0], [100, 0], [100, 100], [0, 100], [0, 0], [50, 0], [50, 50], [0, 50]],
        [],
        "field.polygon  the boundary crosses or covers itself at ",
    ),
    "an exclusion that crosses itself": (
        SQUARE,
        [[[20, 20], [40, 40], [40, 20], [20, 40]]],
        "field.polygon  exclusion 1 crosses or covers itself at x 30.00 m, y 30.00 m (after points 1 ",
    ),
    "an exclusion inside another": (
        SQUARE,
        [square(20, 20, 40), square(30, 30, 10)],
        "field.polygon  exclusion 2 lies inside exclusion 1 at x 35.00 m, y 35.00 m: an island to plant, or "
        "a ring too many? Give an island as a polygon of its own, or take the ring out.",
    ),
    "a line there and back": (
        [[0, 0], [100, 0], [200, 0]],
        [],
        "field.polygon  the boundary encloses no area. ",
    ),
    "one point three times": ([[5, 5], [5, 5], [5, 5]], [], "field.polygon  the boundary encloses no area. "),
    "two points": ([[0, 0], [100, 0]], [], "field.polygon  the boundary has 2 points, an area needs three. "),
    "an exclusion over all of it": (
        SQUARE,
        [square(-10, -10, 120)],
        "field.polygon  the exclusions cover all of the boundary. Which ring is the boundary?",
    ),
    "not a number": (
        [[0, 0], [100, math.nan], [100, 100]],
        [],
        "field.polygon  point 2 of the boundary is not a finite number. Ask for the boundary again.",
    ),
    "infinite": (
        [[0, 0], [100, 0], [100, math.inf], [-math.inf, 5]],
        [],
        "field.polygon  point 3 of the boundary is not a finite number (2 such points). ",
    ),
    "an exclusion that is not a number": (
        SQUARE,
        [[[1, 1], [2, 1], [math.nan, 2]]],
        "field.polygon  point 3 of exclusion 1 is not a finite number. ",
    ),
    "degrees taken for metres": (
        [[12.0, 48.0], [12.01, 48.0], [12.01, 48.01]],
        [],
        "field.polygon  5e-05 m2, smaller than any field. Degrees or kilometres taken for metres? State crs.",
    ),
    "larger than any field": (
        square(0, 0, 80_000),
        [],
        "field.polygon  80 by 80 km, larger than any field. Is its coordinate system the right one, are "
        "these metres, is it one field?",
    ),
    "larger than the world": (
        [[0, 0], [1e300, 0], [100, 100]],
        [],
        "field.polygon  1e+297 by 0.1 km, larger than any field.",
    ),
    "an exclusion larger than the world": (
        SQUARE,
        [[[-1e308, 1], [1e308, 1], [1, 2]]],
        "field.polygon  2e+305 by 0.001 km, larger than any field.",
    ),
}


@pytest.mark.parametrize("what", REFUSED)
def test_more_than_one_reading_is_refused_with_the_spot(what: str) -> None:
    ring, holes, said = REFUSED[what]
    assert words(ring, holes).startswith(said)


@pytest.mark.slow
def test_a_million_points_are_read() -> None:
    """Area in polar coordinates: pi (400**2 + 20**2 / 2)."""
    angle = np.linspace(0, 2 * np.pi, 1_000_000, endpoint=False)
    reach = 400 + 20 * np.sin(50 * angle)
    ring = np.column_stack([reach * np.cos(angle), reach * np.sin(angle)])
    sound = sound_polygons([(ring, ())])
    assert sound.parts[0].area == pytest.approx(np.pi * (400**2 + 20**2 / 2), rel=1e-7)
    ring[1000:300_000] = ring[1000:300_000][::-1].copy()
    with pytest.raises(FieldError, match="crosses or covers itself at x"):
        sound_polygons([(ring, ())])


@pytest.mark.parametrize("count", [400, 1600, 20_000, 500_000])
def test_a_tangle_is_refused(count: int) -> None:
    """Of n points anywhere some n * n / 9 pairs of stretches cross: of 500,000 no memory holds them."""
    random = np.random.default_rng(1).uniform(0, 500, (count, 2))
    with pytest.raises(FieldError, match=r"crosses or covers itself at|meets itself in") as caught:
        sound_polygons([(random, ())])
    if count > 1000:
        assert "meets itself in more than 100,000 places" in str(caught.value)


def test_meetings_are_counted_once_and_neighbours_do_not_meet() -> None:
    """A star of five lines crosses itself five times; a square does not, closing stretch included."""
    turn = 2 * np.pi * np.arange(5) * 2 / 5
    star = np.column_stack([np.cos(turn), np.sin(turn)])
    assert meetings(star, 100) == 5
    assert meetings(np.array(SQUARE, dtype=float), 100) == 0
    assert meetings(star, 2) > 2


def test_a_spur_of_many_points_there_and_back_is_repaired() -> None:
    out = np.column_stack([100 + np.arange(1, 20_001) * 0.01, np.full(20_000, 50.0)])
    ring = np.vstack([[[0, 0], [100, 0], [100, 50]], out, out[-2::-1], [[100, 50], [100, 100], [0, 100]]])
    sound = sound_polygons([(ring, ())])
    assert sound.parts[0].area == pytest.approx(10_000, abs=1e-3)
    assert "doubles back" in sound.notes[0]


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=3, max_size=9))
def test_whatever_is_accepted_is_what_every_reading_says(corners: list[tuple[int, int]]) -> None:
    """Even-odd, non-zero winding and signed area agree on every ring that is accepted, and it is sound."""
    ring = [[10.0 * x, 10.0 * y] for x, y in corners]
    try:
        field = Field.polygon(ring)
    except FieldError:
        return
    assert all(part.is_valid and part.exterior.is_ccw for part in field.parts)
    points = np.array(ring)
    faces = faces_of(points)
    winding = winding_numbers(points, faces)
    area = shapely.area(faces)
    assert field.plantable_m2 == pytest.approx(area[winding != 0].sum(), rel=1e-9)
    assert field.plantable_m2 == pytest.approx(area[winding % 2 == 1].sum(), rel=1e-9)
    assert field.plantable_m2 == pytest.approx(abs(signed_area(points)), rel=1e-9)
