"""Grounds as pieces that do not overlap: what two grounds share, what one leaves of another, both together.

Most pieces lie wholly inside or outside of the other ground. Only the rest goes through an overlay.
"""

from __future__ import annotations

import numpy as np
import shapely

from overlapsim.basics.frames import Ints
from overlapsim.ground.overlay import POLYGON, SEVERAL


def pieces_of(geometry: np.ndarray) -> np.ndarray:
    """Take grounds apart, dropping lines and points.

    Parameters
    ----------
    geometry : ndarray of shapely geometries
        Of any kind, collections in collections included.

    Returns
    -------
    ndarray of shapely.Polygon
        Those that are not empty.
    """
    while (shapely.get_type_id(geometry) >= SEVERAL).any():
        geometry = shapely.get_parts(geometry)
    return geometry[(shapely.get_type_id(geometry) == POLYGON) & ~shapely.is_empty(geometry)]


def shared(one: np.ndarray, other: np.ndarray, grid: float | None) -> np.ndarray:
    """Ground that lies in two grounds.

    Parameters
    ----------
    one, other : ndarray of shapely.Polygon
        Pieces of each.
    grid : float or None
        Metres: the grid of the overlay.

    Returns
    -------
    ndarray of shapely.Polygon
        Pieces.
    """
    a, b, inside = _met(one, other)
    cut = shapely.intersection(one[a[~inside]], other[b[~inside]], grid_size=grid)
    return np.concatenate([one[a[inside]], pieces_of(cut)])


def left_of(one: np.ndarray, other: np.ndarray, grid: float | None) -> np.ndarray:
    """Ground of one that the other does not hold.

    Parameters
    ----------
    one, other : ndarray of shapely.Polygon
        Pieces of each.
    grid : float or None
        Metres: the grid of the overlay.

    Returns
    -------
    ndarray of shapely.Polygon
        Pieces.
    """
    a, b, inside = _met(one, other)
    met, gone = np.zeros(len(one), dtype=bool), np.zeros(len(one), dtype=bool)
    met[a], gone[a[inside]] = True, True
    cut = met & ~gone
    some = cut[a]
    number = (np.cumsum(cut) - 1)[a[some]]
    away = shapely.multipolygons(other[b[some]], indices=number) if some.any() else np.empty(0, dtype=object)
    return np.concatenate([one[~met], pieces_of(shapely.difference(one[cut], away, grid_size=grid))])


def joined(grounds: list[np.ndarray], grid: float | None) -> np.ndarray:
    """Several grounds as one.

    Parameters
    ----------
    grounds : list of ndarray of shapely.Polygon
        Pieces of each; those of one ground share no sides.
    grid : float or None
        Metres: the grid of the overlay.

    Returns
    -------
    ndarray of shapely.Polygon
        Pieces; those that met are one.
    """
    grounds = [ground for ground in grounds if len(ground)]
    if len(grounds) < 2:
        return grounds[0] if grounds else np.empty(0, dtype=object)
    every = np.concatenate(grounds)
    owner: Ints = np.repeat(np.arange(len(grounds)), [len(ground) for ground in grounds])
    a, b = shapely.STRtree(every).query(every, predicate="intersects")
    met = np.zeros(len(every), dtype=bool)
    met[a[owner[a] != owner[b]]] = True
    return np.concatenate([every[~met], pieces_of(np.array([shapely.union_all(every[met], grid_size=grid)]))])


def deeper(one: list[np.ndarray], other: list[np.ndarray], grid: float | None) -> list[np.ndarray]:
    """Ground that two sets of sheets cover together at least twice, three times, and so on.

    Parameters
    ----------
    one, other : list of ndarray of shapely.Polygon
        What each set covers at least once, twice, ...; `other` may be empty.
    grid : float or None
        Metres: the grid of the overlay.

    Returns
    -------
    list of ndarray of shapely.Polygon
        Pieces, as long as there are any.
    """
    found = []
    both = shared(one[0], other[0], grid) if other else np.empty(0, dtype=object)
    for times in range(2, len(one) + len(other) + 1):
        parts = [depth[times - 1] for depth in (one, other) if times <= len(depth)]
        for k in range(1, times):
            if k <= len(one) and times - k <= len(other):
                # Ground that is covered more often lies in what both cover once.
                part = both if k == 1 else shared(one[k - 1], both, grid)
                parts.append(part if times - k == 1 else shared(part, other[times - k - 1], grid))
        found.append(joined(parts, grid))
    return [ground for ground in found if len(ground)]


def _met(one: np.ndarray, other: np.ndarray) -> tuple[Ints, Ints, np.ndarray]:
    """Pairs of pieces that meet, by index; and whether the first lies inside the second."""
    if not len(one) or not len(other):
        none = np.empty(0, dtype=np.int64)
        return none, none, none.astype(bool)
    a, b = shapely.STRtree(other).query(one)
    shapely.prepare(other)
    meet = shapely.intersects(other[b], one[a])
    a, b = a[meet], b[meet]
    return a, b, shapely.contains_properly(other[b], one[a])
