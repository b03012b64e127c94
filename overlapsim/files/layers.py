"""Write map layers into one GeoPackage that opens coloured, the same bytes each time."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import shapely

from overlapsim.files.geopackage import new_geopackage
from overlapsim.files.styles import style_of
from overlapsim.ground.layers import Layer
from overlapsim.scenario.plane import Plane


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
    Columns may hold numbers, truth values or text; not-a-number becomes no value. Styles stand in the table
    `layer_styles`, which desktop GIS read.
    """
    styles = {name: style_of(name) for name in layers}
    with new_geopackage(Path(path), None if plane is None else plane.crs_wkt) as package:
        for name, layer in layers.items():
            shapes = np.asarray(layer.geometry, dtype=object)
            if plane is not None and len(shapes):
                shapes = plane.to_source(shapes)
            shapes, kind = _of_one_kind(shapes, layer.kind)
            package.layer(name, kind, shapes, layer.columns)
        package.styles({name: text for name, text in styles.items() if text is not None})


def _of_one_kind(shapes: np.ndarray, kind: str) -> tuple[np.ndarray, str]:
    """Give all shapes of a layer one kind: several parts anywhere make all of them shapes of parts."""
    if kind != "Polygon" or not any(s.geom_type == "MultiPolygon" for s in shapes):
        return shapes, kind
    parts = [shapely.multipolygons(shapely.get_parts(s)) for s in shapes]
    return np.array(parts, dtype=object), "MultiPolygon"
