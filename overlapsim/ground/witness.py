"""A second witness: scan lines across field and raw strips, without an overlay engine.

On each line the strips' and the field's own edges are sorted and counted; the lengths of skip, overlap
and off-field ground that come out are held against the lengths that the drawn polygons cut from the same
line. The lines lie askew to the passes, so that no strip is met only along its border.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints, to_plan
from overlapsim.ground.edges import edges_of, spread
from overlapsim.ground.shapes import Shapes

LINES = 211
"""Scan lines across the ground: a prime, so that their distance is no multiple of a row spacing."""

ASKEW = math.radians(17)
"""Angle between scan lines and the passes, radians."""


@dataclass(frozen=True)
class Witness:
    """Lengths on the scan lines by two ways of counting, metres.

    Attributes
    ----------
    inside_m : float
        Length of all scan lines inside the plantable ground.
    strips_m : dict of str to float
        Skip, overlap and off-field length from the raw strips' edges.
    polygons_m : dict of str to float
        The same from the drawn polygons.
    largest_relative_difference : float
        Largest difference on any one line (as share of `inside_m`) or in the sums, whichever is more.
    """

    inside_m: float
    strips_m: dict[str, float]
    polygons_m: dict[str, float]
    largest_relative_difference: float


def _cuts(start: Floats, end: Floats, lines: Floats) -> tuple[Ints, Ints, Floats, Ints]:
    """Cut directed edges with horizontal lines: edge, line, place; +1 where ground begins, -1 at its end."""
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
        _sides(corners[~crossed], strip[~crossed]),
        _sides(np.stack([a0[crossed], point, a1[crossed]], axis=1), strip[crossed]),
        _sides(np.stack([point, b0[crossed], b1[crossed]], axis=1), strip[crossed]),
    ]
    start, end, owner = (np.concatenate(v) for v in zip(*pieces, strict=True))
    # A strip of one piece begins once and ends once on a line, and sweeps nothing twice.
    one = np.bincount(np.concatenate([strip, strip[crossed]]), minlength=1)[owner] == 1
    _, line_one, place_one, begins_one = _cuts(start[one], end[one], lines)
    side, line, place, begins = _cuts(start[~one], end[~one], lines)
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


def _sides(polygon: Floats, owner: Ints) -> tuple[Floats, Floats, Ints]:
    """Directed sides of convex polygons, interior on the left."""
    a, b = polygon[:, 1] - polygon[:, 0], polygon[:, -1] - polygon[:, 0]
    over = a[:, 0] * b[:, 1] < a[:, 1] * b[:, 0]
    turned = np.where(over[:, None, None], polygon[:, ::-1], polygon)
    following = np.roll(turned, -1, axis=1)
    return turned.reshape(-1, 2), following.reshape(-1, 2), np.repeat(owner, polygon.shape[1])


def _polygon_lengths(polygons: np.ndarray, times: Ints, lines: Floats, heading: float) -> Floats:
    """Length of polygons on each line, each polygon as often as told."""
    total = np.zeros(len(lines))
    for count in np.unique(times):
        edges = edges_of(polygons[times == count]).in_plan(heading)
        _, line, place, begins = _cuts(edges.start, edges.end, lines)
        total -= count * np.bincount(line, place * begins, minlength=len(lines))
    return total


def witness(
    plantable: Sequence[shapely.Polygon],
    quads: Floats,
    strip: Ints,
    drawn: Shapes,
    heading: float,
    lines: int = LINES,
) -> Witness:
    """Count skip, overlap and off-field ground a second time.

    Parameters
    ----------
    plantable : sequence of shapely.Polygon
        Plantable ground, ground frame.
    quads : ndarray, shape (n, 4, 2)
        Corners of the quadrilaterals between successive poses of every raw strip, ground frame, metres.
    strip : ndarray of int, shape (n,)
        The strip that each belongs to; ground that one strip sweeps twice counts once.
    drawn : Shapes
        The account's polygons, ground frame.
    heading : float
        Heading of the passes, radians clockwise from north.
    lines : int
        Number of scan lines.

    Returns
    -------
    Witness
        Both counts and their largest difference.
    """
    # In the frame of this heading the lines are horizontal.
    scan = heading + ASKEW - math.pi / 2
    field = edges_of(plantable).in_plan(scan)
    # In the order in which lines meet strips on passes there is little left to sort.
    across = np.argsort(to_plan(quads.mean(axis=1), heading)[:, 0], kind="stable")
    corners, strip = to_plan(quads[across], scan), strip[across]
    everything = np.concatenate([field.start[:, 1], corners[..., 1].ravel()])
    low, high = everything.min(), everything.max()
    at = low + (high - low) * (np.arange(lines) + 0.5) / lines
    _, *field_cuts = _cuts(field.start, field.end, at)
    line, place, begins = (
        np.concatenate(v) for v in zip(field_cuts, _strip_cuts(corners, strip, at), strict=True)
    )
    of_strip = np.arange(len(line)) >= len(field_cuts[0])
    order = _along_lines(line, place)
    line, place, begins, of_strip = line[order], place[order], begins[order], of_strip[order]
    inside = np.cumsum(np.where(of_strip, 0, begins), dtype=np.int32)
    times = np.cumsum(np.where(of_strip, begins, 0), dtype=np.int32)
    first = np.flatnonzero(np.append(True, line[1:] != line[:-1]))
    length = np.diff(place, append=place[-1:])
    length[first[1:] - 1] = 0.0
    within = inside > 0
    raw = {
        "skip": length * (within & (times == 0)),
        "overlap": length * (within * np.maximum(times - 1, 0)),
        "off_field": length * (~within * times),
    }
    counted = {k: np.zeros(lines) for k in raw}
    for k, pieces in raw.items():
        counted[k][line[first]] = np.add.reduceat(pieces, first)
    once = np.ones(len(drawn.skip), dtype=np.int64)
    cut = {
        "skip": _polygon_lengths(drawn.skip, once, at, scan),
        "overlap": _polygon_lengths(drawn.overlap, drawn.overlap_times - 1, at, scan),
        "off_field": _polygon_lengths(drawn.off_field, drawn.off_field_times, at, scan),
    }
    total = float(length[within].sum())
    worst = max(
        max(float(np.abs(counted[k] - cut[k]).max()), abs(float(counted[k].sum() - cut[k].sum())))
        for k in counted
    )
    return Witness(
        inside_m=total,
        strips_m={k: float(v.sum()) for k, v in counted.items()},
        polygons_m={k: float(v.sum()) for k, v in cut.items()},
        largest_relative_difference=worst / total,
    )
