"""Every kind of file that a field comes in, and one field chosen of many."""

from __future__ import annotations

import json
import os
import zipfile
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pytest
import shapely

from overlapsim.basics.errors import FieldError
from overlapsim.files.fields import read_field
from overlapsim.scenario.field import Field

HOLE = shapely.box(12.003, 48.002, 12.005, 48.004)
HOME = shapely.box(12.0, 48.0, 12.01, 48.008) - HOLE
CREEK = shapely.Polygon([(12.02, 48.0), (12.03, 48.001), (12.025, 48.01)])
# KML and GeoJSON are text, written to 1e-7 degree at worst: 1 cm beside these 700 m, on both sides at random.
SAME = 3e-5


def table(**columns: Any) -> geopandas.GeoDataFrame:
    data = columns or {"name": ["Home 80"], "acres": [80.0]}
    shapes = [HOME, CREEK][: len(next(iter(data.values())))]
    return geopandas.GeoDataFrame(data, geometry=shapes, crs="EPSG:4326")


@pytest.fixture
def two(tmp_path: Path) -> Path:
    path = tmp_path / "farm.gpkg"
    table(name=["Home 80", "Creek"], id=[7, 8]).to_file(path, layer="farm")
    return path


def zipped(path: Path, members: list[Path], inner: str = "") -> Path:
    with zipfile.ZipFile(path, "w") as archive:
        for member in members:
            archive.write(member, f"{inner}{member.name}")
    return path


@pytest.mark.parametrize(
    "name", ["home.geojson", "home.json", "home.gpkg", "home.shp", "home.kml", "home.parquet", "home.fgb"]
)
def test_formats(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    if name.endswith(".parquet"):
        pytest.importorskip("pyarrow")
        table().to_parquet(path)
    elif name.endswith(".json"):
        table().to_file(path, driver="GeoJSON")
    elif name.endswith(".kml"):
        table().rename(columns={"name": "Name"}).to_file(path, driver="KML")
    else:
        table().to_file(path)
    field = read_field(path)
    expected = Field.from_geometry(HOME, "EPSG:4326")
    assert field.plantable_m2 == pytest.approx(expected.plantable_m2, rel=SAME)
    assert len(field.parts) == 1
    assert len(field.parts[0].interiors) == 1
    assert field.name == "Home 80"
    assert field.origin["file"] == name
    assert field.origin["middle"] == pytest.approx([12.005, 48.004], abs=1e-9)
    assert field.notes == ()
    json.dumps(field.origin)


@pytest.mark.parametrize("inner", ["", "farm/2024/"])
@pytest.mark.parametrize("name", ["home.shp", "home.gpkg", "home.geojson"])
def test_zipped_with_or_without_a_folder_in_it(tmp_path: Path, name: str, inner: str) -> None:
    loose = tmp_path / "loose"
    loose.mkdir()
    table().to_file(loose / name)
    path = zipped(tmp_path / "home field.zip", sorted(loose.iterdir()), inner)
    field = read_field(path)
    assert field.plantable_m2 == pytest.approx(Field.from_geometry(HOME, "EPSG:4326").plantable_m2, rel=SAME)
    assert field.origin["file"] == "home field.zip"


def test_a_zipped_kml(tmp_path: Path) -> None:
    table().rename(columns={"name": "Name"}).to_file(tmp_path / "doc.kml", driver="KML")
    field = read_field(zipped(tmp_path / "home.kmz", [tmp_path / "doc.kml"]))
    assert field.name == "Home 80"


def test_a_zipped_parquet(tmp_path: Path) -> None:
    pytest.importorskip("pyarrow")
    table().to_parquet(tmp_path / "home.parquet")
    field = read_field(zipped(tmp_path / "home.zip", [tmp_path / "home.parquet"]))
    assert field.name == "Home 80"


def test_what_a_desktop_adds_to_an_archive_is_passed_over(tmp_path: Path) -> None:
    table().to_file(tmp_path / "home.geojson")
    path = tmp_path / "home.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("__MACOSX/._home.geojson", b"\0\1")
        archive.write(tmp_path / "home.geojson", "home.geojson")
    assert read_field(path).name == "Home 80"


def test_an_archive_of_several_files_is_chosen_from_by_layer(tmp_path: Path) -> None:
    for name, shape in (("home", HOME), ("creek", CREEK)):
        geopandas.GeoDataFrame(geometry=[shape], crs="EPSG:4326").to_file(tmp_path / f"{name}.geojson")
    path = zipped(tmp_path / "farm.zip", [tmp_path / "home.geojson", tmp_path / "creek.geojson"])
    with pytest.raises(
        FieldError, match=r'farm.zip  holds 2 layers. Choose layer = "home" or another of: home, creek.'
    ):
        read_field(path)
    field = read_field(path, layer="creek")
    assert field.name == "creek"
    assert field.plantable_m2 == pytest.approx(Field.from_geometry(CREEK, "EPSG:4326").plantable_m2, rel=SAME)
    assert field.origin["layer"] == "creek"


@pytest.mark.parametrize(
    "code", ["EPSG:25833", "EPSG:4647", "EPSG:5514", "EPSG:2193", "EPSG:4269", "EPSG:5070"]
)
def test_the_source_s_system_comes_along(tmp_path: Path, code: str) -> None:
    places = {
        "EPSG:4647": (-2.5, 6.0),
        "EPSG:2193": (160.0, -91.5),
        "EPSG:4269": (-105.0, -6.0),
        "EPSG:5070": (-116.0, -13.0),
    }
    east, north = places.get(code, (3.0, 2.0))
    moved = shapely.transform(HOME, lambda xy: xy + np.array([east, north]))
    frame = geopandas.GeoDataFrame(geometry=[moved], crs="EPSG:4326").to_crs(code)
    frame.to_file(tmp_path / "home.gpkg")
    field = read_field(tmp_path / "home.gpkg")
    assert field.origin["crs"] == code
    assert field.plane is not None
    back = shapely.get_coordinates(field.plane.to_source(shapely.multipolygons(list(field.parts))))
    assert np.abs(np.sort(back, axis=0) - np.sort(frame.get_coordinates().to_numpy(), axis=0)).max() < 1e-6


def test_one_of_many_by_attribute(two: Path) -> None:
    assert read_field(two, where={"name": "Creek"}).name == "Creek"
    assert read_field(two, where={"id": 8}).name == "8"
    assert read_field(two, where={"id": "8"}) == read_field(two, where={"name": "Creek"})
    assert read_field(two, where={"id": 8.0, "name": "Creek"}).origin["where"] == {"id": 8.0, "name": "Creek"}
    assert read_field(two, where={"feature": 2}) == read_field(two, where={"name": "Creek"})


def test_all_together(two: Path) -> None:
    both = read_field(two, all=True)
    assert len(both.parts) == 2
    assert both.origin["all"] is True
    each = [read_field(two, where={"id": number}).plantable_m2 for number in (7, 8)]
    assert both.plantable_m2 == pytest.approx(sum(each), rel=1e-6)


def test_one_of_many_layers(tmp_path: Path) -> None:
    path = tmp_path / "farm.gpkg"
    table(name=["Home 80"]).to_file(path, layer="north")
    geopandas.GeoDataFrame(geometry=[CREEK], crs="EPSG:4326").to_file(path, layer="south")
    field = read_field(path, layer="south")
    assert field.plantable_m2 == pytest.approx(Field.from_geometry(CREEK, "EPSG:4326").plantable_m2, rel=SAME)
    assert field.origin == field.origin | {"file": "farm.gpkg", "layer": "south"}


def test_the_only_layer_of_areas_needs_no_choice(tmp_path: Path) -> None:
    path = tmp_path / "farm.gpkg"
    geopandas.GeoDataFrame(geometry=[shapely.Point(12, 48)], crs="EPSG:4326").to_file(path, layer="wells")
    table().to_file(path, layer="boundary")
    assert read_field(path).name == "Home 80"


def test_label_points_beside_the_outline_are_left_out_and_said(tmp_path: Path) -> None:
    text = json.dumps(
        {
            "type": "FeatureCollection",
            "features": [
                {
                    "type": "Feature",
                    "properties": {},
                    "geometry": shapely.geometry.mapping(
                        shapely.GeometryCollection([shapely.Point(12.005, 48.001), HOME])
                    ),
                }
            ],
        }
    )
    (tmp_path / "home.geojson").write_text(text)
    field = read_field(tmp_path / "home.geojson")
    assert field.notes == ("lines and points in it are left out",)
    assert field.plantable_m2 == pytest.approx(Field.from_geometry(HOME, "EPSG:4326").plantable_m2, rel=SAME)


def test_an_open_ring_is_closed(tmp_path: Path) -> None:
    ring = [[12, 48], [12.01, 48], [12.01, 48.01]]
    (tmp_path / "home.geojson").write_text(json.dumps({"type": "Polygon", "coordinates": [ring]}))
    assert read_field(tmp_path / "home.geojson") == Field.from_geometry(shapely.Polygon(ring), "EPSG:4326")


def test_a_stated_system_serves_files_without_one(tmp_path: Path) -> None:
    table().to_file(tmp_path / "home.shp")
    os.remove(tmp_path / "home.prj")
    with pytest.raises(FieldError) as caught:
        read_field(tmp_path / "home.shp")
    assert str(caught.value) == (
        'home.shp  no .prj beside it. Ask for all parts or the .zip, or state crs = "EPSG:4326".'
    )
    stated = read_field(tmp_path / "home.shp", crs="EPSG:4326")
    assert stated.plantable_m2 == pytest.approx(Field.from_geometry(HOME, "EPSG:4326").plantable_m2, rel=SAME)
    assert stated.origin["crs"] == "EPSG:4326"


def test_geojson_is_longitude_and_latitude_unless_it_or_the_scenario_says_otherwise(tmp_path: Path) -> None:
    """RFC 7946, section 4: WGS 84. Older files name a system in a `crs` member; some forget it."""
    path = tmp_path / "home.geojson"
    grid = geopandas.GeoSeries([HOME], crs="EPSG:4326").to_crs("EPSG:25833")
    ring = json.loads(grid.to_json())["features"][0]["geometry"]
    path.write_text(json.dumps(ring))
    with pytest.raises(FieldError, match=r"are no degrees. State the grid they are in"):
        read_field(path)
    expected = Field.from_geometry(HOME, "EPSG:4326").plantable_m2
    assert read_field(path, crs="EPSG:25833").plantable_m2 == pytest.approx(expected, rel=SAME)
    grid.to_file(path, driver="GeoJSON")
    assert b'"crs"' in path.read_bytes()
    assert read_field(path).plantable_m2 == pytest.approx(expected, rel=SAME)
    assert read_field(path).origin["crs"] == "EPSG:25833"


def test_layers_in_plain_metres_are_read_as_metres(tmp_path: Path) -> None:
    from overlapsim.files.layers import write_layers
    from overlapsim.ground.layers import Layer

    field = Field.rectangle(400, 800)
    layer = Layer(np.array(field.parts, dtype=object), {}, "Polygon")
    write_layers(tmp_path / "layers.gpkg", {"boundary": layer})
    assert read_field(tmp_path / "layers.gpkg").parts == field.parts
    assert read_field(tmp_path / "layers.gpkg").plane is None
