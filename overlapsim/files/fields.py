"""Read a field's boundary from whatever file it comes in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from overlapsim.files.choice import choose_layer, choose_rows, names_of
from overlapsim.files.sources import Source, find_sources, read_table, states_crs
from overlapsim.scenario.field import Field
from overlapsim.scenario.plane import horizontal
from overlapsim.scenario.rings import refuse
from overlapsim.scenario.side_by_side import side_by_side

__all__ = ["read_field"]

#: What a GeoPackage written without a coordinate system may say.
#: OGC GeoPackage encoding standard 1.3, clause 1.1.2.1.2.
_UNKNOWN = "undefined geographic srs"


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
    system = system_of(source, table.crs, crs)
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
    dropped = any(left_out for _, left_out in shapes.values())
    if all:
        areas = {own: shape for own, (shape, _) in shapes.items() if _polygons(shape)}
        dropped |= len(areas) < len(shapes)
        # Without any area in it the first feature says what it holds instead.
        fields = areas or {own: shape for own, (shape, _) in list(shapes.items())[:1]}
        field = side_by_side(fields, system, called, origin=origin, file=source.name)
    else:
        geometry = next(iter(shapes.values()))[0]
        field = Field.from_geometry(geometry, system, called, origin=origin, file=source.name)
    if not dropped:
        return field
    return replace(field, notes=(*field.notes, "lines and points in it are left out"))


def areas_only(shape: BaseGeometry | None) -> tuple[BaseGeometry, bool]:
    """Keep the areas of a mixed collection (an outline with its label point); leave the rest as it is.

    Parameters
    ----------
    shape : shapely.Geometry or None
        As it stands in a file.

    Returns
    -------
    shape : shapely.Geometry
        Its areas where it has any.
    left_out : bool
        Whether anything else was in it.
    """
    flat: Any = shapely.force_2d(shape)
    areas = _polygons(flat)
    if not areas:
        return flat, False
    count = len(shapely.get_parts(shapely.get_parts(flat)))
    return MultiPolygon(areas) if len(areas) > 1 else areas[0], len(areas) < count


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    """List the polygons of a shape, sound or not, with or without area."""
    return [p for p in shapely.get_parts(shapely.get_parts(shape)) if isinstance(p, Polygon)]


def system_of(source: Source, own: Any, stated: Any) -> Any:
    """Settle the coordinate system: the file's own, else the one stated.

    Parameters
    ----------
    source : Source
        Where the fields are.
    own : pyproj.CRS or None
        What the file states.
    stated : str or pyproj.CRS or None
        What the scenario states.

    Returns
    -------
    str or pyproj.CRS or None
        None for metres tied to no place on the earth.

    Raises
    ------
    FieldError
        Neither states one, or they differ.
    """
    if own is not None and own.name.lower() == _UNKNOWN:
        own = None
    if own is not None and own.is_engineering:
        # Metres tied to no place on the earth: no coordinate system is needed for them.
        own = None
        if stated is None:
            return None
    if own is not None and (stated is None or states_crs(source)):
        if stated is not None:
            try:
                same = horizontal(stated).equals(horizontal(own), ignore_axis_order=True)
            except ValueError as error:
                raise refuse(str(error), 'Write "EPSG:4326" or the like', "field.crs", source.name) from None
            if not same:
                code = own.to_authority()
                called = ":".join(code) if code else own.name
                raise refuse(
                    f"states its own coordinate system, {called}", "Leave crs out", "field.crs", source.name
                )
        return own
    if stated is not None:
        return stated
    if source.kind == ".shp":
        raise refuse(
            f"no .prj beside {source.member or 'it'}",
            'Ask for all parts or the .zip, or state crs = "EPSG:4326"',
            file=source.name,
        )
    raise refuse(
        "states no coordinate system",
        'Ask which it is and state crs = "EPSG:4326" or the like',
        file=source.name,
    )
