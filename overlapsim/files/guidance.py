"""Read a straight guidance line from whatever file it comes in."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Floats
from overlapsim.files.choice import choose_layer, names_of
from overlapsim.files.features import Features
from overlapsim.files.reading import layer_names, read_table
from overlapsim.files.sources import find_sources
from overlapsim.files.systems import on_ground
from overlapsim.scenario.plane import Plane
from overlapsim.scenario.rings import refuse
from overlapsim.scenario.slips import hint, listed

__all__ = ["read_line"]

_KEY = "plan.line"


def read_line(
    path: str | Path,
    plane: Plane | None,
    *,
    name: str | None = None,
    layer: str | None = None,
    crs: Any = None,
) -> tuple[Floats, str]:
    """Read the points of one line.

    Parameters
    ----------
    path : str or Path
        Any file that fields are read from.
    plane : Plane or None
        The field's own; None for a field in metres, whose lines are in metres too.
    name : str, optional
        What the line is called in the file, where it holds several.
    layer : str, optional
        Layer to read, where the file has several with lines.
    crs : str or pyproj.CRS, optional
        Coordinate system, only for a file that does not state its own.

    Returns
    -------
    points : ndarray, shape (n, 2)
        In the field's ground frame, m. Only the points are moved: between them a line is straight on the
        ground, as a tractor drives it, whatever a straight line is in the file's coordinates.
    name : str
        What it is called; empty where nothing names it.

    Raises
    ------
    FieldError
        Nothing to read, no line or several, no coordinate system or one where the field has none.

    Notes
    -----
    A line of length L that is straight in longitude and latitude leaves the one that is straight on the
    ground by up to L**2 tan(latitude) / (8 R), R the earth's radius: 9 cm in 2 km at 48 degrees. Points in
    between that lie so far off are refused as a curve. Against the shortest way on the ellipsoid the plane's
    straight line stays within 1 mm over 4 km (a test measures it).
    """
    path = Path(path)
    sources = find_sources(path)
    lines = [label for one in sources for label, kind in layer_names(one) if "Line" in kind]
    source, found, _ = choose_layer(sources, layer or (lines[0] if len(lines) == 1 else None))
    table = read_table(source, found)
    rows = table.chosen([_line(shape) is not None for shape in table.shapes])
    shape, called = _one(rows, name, source.name)
    (shape,) = on_ground([shape], source, table.crs, crs, plane, "line", _KEY)
    return shapely.get_coordinates(shape), called


def _line(shape: BaseGeometry | None) -> BaseGeometry | None:
    """Take a shape as one line, in pieces that join or whole; None for anything else."""
    if shape is None or shape.is_empty or shape.geom_type not in ("LineString", "MultiLineString"):
        return None
    merged: BaseGeometry = shapely.line_merge(shapely.force_2d(shape), directed=True)
    return merged if merged.geom_type == "LineString" else None


def _one(rows: Features, name: str | None, file: str) -> tuple[BaseGeometry, str]:
    """Choose one line by its name."""
    if not len(rows):
        remedy = "Ask for the guidance line, or write points = [[0, 0], [0, 400]] in metres"
        raise refuse("holds no line in one piece", remedy, _KEY, file)
    # Lines without names are counted, as fields are.
    unnamed = [f"field {number}" for number in rows.numbers]
    names = [
        f"line {number}" if own == count else own
        for own, count, number in zip(names_of(rows), unnamed, rows.numbers, strict=True)
    ]
    at = list(range(len(rows)))
    if name is not None:
        at = [i for i in at if names[i].strip().lower() == name.strip().lower()]
        if not at:
            raise refuse(f'no line "{name}"', hint(name, names), f"{_KEY}.name", file)
    if len(at) > 1:
        raise refuse(
            f"holds {len(at)} lines", f'Choose name = "{names[0]}" or another of: {listed(names)}', _KEY, file
        )
    shape = _line(rows.shapes[at[0]])
    assert shape is not None
    return shape, names[at[0]]
