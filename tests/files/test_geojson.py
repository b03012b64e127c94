"""Plain GeoJSON is read twice over: by the few lines of ours, and by the library that reads everything."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import geopandas
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from overlapsim.basics.errors import FieldError
from overlapsim.files import reading
from overlapsim.files.fields import read_field
from overlapsim.files.geojson import read_geojson

HOME = [[[12, 48], [12.01, 48], [12.01, 48.01], [12, 48.01], [12, 48]]]
POND = [[12.004, 48.004], [12.006, 48.004], [12.005, 48.006], [12.004, 48.004]]
AWAY = [[[12.1, 48, 3], [12.11, 48, 3], [12.11, 48.01, 3], [12.1, 48, 3]]]
GRID = [[[390000, 5820000], [390400, 5820000], [390400, 5820800], [390000, 5820000]]]


def polygon(rings: Any) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": rings}


def feature(geometry: Any, **properties: Any) -> dict[str, Any]:
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def collection(*features: Any, **more: Any) -> dict[str, Any]:
    return {"type": "FeatureCollection", **more, "features": list(features)}


def crs(name: str) -> dict[str, Any]:
    return {"type": "name", "properties": {"name": name}}


TWO = (feature(polygon(HOME), name="Home", acres=1), feature(polygon(AWAY), name="Away", acres=2.5))
FILES: dict[str, tuple[Any, dict[str, Any]]] = {
    "a collection of one": (collection(feature(polygon(HOME), name="Home 80")), {}),
    "a feature": (feature(polygon([*HOME, POND]), label="x"), {}),
    "a polygon": (polygon(HOME), {}),
    "several parts": ({"type": "MultiPolygon", "coordinates": [HOME, AWAY]}, {}),
    "with its label point": (
        {
            "type": "GeometryCollection",
            "geometries": [polygon(HOME), {"type": "Point", "coordinates": [12, 48]}],
        },
        {},
    ),
    "one of two by name": (collection(*TWO), {"where": {"name": "Away"}}),
    "one of two by number": (collection(*TWO), {"where": {"acres": "2.5"}}),
    "one of two by its place": (collection(*TWO), {"where": {"feature": 2}}),
    "two together": (collection(*TWO), {"all": True}),
    "two to choose from": (collection(*TWO), {}),
    "two that nothing names": (collection(feature(polygon(HOME)), feature(polygon(AWAY))), {}),
    "a layer's name": (collection(*TWO[:1], name="farm"), {"layer": "farm"}),
    "a layer's wrong name": (collection(*TWO[:1], name="farm"), {"layer": "frm"}),
    "longitude and latitude stated": (
        collection(*TWO[:1], crs=crs("urn:ogc:def:crs:OGC:1.3:CRS84")),
        {"crs": "EPSG:4326"},
    ),
    "a grid stated": (collection(feature(polygon(GRID)), crs=crs("urn:ogc:def:crs:EPSG::25833")), {}),
    "a grid stated in short": (collection(feature(polygon(GRID)), crs=crs("EPSG:25833")), {}),
    "a grid given": (collection(feature(polygon(GRID))), {"crs": "EPSG:25833"}),
    "an unknown grid": (collection(feature(polygon(GRID)), crs=crs("EPSG:1")), {}),
    "ids in words": (collection({**TWO[0], "id": "a"}, {**feature(polygon(AWAY)), "id": "b"}), {}),
    "ids in numbers": (collection({**TWO[0], "id": 7}), {}),
    "an attribute that one lacks": (collection(TWO[0], feature(polygon(AWAY), acres=7)), {}),
    "a list among the attributes": (collection(feature(polygon(HOME), name="Home", crops=["corn"])), {}),
    "no features": (collection(), {}),
    "no shape": (collection(feature(None, name="Home")), {}),
    "an empty shape": (collection(feature(polygon([]), name="Home")), {}),
    "a line": (feature({"type": "LineString", "coordinates": HOME[0]}), {}),
    "an open ring": (polygon([HOME[0][:-1]]), {}),
    "two points": (polygon([HOME[0][:2]]), {}),
    "text for a number": (polygon([[["12", 48], [12.01, 48], [12.01, 48.01], ["12", 48]]]), {}),
    "null for a number": (polygon([[[None, 48], [12.01, 48], [12.01, 48.01], [None, 48]]]), {}),
    "no coordinates": ({"type": "Polygon"}, {}),
    "a number beyond all numbers": (polygon([[[10**400, 48], *HOME[0][1:4], [10**400, 48]]]), {}),
    "another type": ({"type": "Topology", "objects": {}}, {}),
    "a list": ([1, 2], {}),
    "a bow-tie": (polygon([[[12, 48], [12.01, 48.01], [12.01, 48], [12, 48.01], [12, 48]]]), {}),
}


def read(path: Path, **how: Any) -> tuple[Any, ...]:
    try:
        field = read_field(path, **how)
    except FieldError as error:
        return (str(error),)
    return field.sha256(), field.name, field.origin, field.notes, field.part_names, field.plane


@pytest.mark.parametrize("name", FILES)
def test_both_read_the_same(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    content, how = FILES[name]
    path = tmp_path / "home.geojson"
    path.write_text(json.dumps(content, ensure_ascii=False), encoding="utf-8")
    ours = read(path, **how)
    monkeypatch.setattr(reading, "read_geojson", lambda text: None)
    assert ours == read(path, **how)


@pytest.mark.fields
def test_both_read_the_same_real_fields(monkeypatch: pytest.MonkeyPatch) -> None:
    here = Path(__file__).resolve().parents[2]
    folder = Path(os.environ.get("OVERLAPSIM_FIELDS") or here.parent / "shared" / "fields")
    fields_file = folder / "fields.geojson"
    if not fields_file.is_file():
        pytest.skip(f"no collection of real fields in {folder}")
    ids = geopandas.read_file(fields_file)["id"].tolist()[::10]
    ours = [read(fields_file, where={"id": one}) for one in ids]
    monkeypatch.setattr(reading, "read_geojson", lambda text: None)
    assert ours == [read(fields_file, where={"id": one}) for one in ids]


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e999"])
def test_the_place_of_what_is_no_number(number: str, mark: bytes, tmp_path: Path) -> None:
    ring = f"[[{number}, 48], [12.01, 48], [12.01, 48.01], [{number}, 48]]"
    path = tmp_path / "home.geojson"
    path.write_bytes(mark + f'{{"type": "Polygon", "coordinates": [{ring}]}}'.encode())
    assert read(path)[0].startswith("home.geojson  point 1 is not a finite number (2 such points).")


def test_in_an_archive_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import zipfile

    with zipfile.ZipFile(tmp_path / "farm.zip", "w") as archive:
        archive.writestr("inner/home.geojson", json.dumps(collection(*TWO[:1])))
    ours = read(tmp_path / "farm.zip")
    monkeypatch.setattr(reading, "read_geojson", lambda text: None)
    assert len(ours) > 1
    assert ours == read(tmp_path / "farm.zip")


def test_a_field_is_read_without_the_heavy_library(tmp_path: Path) -> None:
    path = tmp_path / "home.geojson"
    path.write_text(json.dumps(collection(*TWO[:1])))
    code = (
        "import sys; from overlapsim.files.fields import read_field; "
        f"read_field({str(path)!r}); print({{'geopandas', 'pandas', 'pyogrio'}} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


KINDS = ["Polygon", "Feature", "FeatureCollection", "GeometryCollection", "MultiPolygon"]
JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers(-200, 200) | st.sampled_from(KINDS),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["type", "coordinates", "geometry", "properties", "features", "crs", "id"]), inner
        )
    ),
    max_leaves=20,
)


@given(JSON)
def test_whatever_it_holds_it_is_read_or_left(content: Any) -> None:
    found = read_geojson(json.dumps(content).encode())
    assert found is None or all(s is None or isinstance(s, shapely.Geometry) for s in found[1].shapes)


@given(st.binary(max_size=60))
def test_whatever_bytes_it_is_read_or_left(content: bytes) -> None:
    assert read_geojson(content) is None or json.loads(content)
