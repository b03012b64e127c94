"""Rings of coordinates become sound polygons, or words about what is wrong with them.

A repair is made only where every reading of the rings gives the same ground; it is always said.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from overlapsim.basics.errors import FieldError
from overlapsim.scenario.rings import Rings, Spot, polygon_parts, refuse, spot_in_metres
from overlapsim.scenario.winding import (
    faces_of,
    meeting_place,
    meetings,
    signed_area,
    simplest,
    winding_numbers,
)

#: Readings of a ring that differ by no more than this share of its area count as the same ground
#: (0.5 m2 on 50 ha, a strip of 0.2 mm along its boundary: no survey can tell them apart).
SAME_GROUND = 1e-6
#: Successive points nearer than this are one point, m (a thousandth of the finest survey's millimetre).
ONE_POINT_M = 1e-6
#: A ring with less area than this share of the square of its length encloses nothing (rounding of a double).
NO_AREA = 1e-12
#: Smallest area that can be meant as a field, m2 (a garden bed; degrees read as metres come out far below).
LEAST_AREA_M2 = 10.0
#: Largest extent east or north that can be meant as a field, m (feet or degrees read as metres lie beyond).
LARGEST_EXTENT_M = 50_000.0
#: Most face-and-point pairs that are looked at before a tangle is refused unread (about ten seconds).
_MOST_PAIRS = 1e9
#: Most meetings of a ring with itself that it is split at (about five seconds); rings of more than so many
#: points are looked at for a tangle first, whose validity takes minutes to judge.
_MOST_MEETINGS, _MANY_POINTS = 100_000, 50_000


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

    Examples
    --------
    A hole that reaches beyond the boundary can be read in one way only:

    >>> square, hole = shapely.box(0, 0, 10, 10), shapely.box(8, 4, 12, 6)
    >>> sound = sound_polygons([(shapely.get_coordinates(square), (shapely.get_coordinates(hole),))])
    >>> sound.parts[0].area, sound.notes
    (96.0, ('exclusion 1 reaches 4.0 m2 beyond the boundary: cut there',))
    """
    checker = _Checker(spot, key, file)
    parts: list[Polygon] = []
    for number, (shell, holes) in enumerate(polygons, 1):
        what = "the boundary" if len(polygons) == 1 else f"the boundary of part {number}"
        parts += checker.polygon(shell, holes, what)
    if not parts:
        raise checker.fault("holds no area", "Ask for the boundary as a polygon")
    parts = checker.apart(parts)
    checker.size(parts)
    return Sound(tuple(orient(p) for p in parts), tuple(checker.notes))


class _Checker:
    """One field's checks; collects the notes."""

    def __init__(self, spot: Spot, key: str, file: str) -> None:
        self.spot, self.key, self.file = spot, key, file
        self.notes: list[str] = []

    def fault(self, rule: str, remedy: str = "") -> FieldError:
        return refuse(rule, remedy, self.key, self.file)

    def polygon(self, shell: np.ndarray, holes: Sequence[np.ndarray], what: str) -> list[Polygon]:
        outer_ring = self._points(shell, what)
        inner = [self._points(hole, f"exclusion {i}") for i, hole in enumerate(holes, 1)]
        if len(outer_ring[0]) >= 3 and all(len(points) >= 3 for points, _ in inner):
            for points, _ in (outer_ring, *inner):
                if len(points) > _MANY_POINTS:
                    self._tangle(points, what)
            whole = Polygon(outer_ring[0], [points for points, _ in inner])
            if whole.is_valid and not self._flat(outer_ring[0]):
                return [whole]
        said = len(self.notes)
        ground = self._ring(*outer_ring, what)
        if not ground:
            raise self.fault(f"{what} encloses no area", "Ask for the boundary as a polygon")
        exclusions: list[tuple[int, BaseGeometry]] = []
        for i, (points, numbers) in enumerate(inner, 1):
            pieces = self._ring(points, numbers, f"exclusion {i}")
            if pieces:
                exclusions.append((i, shapely.union_all(pieces)))
            else:
                self.notes.append(f"exclusion {i} encloses no area: left out")
        parts = self._less(shapely.union_all(ground), exclusions, what)
        if len(self.notes) == said:
            self.notes.append(f"exclusions share an edge with one another or with {what}: joined")
        return parts

    def _points(self, ring: np.ndarray, what: str) -> tuple[np.ndarray, np.ndarray]:
        """Drop repeated points and the closing one; keep each point's number (from 1) as given."""
        bad = ~np.isfinite(ring).all(axis=1)
        if bad.any():
            more = f" ({int(bad.sum())} such points)" if bad.sum() > 1 else ""
            first = int(np.flatnonzero(bad)[0]) + 1
            raise self.fault(
                f"point {first} of {what} is not a finite number{more}", "Ask for the boundary again"
            )
        # In kilometres: what is written can be larger than any double's square.
        if (reach := ring.max(axis=0) / 1000 - ring.min(axis=0) / 1000).max() > LARGEST_EXTENT_M / 1000:
            raise self._too_large(*reach)
        kept = np.arange(len(ring))
        while len(kept) > 1:
            step = np.hypot(*(ring[kept] - np.roll(ring[kept], 1, axis=0)).T)
            # The closing point repeats the first one: the last of them goes, so that the first stays first.
            step = np.append(step[1:], step[0])
            same = np.append(False, step[:-1] <= ONE_POINT_M)
            same[-1] |= step[-1] <= ONE_POINT_M
            if not same.any():
                break
            kept = kept[~same]
        return ring[kept], kept + 1

    @staticmethod
    def _flat(ring: np.ndarray) -> bool:
        length = float(np.hypot(*(ring - np.roll(ring, 1, axis=0)).T).sum())
        return Polygon(ring).area <= NO_AREA * length**2

    def _ring(self, ring: np.ndarray, numbers: np.ndarray, what: str) -> list[Polygon]:
        """Give the ground that one ring encloses, if there is one reading of it only."""
        if len(ring) < 3:
            return []
        plain = Polygon(ring)
        if plain.is_valid:
            return [] if self._flat(ring) else [plain]
        self._tangle(ring, what)
        faces = faces_of(ring)
        if len(faces) * len(ring) > _MOST_PAIRS:
            raise self._too_often(what, f"{len(faces):,}")
        winding, area = winding_numbers(ring, faces), shapely.area(faces)
        inside = winding == (1 if signed_area(ring) >= 0 else -1)
        doubtful = ~inside & (winding != 0)
        length = float(np.hypot(*(ring - np.roll(ring, 1, axis=0)).T).sum())
        if area[winding != 0].sum() <= NO_AREA * length**2:
            return []
        if area[doubtful].sum() > SAME_GROUND * area[inside].sum():
            raise self._crossing(ring, numbers, faces[doubtful][np.argmax(area[doubtful])], what)
        kept = simplest(faces, area, inside, SAME_GROUND)
        lost = area[doubtful].sum() + abs(area[inside].sum() - sum(p.area for p in kept))
        found = re.search(r"\[(\S+) (\S+)\]", shapely.is_valid_reason(plain))
        at = f" at {self.spot(float(found[1]), float(found[2]))}" if found else ""
        pieces = f"; it falls into {len(kept)} parts" if len(kept) > 1 else ""
        but = f" but for {lost:.2f} m2" if lost >= 0.005 else ""
        self.notes.append(
            f"{what} touches itself or doubles back{at}: repaired, all readings agree{but}{pieces}"
        )
        return kept

    def _tangle(self, ring: np.ndarray, what: str) -> None:
        """Refuse a tangle unread: splitting it along its own lines would take all the memory there is."""
        if meetings(ring, _MOST_MEETINGS) > _MOST_MEETINGS:
            raise self._too_often(what, f"more than {_MOST_MEETINGS:,}")

    def _too_often(self, what: str, count: str) -> FieldError:
        return self.fault(f"{what} meets itself in {count} places", "Ask for the boundary again")

    def _crossing(self, ring: np.ndarray, numbers: np.ndarray, face: Polygon, what: str) -> FieldError:
        (x, y), stretches = meeting_place(ring, face)
        after = f" (after points {numbers[stretches[0]]} and {numbers[stretches[1]]})" if stretches else ""
        return self.fault(
            f"{what} crosses or covers itself at {self.spot(x, y)}{after}: what lies inside has more "
            "than one reading",
            "Mend it there",
        )

    def _less(
        self, outer: BaseGeometry, exclusions: list[tuple[int, BaseGeometry]], what: str
    ) -> list[Polygon]:
        """Take the exclusions out: overlapping ones together, of each only what lies inside."""
        for i, one in exclusions:
            for j, other in exclusions:
                if i < j and one.intersects(other):
                    self._pair(i, one, j, other)
            beyond = one.difference(outer).area
            if beyond >= (1 - SAME_GROUND) * one.area:
                self.notes.append(f"exclusion {i} lies outside of {what}: left out")
            elif beyond > SAME_GROUND * one.area:
                self.notes.append(f"exclusion {i} reaches {beyond:.1f} m2 beyond {what}: cut there")
        ground = outer.difference(shapely.union_all([e for _, e in exclusions])) if exclusions else outer
        parts = polygon_parts(ground)
        kept = [p for p in parts if p.area > SAME_GROUND * outer.area]
        if not kept:
            raise self.fault(f"the exclusions cover all of {what}", "Which ring is the boundary?")
        if len(kept) > 1 and isinstance(outer, Polygon):
            self.notes.append(f"exclusions cut {what} into {len(kept)} parts")
        return kept

    def _pair(self, i: int, one: BaseGeometry, j: int, other: BaseGeometry) -> None:
        """Judge two exclusions that share ground; one inside another has two readings."""
        both = one.intersection(other).area
        if both <= SAME_GROUND * min(one.area, other.area):
            return
        if one.area > other.area:
            i, one, j, other = j, other, i, one
        nested = both > (1 - SAME_GROUND) * one.area
        if nested and other.area - one.area > SAME_GROUND * other.area:
            place = one.representative_point()
            raise self.fault(
                f"exclusion {i} lies inside exclusion {j} at {self.spot(place.x, place.y)}: an island to "
                "plant, or a ring too many?",
                "Give an island as a polygon of its own, or take the ring out",
            )
        first, second = sorted((i, j))
        self.notes.append(f"exclusions {first} and {second} overlap by {both:.1f} m2: taken together")

    def apart(self, parts: list[Polygon]) -> list[Polygon]:
        """See that parts share no ground; parts that share an edge become one."""
        if len(parts) < 2:
            return parts
        pairs = shapely.STRtree(parts).query(parts, predicate="intersects").T
        touching = [(int(i), int(j)) for i, j in pairs if i < j]
        for i, j in touching:
            both = parts[i].intersection(parts[j])
            if both.area > SAME_GROUND * min(parts[i].area, parts[j].area):
                place = both.representative_point()
                raise self.fault(
                    f"parts {i + 1} and {j + 1} overlap by {both.area:.1f} m2 at "
                    f"{self.spot(place.x, place.y)}: is one of them meant as an exclusion?",
                    "Take one out, or give it as a hole",
                )
        joined = polygon_parts(shapely.union_all(parts)) if touching else parts
        if len(joined) == len(parts):
            return parts
        self.notes.append(f"parts that share an edge are joined: {len(parts)} become {len(joined)}")
        return joined

    def _too_large(self, east_km: float, north_km: float) -> FieldError:
        return self.fault(
            f"{east_km:.5g} by {north_km:.5g} km, larger than any field",
            "Is its coordinate system the right one, are these metres, is it one field?",
        )

    def size(self, parts: list[Polygon]) -> None:
        """Refuse what is too small or too large to be a field."""
        area = sum(p.area for p in parts)
        west, south, east, north = shapely.total_bounds(parts)
        if max(east - west, north - south) > LARGEST_EXTENT_M:
            raise self._too_large((east - west) / 1000, (north - south) / 1000)
        if area < LEAST_AREA_M2:
            raise self.fault(
                f"{area:.3g} m2, smaller than any field", "Degrees or kilometres taken for metres? State crs"
            )
