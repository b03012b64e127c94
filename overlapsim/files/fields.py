"""Read a field's boundary from whatever file it comes in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from overlapsim.files.areas import LEFT_OUT, areas_only
from overlapsim.files.choice import choose_layer, choose_rows, names_of
from overlapsim.files.reading import read_table
from overlapsim.files.sources import find_sources
from overlapsim.files.systems import system_of
from overlapsim.scenario.field import Field
from overlapsim.scenario.side_by_side import side_by_side

__all__ = ["read_field"]


def read_field(
    path: str | Path,
    *,
    layer: str | None = None,
    where: Mapping[str, Any] | None = None,
    all: bool = False,
    crs: Any = None,
) -> Field:
    """Read one field, or all fields of a file.

    Parameters
    ----------
    path : str or Path
        GeoJSON, GeoPackage, shapefile, KML, whatever else geopandas reads, any of them zipped; GeoParquet
        where pyarrow is installed.
    layer : str, optional
        Layer to read, where the file has several.
    where : mapping, optional
        Attributes of the field, where the file holds several; `{"feature": 3}` counts from 1.
    all : bool
        Take all features together, each of them a field of its own: planned alone, areas added up.
    crs : str or pyproj.CRS, optional
        Coordinate system of the coordinates, only for a file that does not state its own.

    Returns
    -------
    Field
        In metres on a plane through its middle; holes are exclusions; what was repaired stands in its notes.

    Raises
    ------
    FieldError
        Nothing to read, several to choose from, no coordinate system, no area, no single reading of it.
    """
    path = Path(path)
    source, found, several = choose_layer(find_sources(path), layer)
    table = read_table(source, found)
    rows, name = choose_rows(table, where, all, source.name)
    origin: dict[str, Any] = {"file": path.name}
    if several:
        origin["layer"] = found
    if where:
        origin["where"] = {str(k): v for k, v in where.items()}
    if all:
        origin["all"] = True
    called = name or source.stem
    shapes = {own: areas_only(shape) for own, shape in zip(names_of(rows), rows.shapes, strict=True)}
    areas = {own: shape for own, (shape, _) in shapes.items()}
    system, notes = system_of(source, table.crs, crs, list(areas.values()))
    if all:
        field = side_by_side(areas, system, called, origin=origin, file=source.name)
    else:
        field = Field.from_geometry(
            next(iter(areas.values())), system, called, origin=origin, file=source.name
        )
    said = (*rows.notes, *notes, *([LEFT_OUT] if any(left_out for _, left_out in shapes.values()) else []))
    return replace(field, notes=(*field.notes, *dict.fromkeys(said)))
