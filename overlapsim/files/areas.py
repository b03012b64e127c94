"""Areas among shapes: outlines with their label points, lines that close, and what is no area."""

from __future__ import annotations

from typing import Any

import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from overlapsim.files.features import Features
from overlapsim.scenario.rings import refuse

LEFT_OUT = "lines and points in it are left out"
CLOSED = "a line that closes is taken as the boundary"


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
    pieces = _pieces(flat)
    areas = [piece for piece in pieces if isinstance(piece, Polygon)]
    if not areas:
        return flat, False
    return MultiPolygon(areas) if len(areas) > 1 else areas[0], len(areas) < len(pieces)


def _pieces(shape: BaseGeometry | None) -> list[BaseGeometry]:
    """Take collections apart, however deep."""
    if shape is None:
        return []
    parts = getattr(shape, "geoms", None)
    return [shape] if parts is None else [piece for part in parts for piece in _pieces(part)]


def _has_area(shape: BaseGeometry | None) -> bool:
    return any(isinstance(piece, Polygon) for piece in _pieces(shape))


def only_fields(rows: Features, file: str) -> Features:
    """Keep the features that can be fields: those with areas, or, where none has, lines that close.

    Parameters
    ----------
    rows : Features
        Those that were chosen, none of them empty.
    file : str
        Name for faults.

    Returns
    -------
    Features
        At least one; what was done stands in its notes.

    Raises
    ------
    FieldError
        Lines that do not close, or have two readings; points.
    """
    areas = [_has_area(shape) for shape in rows.shapes]
    if all(areas):
        return rows
    if any(areas):
        return rows.chosen(areas).noted(LEFT_OUT)
    closed = [_closed(shape, file) for shape in rows.shapes]
    if not any(closed):
        raise _no_area(rows, file)
    made = Features(tuple(closed), rows.columns, rows.numbers, rows.crs, rows.notes)
    kept = made.chosen([one is not None for one in closed]).noted(CLOSED)
    return kept if all(closed) else kept.noted(LEFT_OUT)


def _lines(shape: BaseGeometry | None) -> list[LineString]:
    """Join the lines of a shape where their ends meet, each as long as it gets."""
    lines = [piece for piece in _pieces(shape) if isinstance(piece, LineString) and not piece.is_empty]
    if len(lines) < 2:
        return lines
    return [
        p for p in _pieces(shapely.line_merge(shapely.multilinestrings(lines))) if isinstance(p, LineString)
    ]


def _closed(shape: BaseGeometry | None, file: str) -> Polygon | None:
    """Make an area of lines that close into one ring; None where they do not close."""
    lines = _lines(shape)
    # A ring has three corners and comes back to the first of them.
    rings = [line for line in lines if line.is_closed and len(line.coords) > 3]
    if len(rings) > 1:
        raise refuse(
            f"holds {len(rings)} closed lines in one: two fields, or a field and what is left out of it?",
            "Ask for the boundary as a polygon",
            file=file,
        )
    return Polygon(rings[0]) if rings and len(lines) == 1 else None


def _no_area(rows: Features, file: str) -> Exception:
    """Say what is there in place of areas."""
    lines = [line for shape in rows.shapes for line in _lines(shape)]
    remedy = "Ask for the boundary as a polygon"
    if len(lines) > 1:
        return refuse(f"holds {len(lines)} lines that do not close, not an area", remedy, file=file)
    if not lines:
        what = "a point" if len(rows) == 1 else f"{len(rows)} points"
        return refuse(f"holds {what}, not an area", remedy, file=file)
    first, last = lines[0].coords[0], lines[0].coords[-1]
    gap = 100 * shapely.distance(shapely.Point(first), shapely.Point(last)) / (lines[0].length or 1.0)
    rule = f"holds a line, not an area: its ends lie {gap:.2g} % of its length apart"
    return refuse(rule, remedy, file=file)
