"""Headland zones: the ground that each lap has to plant, and the interior that is left to passes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Bools, Floats
from overlapsim.scenario.erosion import GRID, SPECK, Along, Around, pieces

PATH_ERROR = 0.02
"""Metres by which a lap's path may miss the true offset curve: 25 cm was seen to add a third to off-field
ground, 2 cm nothing that matters (measured on real fields)."""

SMOOTH = 2e-4
"""Share of its radius by which an arc of a path may miss the true one where corners are looked for: it then
turns by less than 2.5 degrees at a vertex, so that an arc of half a working width, 57.3 degrees in as much
way, stays below the 60 degrees of a corner however it is divided."""

ON_EDGE = 1e-6
"""Metres: an edge of a zone or of a path whose middle lies this close to the field's own edge lies on it."""

ZONE_ERROR = 1e-3
"""Metres by which the border of a zone may miss the true offset curve on its arcs."""


@dataclass(frozen=True)
class Ring:
    """One ring of a lap's path, as it is driven.

    Attributes
    ----------
    points : ndarray, shape (n, 2)
        Vertices without repeats, metres, ground frame; the edge that the lap follows is on the left.
    exclusion : bool
        Whether it goes round an exclusion.
    idle : ndarray of bool, shape (n,) or None
        Which sides, from each vertex to the next, are no way; None: all are.
    """

    points: Floats
    exclusion: bool
    idle: Bools | None = None


@dataclass(frozen=True)
class Lap:
    """One headland lap.

    Attributes
    ----------
    number : int
        1 = outermost.
    outer, inner : tuple of shapely.Polygon
        Ground before and after the lap's band is taken off; the band lies between. Where exclusions do not
        count as the boundary does, `outer` is the band itself and nothing is inside.
    rings : tuple of Ring
        Its path: boundary rings by falling area, then exclusion rings likewise.
    field : shapely.Polygon or None
        The part of the field that says which edges of the band are boundary or exclusion; None: those of the
        outermost lap, as its shells and holes say.
    """

    number: int
    outer: tuple[shapely.Polygon, ...]
    inner: tuple[shapely.Polygon, ...]
    rings: tuple[Ring, ...]
    field: shapely.Polygon | None = None


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
    field : shapely.Polygon or None
        The part of the field that says which edges of the interior are boundary or exclusion; None: none is.
    """

    laps: tuple[Lap, ...]
    interior: tuple[shapely.Polygon, ...]
    unreached_m2: float
    field: shapely.Polygon | None = None


def zones(
    plantable: shapely.Polygon,
    count: int,
    width: float,
    interior: list[shapely.Polygon] | None = None,
    around: Around | Along | None = None,
) -> Zones:
    """Lay headland laps round boundary and exclusions.

    Parameters
    ----------
    plantable : shapely.Polygon
        Field less exclusions, ground frame, metres.
    count : int
        Number of laps.
    width : float
        Working width, metres.
    interior : list of shapely.Polygon, optional
        Ground for passes, metres: laps have only what is left of theirs to plant. By default what lies
        `count` working widths from the edges.
    around : Around or Along, optional
        How exclusions count, or which edges laps follow; by default all edges alike.

    Returns
    -------
    Zones
        Laps that have neither path nor ground are left out.

    Notes
    -----
    Where exclusions get fewer laps, lap j takes min(j, that number) working widths off along them, and its
    way keeps half a width beside what is planted there: flush with it, switched off along it.
    """
    around = around or Around()
    passes = shapely.union_all(np.array(interior or [], dtype=object))
    laps: list[Lap] = []
    outer = around.left(plantable, 0.0, 0.0, ZONE_ERROR)
    unreached = 0.0
    for number in range(1, count + 1):
        inner = interior
        if inner is None or number < count:
            inner = around.left(plantable, number * width, min(number, around.laps) * width, ZONE_ERROR)
            if isinstance(around, Along):
                inner = pieces(shapely.union(shapely.union_all(inner), passes, grid_size=GRID))
        distance = (number - 0.5) * width
        beside = (min(number, around.laps + 1) - 0.5) * width
        error = min(PATH_ERROR / 4, SMOOTH * distance)
        middle = around.left(plantable, distance, beside, error, way=True)
        rings, lap = _rings(middle), (tuple(outer), tuple(inner))
        if isinstance(around, Along):
            rings = [_idle(ring, around.bare) for ring in rings]
            rings = [ring for ring in rings if not np.all(ring.idle)]
        if not around.plain:
            taken = shapely.union_all(np.array(inner, dtype=object))
            band = pieces(shapely.difference(shapely.union_all(outer), taken, grid_size=GRID))
            rings = [ring for ring in rings if _meets(ring, band, width)]
            lap = tuple(band), ()
            unreached += float(sum(p.area for p in band if not any(_meets(r, [p], width) for r in rings)))
        else:
            unreached += _unreached(lap[0], middle, width)
        if rings:
            laps.append(Lap(number, *lap, tuple(rings), None if around.plain else plantable))
        outer = inner
    return Zones(tuple(laps), tuple(outer), unreached, None if around.plain else plantable)


def _idle(ring: Ring, bare: BaseGeometry) -> Ring:
    """Mark the sides of a path that lie on an edge without a headland."""
    middle = shapely.points((ring.points + np.roll(ring.points, -1, axis=0)) / 2)
    return replace(ring, idle=np.asarray(shapely.distance(middle, bare) < ON_EDGE))


def _meets(ring: Ring, band: list[shapely.Polygon], width: float) -> bool:
    """Whether the swath along a ring comes over ground of the band."""
    swath = shapely.LinearRing(ring.points).buffer(width / 2, quad_segs=2)
    return bool(shapely.area(shapely.intersection(np.array(band, dtype=object), swath)).sum() > SPECK)


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


def _unreached(outer: tuple[shapely.Polygon, ...], middle: list[shapely.Polygon], width: float) -> float:
    """Area of those pieces of ground that a lap's path does not enter."""
    if not outer:
        return 0.0
    paths = shapely.union_all(middle) if middle else shapely.Polygon()
    reached = shapely.intersects(np.array(outer, dtype=object), paths)
    return float(shapely.area(np.array(outer, dtype=object)[~reached]).sum())
