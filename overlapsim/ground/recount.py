"""A second count that draws no polygons: raw strips against the cells that an account is made of.

On scan lines raw strips are sorted and counted, as for the witness, and held against what the cells cut from
the same lines; and the account's areas are held against the cells' areas integrated in another way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints, to_ground, to_plan
from overlapsim.ground.areas import Account
from overlapsim.ground.edges import Edges, edges_of, spread
from overlapsim.ground.scan_lines import LINES, Cuts, count, cuts_of, largest_difference, scan, sides_of


def recount(
    result: Account,
    plantable: shapely.Polygon,
    quads: Floats,
    strip: Ints,
    heading: float,
    lines: int = LINES,
) -> float:
    """Hold an account of straight strips against a second count without drawing its polygons.

    Parameters
    ----------
    result : Account
        Without strips on laps.
    plantable : shapely.Polygon
        Plantable ground, ground frame.
    quads, strip : ndarray, shapes (n, 4, 2) and (n,)
        Corners of every raw strip, ground frame, metres, and the strip that each belongs to.
    heading : float
        Heading of the passes, radians clockwise from north.
    lines : int
        Number of scan lines.

    Returns
    -------
    float
        The larger of two differences, no unit: of lengths on the scan lines between the raw strips and the
        account's cells, as `witness` has it; and of areas, as share of the plantable ground, between the
        account and the same cells on the field's own edges, integrated across the way instead of along it.
    """
    askew, at, field, strips = scan([plantable], quads, strip, heading, lines)
    total, counted = count(field, strips, lines)
    cut = _cut_from_cells(result, field, at, lambda xy: to_plan(to_ground(xy, heading), askew))
    cells, inside = result.cells, _areas_within(edges_of([plantable]).in_plan(heading), result)
    width = (result.columns.right - result.columns.left)[cells.column]
    plantable_m2 = float(shapely.area(plantable))
    differences = (
        result.skip_m2 - (plantable_m2 - inside.sum()),
        result.overlap_m2 - ((cells.times - 1) * inside).sum(),
        result.off_field_m2 - (cells.times * (width * (cells.high - cells.low) - inside)).sum(),
    )
    return max(largest_difference(counted, cut) / total, float(np.abs(differences).max()) / plantable_m2)


def _cut_from_cells(
    result: Account, field: Cuts, at: Floats, turn: Callable[[Floats], Floats]
) -> dict[str, Floats]:
    """Skip, overlap and off-field length line by line, from the account's cells; nothing is sorted: with the
    length F of a line that lies inside the field before each cut, a cell holds what F grows by across it."""
    cells, columns = result.cells, result.columns
    left, right = columns.left[cells.column], columns.right[cells.column]
    corners = np.stack([left, cells.low, right, cells.low, right, cells.high, left, cells.high], axis=1)
    start, end, owner = sides_of(turn(corners.reshape(-1, 4, 2)), np.arange(len(corners)))
    side, line, place, begins = cuts_of(start, end, at)
    before = np.zeros(len(place))
    for low, high in _insides(field, len(at)):
        before += np.clip(place, low[line], high[line]) - low[line]
    times = cells.times[owner[side]]

    def summed(values: Floats) -> Floats:
        return -np.bincount(line, begins * values, minlength=len(at))

    whole = np.bincount(field[0], -field[2] * field[1], minlength=len(at))
    return {
        "skip": whole - summed(before),
        "overlap": summed((times - 1) * before),
        "off_field": summed(times * (place - before)),
    }


def _insides(field: Cuts, lines: int) -> Iterator[tuple[Floats, Floats]]:
    """Where lines run inside the field: the first stretch of each, then the second, and so on."""
    line, place, begins = field
    order = np.lexsort((-begins, place, line))
    line, place = line[order], place[order]
    nth = np.arange(len(line)) - np.searchsorted(line, line)
    for k in range(0, int(nth.max(initial=-1)) + 1, 2):
        low, high = np.zeros(lines), np.zeros(lines)
        low[line[nth == k]] = place[nth == k]
        high[line[nth == k + 1]] = place[nth == k + 1]
        yield low, high


def _areas_within(field: Edges, result: Account) -> Floats:
    """Ground of the field in each cell: what lies before y = p in a column is the sum of the areas under
    min(y, p) of the field's edges, each with the sign of its way."""
    cells, columns = result.cells, result.columns
    # Edges along the way have no ground under them.
    across = field.start[:, 0] != field.end[:, 0]
    (x0, y0), (x1, y1) = field.start[across].T, field.end[across].T
    edge, column = spread(
        np.searchsorted(columns.right, np.minimum(x0, x1), side="right"),
        np.searchsorted(columns.left, np.maximum(x0, x1), side="left"),
    )
    order = np.argsort(column, kind="stable")
    edge, column = edge[order], column[order]
    a, b = (np.clip(x[edge], columns.left[column], columns.right[column]) for x in (x0, x1))
    ya, yb = (y0[edge] + (x - x0[edge]) * ((y1 - y0) / (x1 - x0))[edge] for x in (a, b))
    first, last = (np.searchsorted(column, cells.column, side=side) for side in ("left", "right"))
    cell, piece = spread(first, last)
    low, high = np.minimum(ya, yb)[piece], np.maximum(ya, yb)[piece]
    below = []
    for p in (cells.high[cell], cells.low[cell]):
        capped = np.clip(p, low, high)
        through = np.divide((capped - low) ** 2, high - low, out=np.zeros(len(p)), where=high > low)
        # Mean of min(y, p) where y goes evenly from low to high.
        below.append(np.minimum(p, high) - np.where(high > low, through / 2, 0.0))
    return -np.bincount(cell, (below[0] - below[1]) * (b - a)[piece], minlength=len(cells.column))
