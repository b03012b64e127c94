"""What is given as a field and cannot be one, or not there; rectangles and the textbook field."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely

from overlapsim.basics.errors import FieldError
from overlapsim.scenario.field import Field


@pytest.mark.parametrize(
    "points", [5, [1, 2, 3], [["a", 0], [1, 1], [2, 0]], [[0, 0, 0], [1, 1, 1], [2, 0, 0]], None]
)
def test_what_is_no_list_of_points_gets_an_example(points: Any) -> None:
    with pytest.raises(FieldError) as caught:
        Field.polygon(points)
    assert str(caught.value) == (
        "field.polygon  the boundary is not a list of points. "
        "Write [[0, 0], [400, 0], [400, 800]], in metres."
    )


def test_parts_that_share_an_edge_are_one_and_parts_that_overlap_are_refused() -> None:
    left, right = shapely.box(0, 0, 50, 100), shapely.box(50, 0, 100, 100)
    joined = Field.from_geometry(shapely.MultiPolygon([left, right]))
    assert len(joined.parts) == 1
    assert joined.notes == ("parts that share an edge are joined: 2 become 1",)
    inside = shapely.MultiPolygon([shapely.box(0, 0, 100, 100), shapely.box(20, 20, 40, 40)])
    with pytest.raises(
        FieldError, match=r"parts 1 and 2 overlap by 400\.0 m2 at x 30\.00 m, y 30\.00 m: is one"
    ):
        Field.from_geometry(inside)
    apart = shapely.MultiPolygon([shapely.box(0, 0, 50, 100), shapely.box(60, 0, 100, 100)])
    assert [part.area for part in Field.from_geometry(apart).parts] == [5000.0, 4000.0]


def test_the_spot_is_named_in_the_source_s_own_longitude_and_latitude() -> None:
    bow_tie = shapely.Polygon([(12, 48), (12.01, 48.01), (12.01, 48), (12, 48.01)])
    with pytest.raises(
        FieldError, match=r"crosses or covers itself at longitude 12\.0050\d*, latitude 48\.005\d*"
    ):
        Field.from_geometry(bow_tie, "EPSG:4326")


@pytest.mark.parametrize(
    ("shape", "crs", "said"),
    [
        (
            shapely.box(5e5, 5e6, 5.01e5, 5.01e6),
            "EPSG:4326",
            "coordinates like 500000, 5000000 are no degrees. State",
        ),
        (
            shapely.box(12, 48, 12.01, 48.01),
            "EPSG:25833",
            "coordinates like 12.0000, 48.0000 look like degrees, ",
        ),
        (
            shapely.box(5.4e6, 4e5, 5.401e6, 4.01e5),
            "EPSG:25833",
            "Are the two coordinates swapped? East (longitude)",
        ),
        (
            shapely.box(50.0, 15.0, 50.01, 15.01),
            "EPSG:4258",
            "Are the two coordinates swapped? East (longitude)",
        ),
        (
            shapely.box(12, 48, 12.01, 48.01),
            "EPSG:4269",
            "outside of NAD83, made for North America - onshore and",
        ),
        (
            shapely.box(-179.99, 60, 179.99, 60.01),
            "EPSG:4326",
            "lies on both sides of the 180th meridian. Give",
        ),
        (shapely.box(10, 48, 12, 49), "EPSG:4326", "km, larger than any field."),
        (shapely.box(12, 48, 12.01, 48.01), "EPSG:1", "unknown coordinate system 'EPSG:1'. Write crs"),
        (shapely.box(12, 48, 12.01, 48.01), "EPSG:5783", "has no place on the earth. State crs"),
        (
            shapely.box(12, 48, 12.01, 48.01),
            'LOCAL_CS["farm",UNIT["metre",1]]',
            "(farm) has no place on the earth.",
        ),
    ],
)
def test_coordinates_that_do_not_fit_their_system(shape: shapely.Polygon, crs: str, said: str) -> None:
    with pytest.raises(FieldError) as caught:
        Field.from_geometry(shape, crs)
    assert said in str(caught.value)


def test_a_little_outside_of_a_grid_s_zone_is_said_only() -> None:
    """Whole countries use one zone (common practice, no source)."""
    from pyproj import Transformer

    to_grid = Transformer.from_crs("EPSG:4258", "EPSG:25832", always_xy=True)
    shape = shapely.transform(
        shapely.box(13.0, 52, 13.01, 52.01), lambda xy: np.column_stack(to_grid.transform(*xy.T))
    )
    notes = Field.from_geometry(shape, "EPSG:25832").notes
    assert len(notes) == 1
    assert notes[0].startswith(
        "lies at longitude 13.005, latitude 52.005, 1.0 degrees outside of ETRS89 / UTM zone 32N"
    )


def test_things_that_are_no_polygon() -> None:
    for thing, said in [
        ("a text", "a str, not a shapely polygon"),
        (shapely.LineString([(0, 0), (1, 1)]), "holds a line, not an area"),
        (shapely.Point(0, 0), "holds a point, not an area"),
        (shapely.Polygon(), "holds an empty shape, not an area"),
    ]:
        with pytest.raises(FieldError, match=said):
            Field.from_geometry(thing)


def test_rectangles() -> None:
    assert Field.rectangle(400, 800).parts[0].equals(shapely.box(-200, -400, 200, 400))
    tilted = Field.rectangle(400, 800, math.radians(30))
    assert tilted.plantable_m2 == pytest.approx(320_000, rel=1e-12)
    rise = 200 / math.sqrt(3)
    corners = {(round(x, 9), round(y, 9)) for x, y in shapely.get_coordinates(tilted.parts[0])}
    # Positive: farther north on the east side, at both ends.
    expected = {(-200, -400 - rise), (200, -400 + rise), (200, 400 + rise), (-200, 400 - rise)}
    assert corners == {(float(x), round(y, 9)) for x, y in expected}
    for sizes in [(0, 800), (400, -1), (math.nan, 5), (math.inf, 5)]:
        with pytest.raises(FieldError, match=r"field.rectangle  both lengths must be more than nothing"):
            Field.rectangle(*sizes)
    for angle in (math.radians(85), -1.5, math.nan):
        with pytest.raises(FieldError, match=r"field.end_angle  more than 80 degrees off square-on"):
            Field.rectangle(400, 800, angle)


def test_the_textbook_field_is_80_acres() -> None:
    """An acre is 43,560 square feet of 0.3048 m (exact); half a quarter section is 80 of them."""
    field = Field.textbook_80()
    assert field.textbook
    assert field.plantable_m2 == pytest.approx(80 * 43560 * 0.3048**2, rel=1e-12)
    assert not Field.rectangle(402.336, 804.672).textbook
