"""The GeoPackage of layers: what it holds, where it lies, that it opens coloured, the same bytes always."""

from __future__ import annotations

import errno
import hashlib
import sqlite3
import time
import warnings
import xml.etree.ElementTree as ElementTree
from contextlib import closing
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pyogrio
import pytest
import shapely
from pyproj import CRS

from overlapsim.files.layers import write_layers
from overlapsim.files.styles import style_of
from overlapsim.ground.layers import Layer
from overlapsim.scenario.field import Field

NAMES = ("boundary", "passes", "planted", "skip", "overlap", "off_field", "row_ends")


def shapes(*found: shapely.Geometry) -> np.ndarray:
    return np.array(found, dtype=object)


def layers(field: Field) -> dict[str, Layer]:
    empty = np.array([], dtype=object)
    return {
        "boundary": Layer(shapes(*field.parts), {"part": np.array([1])}, "Polygon"),
        "passes": Layer(
            shapes(shapely.LineString([(0, -50), (0, 50)]), shapely.LineString([(12, 50), (12, -50)])),
            {
                "leg": np.array([1, 2], dtype=np.int32),
                "kind": np.array(["pass", "pass"]),
                "closed": np.array([False, False]),
            },
            "LineString",
        ),
        "planted": Layer(
            shapes(
                shapely.box(-6, -50, 6, 50),
                shapely.MultiPolygon([shapely.box(6, -50, 18, 0), shapely.box(6, 1, 18, 50)]),
            ),
            {"leg": np.array([1, 2])},
            "Polygon",
        ),
        "skip": Layer(shapes(shapely.box(6, 0, 18, 1)), {"area_m2": np.array([12.0])}, "Polygon"),
        "overlap": Layer(empty, {"times": np.array([], dtype=int)}, "Polygon"),
        "off_field": Layer(empty, {}, "Polygon"),
        "row_ends": Layer(
            shapes(shapely.Point(1, 2), shapely.Point(3, 4)),
            {"event": np.array(["on", "off"], dtype=object), "error_m": np.array([0.25, np.nan])},
            "Point",
        ),
    }


@pytest.fixture
def field() -> Field:
    return Field.from_geometry(shapely.box(12, 48, 12.01, 48.01), "EPSG:4326")


def test_all_layers_are_there_with_their_kinds_and_columns(tmp_path: Path, field: Field) -> None:
    path = tmp_path / "layers.gpkg"
    write_layers(path, layers(field), field.plane)
    found = dict(pyogrio.list_layers(path))
    assert [name for name in found if found[name] is not None] == list(NAMES)
    assert found["planted"] == "MultiPolygon"
    assert found["overlap"] == found["boundary"] == "Polygon"
    assert found["passes"] == "LineString"
    assert found["row_ends"] == "Point"
    passes = geopandas.read_file(path, layer="passes")
    assert passes["leg"].tolist() == [1, 2]
    assert passes["kind"].tolist() == ["pass", "pass"]
    assert passes["closed"].tolist() == [False, False]
    empty = geopandas.read_file(path, layer="overlap")
    assert len(empty) == 0
    assert "times" in empty.columns
    ends = geopandas.read_file(path, layer="row_ends")
    assert ends["event"].tolist() == ["on", "off"]
    assert ends["error_m"].iloc[0] == 0.25
    assert np.isnan(ends["error_m"].iloc[1])


@pytest.mark.parametrize("code", ["EPSG:4326", "EPSG:25833", "EPSG:5514", "EPSG:5070", "EPSG:2227"])
def test_layers_lie_where_the_field_s_file_lies(tmp_path: Path, code: str) -> None:
    """The outline comes back in the source's own coordinates to a micrometre."""
    places = {"EPSG:5514": (18.5, 48.5), "EPSG:5070": (-104.0, 35.0), "EPSG:2227": (-121.0, 38.0)}
    east, north = places.get(code, (13.5, 52.5))
    square = shapely.box(east, north, east + 0.01, north + 0.01)
    source = geopandas.GeoSeries([square], crs="EPSG:4326").to_crs(code)
    field = Field.from_geometry(source.iloc[0], code)
    write_layers(tmp_path / "layers.gpkg", layers(field), field.plane)
    back = geopandas.read_file(tmp_path / "layers.gpkg", layer="boundary")
    assert back.crs == source.crs
    unit = 111_200.0 if source.crs.is_geographic else 1.0
    step = np.sort(back.get_coordinates().to_numpy(), axis=0) - np.sort(
        source.get_coordinates().to_numpy(), axis=0
    )
    assert np.abs(step).max() * unit < 1e-6
    # A pass 100 m long is 100 m long on the ground, in whatever units the layers are.
    passes = geopandas.read_file(tmp_path / "layers.gpkg", layer="passes")
    assert field.plane is not None
    assert shapely.length(field.plane.to_ground(passes.geometry.to_numpy())) == pytest.approx(
        [100, 100], abs=1e-6
    )


def test_fields_in_metres_give_layers_in_metres(tmp_path: Path) -> None:
    field = Field.rectangle(100, 100)
    write_layers(tmp_path / "layers.gpkg", layers(field))
    back = geopandas.read_file(tmp_path / "layers.gpkg", layer="skip")
    assert back.geometry.iloc[0].equals(shapely.box(6, 0, 18, 1))
    # OGC GeoPackage 1.3, clause 1.1.2.1.2: -1 stands for undefined Cartesian coordinates.
    with sqlite3.connect(tmp_path / "layers.gpkg") as base:
        assert set(base.execute("select srs_id from gpkg_geometry_columns")) == {(-1,)}


def test_it_keeps_the_format_s_rules(tmp_path: Path, field: Field) -> None:
    """OGC GeoPackage 1.3, clauses 1.1.1 to 1.1.3, 2.1.3 and 2.1.5, read from the file itself."""
    path = tmp_path / "layers.gpkg"
    write_layers(path, layers(field), field.plane)
    # SQLite's file head: the application's letters at byte 68, its version at byte 60.
    head = path.read_bytes()[:100]
    assert head[:16] == b"SQLite format 3\0"
    assert head[68:72] == b"GPKG"
    assert int.from_bytes(head[60:64], "big") == 10200
    with closing(sqlite3.connect(path)) as base:
        assert base.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert base.execute("PRAGMA foreign_key_check").fetchall() == []
        systems = {number for (number,) in base.execute("select srs_id from gpkg_spatial_ref_sys")}
        assert {-1, 0, 4326} <= systems
        used = {number for (number,) in base.execute("select srs_id from gpkg_contents")}
        assert used <= systems
        for name, column, kind in base.execute(
            "select table_name, column_name, geometry_type_name from gpkg_geometry_columns"
        ).fetchall():
            box = base.execute(
                "select min_x, max_x, min_y, max_y from gpkg_contents where table_name = ?", (name,)
            ).fetchone()
            found = [blob for (blob,) in base.execute(f'select "{column}" from "{name}"')]
            for blob in found:
                assert blob[:3] == b"GP\0"
                assert int.from_bytes(blob[4:8], "little", signed=True) in used
                bounds = 0 if kind == "POINT" else 32
                assert blob[3] == (1 if kind == "POINT" else 3)
                shape = shapely.from_wkb(blob[8 + bounds :])
                assert shape.geom_type.upper() == kind
                x0, y0, x1, y1 = shape.bounds
                if bounds:
                    assert np.frombuffer(blob[8:40], "<f8").tolist() == [x0, x1, y0, y1]
                assert box[0] <= x0 <= x1 <= box[1]
                assert box[2] <= y0 <= y1 <= box[3]
            assert found or box == (None,) * 4


def test_readers_have_nothing_to_complain_of(tmp_path: Path, field: Field) -> None:
    path = tmp_path / "layers.gpkg"
    odd = Layer(shapes(shapely.Point(1, 2)), {'a "name"': np.array(["it's \u00e4 \u2033"])}, "Point")
    write_layers(path, {**layers(field), "with 'marks\"": odd}, field.plane)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for name, _ in pyogrio.list_layers(path):
            read = pyogrio.read_dataframe(path, layer=name)
    assert next(iter(read.columns)) == "f_table_catalog"
    back = pyogrio.read_dataframe(path, layer="with 'marks\"")
    assert back['a "name"'].tolist() == ["it's \u00e4 \u2033"]
    assert pyogrio.read_dataframe(path, layer="passes")["closed"].dtype == bool


def test_a_system_without_a_number_goes_along_in_words(tmp_path: Path) -> None:
    own = CRS.from_proj4("+proj=tmerc +lat_0=52 +lon_0=13 +k=0.9998 +datum=WGS84 +units=m")
    field = Field.from_geometry(shapely.box(0, 0, 400, 400), own)
    write_layers(tmp_path / "layers.gpkg", layers(field), field.plane)
    back = geopandas.read_file(tmp_path / "layers.gpkg", layer="boundary")
    assert back.crs.equals(own, ignore_axis_order=True)
    assert back.total_bounds == pytest.approx([0, 0, 400, 400], abs=1e-6)


def test_a_full_disk_is_a_full_disk(tmp_path: Path, field: Field, monkeypatch: pytest.MonkeyPatch) -> None:
    connect = sqlite3.connect

    def small(*args: Any, **more: Any) -> sqlite3.Connection:
        base = connect(*args, **more)
        base.execute("PRAGMA max_page_count = 8")
        return base

    monkeypatch.setattr(sqlite3, "connect", small)
    with pytest.raises(OSError, match=r"layers\.gpkg") as caught:
        write_layers(tmp_path / "layers.gpkg", layers(field), field.plane)
    assert caught.value.errno == errno.ENOSPC
    (tmp_path / "layers.gpkg").unlink()  # nobody holds it open


def test_the_same_bytes_whenever_it_is_written(tmp_path: Path, field: Field) -> None:
    digests = set()
    for number in range(2):
        path = tmp_path / f"{number}.gpkg"
        write_layers(path, layers(field), field.plane)
        write_layers(path, layers(field), field.plane)  # over an old one too
        digests.add(hashlib.sha256(path.read_bytes()).hexdigest())
        time.sleep(1.1)  # the format's clock counts seconds and less
    assert len(digests) == 1


def test_it_opens_coloured(tmp_path: Path, field: Field) -> None:
    """Each layer has a default style, found as desktop GIS look for it: by table and geometry column."""
    path = tmp_path / "layers.gpkg"
    write_layers(path, layers(field), field.plane)
    with sqlite3.connect(path) as base:
        kinds = dict(base.execute("select table_name, data_type from gpkg_contents"))
        styles = {
            (name, column): (default, text)
            for name, column, default, text in base.execute(
                "select f_table_name, f_geometry_column, useAsDefault, styleQML from layer_styles"
                " where f_table_catalog = '' and f_table_schema = ''"
            )
        }
        columns = dict(base.execute("select table_name, column_name from gpkg_geometry_columns"))
    assert kinds["layer_styles"] == "attributes"
    assert set(styles) == {(name, columns[name]) for name in NAMES}
    for default, text in styles.values():
        assert default == 1
        assert ElementTree.fromstring(text).find("renderer-v2/symbols/symbol/layer/Option/Option") is not None


def test_no_two_layers_look_alike() -> None:
    """Colours of Okabe & Ito (2008) for skip, overlap, off-field: no two alike, whatever one's eyes."""
    okabe_ito = {"213,94,0": "vermillion", "0,114,178": "blue", "204,121,167": "reddish purple"}
    seen = {}
    for name in ("skip", "overlap", "off_field"):
        text = style_of(name)
        assert text is not None
        seen[name] = [word for colour, word in okabe_ito.items() if f'"{colour},255"' in text]
    assert seen == {"skip": ["vermillion"], "overlap": ["blue"], "off_field": ["reddish purple"]}
    assert style_of("row_ends") is not None
    assert style_of("nothing of ours") is None


def test_thousands_of_strips_are_written_in_a_second_or_two(tmp_path: Path, field: Field) -> None:
    """Ten times the bound of what was measured on two cores (0.3 s for 20,000)."""
    count = 20_000
    strips = shapely.box(np.arange(count) * 0.01, 0, np.arange(count) * 0.01 + 0.01, 100)
    started = time.perf_counter()
    write_layers(
        tmp_path / "layers.gpkg",
        {"planted": Layer(strips, {"leg": np.arange(count)}, "Polygon")},
        field.plane,
    )
    assert time.perf_counter() - started < 10
    assert pyogrio.read_info(tmp_path / "layers.gpkg", layer="planted")["features"] == count
