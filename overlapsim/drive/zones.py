"""Headland zones: the ground that each lap has to plant, and the interior that is left to passes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Floats

PATH_ERROR = 0.02
"""Metres by which a lap's path may miss the true offset curve: 25 cm was seen to add a third to off-field
ground, 2 cm nothing that matters (measured on real fields)."""

SMOOTH = 2e-4
"""Share of its radius by which an arc of a path may miss the true one where corners are looked for: it then
turns by less than 2.5 degrees at a vertex, so that an arc of half a working width, 57.3 degrees in as much
way, stays below the 60 degrees of a corner however it is divided."""

ZONE_ERROR = 1e-3
"""Metres by which the border of a zone may miss the true offset curve on its arcs."""

SPECK = 1e-2
"""m²: a piece of zone smaller than this is rounding."""


def eroded(ground: BaseGeometry, distance: float, error: float) -> list[shapely.Polygon]:
    """Take a band off ground along all of its rings at once.

    Parameters
    ----------
    ground : shapely.Geometry
        Polygon or polygons, metres.
    distance : float
        Width of the band, metres.
    error : float
        How far arcs may miss the true curve, metres.

    Returns
    -------
    list of shapely.Polygon
        What is left, largest first; neighbouring exclusions merge and necks close.
    """
    if distance <= 0.0:
        left = ground
    else:
        # A chord of 90/n degrees misses its arc of radius d by d (1 - cos(45/n deg)).
        half = math.acos(max(0.0, 1.0 - error / distance))
        left = ground.buffer(-distance, quad_segs=max(4, math.ceil(math.pi / 4 / half)))
    parts = [p for p in shapely.get_parts(left) if p.geom_type == "Polygon" and p.area > SPECK]
    return sorted(parts, key=lambda p: (-p.area, p.bounds))


@dataclass(frozen=True)
class Ring:
    """One ring of a lap's path, as it is driven.

    Attributes
    ----------
    points : ndarray, shape (n, 2)
        Vertices without repeats, metres, ground frame; the edge that the lap follows is on the left.
    exclusion : bool
        Whether it goes round an exclusion.
    """

    points: Floats
    exclusion: bool


@dataclass(frozen=True)
class Lap:
    """One headland lap.

    Attributes
    ----------
    number : int
        1 = outermost.
    outer, inner : tuple of shapely.Polygon
        Ground before and after the lap's band is taken off; the band lies between.
    rings : tuple of Ring
        Its path: boundary rings by falling area, then exclusion rings likewise.
    """

    number: int
    outer: tuple[shapely.Polygon, ...]
    inner: tuple[shapely.Polygon, ...]
    rings: tuple[Ring, ...]


@dataclass(frozen=True)
class Zones:
    """Headland and interior of one part of a field.

    Attributes
    ----------
    laps : tuple of Lap
        From the outermost inwards.
    interior : tuple of shapely.Polygon
        What is left for passes, largest first; may be empty.
    unreached_m2 : float
        Ground of bands whose lap has no path there, m².
    """

    laps: tuple[Lap, ...]
    interior: tuple[shapely.Polygon, ...]
    unreached_m2: float


def zones(plantable: shapely.Polygon, count: int, width: float, depth: float | None = None) -> Zones:
    """Lay headland laps round boundary and exclusions.

    Parameters
    ----------
    plantable : shapely.Polygon
        Field less exclusions, ground frame, metres.
    count : int
        Number of laps.
    width : float
        Working width, metres.
    depth : float, optional
        Where the interior begins, metres from the edges: all laps lie closer to them but the innermost,
        which has only what they leave of this depth to plant. By default `count` working widths.

    Returns
    -------
    Zones
        Laps that have neither path nor ground are left out.
    """
    laps: list[Lap] = []
    outer = [plantable]
    unreached = 0.0
    for number in range(1, count + 1):
        within = depth if depth is not None and number == count else number * width
        inner = eroded(plantable, within, ZONE_ERROR)
        distance = (number - 0.5) * width
        middle = eroded(plantable, distance, min(PATH_ERROR / 4, SMOOTH * distance))
        rings = _rings(middle)
        unreached += _unreached(outer, middle, width)
        if rings:
            laps.append(Lap(number, tuple(outer), tuple(inner), tuple(rings)))
        outer = inner
    return Zones(tuple(laps), tuple(outer), unreached)


def _rings(middle: list[shapely.Polygon]) -> list[Ring]:
    """Rings of a path in driving order: boundary clockwise, exclusions anticlockwise, edge on the left."""
    shells = [(shapely.Polygon(p.exterior), False) for p in middle]
    holes = [(shapely.Polygon(h), True) for p in middle for h in p.interiors]
    found = []
    for polygon, exclusion in [
        *sorted(shells, key=lambda s: (-s[0].area, s[0].bounds)),
        *sorted(holes, key=lambda s: (-s[0].area, s[0].bounds)),
    ]:
        points = shapely.get_coordinates(polygon.exterior)[:-1]
        if bool(shapely.is_ccw(polygon.exterior)) != exclusion:
            points = points[::-1]
        points = points[np.any(points != np.roll(points, 1, axis=0), axis=1)]
        if len(points) >= 3:
            found.append(Ring(points, exclusion))
    return found


def _unreached(outer: list[shapely.Polygon], middle: list[shapely.Polygon], width: float) -> float:
    """Area of those pieces of ground that a lap's path does not enter."""
    if not outer:
        return 0.0
    paths = shapely.union_all(middle) if middle else shapely.Polygon()
    reached = shapely.intersects(np.array(outer, dtype=object), paths)
    return float(shapely.area(np.array(outer, dtype=object)[~reached]).sum())
