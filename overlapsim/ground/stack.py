"""Ground that lies under several sheets: how often each spot was planted, as polygons."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Bools, Ints
from overlapsim.ground.overlay import GRID, common, polygons_of, united

HAIR = 1e-7
"""Metres: common ground of two strips that is nowhere wider than this is rounding at their border."""


FEW = 12
"""Up to so many sheets are laid one upon another; more are cut into faces (1,213 of them 40 times faster)."""


def stacked(sheets: np.ndarray, leg: Ints, apart: Bools) -> list[BaseGeometry]:
    """Ground that sheets cover at least twice, three times, and so on.

    Parameters
    ----------
    sheets : ndarray of shapely geometries, shape (n,)
        None of them covers itself; all in one frame.
    leg : ndarray of int, shape (n,)
        Index of the leg of each sheet.
    apart : ndarray of bool, shape (n,)
        Whether the sheets of this leg are known not to overlap one another.

    Returns
    -------
    list of shapely.Geometry
        The first holds the second, the second the third.

    Notes
    -----
    Only ground common to two sheets is looked at, pair by pair: where m sheets lie over one another,
    m (m - 1) / 2 pairs do.
    """
    if not len(sheets):
        return []
    a, b = shapely.STRtree(sheets).query(sheets)
    use = (a < b) & ~((leg[a] == leg[b]) & apart[a])
    a, b = a[use], b[use]
    shapely.prepare(sheets)
    use = shapely.intersects(sheets[a], sheets[b])
    shared = shapely.intersection(sheets[a[use]], sheets[b[use]], grid_size=GRID)
    shared = shared[~shapely.is_empty(shared)]
    pairs = [p for geometry in shared for p in polygons_of(geometry) if p.area > HAIR * p.length / 2]
    found: list[list[BaseGeometry]] = []
    for together in _touching(np.array(pairs, dtype=object)):
        deep = levels(together)
        times = 2
        while times * (times - 1) // 2 <= len(deep):
            if len(found) < times - 1:
                found.append([])
            found[times - 2].append(deep[times * (times - 1) // 2 - 1])
            times += 1
    return [shapely.union_all(ground) for ground in found]


def _touching(polygons: np.ndarray) -> list[np.ndarray]:
    """Sort polygons into groups of which no two touch."""
    if not len(polygons):
        return []
    a, b = shapely.STRtree(polygons).query(polygons, predicate="intersects")
    label = np.arange(len(polygons))
    while True:
        least = label.copy()
        np.minimum.at(least, a, label[b])
        if (least == label).all():
            break
        label = least[least]
    return [polygons[label == one] for one in np.unique(label)]


def levels(sheets: np.ndarray) -> list[BaseGeometry]:
    """Ground that sheets cover once or more, twice or more, and so on.

    Parameters
    ----------
    sheets : ndarray of shapely geometries, shape (n,)
        None of them covers itself.

    Returns
    -------
    list of shapely.Geometry
        The first holds the second, the second the third.
    """
    return _one_by_one(sheets) if len(sheets) <= FEW else _by_faces(sheets)


def _one_by_one(sheets: np.ndarray) -> list[BaseGeometry]:
    """Lay sheet upon sheet: quick for a few, but every union goes through all that lies there already."""
    found: list[BaseGeometry] = []
    for sheet in sheets:
        carry = sheet
        for k, ground in enumerate(found):
            more = common(ground, carry)
            found[k] = united(np.array([ground, carry], dtype=object))
            carry = more
            if carry.is_empty:
                break
        else:
            found.append(carry)
    return [ground for ground in found if not ground.is_empty]


def _by_faces(sheets: np.ndarray) -> list[BaseGeometry]:
    """Cut the plane along all borders at once, and count for each face the sheets that it lies under."""
    lines = shapely.union_all(shapely.boundary(sheets), grid_size=GRID)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    face, _ = shapely.STRtree(sheets).query(shapely.point_on_surface(faces), predicate="within")
    times = np.bincount(face, minlength=len(faces))
    # Faces share their borders bit for bit, so that nothing need be cut again.
    return [shapely.coverage_union_all(faces[times >= k]) for k in range(1, times.max(initial=0) + 1)]
