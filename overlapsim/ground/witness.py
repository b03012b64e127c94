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
from overlapsim.ground.edges import Edges, edges_of, spread
from overlapsim.ground.shapes import Shapes

LINES = 211
"""Scan lines across the ground: a prime, so that their distance is no multiple of a row spacing."""

ASKEW = math.radians(17)
"""Angle between scan lines and the passes."""


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


def _cuts(edges: Edges, lines: Floats) -> tuple[Ints, Floats, Ints]:
    """Cut directed edges with horizontal lines: line, place and +1 where ground begins, -1 where it ends."""
    y0, y1 = edges.start[:, 1], edges.end[:, 1]
    owner, line = spread(
        np.searchsorted(lines, np.minimum(y0, y1), side="left"),
        np.searchsorted(lines, np.maximum(y0, y1), side="left"),
    )
    a, b = edges.start[owner], edges.end[owner]
    share = (lines[line] - a[:, 1]) / (b[:, 1] - a[:, 1])
    # Interior on the left: an edge that runs down has its ground on the side of larger x.
    return line, a[:, 0] + share * (b[:, 0] - a[:, 0]), np.where(b[:, 1] < a[:, 1], 1, -1)


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
    sides = Edges(start, end, owner)
    y0, y1 = sides.start[:, 1], sides.end[:, 1]
    which, line = spread(
        np.searchsorted(lines, np.minimum(y0, y1), side="left"),
        np.searchsorted(lines, np.maximum(y0, y1), side="left"),
    )
    p, q = sides.start[which], sides.end[which]
    place = p[:, 0] + (lines[line] - p[:, 1]) / (q[:, 1] - p[:, 1]) * (q[:, 0] - p[:, 0])
    begins = np.where(q[:, 1] < p[:, 1], 1, -1)
    of = sides.kind[which]
    # A strip of one piece begins once and ends once on a line, and sweeps nothing twice.
    number = np.bincount(np.concatenate([strip, strip[crossed]]), minlength=1)
    one = number[of] == 1
    alone = line[one], place[one], begins[one]
    line, place, begins, of = line[~one], place[~one], begins[~one], of[~one]
    # Where a triangle ends and the next one begins at the same place, the beginning comes first.
    order = np.lexsort((-begins, place, line, of))
    line, place, begins = line[order], place[order], begins[order]
    count = np.cumsum(begins)
    rises, falls = (count == 1) & (begins > 0), (count == 0) & (begins < 0)
    keep = rises | falls
    merged = line[keep], place[keep], np.where(rises, 1, -1)[keep]
    found = [np.concatenate(both) for both in zip(alone, merged, strict=True)]
    return found[0], found[1], found[2]


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
        line, place, begins = _cuts(edges, lines)
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
    scan = heading + ASKEW
    field = edges_of(plantable).in_plan(scan)
    corners = to_plan(quads, scan)
    everything = np.concatenate([field.start[:, 1], corners[..., 1].ravel()])
    low, high = everything.min(), everything.max()
    at = low + (high - low) * (np.arange(lines) + 0.5) / lines
    cuts = [_cuts(field, at), _strip_cuts(corners, strip, at)]
    line, place = (np.concatenate([c[i] for c in cuts]) for i in (0, 1))
    in_field = np.concatenate([cuts[0][2], np.zeros(len(cuts[1][2]), dtype=np.int64)])
    planted = np.concatenate([np.zeros(len(cuts[0][2]), dtype=np.int64), cuts[1][2]])
    # By line, then by place; whole numbers of 16 bits are sorted several times faster than by comparing.
    order = np.argsort(place)
    order = order[np.argsort(line[order].astype(np.uint16), kind="stable")]
    line, place = line[order], place[order]
    inside, times = np.cumsum(in_field[order])[:-1], np.cumsum(planted[order])[:-1]
    length = np.where(line[1:] == line[:-1], np.diff(place), 0.0)
    raw = {
        "skip": length * ((inside > 0) & (times == 0)),
        "overlap": length * (inside > 0) * np.maximum(times - 1, 0),
        "off_field": length * (inside == 0) * times,
    }
    counted = {k: np.bincount(line[:-1], v, minlength=lines) for k, v in raw.items()}
    once = np.ones(len(drawn.skip), dtype=np.int64)
    cut = {
        "skip": _polygon_lengths(drawn.skip, once, at, scan),
        "overlap": _polygon_lengths(drawn.overlap, drawn.overlap_times - 1, at, scan),
        "off_field": _polygon_lengths(drawn.off_field, drawn.off_field_times, at, scan),
    }
    total = float((length * (inside > 0)).sum())
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
