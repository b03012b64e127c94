"""Write map layers into one GeoPackage that opens coloured, the same bytes each time."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from overlapsim.files.styles import style_of
from overlapsim.ground.layers import Layer
from overlapsim.scenario.plane import Plane

#: Stands where the format asks for the time of writing: same input, same bytes.
_NO_TIME = "2000-01-01T00:00:00.000Z"
#: Coordinates in metres that are tied to no place on the earth; the name makes number -1 of it.
#: OGC GeoPackage encoding standard 1.3, clause 1.1.2.1.2.
_METRES_ONLY = (
    'LOCAL_CS["Undefined Cartesian SRS",UNIT["metre",1],AXIS["Easting",EAST],AXIS["Northing",NORTH]]'
)
_GEOMETRY = "geom"
#: Version of the format that ten years of readers open without a word.
_VERSION = "1.2"


def write_layers(path: str | Path, layers: Mapping[str, Layer], plane: Plane | None = None) -> None:
    """Write layers into a new GeoPackage.

    Parameters
    ----------
    path : str or Path
        The file; one of that name is replaced.
    layers : mapping of str to Layer
        By name, in the order in which they are written; geometry in the ground frame, m. A layer without
        features is written too, with its columns.
    plane : Plane or None
        The field's plane: the layers go back to its source's coordinate system. None writes metres tied to no
        place.

    Notes
    -----
    Columns may hold numbers, truth values or text; an empty text or a number that is not one is written as it
    stands. Styles stand in the table `layer_styles`, which desktop GIS read.
    """
    import pyogrio

    path = Path(path)
    path.unlink(missing_ok=True)
    crs = _METRES_ONLY if plane is None else plane.crs_wkt
    options = {"SPATIAL_INDEX": "NO", "GEOMETRY_NAME": _GEOMETRY}
    with _no_wall_clock(), warnings.catch_warnings():
        # What the writer has to say about coordinates tied to no place is meant here.
        warnings.simplefilter("ignore")
        for name, layer in layers.items():
            shapes = np.asarray(layer.geometry, dtype=object)
            if plane is not None and len(shapes):
                shapes = plane.to_source(shapes)
            shapes, kind = _of_one_kind(shapes, layer.kind)
            pyogrio.raw.write(
                str(path),
                geometry=shapely.to_wkb(shapes, byte_order=1),
                field_data=[_plain(column) for column in layer.columns.values()],
                fields=np.array(list(layer.columns), dtype=object),
                layer=name,
                driver="GPKG",
                geometry_type=kind,
                crs=crs,
                append=path.exists(),
                layer_options=options,
                dataset_options={"VERSION": _VERSION},
            )
        _write_styles(path, [name for name in layers if style_of(name)])


def _of_one_kind(shapes: np.ndarray, kind: str) -> tuple[np.ndarray, str]:
    """Give all shapes of a layer one kind: several parts anywhere make all of them shapes of parts."""
    if kind != "Polygon" or not any(s.geom_type == "MultiPolygon" for s in shapes):
        return shapes, kind
    parts = [shapely.multipolygons(shapely.get_parts(s)) for s in shapes]
    return np.array(parts, dtype=object), "MultiPolygon"


def _plain(column: Any) -> np.ndarray:
    """Turn a column into what the writer knows: texts as objects, integers of 64 bits."""
    values = np.asarray(column)
    if values.dtype.kind in "iu":
        return values.astype(np.int64)
    return values if values.dtype.kind in "bf" else values.astype(object)


def _write_styles(path: Path, names: list[str]) -> None:
    import pyogrio

    def text(values: list[str | None]) -> np.ndarray:
        return np.array(values, dtype=object)

    count = len(names)
    if not count:
        return
    columns = {
        "f_table_catalog": text([""] * count),
        "f_table_schema": text([""] * count),
        "f_table_name": text(list(names)),
        "f_geometry_column": text([_GEOMETRY] * count),
        "styleName": text(list(names)),
        "styleQML": text([style_of(name) for name in names]),
        "styleSLD": text([""] * count),
        "useAsDefault": np.ones(count, dtype=bool),
        "description": text([""] * count),
        "owner": text([""] * count),
        "ui": text([""] * count),
        "update_time": np.full(count, np.datetime64(_NO_TIME[:-1], "ms")),
    }
    pyogrio.raw.write(
        str(path),
        geometry=None,
        field_data=list(columns.values()),
        fields=np.array(list(columns), dtype=object),
        layer="layer_styles",
        driver="GPKG",
        append=True,
        layer_options={"FID": "id", "ASPATIAL_VARIANT": "GPKG_ATTRIBUTES"},
    )


@contextmanager
def _no_wall_clock() -> Iterator[None]:
    """Fix the writer's idea of today, for this call only."""
    import pyogrio

    name = "OGR_CURRENT_DATE"
    before = pyogrio.get_gdal_config_option(name)
    pyogrio.set_gdal_config_options({name: _NO_TIME})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({name: before})
