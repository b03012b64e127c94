"""Scan lines across field and raw strips, sorted and counted without an overlay engine.

The lines lie askew to the passes, so that no strip is met only along its border.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints, to_plan
from overlapsim.ground.edges import edges_of, spread

LINES = 211
"""Scan lines across the ground: a prime, so that their distance is no multiple of a row spacing."""

ASKEW = math.radians(17)
"""Angle between scan lines and the passes, radians."""

Cuts = tuple[Ints, Floats, Ints]
"""Line, place along it, and how much more ground begins there (less than 0: ends)."""


def cuts_of(start: Floats, end: Floats, lines: Floats) -> tuple[Ints, Ints, Floats, Ints]:
    """Cut directed edges with horizontal lines.

    Parameters
    ----------
    start, end : ndarray, shape (n, 2)
        Edges with their ground on the left, in the frame of the lines, metres.
    lines : ndarray, shape (l,)
        Heights of the lines, rising, metres.

    Returns
    -------
    edge, line : ndarray of int, shape (m,)
        Of each cut.
    place : ndarray, shape (m,)
        Along the line, metres.
    begins : ndarray of int, shape (m,)
        1 where ground begins, -1 where it ends.
    """
    x, y, rise = start[:, 0], start[:, 1], end[:, 1] - start[:, 1]
    edge, line = spread(
        np.searchsorted(lines, np.minimum(y, end[:, 1]), side="left"),
        np.searchsorted(lines, np.maximum(y, end[:, 1]), side="left"),
    )
    # Edges along the lines are cut by none of them.
    slope = np.divide(end[:, 0] - x, rise, out=np.zeros(len(x)), where=rise != 0)
    # Interior on the left: an edge that runs down has its ground on the side of larger x.
    begins = np.where(rise < 0, 1, -1).astype(np.int8)
    return edge, line, x[edge] + (lines[line] - y[edge]) * slope[edge], begins[edge]


def _strip_cuts(corners: Floats, strip: Ints, lines: Floats) -> tuple[Ints, Floats, Ints]:
    """Cut strips with lines: where each strip begins and ends, ground that it sweeps twice being one."""
    # Where left and right edge run against one another the cross lines meet in a point, and the strip
    # sweeps a triangle on either side of it.
    a0, b0, b1, a1 = (corners[:, i] for i in range(4))
    left, right = a1 - a0, b1 - b0
    crossed = (left * right).sum(axis=1) < 0
    size, other = np.hypot(*left[crossed].T), np.hypot(*right[crossed].T)
    point = a0[crossed] + (size / (size + other))[:, None] * (b0 - a0)[crossed]
    pieces = [
        sides_of(corners[~crossed], strip[~crossed]),
        sides_of(np.stack([a0[crossed], point, a1[crossed]], axis=1), strip[crossed]),
        sides_of(np.stack([point, b0[crossed], b1[crossed]], axis=1), strip[crossed]),
    ]
    start, end, owner = (np.concatenate(v) for v in zip(*pieces, strict=True))
    # A strip of one piece begins once and ends once on a line, and sweeps nothing twice.
    one = np.bincount(np.concatenate([strip, strip[crossed]]), minlength=1)[owner] == 1
    _, line_one, place_one, begins_one = cuts_of(start[one], end[one], lines)
    side, line, place, begins = cuts_of(start[~one], end[~one], lines)
    of = owner[~one][side]
    # Where a triangle ends and the next one begins at the same place, the beginning comes first.
    order = np.lexsort((-begins, place, line, of))
    line, place, begins = line[order], place[order], begins[order]
    count = np.cumsum(begins, dtype=np.int64)
    keep = (count == 1) & (begins > 0) | (count == 0) & (begins < 0)
    return (
        np.concatenate([line_one, line[keep]]),
        np.concatenate([place_one, place[keep]]),
        np.concatenate([begins_one, begins[keep]]),
    )


def _along_lines(line: Ints, place: Floats) -> Ints:
    """Order cuts by line, then by place; quick where strips come in the order in which lines meet them."""
    by_line = np.argsort(line.astype(np.uint16), kind="stable")
    # Complex numbers are ordered by their real part first, and a stable sort uses runs that are in order.
    both = np.empty(len(line), dtype=np.complex128)
    both.real, both.imag = line[by_line], place[by_line]
    return by_line[np.argsort(both, kind="stable")]


def sides_of(polygon: Floats, owner: Ints) -> tuple[Floats, Floats, Ints]:
    """Direct the sides of convex polygons so that their ground lies on the left.

    Parameters
    ----------
    polygon : ndarray, shape (n, k, 2)
        Corners, one way round or the other, metres.
    owner : ndarray of int, shape (n,)
        What each belongs to.

    Returns
    -------
    start, end : ndarray, shape (n k, 2)
        Sides, metres.
    owner : ndarray of int, shape (n k,)
        What each belongs to.
    """
    a, b = polygon[:, 1] - polygon[:, 0], polygon[:, -1] - polygon[:, 0]
    over = a[:, 0] * b[:, 1] < a[:, 1] * b[:, 0]
    turned = np.where(over[:, None, None], polygon[:, ::-1], polygon)
    following = np.roll(turned, -1, axis=1)
    return turned.reshape(-1, 2), following.reshape(-1, 2), np.repeat(owner, polygon.shape[1])


def scan(
    plantable: Sequence[shapely.Polygon], quads: Floats, strip: Ints, heading: float, lines: int
) -> tuple[float, Floats, Cuts, Cuts]:
    """Lay scan lines across field and strips and cut both with them.

    Parameters
    ----------
    plantable : sequence of shapely.Polygon
        Plantable ground, ground frame.
    quads : ndarray, shape (n, 4, 2)
        Corners of the quadrilaterals between successive poses of every raw strip, ground frame, metres.
    strip : ndarray of int, shape (n,)
        The strip that each belongs to; ground that one strip sweeps twice counts once.
    heading : float
        Heading of the passes, radians clockwise from north.
    lines : int
        Number of scan lines.

    Returns
    -------
    askew : float
        Heading of the frame in which the lines are horizontal, radians clockwise from north.
    at : ndarray, shape (lines,)
        Their heights in it, metres.
    field, strips : tuple of ndarray
        Where they cut either.
    """
    askew = heading + ASKEW - math.pi / 2
    field = edges_of(plantable).in_plan(askew)
    # In the order in which lines meet strips on passes there is little left to sort.
    across = np.argsort(to_plan(quads.mean(axis=1), heading)[:, 0], kind="stable")
    corners, strip = to_plan(quads[across], askew), strip[across]
    everything = np.concatenate([field.start[:, 1], corners[..., 1].ravel()])
    low, high = everything.min(), everything.max()
    at = low + (high - low) * (np.arange(lines) + 0.5) / lines
    _, line, place, begins = cuts_of(field.start, field.end, at)
    return askew, at, (line, place, begins), _strip_cuts(corners, strip, at)


def count(field: Cuts, strips: Cuts, lines: int) -> tuple[float, dict[str, Floats]]:
    """Sort the cuts of each line and count how often every stretch of it was planted.

    Parameters
    ----------
    field, strips : tuple of ndarray
        As `scan` gives them.
    lines : int
        Number of scan lines.

    Returns
    -------
    inside : float
        Length of all lines inside the field, metres.
    lengths : dict of str to ndarray, shape (lines,)
        Skip, overlap and off-field length of each line, metres.
    """
    line, place, begins = (np.concatenate(v) for v in zip(field, strips, strict=True))
    of_strip = np.arange(len(line)) >= len(field[0])
    order = _along_lines(line, place)
    line, place, begins, of_strip = line[order], place[order], begins[order], of_strip[order]
    inside = np.cumsum(np.where(of_strip, 0, begins), dtype=np.int32) > 0
    times = np.cumsum(np.where(of_strip, begins, 0), dtype=np.int32)
    length = np.diff(place, append=place[-1:])
    length[np.flatnonzero(line[1:] != line[:-1])] = 0.0
    total = float(length[inside].sum())
    # Most ground is planted once.
    other = np.flatnonzero(np.where(inside, times != 1, times > 0))
    line, inside, times, length = line[other], inside[other], times[other], length[other]
    share = {
        "skip": inside & (times == 0),
        "overlap": inside * np.maximum(times - 1, 0),
        "off_field": ~inside * times,
    }
    return total, {k: np.bincount(line, length * v, minlength=lines) for k, v in share.items()}


def largest_difference(one: dict[str, Floats], other: dict[str, Floats]) -> float:
    """Hold two counts against one another.

    Parameters
    ----------
    one, other : dict of str to ndarray, shape (lines,)
        Lengths by name, metres.

    Returns
    -------
    float
        Largest difference on any one line or in the sums, metres.
    """
    return max(
        max(float(np.abs(one[k] - other[k]).max()), abs(float(one[k].sum() - other[k].sum()))) for k in one
    )
