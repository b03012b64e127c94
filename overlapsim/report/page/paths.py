"""Ground as paths of a drawing: whole centimetres east and south of a corner, so that they stay short."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints

CM = 100.0
"""Units of a map's drawing per metre."""

MOST_CORNERS = 60_000
"""Corners of lost ground that one map draws, at most: about half a megabyte of page."""

_FIRST, _LAST = 0.02, 0.35  # metres by which corners may move in a drawing, in steps that double


_KNOWN = 1000  # cm

_WHOLE = (shapely.GeometryType.LINESTRING, shapely.GeometryType.POLYGON)


@dataclass(frozen=True)
class Corner:
    """Where a map begins: its upper left corner.

    Attributes
    ----------
    west, north : float
        Ground frame, metres.
    """

    west: float
    north: float

    def place(self, points: Floats) -> Ints:
        """Find places on the drawing.

        Parameters
        ----------
        points : ndarray, shape (n, 2)
            Ground frame, metres.

        Returns
        -------
        ndarray of int, shape (n, 2)
            To the right and down, whole centimetres.
        """
        moved = np.stack([points[:, 0] - self.west, self.north - points[:, 1]], axis=1) * CM
        return np.round(moved).astype(np.int64)


def path_of(shapes: Any, corner: Corner) -> str:
    """Write polygons or lines as one path.

    Parameters
    ----------
    shapes : array_like of shapely geometries
        Polygons or lines and collections of them, ground frame, metres.
    corner : Corner
        Where the map begins.

    Returns
    -------
    str
        Commands: each ring or line goes to its first corner, then on by differences, so that nothing adds
        up; rings are closed. Empty where there is nothing.

    Examples
    --------
    >>> path_of([shapely.box(0, 0, 1, 2)], Corner(0.0, 2.0))
    'M100 200l0 -200 -100 0 0 200z'
    >>> path_of([shapely.LineString([(0, 0), (1, 2)])], Corner(0.0, 2.0))
    'M0 200l100 -200'
    >>> path_of([shapely.box(0, 0, 0.001, 0.001)], Corner(0.0, 2.0))
    ''
    """
    pieces = np.asarray(shapes, dtype=object).ravel()
    if not np.isin(shapely.get_type_id(pieces), _WHOLE).all():
        pieces = shapely.get_parts(pieces)
    pieces = pieces[~shapely.is_empty(pieces)]
    if not len(pieces):
        return ""
    ring = bool(shapely.get_dimensions(pieces[0]) == 2)
    holes = ring and shapely.get_num_interior_rings(pieces).any()
    points, of = shapely.get_coordinates(shapely.get_rings(pieces) if holes else pieces, return_index=True)
    last = np.r_[np.diff(of) > 0, True]
    if ring:  # the last corner of a ring is its first again
        points, of = points[~last], of[~last]
    places = corner.place(points)
    first = np.r_[True, np.diff(of) > 0]
    steps = np.where(first[:, None], places, np.diff(places, axis=0, prepend=0))
    # Steps of nothing say nothing.
    keep = first | steps.any(axis=1)
    steps, first = steps[keep], first[keep]
    # What is smaller than a centimetre is a point on the drawing, and no path.
    drawn = ~(first & np.r_[first[1:], True])
    if not drawn.any():
        return ""
    steps, first = steps[drawn], first[drawn]
    numbers, begin = steps.ravel(), 2 * np.flatnonzero(first)
    told = np.ones(len(numbers), dtype=bool)
    told[begin + 1], told[begin + 2] = False, False
    opening = [f"M{x} {y}l{step}" for x, y, step in numbers[begin[:, None] + np.arange(3)].tolist()]
    numbers[begin], numbers[begin + 1] = 0, 0
    words = _words(numbers)
    words[begin] = opening
    close = "z" if ring else ""
    return " ".join(words[told].tolist()).replace(" M", f"{close}M") + close


@cache
def _short_ways() -> np.ndarray:
    """Numbers from -_KNOWN to _KNOWN as text: most steps are short, and sooner looked up than written."""
    return np.array([str(number) for number in range(-_KNOWN, _KNOWN + 1)], dtype=object)


def _words(numbers: Ints) -> np.ndarray:
    """Numbers as text."""
    words = _short_ways().take(numbers + _KNOWN, mode="clip")
    far = np.abs(numbers) > _KNOWN
    words[far] = list(map(str, numbers[far].tolist()))
    return words


def for_drawing(shapes: Any, most: int) -> tuple[np.ndarray, int]:
    """Simplify ground for a drawing, and only for it, until it has no more than so many corners.

    Parameters
    ----------
    shapes : array_like of shapely geometries
        Polygons, ground frame, metres.
    most : int
        Corners.

    Returns
    -------
    drawn : ndarray of shapely geometries
        As they stand where they are few; else with corners moved by 0.35 m at most, and if that is not
        enough without the smallest pieces.
    left_out : int
        How many pieces were left out.
    """
    drawn = np.asarray(shapes, dtype=object).ravel()
    step = _FIRST
    while shapely.get_num_coordinates(drawn).sum() > most and step <= _LAST:
        drawn = shapely.simplify(drawn, step, preserve_topology=True)
        step *= 2
    order = np.argsort(-shapely.area(drawn), kind="stable")
    fits = np.cumsum(shapely.get_num_coordinates(drawn[order])) <= most
    return drawn[np.sort(order[fits])], int((~fits).sum())
