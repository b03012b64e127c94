"""Headland laps as legs: rings cut at their corners, each leg going on straight at both ends."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.ops import substring

from overlapsim.basics.frames import Floats, to_plan
from overlapsim.drive.zones import ON_EDGE, PATH_ERROR, Lap
from overlapsim.ground.edges import BOUNDARY, EXCLUSION, PLANTED, Edges, edges_of
from overlapsim.ground.profile import profile
from overlapsim.ground.rails import Rails, rails
from overlapsim.scenario.corners import cuts
from overlapsim.scenario.erosion import SPECK

OUTSIDE = 1e-6
"""Metres of swath on a band below which the swath is outside of it."""

BEYOND = 1e-3
"""Metres that a track goes on beyond the leg itself: its first and its last edge are crossed, whatever
rounding says."""


@dataclass(frozen=True)
class LapLeg:
    """One leg of a lap.

    Attributes
    ----------
    lap : int
        Index of the lap within its part, 0 = outermost.
    track : Rails
        The planned way, ground frame; an open one reaches out of the lap's own band at both ends, and
        :data:`BEYOND` farther.
    exclusion : bool
        Whether its ring goes round an exclusion.
    """

    lap: int
    track: Rails
    exclusion: bool


def band_edges(lap: Lap) -> Edges:
    """Edges of the ground that a lap has to plant.

    Parameters
    ----------
    lap : Lap
        With the ground before and after its band is taken off.

    Returns
    -------
    Edges
        Ground frame, interior on the left. Only the outermost lap meets boundary and exclusions, unless the
        lap says otherwise.
    """
    outer, inner = edges_of(lap.outer), edges_of(lap.inner)
    if lap.field is not None:
        return outer_less(kinds_on(outer, lap.field), inner)
    kind = outer.kind if lap.number == 1 else np.full(len(outer.kind), PLANTED)
    return outer_less(Edges(outer.start, outer.end, kind), inner)


def kinds_on(edges: Edges, field: shapely.Polygon) -> Edges:
    """Say which edges lie on the boundary and on exclusions; the others border on ground of other legs.

    Parameters
    ----------
    edges : Edges
        Of some zone of the field, ground frame.
    field : shapely.Polygon
        Field less exclusions, ground frame, metres.

    Returns
    -------
    Edges
        The same ones with their kinds.
    """
    middle = shapely.points((edges.start + edges.end) / 2)
    kind = np.full(len(edges.kind), PLANTED)
    for own, rings in ((BOUNDARY, [field.exterior]), (EXCLUSION, list(field.interiors))):
        kind[shapely.distance(middle, shapely.MultiLineString(rings)) < ON_EDGE] = own
    return Edges(edges.start, edges.end, kind)


def outer_less(ground: Edges, hole: Edges) -> Edges:
    """Edges of ground without other ground that lies in it.

    Parameters
    ----------
    ground : Edges
        All of it.
    hole : Edges
        What is taken out; its edges count as `PLANTED` from then on.

    Returns
    -------
    Edges
        Both, the second ones reversed.
    """
    return Edges(
        np.concatenate([ground.start, hole.end]),
        np.concatenate([ground.end, hole.start]),
        np.concatenate([ground.kind, np.full(len(hole.kind), PLANTED)]),
    )


def lap_legs(index: int, lap: Lap, width: float, heading: float) -> list[LapLeg]:
    """Cut a lap into legs.

    Parameters
    ----------
    index : int
        Index of the lap within its part.
    lap : Lap
        Rings and band.
    width : float
        Working width, metres.
    heading : float
        Heading of the first pass, radians clockwise from north: a ring starts where it reaches farthest
        along it, ties to the right.

    Returns
    -------
    list of LapLeg
        In driving order.
    """
    band = band_edges(lap)
    legs: list[LapLeg] = []
    for ring in lap.rings:
        plan = to_plan(ring.points, heading).round(6)
        at = cuts(ring.points, width)
        if ring.idle is not None:
            at = np.union1d(at, np.flatnonzero(ring.idle != np.roll(ring.idle, 1)))
        corners = at if len(at) else np.arange(len(plan))
        first = corners[np.lexsort((-plan[corners, 0], -plan[corners, 1]))[0]]
        if not len(at):
            points = np.roll(ring.points, -first, axis=0)
            round_ = _thinned(np.concatenate([points, points[:1]]), width)[:-1]
            legs.append(LapLeg(index, rails(round_, True), ring.exclusion))
            continue
        order = np.roll(at, -int(np.flatnonzero(at == first)[0]))
        for begin, end in zip(order, np.roll(order, -1), strict=True):
            count = (end - begin) % len(plan) or len(plan)
            points = np.take(ring.points, np.arange(begin, begin + count + 1), axis=0, mode="wrap")
            if ring.idle is not None and (ring.idle[begin] or not _wanted(points, lap, width)):
                continue
            track = rails(_extended(_thinned(points, width), band, width), False)
            legs.append(LapLeg(index, track, ring.exclusion))
    return legs


def _wanted(points: Floats, lap: Lap, width: float) -> bool:
    """Whether a leg has ground to plant besides the corners, which its neighbours plant as well."""
    way = shapely.LineString(points)
    spare = (width / 2 + SPECK) * (way.length > 2 * width)
    swath = substring(way, spare, way.length - spare).buffer(width / 2, cap_style="flat")
    return bool(shapely.area(shapely.intersection(np.array(lap.outer, dtype=object), swath)).sum() > SPECK)


def _thinned(points: Floats, width: float) -> Floats:
    """Leave out vertices that a path needs only for its corners to be found; its ends and long sides stay.

    Beside a straight edge of the field a path has to keep its distance: a wedge of some millimetres that it
    leaves there is ground that other legs switch on for.
    """
    long = np.flatnonzero(np.hypot(*np.diff(points, axis=0).T) > width / 2)
    stay = np.unique(np.concatenate([[0, len(points) - 1], long, long + 1]))
    pieces = [points[a : b + 1] for a, b in pairwise(stay)]
    thin = [shapely.get_coordinates(shapely.LineString(p).simplify(PATH_ERROR * 3 / 4))[1:] for p in pieces]
    return np.concatenate([points[:1], *thin])


def _extended(points: Floats, band: Edges, width: float) -> Floats:
    """Let a leg go on straight at both ends until its swath is outside the band."""
    ahead = points[-1] - points[-2]
    back = points[0] - points[1]
    after = _reach(points[-1], ahead, band, width)
    before = _reach(points[0], back, band, width)
    start = points[0] + (before + BEYOND) * back / np.hypot(*back)
    end = points[-1] + (after + BEYOND) * ahead / np.hypot(*ahead)
    # The end points replace the cuts: there is no turn at a cut.
    return np.concatenate([[start], points[1:-1], [end]])


def _reach(point: Floats, direction: Floats, band: Edges, width: float) -> float:
    """How far from a point, straight on, a swath first lies outside a band."""
    heading = float(np.arctan2(direction[0], direction[1]))
    across, along = to_plan(point, heading)
    half = width / 2
    seen = profile(band.in_plan(heading), np.array([across - half]), np.array([across + half]))
    _, now, _ = seen.at(np.array([0]), np.array([along]))
    if now[0] < OUTSIDE:
        return 0.0
    step = np.diff(seen.knot, append=seen.knot[-1:])
    end = seen.width + step * seen.slope
    before = np.append(0.0, end[:-1])
    outside = (np.minimum(before, seen.width) < OUTSIDE) & (seen.knot >= along)
    return float(seen.knot[outside][0] - along) if outside.any() else 0.0


