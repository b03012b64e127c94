"""A second witness: scan lines across field and raw strips, without an overlay engine.

On each line the strips' and the field's own edges are sorted and counted; the lengths of skip, overlap
and off-field ground that come out are held against the lengths that the drawn polygons cut from the same
line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints
from overlapsim.ground.edges import edges_of
from overlapsim.ground.scan_lines import LINES, count, cuts_of, largest_difference, scan
from overlapsim.ground.shapes import Shapes


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


def _polygon_lengths(polygons: np.ndarray, times: Ints, lines: Floats, heading: float) -> Floats:
    """Length of polygons on each line, each polygon as often as told."""
    total = np.zeros(len(lines))
    for often in np.unique(times):
        edges = edges_of(polygons[times == often]).in_plan(heading)
        _, line, place, begins = cuts_of(edges.start, edges.end, lines)
        total -= often * np.bincount(line, place * begins, minlength=len(lines))
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
    askew, at, field, strips = scan(plantable, quads, strip, heading, lines)
    total, counted = count(field, strips, lines)
    once = np.ones(len(drawn.skip), dtype=np.int64)
    cut = {
        "skip": _polygon_lengths(drawn.skip, once, at, askew),
        "overlap": _polygon_lengths(drawn.overlap, drawn.overlap_times - 1, at, askew),
        "off_field": _polygon_lengths(drawn.off_field, drawn.off_field_times, at, askew),
    }
    return Witness(
        inside_m=total,
        strips_m={k: float(v.sum()) for k, v in counted.items()},
        polygons_m={k: float(v.sum()) for k, v in cut.items()},
        largest_relative_difference=largest_difference(counted, cut) / total,
    )
