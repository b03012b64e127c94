"""All fields of a file together: each stays a field of its own, with its name, its parts and its faults."""

from __future__ import annotations

import json
import math
from pathlib import Path

import geopandas
import pytest
import shapely

from overlapsim import Field, FieldError, Scenario, ScenarioError, load_scenario
from overlapsim.files.fields import read_field
from overlapsim.scenario.side_by_side import EARTH_M, side_by_side
from tests.cli.small import SMALL

# Degrees: a square of 0.001 is some 111 m north and 74 m east at 48 degrees north.
SIDE = 0.001


def square(east: float, north: float, wide: float = SIDE, high: float = SIDE) -> shapely.Polygon:
    """An upright rectangle by its south-west corner, degrees from 12 E, 48 N."""
    return shapely.box(12 + east, 48 + north, 12 + east + wide, 48 + north + high)


def write(path: Path, shapes: list[shapely.Geometry], **columns: list[object]) -> Path:
    geopandas.GeoDataFrame(columns, geometry=shapes, crs="EPSG:4326").to_file(path)
    return path


def faults(path: Path) -> str:
    with pytest.raises(FieldError) as caught:
        read_field(path, all=True)
    return str(caught.value)


def test_neighbours_that_share_an_edge_stay_two_fields(tmp_path: Path) -> None:
    shapes = [square(0, 0), square(SIDE, 0)]
    path = write(tmp_path / "farm.geojson", shapes, name=["Home", "Creek"])
    field = read_field(path, all=True)
    assert field.part_names == ("Home", "Creek")
    assert field.name == "farm"
    assert field.notes == ()
    assert field.origin["all"] is True
    joined = Field.from_geometry(shapely.MultiPolygon(shapes), "EPSG:4326")
    assert len(joined.parts) == 1
    assert joined.part_names == ()
    # The same plane: the same ground to rounding.
    assert field.plantable_m2 == pytest.approx(joined.plantable_m2, rel=1e-12)


def test_a_field_of_several_parts_keeps_one_name(tmp_path: Path) -> None:
    two = shapely.MultiPolygon([square(0, 0), square(0.005, 0)])
    path = write(tmp_path / "farm.gpkg", [two, square(0, 0.005)], name=["Home", "Creek"])
    assert read_field(path, all=True).part_names == ("Home", "Home", "Creek")


@pytest.mark.parametrize(
    ("columns", "names"),
    [
        ({"name": ["Home", "Creek"], "id": [7, 8]}, ("Home", "Creek")),
        ({"id": [7, 8], "acres": [1.5, 2.5]}, ("7", "8")),
        # Two of one name are told apart by what else tells them apart, else they are counted.
        ({"name": ["North", "North"], "farm": ["Home", "Creek"]}, ("Home", "Creek")),
        ({"name": ["North", "North"]}, ("field 1", "field 2")),
        ({"acres": [1.5, 2.5]}, ("field 1", "field 2")),
    ],
)
def test_what_fields_are_called(
    columns: dict[str, list[object]], names: tuple[str, ...], tmp_path: Path
) -> None:
    path = write(tmp_path / "farm.gpkg", [square(0, 0), square(0.005, 0)], **columns)
    assert read_field(path, all=True).part_names == names


def test_counted_as_they_stand_in_the_file(tmp_path: Path) -> None:
    shapes = [square(0.005 * i, 0) for i in range(3)]
    path = write(tmp_path / "farm.gpkg", shapes, crop=["corn", "beans", "corn"])
    field = read_field(path, all=True, where={"crop": "corn"})
    assert field.part_names == ("field 1", "field 3")
    assert field.name == "corn"


def test_one_field_in_the_file(tmp_path: Path) -> None:
    field = read_field(write(tmp_path / "farm.gpkg", [square(0, 0)], name=["Home"]), all=True)
    assert field.part_names == ("Home",)


def test_a_small_overlap_is_said_and_counted_in_each(tmp_path: Path) -> None:
    shapes = [square(0, 0), square(0.9 * SIDE, 0), square(0.005, 0), square(0.005 + 0.99 * SIDE, 0)]
    path = write(tmp_path / "farm.gpkg", shapes, name=["A", "B", "C", "D"])
    field = read_field(path, all=True)
    both = shapes[0].intersection(shapes[1]), shapes[2].intersection(shapes[3])
    shared = sum(Field.from_geometry(one, "EPSG:4326").plantable_m2 for one in both)
    assert field.notes == (f"2 pairs of fields, most of it A and B, share {shared:.0f} m2: counted in each",)
    each = sum(Field.from_geometry(one, "EPSG:4326").plantable_m2 for one in shapes)
    # Each on a plane of its own against all on one: the plane's scale is within 1e-7 at 2 km.
    assert field.plantable_m2 == pytest.approx(each, rel=1e-7)


def test_a_field_in_another_is_refused(tmp_path: Path) -> None:
    hole = square(0.2 * SIDE, 0.2 * SIDE, 0.3 * SIDE, 0.3 * SIDE)
    said = faults(write(tmp_path / "farm.gpkg", [square(0, 0), hole], name=["Home", "Pond"]))
    assert said.startswith("farm.gpkg  Home and Pond share ")
    assert "100% of the smaller one" in said
    twice = faults(write(tmp_path / "twice.gpkg", [square(0, 0)] * 2, name=["2025", "2026"]))
    assert "the same field twice" in twice


def test_all_faults_of_all_fields_are_said(tmp_path: Path) -> None:
    bow = shapely.Polygon([(12, 48), (12.001, 48.001), (12.001, 48), (12, 48.001)])
    speck = square(0.005, 0, 1e-6, 1e-6)
    shapes = [bow, square(0.01, 0), speck]
    lines = faults(write(tmp_path / "farm.gpkg", shapes, name=["Bow", "Good", "Speck"])).splitlines()
    assert len(lines) == 2
    assert lines[0].startswith("farm.gpkg  Bow: the boundary crosses or covers itself at longitude 12.0005")
    assert lines[1].startswith("farm.gpkg  Speck: 0.0083 m2, smaller than any field")


def test_repairs_are_said_with_the_field_s_name() -> None:
    home = shapely.Polygon(shapely.box(0, 0, 100, 100).exterior, [shapely.box(90, 40, 120, 60).exterior])
    field = side_by_side({"Home": home, "Creek": shapely.box(200, 0, 300, 100)})
    assert field.notes == ("Home: exclusion 1 reaches 400.0 m2 beyond the boundary: cut there",)


def test_points_and_lines_among_the_fields_are_left_out(tmp_path: Path) -> None:
    collection = {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"name": name},
                "geometry": json.loads(shapely.to_geojson(shape)),
            }
            for name, shape in (("Home", square(0, 0)), ("Well", shapely.Point(12, 48)))
        ],
    }
    path = tmp_path / "farm.geojson"
    path.write_text(json.dumps(collection))
    field = read_field(path, all=True)
    assert field.part_names == ("Home",)
    assert field.notes == ("lines and points in it are left out",)
    collection["features"] = collection["features"][1:]  # type: ignore[index]
    path.write_text(json.dumps(collection))
    assert "holds a point, not an area" in faults(path)


def test_fields_far_apart_are_refused_with_the_distance(tmp_path: Path) -> None:
    path = write(tmp_path / "farm.gpkg", [square(0, 0), square(0, 1)], name=["A", "B"])
    kilometres = EARTH_M * math.radians(1) / 1000
    assert f"its fields lie {kilometres:.0f} km apart, one plane serves 50 km" in faults(path)
    around = [square(0, 0), shapely.box(-150, -40, -149.99, -39.99)]
    assert "km apart" in faults(write(tmp_path / "world.gpkg", around, name=["A", "B"]))
    in_metres = {"A": shapely.box(0, 0, 100, 100), "B": shapely.box(60e3, 0, 60.1e3, 100)}
    with pytest.raises(FieldError, match="lie 60 km apart"):
        side_by_side(in_metres)


def test_north_that_differs_is_said() -> None:
    """0.5 degrees of longitude apart at 48.0005 N: both meridians lean by 0.25 sin(48.0005) = 0.186 deg."""
    field = side_by_side({"A": square(0, 0), "B": square(0.5, 0)}, "EPSG:4326")
    assert field.notes == (
        "the fields lie far apart: headings count from north in their middle, 0.2 degrees off",
    )
    assert side_by_side({"A": square(0, 0), "B": square(0.2, 0)}, "EPSG:4326").notes == ()


def test_nothing_to_take_together_is_refused() -> None:
    for fields in ({}, {"A": shapely.Polygon()}):
        with pytest.raises(FieldError, match="holds"):
            side_by_side(fields, "EPSG:4326")


def test_names_come_back_from_the_inputs_of_a_result(tmp_path: Path) -> None:
    shapes = [square(0, 0), square(SIDE, 0)]
    write(tmp_path / "farm.geojson", shapes, name=["Home", "Creek"])
    text = SMALL.format(name="farm").replace(
        'rectangle = ["30 m", "40 m"]', 'file = "farm.geojson"\nall = true'
    )
    (tmp_path / "farm.toml").write_text(text, encoding="utf-8")
    scenario = load_scenario(tmp_path / "farm.toml")
    assert scenario.field.part_names == ("Home", "Creek")
    inputs = json.loads(json.dumps(scenario.to_inputs()))
    again = Scenario.from_dict(inputs)
    assert again == scenario
    assert again.field.part_names == scenario.field.part_names
    assert again.field.plane == scenario.field.plane
    assert again.to_inputs() == inputs
    inputs["field"]["parts"][1]["name"] = 7
    with pytest.raises(ScenarioError, match="is not a list of polygons"):
        Scenario.from_dict(inputs)


def test_one_field_taken_as_all_comes_back_too() -> None:
    field = side_by_side({"Home": shapely.box(0, 0, 100, 100)})
    base = {
        "machine": {"ranks": {"bar": {"rows": 4, "spacing": "30 in", "behind_pin": "2 m"}}},
        "speed": {"working": "2 m/s"},
        "switching": {"reference_offset": "2 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    }
    scenario = Scenario.from_dict(base, field=field)
    assert Scenario.from_dict(scenario.to_inputs()).field.part_names == ("Home",)
