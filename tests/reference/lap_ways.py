"""Where laps and passes of a small field run, and what ground is whose: worked out from distances alone.

Written to disagree: no offset curve of an overlay library. A spot's *depth* is its distance from the field's
edges, positive inside; the band of lap j is where the depth lies between (j - 1) W and j W. A lap's way keeps
(j - 1/2) W from the edges: straight beside each of them, mitred where the ground has a convex corner, on an
arc round a corner that juts into the ground. Good for fields whose bands neither meet themselves nor vanish
and whose corners turn by more than 60 degrees at one vertex or by no more than an arc does: the cases' own.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from tests.reference.case import Case, rotated

SAGITTA = 2e-3  # m: by how much a chord of an arc may miss it
OUTWARD = 0.02  # m: step in which a leg's end looks for the way out of its band

def cross2(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """The third component of the cross product of plane vectors (..., 2)."""
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


@dataclass(frozen=True)
class Way:
    """A leg's polyline (n, 2) and its cross vectors, to the right; a closed one repeats its first vertex."""

    points: np.ndarray
    closed: bool = False

    @property
    def sides(self) -> np.ndarray:
        return np.diff(self.points, axis=0)

    @property
    def places(self) -> np.ndarray:
        """Way at every vertex, from 0 (m)."""
        return np.append(0.0, np.cumsum(np.hypot(*self.sides.T)))

    @property
    def crosses(self) -> np.ndarray:
        """Along the bisector at a vertex, longer by 1/cos(turn/2): the normals' mean over its square."""
        normal = np.column_stack([self.sides[:, 1], -self.sides[:, 0]])
        normal /= np.hypot(*normal.T)[:, None]
        ends = (normal[-1:], normal[:1]) if self.closed else (normal[:1], normal[-1:])
        mean = (np.concatenate([ends[0], normal]) + np.concatenate([normal, ends[1]])) / 2
        return mean / (mean**2).sum(axis=1)[:, None]

    def at(self, way: np.ndarray, aside: np.ndarray) -> np.ndarray:
        """Ground (..., 2) under offsets `aside` (m to the right) at places `way` (m); straight on beyond."""
        places, points, crosses = self.places, self.points, self.crosses
        k = np.clip(np.searchsorted(places, way, side="right") - 1, 0, len(places) - 2)
        share = (way - places[k]) / (places[k + 1] - places[k])
        glide = np.clip(share, 0, 1)[..., None]
        middle = points[k] + share[..., None] * (points[k + 1] - points[k])
        return middle + aside[..., None] * (crosses[k] + glide * (crosses[k + 1] - crosses[k]))

    def find(self, spots: np.ndarray, half: float) -> tuple[np.ndarray, np.ndarray]:
        """Place along (m) and aside (m) of spots (m, 2) within `half` of the way; nan where they are not."""
        found = np.full((2, len(spots)), np.nan)
        places, crosses = self.places, self.crosses
        left, right = self.points - half * crosses, self.points + half * crosses
        for k, side in enumerate(self.sides):
            four = np.stack([left[k], right[k], left[k + 1], right[k + 1]])
            near = np.flatnonzero(((spots >= four.min(axis=0)) & (spots <= four.max(axis=0))).all(axis=1))
            c, d, rel = crosses[k], crosses[k + 1] - crosses[k], spots[near] - self.points[k]
            # The spot lies on the cross line at share t: (rel - t side) x (c + t d) = 0.
            a, b, e = -cross2(side, d), cross2(rel, d) - cross2(side, c), cross2(rel, c)
            if abs(a) < 1e-12:
                roots = [-e / b]
            else:
                root = np.sqrt(np.maximum(b**2 - 4 * a * e, 0.0))
                roots = [(-b - root) / (2 * a), (-b + root) / (2 * a)]
            for t in roots:
                line = c + t[:, None] * d
                aside = ((rel - t[:, None] * side) * line).sum(axis=1) / (line**2).sum(axis=1)
                good = (t >= 0) & (t <= 1) & (np.abs(aside) <= half)
                found[:, near[good]] = places[k] + t[good] * (places[k + 1] - places[k]), aside[good]
        return found[0], found[1]


class Field:
    """A case's field in the frame (right of, along) the heading."""

    def __init__(self, case: Case) -> None:
        rings = [np.array(rotated(ring, case.heading_deg)) for ring in (case.shell, *case.holes)]
        area = [cross2(ring, np.roll(ring, -1, axis=0)).sum() for ring in rings]
        # The ground on the left: the shell anticlockwise, holes clockwise.
        self.rings = [
            ring if (a > 0) == (i == 0) else ring[::-1]
            for i, (ring, a) in enumerate(zip(rings, area, strict=True))
        ]
        self.start = np.concatenate(self.rings)
        self.side = np.concatenate([np.roll(ring, -1, axis=0) - ring for ring in self.rings])

    def depth(self, spots: np.ndarray) -> np.ndarray:
        """Distance of spots (..., 2) from the nearest edge, m; negative off the ground."""
        nearest, inside = np.full(spots.shape[:-1], np.inf), np.zeros(spots.shape[:-1], dtype=bool)
        for a, d in zip(self.start, self.side, strict=True):
            rel = spots - a
            t = np.clip((rel @ d) / (d @ d), 0, 1)
            nearest = np.minimum(nearest, np.hypot(*np.moveaxis(rel - t[..., None] * d, -1, 0)))
            up = (a[1] <= spots[..., 1]) != (a[1] + d[1] <= spots[..., 1])
            with np.errstate(divide="ignore", invalid="ignore"):
                inside ^= up & (spots[..., 0] < a[0] + (spots[..., 1] - a[1]) * d[0] / d[1])
        return np.where(inside, nearest, -nearest)

    def rounds(self, distance: float) -> list[tuple[np.ndarray, np.ndarray]]:
        """A lap's rings as driven, the edge on the left: their vertices, and which of them are corners."""
        found = []
        for ring in self.rings:
            points: list[np.ndarray] = []
            corner: list[bool] = []
            for i, here in enumerate(ring):
                one, two = here - ring[i - 1], ring[(i + 1) % len(ring)] - here
                n1, n2 = (np.array([-d[1], d[0]]) / math.hypot(*d) for d in (one, two))
                turn = math.atan2(float(cross2(one, two)), float(one @ two))
                if turn > 0:
                    points.append(here + distance * (n1 + n2) / (1 + n1 @ n2))
                    corner.append(turn > math.radians(60))
                    continue
                pieces = math.ceil(-turn / (2 * math.acos(1 - SAGITTA / distance)))
                for share in np.linspace(0, 1, pieces + 1):
                    angle = math.atan2(n1[1], n1[0]) + share * turn
                    points.append(here + distance * np.array([math.cos(angle), math.sin(angle)]))
                    corner.append(False)
            found.append((np.array(points)[::-1], np.array(corner)[::-1]))
        return found


def lap_ways(field: Field, lap: int, width: float) -> list[Way]:
    """The legs of one lap in driving order (lap 1 = outermost)."""
    legs = []
    for points, corner in field.rounds((lap - 0.5) * width):
        choice = np.flatnonzero(corner) if corner.any() else np.arange(len(points))
        # Farthest along the heading, ties to the right.
        first = max(choice, key=lambda i: (round(points[i, 1], 6), round(points[i, 0], 6)))
        points, corner = np.roll(points, -first, axis=0), np.roll(corner, -first)
        points = np.concatenate([points, points[:1]])
        if not corner.any():
            legs.append(Way(points, True))
            continue
        cuts = [*np.flatnonzero(corner), len(points) - 1]
        legs += [_drawn_out(field, points[a : b + 1], lap, width) for a, b in itertools.pairwise(cuts)]
    return legs


def _drawn_out(field: Field, points: np.ndarray, lap: int, width: float) -> Way:
    """A leg between two corners, gone on straight until its whole width is outside the lap's band."""
    points = points.copy()
    aside = (np.arange(100) + 0.5) / 100 * width - width / 2
    for end, inner in ((0, 1), (-1, -2)):
        ahead = points[end] - points[inner]
        ahead /= math.hypot(*ahead)
        right = np.array([ahead[1], -ahead[0]])
        steps = np.arange(0, 3 * width, OUTWARD)
        spots = points[end] + steps[:, None, None] * ahead + aside[:, None] * right
        depth = field.depth(spots)
        out = ~((depth > (lap - 1) * width) & (depth < lap * width)).any(axis=1)
        points[end] = points[end] + steps[np.argmax(out)] * ahead
    return Way(points)


def pass_ways(field: Field, laps: int, width: float) -> list[Way]:
    """Lines side by side from the interior's leftmost point on, up and down in turn, beyond the field."""
    across = np.concatenate([points[:, 0] for points, _ in field.rounds(laps * width)])
    low, high = field.start[:, 1].min() - width, field.start[:, 1].max() + width
    count = math.ceil((across.max() - across.min() - 0.001) / width)
    lines = [across.min() + (i + 0.5) * width for i in range(count)]
    ends = [[low, high] if i % 2 == 0 else [high, low] for i in range(count)]
    return [Way(np.column_stack([[line, line], pair])) for line, pair in zip(lines, ends, strict=True)]
