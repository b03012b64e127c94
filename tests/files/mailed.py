"""Files of an invented field, in the forms in which people mail them, and what reading them says."""

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
from overlapsim.scenario.field import Field

HOME = shapely.Polygon([(12, 48), (12.01, 48), (12.011, 48.008), (12, 48.008)])
CREEK = shapely.Polygon([(12.02, 48), (12.03, 48.001), (12.025, 48.01)])
HOME_M2 = Field.from_geometry(HOME, "EPSG:4326").plantable_m2
RING = [list(point) for point in HOME.exterior.coords]
PAIRS = [f"{x},{y},0" for x, y in RING]
IN_GRID = geopandas.GeoSeries([HOME], crs="EPSG:4326").to_crs("EPSG:25833").iloc[0]
# Text holds coordinates to 1e-15 of a degree and more; a grid's series are good to a nanometre.
SAME = 1e-9
CLOSED = "a line that closes is taken as the boundary"
LEFT_OUT = "lines and points in it are left out"


def words(path: Path, **how: Any) -> str:
    with pytest.raises(FieldError) as caught:
        read_field(path, **how)
    said = str(caught.value)
    assert "\n" not in said
    return said.replace(f"{path.parent}{os.sep}", "")


def is_home(field: Field, *notes: str) -> None:
    assert field.plantable_m2 == pytest.approx(HOME_M2, rel=SAME)
    assert field.notes == notes


def shapefile(folder: Path, *shapes: Any, name: str = "home") -> list[Path]:
    folder.mkdir(exist_ok=True)
    names = ["Home 80", "Creek"][: len(shapes)]
    geopandas.GeoDataFrame({"name": names}, geometry=list(shapes), crs="EPSG:4326").to_file(
        folder / f"{name}.shp"
    )
    return sorted(folder.glob(f"{name}.*"))


def packed(path: Path, files: list[Path], inner: str = "") -> Path:
    with zipfile.ZipFile(path, "w") as archive:
        for one in files:
            archive.write(one, inner + one.name)
    return path


def geojson(path: Path, *features: Any, **more: Any) -> Path:
    whole = {"type": "FeatureCollection", **more, "features": list(features)}
    path.write_text(json.dumps(whole), "utf-8")
    return path


def feature(shape: Any, **properties: Any) -> dict[str, Any]:
    geometry = shapely.geometry.mapping(shape) if isinstance(shape, shapely.Geometry) else shape
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def kml(path: Path, *placemarks: tuple[str, str]) -> Path:
    marks = "".join(f"<Placemark><name>{name}</name>{shape}</Placemark>" for name, shape in placemarks)
    path.write_text(
        f'<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>{marks}</Document></kml>',
        "utf-8",
    )
    return path


def line(places: list[str]) -> str:
    return f"<LineString><coordinates>{' '.join(places)}</coordinates></LineString>"


AREA = (
    "<Polygon><outerBoundaryIs><LinearRing><coordinates>"
    f"{' '.join(PAIRS)}</coordinates></LinearRing></outerBoundaryIs></Polygon>"
)


def named(name: Any) -> dict[str, Any]:
    return {"type": "name", "properties": {"name": name}}
