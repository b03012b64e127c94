"""How often a ring goes round each piece of ground that it encloses."""

from __future__ import annotations

import numpy as np
import shapely


def faces_and_winding(ring: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    """Split the ground along a ring and count how often the ring goes round each face.

    Parameters
    ----------
    ring : ndarray (n, 2)
        Points in order, m, not closed.

    Returns
    -------
    faces : ndarray of shapely.Polygon
        The faces between the ring's own lines.
    winding : ndarray of int
        Per face, how often the ring goes round it, counter-clockwise positive.
    sense : int
        +1 if the ring as a whole runs counter-clockwise, else -1.

    Notes
    -----
    A ring that only touches itself or doubles back has faces of 0 and of one other number, +1 or -1. A loop the other
    way round (bow-tie) or a loop lying over itself shows as any other number.

    Examples
    --------
    >>> faces, winding, sense = faces_and_winding(np.array([[0., 0.], [2., 2.], [2., 0.], [0., 2.]]))
    >>> sorted(int(w) for w in winding)
    [-1, 1]
    """
    closed = np.vstack([ring, ring[:1]])
    faces = shapely.get_parts(shapely.polygonize([shapely.unary_union(shapely.linestrings(closed))]))
    points = shapely.get_coordinates(shapely.point_on_surface(faces))
    start, end = closed[:-1], closed[1:]
    winding = np.array([_winding(p, start, end) for p in points], dtype=int)
    doubled = np.sum(start[:, 0] * end[:, 1] - end[:, 0] * start[:, 1])
    return faces, winding, 1 if doubled >= 0 else -1


def _winding(point: np.ndarray, start: np.ndarray, end: np.ndarray) -> int:
    """Count crossings of the ray to the east, upward ones positive."""
    side = (end[:, 0] - start[:, 0]) * (point[1] - start[:, 1]) - (point[0] - start[:, 0]) * (
        end[:, 1] - start[:, 1]
    )
    up = (start[:, 1] <= point[1]) & (end[:, 1] > point[1]) & (side > 0)
    down = (end[:, 1] <= point[1]) & (start[:, 1] > point[1]) & (side < 0)
    return int(up.sum()) - int(down.sum())


def crossing_on(ring: np.ndarray, face: shapely.Geometry) -> tuple[tuple[float, float], int, int]:
    """Find where a ring meets itself on the edge of one face.

    Parameters
    ----------
    ring : ndarray (n, 2)
        Points in order, m, not closed.
    face : shapely.Geometry
        A face of the ring, or all of them.

    Returns
    -------
    place : tuple of float
        x, y of the meeting, m.
    first, second : int
        Index (from 0) of the points after which the two stretches that meet begin.
    """
    closed = np.vstack([ring, ring[:1]])
    corners = np.unique(shapely.get_coordinates(face), axis=0)
    distance_to = shapely.linestrings(np.stack([closed[:-1], closed[1:]], axis=1))
    tree = shapely.STRtree(distance_to)
    reach = 1e-9 * max(1.0, float(np.abs(ring).max()))
    best: tuple[tuple[float, float], int, int] | None = None
    count = len(ring)
    for corner, point in zip(corners, shapely.points(corners)):
        near = np.sort(tree.query(point, predicate="dwithin", distance=reach))
        # A plain vertex meets the stretch before it and the stretch after it: no meeting of the ring with itself.
        apart = [(i, j) for i in near for j in near if i < j and (j - i) not in (1, count - 1)]
        if apart:
            best = ((float(corner[0]), float(corner[1])), int(apart[0][0]), int(apart[0][1]))
            break
    if best is not None:
        return best
    middle = shapely.point_on_surface(face)
    near = np.argsort(shapely.distance(distance_to, middle))[:2]
    return (float(middle.x), float(middle.y)), int(near.min()), int(near.max())
