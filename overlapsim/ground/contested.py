"""Spots that more than one moving end may plant: points of a lattice, and what covers each of them.

Where two windows lie over one another neither has its area for itself. Such ground is little (some dozen
square metres of a field); it is counted by points, each standing for its square of the lattice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.basics.records import Records
from overlapsim.ground.cover import forward
from overlapsim.ground.edges import spread
from overlapsim.ground.overlay import POLYGON

FINEST, COARSEST = 0.015, 0.1
"""Metres between points of the lattice."""

POINTS = 80_000
"""Points aimed at in all; one that lies in several pairs of windows is counted with each."""

ASKEW = 0.2934
"""Radians by which the lattice is turned, so that rows along a grid of roads don't run along it."""

ON_LINE = 1e-4
"""Metres, and shares of a strip's width, within which a point lies on a cross line."""

ROUNDS = 6
"""Newton steps that find a point's place between two cross lines; each doubles its digits."""


@dataclass(frozen=True)
class Quads(Records):
    """Windows in pieces between two cross lines each.

    Attributes
    ----------
    corner : ndarray, shape (n, 4, 2)
        Left and right at the start, right and left at the end, metres.
    begin, end : ndarray, shape (n,)
        Ways at start and end, metres.
    leg, row : ndarray of int, shape (n,)
        Whose window it is.
    """

    corner: Floats
    begin: Floats
    end: Floats
    leg: Ints
    row: Ints


@dataclass(frozen=True)
class Contested:
    """Points that lie in more than one window.

    Attributes
    ----------
    place : ndarray, shape (p, 2)
        The points, metres.
    weight : float
        Ground that each stands for, m².
    point : ndarray of int, shape (m,)
        Point of each pair of a point and a window that holds it.
    leg, row : ndarray of int, shape (m,)
        Whose window it is.
    way : ndarray, shape (m,)
        Where on the leg's way the row's strip covers the point, metres.
    """

    place: Floats
    weight: float
    point: Ints
    leg: Ints
    row: Ints
    way: Floats

    def take(self, chosen: Bools) -> Contested:
        """Keep some of the points.

        Parameters
        ----------
        chosen : ndarray of bool, shape (p,)
            Which ones.

        Returns
        -------
        Contested
            Fewer points.
        """
        number = np.cumsum(chosen) - 1
        own = chosen[self.point]
        return Contested(
            self.place[chosen], self.weight, number[self.point[own]], self.leg[own], self.row[own],
            self.way[own],
        )  # fmt: skip

    def thinned(self, most: int) -> Contested:
        """Keep a coarser lattice of the points.

        Parameters
        ----------
        most : int
            How many to keep, about.

        Returns
        -------
        Contested
            Every (k² + 1)-th point, standing for as much ground as all of them.

        Notes
        -----
        Where ``x + k y`` divides by ``k² + 1`` places (x, y) of a square lattice form one again.
        """
        every = len(self.place) / max(1, most)
        if every <= 1:
            return self
        step = round(np.sqrt(every - 1))
        cell = np.rint(_turned(self.place, -ASKEW) / np.sqrt(self.weight)).astype(np.int64)
        kept = self.take((cell[:, 0] + step * cell[:, 1]) % (step**2 + 1) == 0)
        return replace(kept, weight=self.weight * len(self.place) / max(1, len(kept.place)))


def contested(quads: Quads, apart: float) -> Contested:
    """Find the ground that several windows share.

    Parameters
    ----------
    quads : Quads
        All windows in pieces.
    apart : float
        Pieces of one leg whose ways are closer than this lie side by side, not over one another, unless
        one of them runs back, metres.

    Returns
    -------
    Contested
        Points on a lattice so fine that there are at most some :data:`POINTS` of them.
    """
    owner = np.repeat(np.arange(len(quads.leg)), 4)
    points = shapely.multipoints(quads.corner.reshape(-1, 2), indices=owner)
    shape = np.asarray(shapely.convex_hull(points), dtype=object)
    one, other = shapely.STRtree(shape).query(shape)
    low, high = np.minimum(quads.begin, quads.end), np.maximum(quads.begin, quads.end)
    near = (low[one] < high[other] + apart) & (low[other] < high[one] + apart)
    ahead = forward(quads.corner)
    beside = (quads.leg[one] == quads.leg[other]) & near & ahead[one] & ahead[other]
    real = (one < other) & ~beside
    one, other = one[real], other[real]
    shared = np.asarray(shapely.intersection(shape[one], shape[other]), dtype=object)
    size = shapely.area(shared)
    meets = (size > FINEST**2) & (shapely.get_type_id(shared) == POLYGON)
    one, other, size = one[meets], other[meets], size[meets]
    spacing = float(np.clip(np.sqrt(size.sum() / POINTS), FINEST, COARSEST))
    pair, cell = _inside(_corners(shared[meets]), spacing)
    # Both whole numbers of a point in one: lattices are far smaller than 2^31 each way.
    keys, point = np.unique((cell[:, 0] << 32) + cell[:, 1], return_inverse=True)
    x = (keys + (1 << 31)) >> 32
    place = _turned(np.stack([x, keys - (x << 32)], axis=1) * spacing, ASKEW)
    # A point in three windows lies in three pairs: each window is told once.
    told = np.unique(np.tile(point, 2) * len(shape) + np.concatenate([one[pair], other[pair]]))
    point, piece = np.divmod(told, max(1, len(shape)))
    way, inside = _ways(quads, piece, place[point])
    point, piece = point[inside], piece[inside]
    return Contested(place, spacing**2, point, quads.leg[piece], quads.row[piece], way[inside])


def _corners(polygons: np.ndarray) -> Floats:
    """Corners of convex polygons, the last ones repeated where others have more."""
    xy, owner = shapely.get_coordinates(polygons, return_index=True)
    count = np.bincount(owner, minlength=len(polygons))
    first = np.cumsum(count) - count
    most = int(count.max(initial=1))
    return np.asarray(xy[first[:, None] + np.minimum(np.arange(most)[None, :], count[:, None] - 1)])


def _turned(xy: Floats, angle: float) -> Floats:
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return np.asarray(xy @ turn)


def _inside(corner: Floats, spacing: float) -> tuple[Ints, Ints]:
    """Lattice points inside of convex polygons: polygon and whole-numbered place of each."""
    on_lattice = _turned(corner.reshape(-1, 2), -ASKEW).reshape(corner.shape) / spacing
    low = np.ceil(on_lattice.min(axis=1)).astype(np.int64)
    high = np.floor(on_lattice.max(axis=1)).astype(np.int64) + 1
    column_of, x = spread(low[:, 0], high[:, 0])
    owner, y = spread(low[column_of, 1], high[column_of, 1])
    quad, x = column_of[owner], x[owner]
    sides = []
    for i in range(corner.shape[1]):
        a, b = on_lattice[quad, i - 1], on_lattice[quad, i]
        sides.append((b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (b[:, 1] - a[:, 1]) * (x - a[:, 0]))
    left = np.stack(sides)
    keep = (left >= 0).all(axis=0) | (left <= 0).all(axis=0)
    return quad[keep], np.stack([x[keep], y[keep]], axis=1)


def _ways(quads: Quads, piece: Ints, place: Floats) -> tuple[Floats, Bools]:
    """Way at which the cross line that glides over a quadrilateral passes a point, and whether it does.

    A quadrilateral whose edges run against one another does not fill the hull that it was looked for in.
    """
    corner = quads.corner[piece]
    left, right = corner[:, 0], corner[:, 1]
    left_run, right_run = corner[:, 3] - left, corner[:, 2] - right
    across, across_run = right - left, right_run - left_run
    share = np.full(len(piece), 0.5)

    def cross(a: Floats, b: Floats) -> Floats:
        return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])

    for _ in range(ROUNDS):
        line = across + share[:, None] * across_run
        off = place - left - share[:, None] * left_run
        miss = cross(line, off)
        rate = cross(across_run, off) - cross(line, left_run)
        share = np.clip(share - miss / np.where(rate == 0.0, 1.0, rate), 0.0, 1.0)
    line = across + share[:, None] * across_run
    off = place - left - share[:, None] * left_run
    size = (line * line).sum(axis=1)
    aside = (line * off).sum(axis=1) / size
    inside = (np.abs(cross(line, off)) < ON_LINE * np.sqrt(size)) & (aside > -ON_LINE) & (aside < 1 + ON_LINE)
    begin, end = quads.begin[piece], quads.end[piece]
    return np.asarray(begin + share * (end - begin)), inside
