"""Areas counted column by column, without an overlay library.

Field and strips in the frame (right, along): strips are upright rectangles there. Cut the plane into
columns at every place where something changes (corners, strip sides, places where a field edge meets a
strip's end). Inside such a column every length along the way is linear in the place across, so the length
at the column's middle times its width is the area exactly; nothing is left to a step but rounding.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

Ring = Sequence[tuple[float, float]]
Strip = tuple[float, float, float, float]


def edges_of(rings: Sequence[Ring]) -> np.ndarray:
    """All edges (n, 4) of rings."""
    return np.array([(*a, *b) for ring in rings for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)])


def cuts(edges: np.ndarray, strips: np.ndarray) -> np.ndarray:
    """Every place across at which a column has to end, sorted."""
    places = [edges[:, 0], strips[:, 0], strips[:, 1]]
    low, high = np.minimum(edges[:, 1], edges[:, 3]), np.maximum(edges[:, 1], edges[:, 3])
    for left, right, *ends in strips:
        for along in ends:
            u0, v0, u1, v1 = edges[(low < along) & (along < high)].T
            across = u0 + (along - v0) / (v1 - v0) * (u1 - u0)
            places.append(across[(left < across) & (across < right)])
    return np.unique(np.concatenate(places))


def column(edges: np.ndarray, strips: np.ndarray, place: float) -> tuple[float, float, float, float]:
    """Lengths in one column: plantable, never planted, planted again, planted outside (m)."""
    low, high = np.minimum(edges[:, 0], edges[:, 2]), np.maximum(edges[:, 0], edges[:, 2])
    u0, v0, u1, v1 = edges[(low <= place) & (place < high)].T
    marks = [(float(v), 0, 0) for v in v0 + (place - u0) / (u1 - u0) * (v1 - v0)]
    for _, _, begin, end in strips[(strips[:, 0] < place) & (place < strips[:, 1])]:
        marks += [(float(begin), 1, 1), (float(end), 1, -1)]
    marks.sort()
    plantable = skip = again = outside = 0.0
    inside, times = False, 0
    for (here, strip, step), (there, _, _) in itertools.pairwise(marks):
        if strip:
            times += step
        else:
            inside = not inside
        length = there - here
        if inside:
            plantable += length
            if times == 0:
                skip += length
            else:
                again += (times - 1) * length
        else:
            outside += times * length
    return plantable, skip, again, outside


def count(rings: Sequence[Ring], strips: Sequence[Strip]) -> dict[str, float]:
    """The areas of a field (rings in the frame of the strips) under rectangular strips, m².

    Examples
    --------
    >>> field = [[(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0)]]
    >>> count(field, [(0.0, 1.0, -1.0, 2.0), (0.5, 1.5, 0.0, 1.0)])["overlap_m2"]
    0.5
    """
    edges = edges_of(rings)
    laid = np.array(strips, dtype=float).reshape(-1, 4)
    places = cuts(edges, laid)
    total = np.zeros(4)
    for left, right in itertools.pairwise(places):
        total += (right - left) * np.array(column(edges, laid, (left + right) / 2))
    planted = float(np.sum((laid[:, 1] - laid[:, 0]) * (laid[:, 3] - laid[:, 2])))
    plantable, skip, again, outside = (float(each) for each in total)
    return {
        "plantable_m2": plantable,
        "planted_m2": planted,
        "skip_m2": skip,
        "overlap_m2": again,
        "off_field_m2": outside,
    }
