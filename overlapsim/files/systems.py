"""Which coordinate system a file's coordinates are in: its own, or the one that the scenario states."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.errors import FieldError
from overlapsim.basics.frames import Floats
from overlapsim.files.reading import crs_member
from overlapsim.files.sources import GEOJSON, Source
from overlapsim.scenario.placing import place
from overlapsim.scenario.plane import Plane, horizontal
from overlapsim.scenario.rings import refuse

#: What a GeoPackage written without a coordinate system may say.
#: OGC GeoPackage encoding standard 1.3, clause 1.1.2.1.2.
_UNKNOWN = "undefined geographic srs"


def system_of(
    source: Source, own: Any, stated: Any, shapes: Sequence[BaseGeometry]
) -> tuple[Any, tuple[str, ...]]:
    """Settle the coordinate system: the file's own, else the one stated.

    Parameters
    ----------
    source : Source
        Where the fields are.
    own : pyproj.CRS or None
        What the file states, as its reader has understood it.
    stated : str or pyproj.CRS or None
        What the scenario states. It outweighs the file's own where that cannot be meant.
    shapes : sequence of shapely.Geometry
        The fields, in the file's own coordinates.

    Returns
    -------
    system : str or pyproj.CRS or None
        None for metres tied to no place on the earth.
    notes : tuple of str
        What to tell people.

    Raises
    ------
    FieldError
        Neither states one, or they differ.
    """
    said = crs_member(source)
    if said is not None and not _understood(said):
        if stated is None:
            raise refuse(
                f"states a coordinate system that nobody else knows ({_short(said)})",
                'Ask which it is and state crs = "EPSG:4326" or the like',
                file=source.name,
            )
        return stated, ()
    if own is not None and own.name.lower() == _UNKNOWN:
        own = None
    if own is not None and own.is_engineering:
        # Metres tied to no place on the earth: no coordinate system is needed for them.
        own = None
        if stated is None:
            return None, ()
    if own is None:
        return _stated(source, stated), ()
    if stated is None:
        return own, ()
    if source.kind in GEOJSON and said is None:
        # Longitude and latitude by the standard alone.
        return stated, ()
    try:
        same = horizontal(stated).equals(horizontal(own), ignore_axis_order=True)
    except ValueError as error:
        raise refuse(str(error), 'Write "EPSG:4326" or the like', "field.crs", source.name) from None
    if same:
        return own, ()
    code = own.to_authority()
    called = ":".join(code) if code else own.name
    if _fits(shapes, own):
        raise refuse(f"states its own coordinate system, {called}", "Leave crs out", "field.crs", source.name)
    return stated, (f"states {called}, which its coordinates do not fit: read as crs says",)


def on_ground(
    shapes: Sequence[BaseGeometry],
    source: Source,
    own: Any,
    stated: Any,
    plane: Plane | None,
    what: str,
    key: str = "",
) -> list[BaseGeometry]:
    """Move shapes that belong to a field onto its plane, the datum's shift included.

    Parameters
    ----------
    shapes : sequence of shapely.Geometry
        In the file's own coordinates.
    source : Source
        Where they are.
    own, stated : pyproj.CRS or None
        Coordinate system as the file and as the scenario states it.
    plane : Plane or None
        The field's own; None for a field in metres, with which only shapes in metres go.
    what : str
        What the shapes are, for faults.
    key : str
        Where they are named, for faults.

    Returns
    -------
    list of shapely.Geometry
        Ground frame, m.

    Raises
    ------
    FieldError
        No coordinate system, or one where the field has none.
    """
    tied = plane is not None or own is not None or stated is not None
    system = system_of(source, own, stated, shapes)[0] if tied else None
    if (system is None) != (plane is None):
        rule = "is in degrees or the like, the field in metres that are tied to no place on the earth"
        if system is None:
            rule = "is in metres that are tied to no place on the earth, the field is not"
        raise refuse(rule, f"Take {what} and field from one source", key, source.name)
    if plane is None:
        return list(shapes)
    from pyproj import Transformer

    if (written := horizontal(system).to_wkt()) != plane.crs_wkt:
        move = Transformer.from_crs(written, plane.crs_wkt, always_xy=True)

        def moved(xy: Floats) -> Floats:
            return np.column_stack(move.transform(*xy.T))

        shapes = [shapely.transform(shape, moved) for shape in shapes]
    return [plane.to_ground(shape) for shape in shapes]


def _understood(said: Any) -> bool:
    """Tell whether a `crs` member names a coordinate system, in one of the ways that have been in use."""
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    named = said.get("properties") if isinstance(said, dict) else None
    if not isinstance(named, dict):
        return False
    text = named.get("name", f"EPSG:{named.get('code')}")
    try:
        CRS.from_user_input(text)
    except (CRSError, TypeError):
        return False
    return True


def _short(said: Any) -> str:
    named = said.get("properties") if isinstance(said, dict) else said
    text = next((str(v) for v in named.values()), "") if isinstance(named, dict) else str(named or "")
    return text[:60] or "empty"


def _fits(shapes: Sequence[BaseGeometry], system: Any) -> bool:
    """Tell whether coordinates can be meant in a coordinate system."""
    try:
        place(shapely.GeometryCollection([shape for shape in shapes if not shape.is_empty]), system)
    except FieldError:
        return False
    return True


def _stated(source: Source, stated: Any) -> Any:
    if stated is not None:
        return stated
    remedy = 'state crs = "EPSG:4326"'
    if source.kind == ".shp" and source.has_beside(".prj"):
        raise refuse(
            "the .prj beside it cannot be understood",
            f"Ask for all parts again, or {remedy}",
            file=source.name,
        )
    if source.kind == ".shp":
        raise refuse(
            f"no .prj beside {source.member or 'it'}",
            f"Ask for all parts or the .zip, or {remedy}",
            file=source.name,
        )
    raise refuse("states no coordinate system", f"Ask which it is and {remedy} or the like", file=source.name)
