"""How often a ring goes round each piece of ground that it encloses, and where it meets itself."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from overlapsim.scenario.rings import polygon_parts


def faces_of(ring: np.ndarray) -> np.ndarray:
    """Split the ground along a ring's own lines.

    Parameters
    ----------
    ring : ndarray (n, 2)
        Points in order, m, not closed.

    Returns
    -------
    ndarray of shapely.Polygon
        The faces between the lines; lines that end blind (spikes) or join two faces (slits) bound none.
    """
    closed = np.vstack([ring, ring[:1]])
    return shapely.get_parts(shapely.polygonize([shapely.unary_union(shapely.linestrings(closed))]))


def meetings(ring: np.ndarray, most: int) -> int:
    """Count the pairs of a ring's stretches that meet though they do not follow one another.

    Parameters
    ----------
    ring : ndarray (n, 2)
        Points in order, m, not closed.
    most : int
        Where to stop counting.

    Returns
    -------
    int
        Each pair once; some number above `most` where there are more.

    Examples
    --------
    >>> meetings(np.array([[0.0, 0.0], [2.0, 2.0], [2.0, 0.0], [0.0, 2.0]]), 10)
    1
    """
    count = len(ring)
    stretches = np.asarray(shapely.linestrings(np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)))
    tree = shapely.STRtree(stretches)
    found, first, few = 0, 0, 16
    while first < count and found <= most:
        one, other = tree.query(stretches[first : first + few], predicate="intersects")
        one += first
        found += int(((other > one + 1) & ((one > 0) | (other < count - 1))).sum())
        first += few
        # A tangle shows in the first stretches, before there are too many pairs to hold.
        few = min(2 * few, 4096)
    return found


def winding_numbers(ring: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Count how often a ring goes round each face.

    Parameters
    ----------
    ring : ndarray (n, 2)
        Points in order, m, not closed.
    faces : ndarray of shapely.Polygon
        The ring's faces.

    Returns
    -------
    ndarray of int
        Per face, counter-clockwise positive.

    Notes
    -----
    A ring that only touches itself or doubles back has faces of 0 and of one other number, +1 or -1. A loop
    the other way round (bow-tie) or a loop lying over itself shows as any other number.

    Examples
    --------
    >>> bow_tie = np.array([[0.0, 0.0], [2.0, 2.0], [2.0, 0.0], [0.0, 2.0]])
    >>> sorted(winding_numbers(bow_tie, faces_of(bow_tie)).tolist())
    [-1, 1]
    """
    x0, y0 = ring.T
    x1, y1 = np.roll(ring, -1, axis=0).T
    counts = []
    for px, py in shapely.get_coordinates(shapely.point_on_surface(faces)):
        # Crossings of the ray to the east, upward ones positive.
        side = (x1 - x0) * (py - y0) - (px - x0) * (y1 - y0)
        up = (y0 <= py) & (y1 > py) & (side > 0)
        down = (y1 <= py) & (y0 > py) & (side < 0)
        counts.append(int(up.sum()) - int(down.sum()))
    return np.array(counts, dtype=int)


def signed_area(ring: np.ndarray) -> float:
    """Give the area that a ring goes round, each piece as often as it is gone round.

    Parameters
    ----------
    ring : ndarray (n, 2)
        Points in order, m, not closed.

    Returns
    -------
    float
        m2, counter-clockwise positive.

    Examples
    --------
    >>> signed_area(np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, 0.0]]))
    -1.0
    """
    x, y = (ring - ring[0]).T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)


def meeting_place(ring: np.ndarray, face: BaseGeometry) -> tuple[tuple[float, float], tuple[int, int] | None]:
    """Find where a ring meets itself on the edge of one of its faces.

    Parameters
    ----------
    ring : ndarray (n, 2)
        Points in order, m, not closed.
    face : shapely.Geometry
        The face.

    Returns
    -------
    place : tuple of float
        x, y of the meeting, m.
    stretches : tuple of int or None
        Index (from 0) of the points after which the two stretches that meet begin; None if nothing meets on
        the face's corners, and the place is then somewhere in the face.

    Examples
    --------
    >>> bow_tie = np.array([[0.0, 0.0], [2.0, 2.0], [2.0, 0.0], [0.0, 2.0]])
    >>> meeting_place(bow_tie, faces_of(bow_tie)[0])
    ((1.0, 1.0), (0, 2))
    """
    count = len(ring)
    stretches = shapely.linestrings(np.stack([ring, np.roll(ring, -1, axis=0)], axis=1))
    corners = np.unique(shapely.get_coordinates(face), axis=0)
    # A crossing is worked out to a rounding step or two of the coordinates.
    reach = 1e-9 * max(1.0, float(np.abs(ring).max()))
    hits = shapely.STRtree(np.asarray(stretches)).query(
        shapely.points(corners), predicate="dwithin", distance=reach
    )
    for corner in np.unique(hits[0]):
        near = np.sort(hits[1][hits[0] == corner])
        # A plain vertex meets the stretch before it and the one after it: that is no meeting.
        apart = [(int(i), int(j)) for i in near for j in near if j - i > 1 and j - i != count - 1]
        if apart:
            return (float(corners[corner, 0]), float(corners[corner, 1])), apart[0]
    middle = shapely.point_on_surface(face)
    return (float(middle.x), float(middle.y)), None


def simplest(faces: np.ndarray, area: np.ndarray, inside: np.ndarray, share: float) -> list[Polygon]:
    """Join the faces inside; hairlines between them are filled where that leaves fewer parts and holes.

    Parameters
    ----------
    faces : ndarray of shapely.Polygon, shape (n,)
        The faces.
    area : ndarray, shape (n,)
        Of each, m2.
    inside : ndarray of bool, shape (n,)
        Which lie inside.
    share : float
        Of the ground inside, 0 to 1: as much as hairlines may come to, all together.

    Returns
    -------
    list of shapely.Polygon
        The ground.
    """
    least = share * area[inside].sum()
    order = np.argsort(area)
    hairs = np.zeros_like(inside)
    hairs[order] = np.cumsum(np.where(inside[order], 0.0, area[order])) <= least
    readings = []
    for chosen in (inside, inside | hairs):
        parts = [p for p in polygon_parts(shapely.union_all(faces[chosen])) if p.area > least]
        readings.append((sum(1 + len(p.interiors) for p in parts), parts))
    return min(readings, key=lambda reading: reading[0])[1]
