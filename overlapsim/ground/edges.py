"""Ground as directed edges, and what a band of ground between two lines sees of them.

A polygon is its edges with the interior on the left. In the plan frame an edge that runs to the right
is where ground begins on the way forward; one that runs to the left is where it ends. So the width of
ground under a cross line that moves forward is a sum over edges; no ring is assembled, no crossings
are paired, and nothing has to be clipped by an overlay engine.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints, to_plan

BOUNDARY, EXCLUSION, PLANTED = 0, 1, 2
EDGE_KINDS = ("boundary", "exclusion", "planted")
"""Words for the kinds of edge, in the order of their numbers."""

JUMP = 1e-6
"""Metres: an edge whose ends within a band differ less along the way counts as square across it. Its
place is then wrong by at most half of this; without it slopes grow until rounding shows."""


@dataclass(frozen=True)
class Edges:
    """Directed edges of some ground, interior on the left.

    Attributes
    ----------
    start, end : ndarray, shape (n, 2)
        End points, metres, in one frame that the holder names.
    kind : ndarray of int, shape (n,)
        `BOUNDARY`, `EXCLUSION` or `PLANTED`.
    """

    start: Floats
    end: Floats
    kind: Ints

    def in_plan(self, heading: float) -> Edges:
        """The same edges, turned from the ground frame into a plan frame.

        Parameters
        ----------
        heading : float
            Radians clockwise from north.

        Returns
        -------
        Edges
            In the plan frame of the heading.
        """
        return Edges(to_plan(self.start, heading), to_plan(self.end, heading), self.kind)


def edges_of(polygons: Iterable[shapely.Polygon]) -> Edges:
    """Read the edges of polygons that do not overlap one another.

    Parameters
    ----------
    polygons : iterable of shapely.Polygon
        Valid polygons; shells become `BOUNDARY`, holes `EXCLUSION`.

    Returns
    -------
    Edges
        In the polygons' own frame; edges without length are left out.
    """
    sound = shapely.orient_polygons(np.array(list(polygons), dtype=object))
    rings, owner = shapely.get_rings(sound, return_index=True)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    # A polygon's shell comes before its holes.
    hole = np.append(False, owner[1:] == owner[:-1])[: len(owner)]
    real = (ring[1:] == ring[:-1]) & np.any(xy[1:] != xy[:-1], axis=1)
    kind = np.where(hole, EXCLUSION, BOUNDARY)[ring[:-1][real]]
    return Edges(xy[:-1][real], xy[1:][real], kind)


@dataclass(frozen=True)
class Ramps:
    """What single edges do to the width of ground under a band's cross line, as it moves forward.

    Over ``low .. high`` along the way the width changes linearly by `change`; where both are the same
    place it jumps.

    Attributes
    ----------
    band : ndarray of int, shape (n,)
        Which band.
    low, high : ndarray, shape (n,)
        Where along the plan the change begins and is complete, metres.
    change : ndarray, shape (n,)
        Metres of width gained (> 0) or lost (< 0).
    kind : ndarray of int, shape (n,)
        Kind of the edge.
    """

    band: Ints
    low: Floats
    high: Floats
    change: Floats
    kind: Ints


def spread(first: Ints, last: Ints) -> tuple[Ints, Ints]:
    """List every number of many ranges one after another.

    Parameters
    ----------
    first, last : ndarray of int, shape (n,)
        Ranges ``first .. last - 1``; an empty one gives nothing.

    Returns
    -------
    owner : ndarray of int
        The range that each number belongs to.
    number : ndarray of int
        The numbers.

    Examples
    --------
    >>> spread(np.array([3, 7]), np.array([5, 8]))
    (array([0, 0, 1]), array([3, 4, 7]))
    """
    count = np.maximum(last - first, 0)
    owner = np.repeat(np.arange(len(first)), count)
    within = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    return owner, first[owner] + within


def ramps(edges: Edges, left: Floats, right: Floats) -> Ramps:
    """Clip edges to bands that do not overlap one another.

    Parameters
    ----------
    edges : Edges
        In the plan frame.
    left, right : ndarray, shape (b,)
        Borders of the bands across, metres, sorted, ``right[i] <= left[i + 1]``.

    Returns
    -------
    Ramps
        One for every edge in every band that it passes through.
    """
    x0, y0, x1, y1 = edges.start[:, 0], edges.start[:, 1], edges.end[:, 0], edges.end[:, 1]
    low, high = np.minimum(x0, x1), np.maximum(x0, x1)
    owner, band = spread(
        np.searchsorted(right, low, side="right"), np.searchsorted(left, high, side="left")
    )
    x0, y0, x1, y1, low, high = (v[owner] for v in (x0, y0, x1, y1, low, high))
    from_, to = np.maximum(low, left[band]), np.minimum(high, right[band])
    real = to > from_
    owner, band, x0, y0, x1, y1, low, high, from_, to = (
        v[real] for v in (owner, band, x0, y0, x1, y1, low, high, from_, to)
    )
    # Exact at an edge's own ends, so that neighbouring edges and bands meet bit for bit.
    slope = (y1 - y0) / (x1 - x0)
    at_low, at_high = np.where(x0 < x1, y0, y1), np.where(x0 < x1, y1, y0)
    y_from = np.where(from_ == low, at_low, at_low + slope * (from_ - low))
    y_to = np.where(to == high, at_high, at_low + slope * (to - low))
    begin, done = np.minimum(y_from, y_to), np.maximum(y_from, y_to)
    square = done - begin < JUMP
    middle = (begin + done) / 2
    return Ramps(
        band=band,
        low=np.where(square, middle, begin),
        high=np.where(square, middle, done),
        change=np.where(x1 > x0, to - from_, from_ - to),
        kind=edges.kind[owner],
    )
