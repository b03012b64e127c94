"""Read a headland that comes with a field from whatever file it comes in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import shapely

from overlapsim.basics.errors import FieldError
from overlapsim.files.areas import areas_only
from overlapsim.files.choice import choose_layer, choose_rows
from overlapsim.files.reading import read_table
from overlapsim.files.sources import find_sources
from overlapsim.files.systems import on_ground
from overlapsim.scenario.boundary import sound_polygons
from overlapsim.scenario.field import Field
from overlapsim.scenario.headland import Headland
from overlapsim.scenario.placing import spot_on
from overlapsim.scenario.rings import refuse, rings_of

__all__ = ["read_headland"]

_KEY = "plan.headland"


def read_headland(
    path: str | Path,
    field: Field,
    *,
    layer: str | None = None,
    where: Mapping[str, Any] | None = None,
    crs: Any = None,
    meaning: str = "",
) -> Headland:
    """Read areas that say where a field's headland is.

    Parameters
    ----------
    path : str or Path
        Any file that fields are read from; a closed line counts as the area in it.
    field : Field
        The field that they belong to.
    layer : str, optional
        Layer to read, where the file has several.
    where : mapping, optional
        Attributes of the areas that are meant. By default all of them that lie on the field.
    crs : str or pyproj.CRS, optional
        Coordinate system, only for a file that does not state its own.
    meaning : str
        ``"headland"`` or ``"interior"``; empty: whichever they can only be.

    Returns
    -------
    Headland
        In the field's ground frame, m.

    Raises
    ------
    FieldError
        Nothing to read, no area on the field, no coordinate system or one where the field has none.
    """
    path = Path(path)
    try:
        source, found, _ = choose_layer(find_sources(path), layer)
        table = read_table(source, found)
        rows, name = choose_rows(table, where, True, source.name)
        shapes = [areas_only(shape)[0] for shape in rows.shapes]
        ground = on_ground(shapes, source, table.crs, crs, field.plane, "headland")
    except FieldError as error:
        keys = {one.key: one.key.replace("field.", f"{_KEY}.") or _KEY for one in error.faults}
        raise FieldError([replace(one, key=keys[one.key]) for one in error.faults]) from None
    # A file for the whole farm holds other fields' headlands too.
    land = shapely.multipolygons(list(field.parts))
    boxes = [shapely.box(*shape.bounds) for shape in ground]
    near = [shape for shape, box in zip(ground, boxes, strict=True) if shapely.intersects(box, land)]
    if not near:
        apart = min(shapely.distance(box, land) for box in boxes)
        rule = f"holds no area on this field: the nearest lies {apart / 1000:,.1f} km away"
        raise refuse(rule, "Another field's headland?", _KEY, source.name)
    spot = spot_on(field.plane)
    sound = [sound_polygons(rings_of(shape), spot, _KEY, source.name) for shape in near]
    notes = dict.fromkeys((*rows.notes, *(note for one in sound for note in one.notes)))
    return Headland(tuple(p for one in sound for p in one.parts), meaning, path.name, name, tuple(notes))
