"""Coordinate systems and kinds of shapes as people mail them: read, or refused with what to ask for."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import geopandas
import pytest
import shapely

from overlapsim.files.fields import read_field
from tests.files.mailed import (
    CREEK,
    HOME,
    IN_GRID,
    LEFT_OUT,
    RING,
    feature,
    geojson,
    is_home,
    named,
    packed,
    words,
)


@pytest.mark.parametrize(
    ("member", "shape", "code"),
    [
        (named("urn:ogc:def:crs:OGC:1.3:CRS84"), HOME, "EPSG:4326"),
        (named("EPSG:4326"), HOME, "EPSG:4326"),
        (named("WGS84"), HOME, "EPSG:4326"),
        (None, HOME, "EPSG:4326"),
        (named("urn:ogc:def:crs:EPSG::25833"), IN_GRID, "EPSG:25833"),
        (named("EPSG:25833"), IN_GRID, "EPSG:25833"),
        ({"type": "EPSG", "properties": {"code": 25833}}, IN_GRID, "EPSG:25833"),
    ],
)
def test_a_coordinate_system_member(tmp_path: Path, member: Any, shape: Any, code: str) -> None:
    field = read_field(geojson(tmp_path / "home.geojson", feature(shape), crs=member))
    is_home(field)
    assert field.origin["crs"] == code


@pytest.mark.parametrize(
    ("member", "said"),
    [
        (named("my farm"), "my farm"),
        (named(7), "7"),
        ({"type": "link", "properties": {"href": "https://example.org/crs", "type": "proj4"}}, "https://example.org/crs"),
        ({}, "empty"),
        ("EPSG:4326", "EPSG:4326"),
    ],
)  # fmt: skip
def test_a_coordinate_system_member_that_says_nothing(tmp_path: Path, member: Any, said: str) -> None:
    path = geojson(tmp_path / "home.geojson", feature(HOME), crs=member)
    assert words(path) == (
        f"home.geojson  states a coordinate system that nobody else knows ({said}). "
        'Ask which it is and state crs = "EPSG:4326" or the like.'
    )
    is_home(read_field(path, crs="EPSG:4326"))


def test_coordinates_that_contradict_their_system(tmp_path: Path) -> None:
    """What is advised must be possible: the scenario's word outweighs a system that cannot be meant."""
    path = geojson(tmp_path / "home.geojson", feature(HOME), crs=named("EPSG:25833"))
    assert "look like degrees" in words(path)
    is_home(
        read_field(path, crs="EPSG:4326"),
        "states EPSG:25833, which its coordinates do not fit: read as crs says",
    )
    path = geojson(tmp_path / "grid.geojson", feature(IN_GRID), crs=named("EPSG:4326"))
    assert 'are no degrees. State the grid they are in, crs = "EPSG:…".' in words(path)
    is_home(
        read_field(path, crs="EPSG:25833"),
        "states EPSG:4326, which its coordinates do not fit: read as crs says",
    )
    # A system that fits is not outweighed.
    path = geojson(tmp_path / "sound.geojson", feature(IN_GRID), crs=named("EPSG:25833"))
    assert "states its own coordinate system, EPSG:25833. Leave crs out." in words(path, crs="EPSG:25832")


def test_a_grid_without_a_system(tmp_path: Path) -> None:
    path = geojson(tmp_path / "home.geojson", feature(IN_GRID))
    assert "are no degrees. State the grid they are in" in words(path)
    is_home(read_field(path, crs="EPSG:25833"))


@pytest.mark.parametrize("place", [(-93.5, 42.0), (-75.0, 40.0)])
def test_longitude_and_latitude_swapped(tmp_path: Path, place: tuple[float, float]) -> None:
    """Latitude -93.5 is none; latitude -75 is one, where nobody farms."""
    east, north = place
    path = geojson(tmp_path / "home.geojson", feature(shapely.box(north, east, north + 0.01, east + 0.01)))
    assert words(path).endswith("Are longitude and latitude swapped? Longitude comes first.")


@pytest.mark.parametrize("extra", [(300.0,), (300.0, 5.0)])
def test_heights_and_measures_in_geojson(tmp_path: Path, extra: tuple[float, ...]) -> None:
    shape = {"type": "Polygon", "coordinates": [[[*point, *extra] for point in RING]]}
    is_home(read_field(geojson(tmp_path / "home.geojson", feature(shape))))


def test_repeated_points(tmp_path: Path) -> None:
    twice = [point for point in RING for _ in range(2)]
    is_home(
        read_field(geojson(tmp_path / "home.geojson", feature({"type": "Polygon", "coordinates": [twice]})))
    )


@pytest.mark.parametrize(
    "empty", [None, shapely.Polygon(), shapely.GeometryCollection(), shapely.LineString()]
)
def test_empty_and_null_shapes(tmp_path: Path, empty: Any) -> None:
    path = geojson(tmp_path / "home.geojson", feature(empty, name="?"), feature(HOME, name="Home 80"))
    field = read_field(path)
    is_home(field)
    assert field.name == "Home 80"
    assert words(geojson(tmp_path / "none.geojson", feature(empty))) == (
        "none.geojson  holds an empty shape, not an area. Ask for the boundary as a polygon."
    )
    assert "holds an empty shape" in words(path, where={"name": "?"})


def test_several_parts_and_collections_in_collections(tmp_path: Path) -> None:
    both = read_field(geojson(tmp_path / "two.geojson", feature(shapely.MultiPolygon([HOME, CREEK]))))
    assert len(both.parts) == 2
    inner = shapely.GeometryCollection([shapely.MultiPolygon([HOME]), shapely.Point(12, 48)])
    deep = shapely.GeometryCollection([shapely.GeometryCollection([inner])])
    is_home(read_field(geojson(tmp_path / "deep.geojson", feature(deep))), LEFT_OUT)


def test_kinds_of_shapes_in_one_layer(tmp_path: Path) -> None:
    table = geopandas.GeoDataFrame(
        {"name": ["edge", "Home 80", "gate"]},
        geometry=[shapely.LineString(RING[:2]), HOME, shapely.Point(12, 48)],
        crs="EPSG:4326",
    )
    for name in ("home.gpkg", "home.fgb"):
        table.to_file(tmp_path / name)
        is_home(read_field(tmp_path / name), LEFT_OUT)


def test_a_database_of_several_layers(tmp_path: Path) -> None:
    path = tmp_path / "farm.gpkg"
    for name, shape in (("north", HOME), ("south", CREEK)):
        geopandas.GeoDataFrame(geometry=[shape], crs="EPSG:4326").to_file(path, layer=name)
    assert words(path) == 'farm.gpkg  holds 2 layers. Choose layer = "north" or another of: north, south.'
    is_home(read_field(path, layer="north"))
    is_home(read_field(packed(tmp_path / "farm.zip", [path], "x/"), layer="north"))


def test_geometry_columns_that_are_missing(tmp_path: Path) -> None:
    pytest.importorskip("pyarrow")
    import pandas

    pandas.DataFrame({"name": ["Home 80"], "geometry": [HOME.wkb]}).to_parquet(tmp_path / "home.parquet")
    assert words(tmp_path / "home.parquet").startswith(
        "home.parquet  cannot be read: a table without areas, or its geometry column is not declared. Ask"
    )
    path = geojson(tmp_path / "home.geojson", {"type": "Feature", "properties": {"name": "Home 80"}})
    assert words(path).startswith("home.geojson  holds an empty shape, not an area.")


def test_a_field_that_states_no_system_in_geoparquet(tmp_path: Path) -> None:
    pytest.importorskip("pyarrow")
    geopandas.GeoDataFrame({"name": ["Home 80"]}, geometry=[HOME]).to_parquet(tmp_path / "home.parquet")
    assert "states no coordinate system. Ask which it is" in words(tmp_path / "home.parquet")
    is_home(read_field(tmp_path / "home.parquet", crs="EPSG:4326"))


def test_a_folder_of_an_archive_that_is_a_database(tmp_path: Path) -> None:
    try:
        geopandas.GeoDataFrame(geometry=[HOME], crs="EPSG:4326").to_file(
            tmp_path / "farm.gdb", driver="OpenFileGDB", layer="home"
        )
    except Exception:
        pytest.skip("this GDAL writes no file databases")
    is_home(read_field(tmp_path / "farm.gdb"))
    path = packed(tmp_path / "farm.zip", sorted((tmp_path / "farm.gdb").iterdir()), "x/farm.gdb/")
    is_home(read_field(path))
