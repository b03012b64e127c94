"""Rings of coordinates become sound polygons, or words about what is wrong with them.

A repair is made only where every reading of the rings gives the same ground; it is always said.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from overlapsim.basics.errors import Fault, FieldError
from overlapsim.scenario.winding import crossing_on, faces_and_winding

#: Readings of a ring that differ by no more than this share of its area count as the same ground
#: (0.5 m2 on 50 ha: below what a boundary measured to the centimetre can tell apart).
SAME_GROUND = 1e-6
#: Successive points nearer than this are one point, m (a thousandth of the finest survey's millimetre).
ONE_POINT_M = 1e-6
#: Smallest area that can be meant as a field, m2 (a garden bed; degrees read as metres come out far below).
LEAST_AREA_M2 = 10.0
#: Largest extent east or north that can be meant as a field, m (feet or degrees read as metres lie beyond).
LARGEST_EXTENT_M = 50_000.0

Rings = tuple[np.ndarray, tuple[np.ndarray, ...]]
Spot = Callable[[float, float], str]


@dataclass(frozen=True)
class Sound:
    """Sound ground: what the rings came to, and what was repaired.

    Parameters
    ----------
    parts : tuple of shapely.Polygon
        Valid polygons, ground frame (x east, y north, m), shells counter-clockwise.
    notes : tuple of str
        One sentence per repair; empty if nothing was touched.
    """

    parts: tuple[Polygon, ...]
    notes: tuple[str, ...]


def spot_in_metres(x: float, y: float) -> str:
    """Name a place of the ground frame.

    Parameters
    ----------
    x, y : float
        East and north, m.

    Returns
    -------
    str
        The place in words.

    Examples
    --------
    >>> spot_in_metres(12.34, -5)
    'x 12.34 m, y -5.00 m'
    """
    return f"x {x:.2f} m, y {y:.2f} m"


def refuse(rule: str, remedy: str = "", key: str = "", file: str = "") -> FieldError:
    """Make the error that refuses a field, with one fault in words.

    Parameters
    ----------
    rule : str
        What is wrong.
    remedy : str
        What to do about it.
    key, file : str
        Where it stands.

    Returns
    -------
    FieldError
        To be raised by the caller.
    """
    if remedy and not remedy.endswith((".", "?", "!")):
        remedy += "."
    return FieldError(Fault(rule=rule, remedy=remedy, key=key, file=file))


def rings_of(geometry: shapely.Geometry) -> list[Rings]:
    """Take polygons apart into coordinate arrays, heights dropped.

    Parameters
    ----------
    geometry : shapely.Geometry
        Polygon, MultiPolygon or a collection of them; may be invalid.

    Returns
    -------
    list of (shell, holes)
        Closed rings as arrays (n, 2), in the geometry's own coordinates.
    """
    polygons = [p for p in shapely.get_parts(shapely.get_parts(geometry)) if not p.is_empty]
    return [
        (shapely.get_coordinates(p.exterior), tuple(shapely.get_coordinates(h) for h in p.interiors))
        for p in polygons
    ]


def sound_polygons(
    polygons: Sequence[Rings], spot: Spot = spot_in_metres, key: str = "", file: str = ""
) -> Sound:
    """Check rings and repair what has one reading only.

    Parameters
    ----------
    polygons : sequence of (shell, holes)
        Each ring an array (n, 2) in the ground frame, m; closed or not.
    spot : callable
        Turns x, y (m) into the words that name the place to whoever mends it.
    key, file : str
        Where the rings stand, for the fault.

    Returns
    -------
    Sound
        Valid parts and the notes about repairs. Rings that need no repair keep every coordinate.

    Raises
    ------
    FieldError
        Coordinates that are no numbers, rings without area, rings that cross or cover themselves, parts that
        overlap, a field too small or too large to be meant.
    """
    check = _Checker(spot, key, file)
    parts: list[Polygon] = []
    for number, (shell, holes) in enumerate(polygons, 1):
        what = "boundary" if len(polygons) == 1 else f"boundary of part {number}"
        parts += check.polygon(shell, holes, what)
    if not parts:
        raise check.fault("no area in it", "Give the boundary as a polygon")
    parts = check.apart(parts)
    check.size(parts)
    return Sound(tuple(orient(p) for p in parts), tuple(check.notes))


def polygon_parts(geometry: shapely.Geometry) -> list[Polygon]:
    """Keep the polygons of a geometry, however deep, and drop lines and points.

    Parameters
    ----------
    geometry : shapely.Geometry
        Anything that an overlay may return.

    Returns
    -------
    list of shapely.Polygon
        Its polygons that have area.
    """
    if isinstance(geometry, Polygon):
        return [geometry] if geometry.area > 0 else []
    found: list[Polygon] = []
    for part in getattr(geometry, "geoms", ()):
        found += polygon_parts(part)
    return found


class _Checker:
    """One field's checks; collects the notes."""

    def __init__(self, spot: Spot, key: str, file: str) -> None:
        self.spot, self.key, self.file = spot, key, file
        self.notes: list[str] = []

    def fault(self, rule: str, remedy: str = "") -> FieldError:
        return refuse(rule, remedy, self.key, self.file)

    def polygon(self, shell: np.ndarray, holes: Sequence[np.ndarray], what: str) -> list[Polygon]:
        shell, shell_at = self._points(shell, what)
        kept = [self._points(hole, f"exclusion {i}") for i, hole in enumerate(holes, 1)]
        if len(shell) >= 3 and all(len(h) >= 3 for h, _ in kept):
            whole = Polygon(shell, [h for h, _ in kept])
            if whole.is_valid and whole.area > 0:
                return [whole]
        ground = self._ring(shell, shell_at, what)
        if not ground:
            raise self.fault(f"the {what} encloses no area", "Ask for the boundary as a polygon")
        outer = shapely.union_all(ground)
        out = []
        for i, (hole, hole_at) in enumerate(kept, 1):
            pieces = self._ring(hole, hole_at, f"exclusion {i}")
            if pieces:
                out.append((i, shapely.union_all(pieces)))
            else:
                self.notes.append(f"exclusion {i} encloses no area: left out")
        return self._less(outer, out, what)

    def _points(self, ring: np.ndarray, what: str) -> tuple[np.ndarray, np.ndarray]:
        """Drop repeated points and the closing one; keep each point's number (from 1) in the ring as given."""
        ring = np.asarray(ring, dtype=float)
        bad = ~np.isfinite(ring).all(axis=1)
        if bad.any():
            raise self.fault(
                f"point {int(np.flatnonzero(bad)[0]) + 1} of the {what} is not a finite number"
                + (f" ({int(bad.sum())} such points)" if bad.sum() > 1 else ""),
                "Ask for the boundary again",
            )
        if len(ring) < 2:
            return ring, np.arange(1, len(ring) + 1)
        step = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
        keep = np.concatenate([[True], step[:-1] > ONE_POINT_M])
        if len(ring) > 1 and step[-1] <= ONE_POINT_M:
            keep[np.flatnonzero(keep)[-1]] = keep.sum() == 1
        return ring[keep], np.flatnonzero(keep) + 1

    def _ring(self, ring: np.ndarray, at: np.ndarray, what: str) -> list[Polygon]:
        """Give the ground that one ring encloses, if there is one reading of it only."""
        if len(ring) < 3:
            return []
        plain = Polygon(ring)
        if plain.is_valid:
            return [plain] if plain.area > 0 else []
        faces, winding, sense = faces_and_winding(ring)
        area = shapely.area(faces)
        inside, doubtful = winding == sense, (winding != sense) & (winding != 0)
        extent = float(np.prod(np.ptp(ring, axis=0)))
        if area[inside].sum() + area[doubtful].sum() <= 1e-9 * extent:
            return []
        if area[doubtful].sum() > SAME_GROUND * area[inside].sum():
            largest = faces[doubtful][np.argmax(area[doubtful])]
            raise self._crossing(ring, at, largest, what)
        parts = polygon_parts(shapely.union_all(faces[inside]))
        least = SAME_GROUND * sum(p.area for p in parts)
        kept = [p for p in parts if p.area > least]
        at_spot = crossing_on(ring, shapely.unary_union(faces))[0]
        self.notes.append(
            f"the {what} touches or doubles back on itself near {self.spot(*at_spot)}: repaired, "
            f"all readings agree to {area[doubtful].sum() + sum(p.area for p in parts) - sum(p.area for p in kept):.2f} m2"
            + (f"; it falls into {len(kept)} parts" if len(kept) > 1 else "")
        )
        return kept

    def _crossing(self, ring: np.ndarray, at: np.ndarray, face: Polygon, what: str) -> FieldError:
        place, first, second = crossing_on(ring, face)
        return self.fault(
            f"the {what} crosses or covers itself at {self.spot(*place)} "
            f"(after points {at[first]} and {at[second]}): what is inside has more than one reading",
            "Mend the boundary there",
        )

    def _less(
        self, outer: shapely.Geometry, holes: list[tuple[int, shapely.Geometry]], what: str
    ) -> list[Polygon]:
        """Take the exclusions out: overlapping ones together, what lies outside ignored; nested ones have two readings."""
        for i, one in holes:
            for j, other in holes:
                if i < j and one.intersects(other):
                    self._pair(i, one, j, other)
        for i, one in holes:
            outside = one.difference(outer).area
            if outside > SAME_GROUND * one.area:
                self.notes.append(f"exclusion {i} reaches {outside:.1f} m2 beyond the {what}: cut there")
        ground = outer.difference(shapely.union_all([h for _, h in holes])) if holes else outer
        parts = polygon_parts(ground)
        least = SAME_GROUND * outer.area
        kept = [p for p in parts if p.area > least]
        if not kept:
            raise self.fault(
                f"the exclusions cover the whole of the {what}", "Check which ring is the boundary"
            )
        if len(kept) > 1 and isinstance(outer, Polygon):
            self.notes.append(f"exclusions cut the {what} into {len(kept)} parts")
        return kept

    def _pair(self, i: int, one: shapely.Geometry, j: int, other: shapely.Geometry) -> None:
        both = one.intersection(other).area
        small = min(one.area, other.area)
        if both <= SAME_GROUND * small:
            return
        if both > (1 - SAME_GROUND) * small and abs(one.area - other.area) > SAME_GROUND * max(
            one.area, other.area
        ):
            inner, outer = (j, i) if other.area < one.area else (i, j)
            place = (other if other.area < one.area else one).representative_point()
            raise self.fault(
                f"exclusion {inner} lies inside exclusion {outer} at {self.spot(place.x, place.y)}: "
                "an island to plant, or a ring too many?",
                "Give an island as a polygon of its own, or take the ring out",
            )
        self.notes.append(f"exclusions {i} and {j} overlap by {both:.1f} m2: taken together")

    def apart(self, parts: list[Polygon]) -> list[Polygon]:
        """See that parts share no ground; parts that share an edge become one."""
        if len(parts) < 2:
            return parts
        tree = shapely.STRtree(parts)
        touching = [(i, j) for i, j in tree.query(parts, predicate="intersects").T if i < j]
        for i, j in touching:
            both = parts[i].intersection(parts[j])
            if both.area > SAME_GROUND * min(parts[i].area, parts[j].area):
                place = both.representative_point()
                raise self.fault(
                    f"parts {i + 1} and {j + 1} overlap by {both.area:.1f} m2 at {self.spot(place.x, place.y)}: "
                    "is one of them meant as an exclusion?",
                    "Take one out, or give it as a hole",
                )
        if not touching:
            return parts
        joined = polygon_parts(shapely.union_all(parts))
        if len(joined) < len(parts):
            self.notes.append(f"parts that share an edge are joined: {len(parts)} become {len(joined)}")
            return joined
        return parts

    def size(self, parts: list[Polygon]) -> None:
        """Refuse what is too small or too large to be a field."""
        area = sum(p.area for p in parts)
        west, south, east, north = shapely.total_bounds(parts)
        if max(east - west, north - south) > LARGEST_EXTENT_M:
            raise self.fault(
                f"{(east - west) / 1000:.0f} km by {(north - south) / 1000:.0f} km, larger than any field",
                "Is the coordinate system the right one? Are these feet, or several fields far apart?",
            )
        if area < LEAST_AREA_M2:
            raise self.fault(
                f"{area:.3g} m2, smaller than any field",
                "Degrees or kilometres read as metres? State the right crs",
            )
