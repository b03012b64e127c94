"""What a headland that comes with the field leaves for passes, and how many laps plant it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from overlapsim.scenario.corners import cuts, turns
from overlapsim.scenario.erosion import GRID, SPECK, STUB, Along, areas_of, opened, pieces
from overlapsim.scenario.field import Field
from overlapsim.scenario.headland import Headland
from overlapsim.scenario.kinds import Slip
from overlapsim.scenario.settings import MOST_LAPS

__all__ = ["SLIVER", "Given", "Settled", "headland_ground"]

SLIVER = 3.0
"""Metres: narrower strips between headland and boundary are how somebody drew (common practice, no source:
what lines drawn over a picture from the air miss a field's edge by)."""

WAVER = 1.0
"""Metres: what a headland is wider than laps needs no lap of its own below this (common practice, no source:
what its inner edge wavers by where it was drawn or driven by hand)."""

BLOTS = 0.02
"""Share of a headland that may lie beyond its laps, at corners, before one more is driven (a convention)."""

BEND = 8
"""Working widths: the boundary has a corner where it turns as sharply within half as much way as a lap is cut
for in half of one; corners of fields are rounded, by hedges and by those who drew them (a convention)."""

SLANT = 1.2
"""How much farther than its depth a headland may reach along a side that is not square to its end, no unit:
down to 56 degrees between them."""

_TOUCHED, _CLEAR = 0.05, 1 / 3
_LINE_ERROR = 1e-3
_SAID = 20.0
"""m2: less is not worth a line (a convention: one row over the width of a pass)."""


@dataclass(frozen=True)
class Given:
    """One part of a field with the headland that came with it.

    Attributes
    ----------
    interior : tuple of shapely.Polygon
        Ground for passes, ground frame, m; largest first.
    laps : int
        The least number that covers the headland; 0 where there is none.
    along : Along
        Which edges laps follow.
    """

    interior: tuple[Polygon, ...]
    laps: int
    along: Along


@dataclass(frozen=True)
class Settled:
    """All parts of a field with the headland that came with it.

    Attributes
    ----------
    parts : tuple of Given
        As the field's.
    notes : tuple of str
        What was tolerated, one sentence each.
    """

    parts: tuple[Given, ...]
    notes: tuple[str, ...]


@lru_cache(maxsize=8)
def headland_ground(headland: Headland, field: Field, width: float) -> Settled:
    """Part a field into headland and interior.

    Parameters
    ----------
    headland : Headland
        Areas that came with the field.
    field : Field
        The field.
    width : float
        Working width, m.

    Returns
    -------
    Settled
        For each part of the field.

    Raises
    ------
    Slip
        Areas of another field, of all of it, without one meaning, or too deep for laps.

    Notes
    -----
    A side of the boundary (from corner to corner) along most of which passes run up to the edge gets no laps;
    nor do exclusions of which that is so. Lap j plants headland that lies up to j working widths from the
    other edges. Strips narrower than `SLIVER` between headland and boundary are taken with what lies beside
    them, and so are, beyond a lap, those narrower than `WAVER`.
    """
    ground = shapely.multipolygons(list(field.parts))
    given = shapely.union_all(np.array(headland.areas, dtype=object))
    shared = areas_of(shapely.intersection(ground, given, grid_size=GRID))
    if opened(shared, SLIVER).area < SPECK:
        apart = shapely.distance(ground, given)
        away = f"it lies {apart:.0f} m away" if apart > 1 else "they share next to nothing"
        raise Slip(f"does not lie on the field: {away}", "Another field's headland?")
    rest = areas_of(shapely.difference(ground, given, grid_size=GRID))
    raw = shared if _is_interior(headland, ground, shared, rest) else rest
    inner = opened(raw, SLIVER)
    band = opened(shapely.difference(ground, inner, grid_size=GRID), SLIVER)
    if inner.area < SPECK or band.area < SPECK:
        whole = "nothing between the boundary and it" if band.area < SPECK else "nothing for passes"
        raise Slip(f"leaves {whole}", "Choose the headland alone, with where or layer, or write laps.")
    parts, inside, beyond = [], [], 0.0
    for part in field.parts:
        left = areas_of(shapely.difference(part, band, grid_size=GRID))
        # A field's sharp tips hold nothing of the interior, and go with the headland beside them.
        kept = [one for one in pieces(left) if shapely.intersection(one, inner).area > SPECK]
        left = shapely.union_all(np.array(kept, dtype=object), grid_size=GRID)
        inside += kept
        own = areas_of(shapely.difference(part, left, grid_size=GRID))
        made, more = _part(part, own, left, width)
        parts.append(made)
        beyond += more
    notes = []
    left = shapely.union_all(np.array(inside, dtype=object), grid_size=GRID)
    moved = shapely.symmetric_difference(raw, left, grid_size=GRID).area
    if moved > _SAID:
        notes.append(
            f"Headland and boundary do not quite meet: strips narrower than {SLIVER:g} m, {moved:,.0f} m2, "
            "are taken with what lies beside them."
        )
    if beyond > _SAID:
        notes.append(f"{beyond:,.0f} m2 of the headland lie just beyond its laps: passes plant them.")
    bare = sum(1 for one in parts if not one.laps)
    if bare:
        notes.append(f"The headland does not reach {bare} of the field's {len(parts)} parts: no laps there.")
    return Settled(tuple(parts), tuple(notes))


def _is_interior(
    headland: Headland, ground: BaseGeometry, shared: BaseGeometry, rest: BaseGeometry
) -> bool:
    """Whether areas are the ground inside of the headland: one of the two touches no edge."""
    if headland.meaning:
        return headland.meaning == "interior"
    rims = shapely.boundary(ground)

    def along(area: BaseGeometry) -> float:
        return float(shapely.intersection(rims, area.buffer(SLIVER, quad_segs=2)).length / rims.length)

    # What is thinner than a drawn line is off is no ground by itself.
    inside, outside = along(opened(shared, SLIVER)), along(opened(rest, SLIVER))
    if inside < _TOUCHED or outside < _TOUCHED:
        return inside < _TOUCHED
    share = shared.area / ground.area
    if _CLEAR < share < 1 - _CLEAR:
        raise Slip(
            f"covers {share:.0%} of the field and lies along its boundary: headland or interior?",
            'Write is = "headland" or is = "interior" beside it.',
        )
    return share > 0.5


def _part(part: Polygon, band: BaseGeometry, inner: BaseGeometry, width: float) -> tuple[Given, float]:
    """Count the laps of one part; and tell what of the headland lies beyond them, m2."""
    if band.area < SPECK:
        return Given((part,), 0, Along(part, (), MultiLineString())), 0.0
    filled = [ring for ring in part.interiors if _touched(ring, inner) > 0.5]
    base = Polygon(part.exterior, [ring for ring in part.interiors if ring not in filled])
    every = Along(base, (), MultiLineString())
    along, (laps, covered) = every, _laps(part, band, every, width)
    if (fewer := _sides(base, band, inner, min(laps, MOST_LAPS) * width, width)) != every:
        # Sides are left out only where the others' laps reach as much.
        count, more = _laps(part, band, fewer, width)
        if count <= laps:
            along, laps, covered = fewer, count, more
    if laps > MOST_LAPS:
        raise Slip(
            f"needs more than {MOST_LAPS} laps of {width:.3g} m",
            "Too wide for laps, or a part of it lies in the middle of the field: leave that out.",
        )
    interior = inner if covered is band else shapely.difference(part, covered, grid_size=GRID)
    # A hairline that drawing left between laps and passes would call for a pass of its own.
    wide = (one for one in pieces(interior) if opened(one, WAVER).area > SPECK)
    return Given(tuple(wide), laps, along), band.area - covered.area


def _touched(edge: BaseGeometry, inner: BaseGeometry) -> float:
    """Up to which share of an edge passes run."""
    line = LineString(edge.coords)
    # Hairlines along an edge are no ground for passes.
    wide = inner.buffer(-STUB, quad_segs=1).buffer(2 * STUB, quad_segs=1)
    return float(shapely.intersection(line, wide).length / line.length)


def _laps(part: Polygon, band: BaseGeometry, along: Along, width: float) -> tuple[int, BaseGeometry]:
    """Count laps, and say which ground they cover."""
    whole, covered = band.area, band
    for lap in range(1, MOST_LAPS + 1):
        left = shapely.union_all(along.left(part, lap * width, lap * width, _LINE_ERROR))
        beyond = areas_of(shapely.intersection(covered, left, grid_size=GRID))
        wide = opened(beyond, WAVER)
        last = wide.area < BLOTS * whole
        stays = shapely.Polygon() if last else wide
        if beyond.area - stays.area > SPECK:
            within = shapely.difference(covered, left, grid_size=GRID)
            covered = areas_of(shapely.union(within, stays, grid_size=GRID))
        if last:
            return lap, covered
    return MOST_LAPS + 1, covered


def _sides(base: Polygon, band: BaseGeometry, inner: BaseGeometry, deep: float, width: float) -> Along:
    """Leave out sides of the boundary up to which passes run, as long as a headland so deep is in reach."""
    points = shapely.get_coordinates(base.exterior)[:-1]
    at = cuts(points, BEND * width)
    ends = np.append(at[1:], at[:1] + len(points))
    sides = [
        LineString(np.take(points, np.arange(a, b + 1), axis=0, mode="wrap"))
        for a, b in zip(at, ends, strict=True)
    ]
    driven: list[BaseGeometry] = [shapely.Polygon(ring) for ring in base.interiors]
    spots = shapely.points(shapely.get_coordinates(band))
    away = np.array([shapely.distance(spots, edge) for edge in (*sides, *driven)])
    share, count = [_touched(side, inner) for side in sides], len(sides)
    bare = np.zeros(len(away), dtype=bool)
    for side in sorted(range(count), key=lambda i: -share[i]):
        bare[side] = share[side] > 0.5
        if bare.all() or away[~bare].min(axis=0).max() > SLANT * deep:
            bare[side] = False
    if not bare.any():
        return Along(base, (), MultiLineString())
    runs: list[BaseGeometry] = []
    for first in (i for i in range(count) if not bare[i] and bare[(i - 1) % count]):
        run = [sides[first]]
        while not bare[(first + len(run)) % count]:
            run.append(sides[(first + len(run)) % count])
        way = np.concatenate([run[0].coords, *(side.coords[1:] for side in run[1:])])
        # Beyond a corner that points outwards bands go on straight, up to the bare side.
        out = turns(points)[at[[first, (first + len(run)) % count]]] > 0.0
        runs.append(LineString(_lengthened(way, deep * out)))
    idle = MultiLineString([side for side, one in zip(sides, bare[:count], strict=True) if one])
    return Along(base, (*runs, *driven), idle)


def _lengthened(way: np.ndarray, more: np.ndarray) -> np.ndarray:
    """Let a line go on straight at both ends, by so many metres each."""
    back, ahead = way[0] - way[1], way[-1] - way[-2]
    start = way[0] + more[0] * back / np.hypot(*back)
    end = way[-1] + more[1] * ahead / np.hypot(*ahead)
    return np.concatenate([[start], way[1:-1], [end]])
