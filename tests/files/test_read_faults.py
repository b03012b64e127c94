"""Files that hold no field, or not one: one line each, with what to do."""

from __future__ import annotations

import json
import os
import zipfile
from pathlib import Path
from typing import Any

import geopandas
import pytest
import shapely

from overlapsim.basics.errors import FieldError
from overlapsim.files.fields import read_field

SQUARE = shapely.box(12, 48, 12.01, 48.01)


def words(path: Path, **choice: Any) -> str:
    """What reading a file says, without the folder it lies in."""
    with pytest.raises(FieldError) as caught:
        read_field(path, **choice)
    text = str(caught.value).replace(f"{path.parent}{os.sep}", "")
    assert "\n" not in text
    return text


def geojson(path: Path, *shapes: shapely.Geometry | None, **columns: Any) -> Path:
    features = [
        {
            "type": "Feature",
            "properties": {name: values[i] for name, values in columns.items()},
            "geometry": None if shape is None else shapely.geometry.mapping(shape),
        }
        for i, shape in enumerate(shapes)
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def test_no_such_file(tmp_path: Path) -> None:
    geojson(tmp_path / "home-80.geojson", SQUARE)
    assert words(tmp_path / "home_80.geojson") == (
        "home_80.geojson  no such file. Did you mean home-80.geojson?"
    )
    assert words(tmp_path / "elsewhere" / "x.shp").endswith("no such file. Check the name.")


def test_a_folder(tmp_path: Path) -> None:
    (tmp_path / "farm").mkdir()
    geojson(tmp_path / "farm" / "home.geojson", SQUARE)
    assert (
        words(tmp_path / "farm") == "farm  a folder, not a file. Name the file in it. It holds home.geojson."
    )


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("home.geojson", b"", "is empty. Ask for it again."),
        ("home.geojson", b'{"type": "Feature', "cannot be read: its text breaks off or is no GeoJSON."),
        ("home.txt", b"forty acres", "cannot be read: not a format that holds areas, or damaged."),
        ("home.shp", b"\0" * 100, "no .shx beside it. Ask for all parts or the .zip."),
        ("home.prj", b"x", "a part of a shapefile, not the .shp. Ask for all parts or the .zip."),
        ("home.zip", b"PK\3\4 broken", "not a sound archive. Ask for it again."),
        ("home.gpkg", b"SQLite format 3\0" + b"\0" * 200, "cannot be read: "),
        ("home.parquet", b"PAR1 broken PAR1", "cannot be read: "),
    ],
)
def test_unreadable(tmp_path: Path, name: str, content: bytes, said: str) -> None:
    if name.endswith(".parquet"):
        pytest.importorskip("pyarrow")
    (tmp_path / name).write_bytes(content)
    assert words(tmp_path / name).startswith(f"{name}  {said}")


def test_the_companion_of_a_shapefile_leads_to_it(tmp_path: Path) -> None:
    geopandas.GeoDataFrame(geometry=[SQUARE], crs="EPSG:4326").to_file(tmp_path / "home.shp")
    assert words(tmp_path / "home.dbf") == "home.dbf  a part of a shapefile, not the .shp. Name home.shp."


def test_an_archive_without_a_field(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "home.zip", "w") as archive:
        archive.writestr("readme.txt", "hello")
    assert words(tmp_path / "home.zip").startswith(
        "home.zip  holds no file with a field (readme.txt). Looked for .shp"
    )
    with zipfile.ZipFile(tmp_path / "half.zip", "w") as archive:
        archive.writestr("farm/home.shp", b"\0" * 100)
    assert words(tmp_path / "half.zip") == "half.zip  no .shx beside farm/home.shp. Ask for all parts."


@pytest.mark.parametrize(
    ("shape", "said"),
    [
        (
            shapely.LineString([(12, 48), (12.04, 48), (12.04, 48.01), (12.03, 48.01)]),
            # 0.04 + 0.01 + 0.01 long, its ends a third hypotenuse of 3 and 1 apart.
            "holds a line, not an area: its ends lie 53 % of its length apart.",
        ),
        (shapely.Point(12, 48), "holds a point, not an area."),
        (shapely.MultiPoint([(12, 48), (12.1, 48)]), "holds a point, not an area."),
        (shapely.Polygon(), "holds an empty shape, not an area."),
        (None, "holds an empty shape, not an area."),
    ],
)
def test_no_area(tmp_path: Path, shape: shapely.Geometry | None, said: str) -> None:
    path = geojson(tmp_path / "home.geojson", shape)
    assert words(path) == f"home.geojson  {said} Ask for the boundary as a polygon."


def test_no_feature(tmp_path: Path) -> None:
    assert words(geojson(tmp_path / "home.geojson")) == (
        "home.geojson  holds no feature at all. Ask for the boundary as a polygon."
    )


def test_a_table_without_shapes(tmp_path: Path) -> None:
    (tmp_path / "home.csv").write_text("name,acres\nHome 80,80\n")
    assert words(tmp_path / "home.csv") == (
        "home.csv  holds no layer with shapes. Ask for the boundary as a polygon."
    )


def test_several_fields_are_named(tmp_path: Path) -> None:
    shapes = [shapely.box(12 + i / 50, 48, 12.01 + i / 50, 48.01) for i in range(14)]
    names = [f"Field {i}" for i in range(13)] + ["Home 80"]
    path = geojson(tmp_path / "farm.geojson", *shapes, crop=["corn"] * 14, name=names)
    text = words(path)
    assert text.startswith(
        'farm.geojson  holds 14 fields. Choose where = {name = "Field 0"} (Field 0, Field 1, '
    )
    assert text.endswith("Home 80), or all = true.")
    assert words(path, where={"name": "Home 8O"}) == (
        'farm.geojson  field.where  no field where name = "Home 8O". Did you mean "Home 80"?'
    )
    assert words(path, where={"Name": "Home 80"}) == (
        'farm.geojson  field.where  no attribute "Name". Did you mean name?'
    )
    assert (
        words(path, where={"owner": "x"})
        == 'farm.geojson  field.where  no attribute "owner". It has: crop, name.'
    )
    assert words(path, where={"crop": "corn"}).startswith(
        'farm.geojson  field.where  holds 14 fields that fit where. Choose where = {name = "Field 0"}'
    )
    assert words(path, where={"feature": 15}).startswith(
        "farm.geojson  field.where  no field where feature = 15."
    )


def test_several_fields_that_nothing_names(tmp_path: Path) -> None:
    path = geojson(
        tmp_path / "farm.geojson", SQUARE, shapely.box(12.1, 48, 12.11, 48.01), crop=["corn", "corn"]
    )
    assert words(path) == (
        "farm.geojson  holds 2 fields. Choose where = {feature = 1} "
        "(counted from 1; nothing in it names them), or all = true."
    )


def test_several_layers_are_named(tmp_path: Path) -> None:
    path = tmp_path / "farm.gpkg"
    for name in ("north", "south"):
        geopandas.GeoDataFrame(geometry=[SQUARE], crs="EPSG:4326").to_file(path, layer=name)
    assert words(path) == 'farm.gpkg  holds 2 layers. Choose layer = "north" or another of: north, south.'
    assert words(path, layer="nort") == 'farm.gpkg  no layer "nort". Did you mean north?'


def test_no_coordinate_system(tmp_path: Path) -> None:
    path = tmp_path / "home.gpkg"
    with pytest.warns(UserWarning, match="crs"):
        geopandas.GeoDataFrame(geometry=[SQUARE]).to_file(path)
    assert words(path) == (
        'home.gpkg  states no coordinate system. Ask which it is and state crs = "EPSG:4326" or the like.'
    )
    assert words(path, crs="EPSG:99999") == (
        "home.gpkg  unknown coordinate system 'EPSG:99999'. Write crs = \"EPSG:4326\" or the like."
    )


def test_a_second_coordinate_system(tmp_path: Path) -> None:
    path = tmp_path / "home.gpkg"
    geopandas.GeoDataFrame(geometry=[SQUARE], crs="EPSG:4326").to_file(path)
    assert read_field(path, crs="EPSG:4326") == read_field(path)
    assert read_field(path, crs="OGC:CRS84") == read_field(path)  # the same but for the order of axes
    assert words(path, crs="EPSG:25833") == (
        "home.gpkg  field.crs  states its own coordinate system, EPSG:4326. Leave crs out."
    )
    assert words(path, crs="nonsense").startswith(
        "home.gpkg  field.crs  unknown coordinate system 'nonsense'."
    )


def test_coordinates_that_are_no_numbers(tmp_path: Path) -> None:
    path = tmp_path / "home.geojson"
    ring = "[[12, 48], [NaN, 48], [12.01, 48.01], [12, 48]]"
    path.write_text(f'{{"type": "Polygon", "coordinates": [{ring}]}}')
    assert words(path) == "home.geojson  point 2 is not a finite number. Ask for the boundary again."


def test_longitude_and_latitude_swapped(tmp_path: Path) -> None:
    path = geojson(tmp_path / "home.geojson", shapely.box(47.88, -110.56, 47.89, -110.55))
    assert words(path) == (
        "home.geojson  latitude -110.5600 is beyond 90 degrees. "
        "Are longitude and latitude swapped? Longitude comes first."
    )


def test_without_pyarrow_parquet_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pyarrow", None)
    (tmp_path / "home.parquet").write_bytes(b"PAR1")
    assert words(tmp_path / "home.parquet") == (
        'home.parquet  GeoParquet needs pyarrow. Install it: pip install "overlapsim[study]".'
    )
