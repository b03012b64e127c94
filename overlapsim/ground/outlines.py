"""Ground under upright rectangles, drawn by walking round it: no overlay engine that could lose any."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Floats, Ints
from overlapsim.ground.columns import Cells, Columns, Strips, cells_of


def outlines(left: Floats, right: Floats, low: Floats, high: Floats, group: Ints) -> list[BaseGeometry]:
    """Draw the ground under rectangles that stand side by side.

    Parameters
    ----------
    left, right : ndarray, shape (n,)
        Borders across, metres, common borders bit for bit equal; two rectangles of one group have the same
        two borders, or lie beside one another.
    low, high : ndarray, shape (n,)
        Ends along, metres, ``low < high``; those of one group do not overlap.
    group : ndarray of int, shape (n,)
        Only rectangles of one group are joined.

    Returns
    -------
    list of shapely.Geometry
        The ground of each group, by rising number: a polygon or several in one, in the rectangles' frame.

    Notes
    -----
    A rectangle's lower and upper side are walked with its ground on the left. From side to side it goes
    along the border, where one side of it alone is ground: of all corners on a border, sorted, from the
    first to the second, from the third to the fourth, and so on.

    Examples
    --------
    >>> (drawn,) = outlines(np.array([0.0, 1.0]), np.array([1.0, 2.0]), np.array([0.0, 3.0]),
    ...                     np.array([5.0, 9.0]), np.array([0, 0]))
    >>> shapely.to_wkt(drawn, trim=True)
    'POLYGON ((0 0, 1 0, 1 3, 2 3, 2 9, 1 9, 1 5, 0 5, 0 0))'
    """
    left, right, low, high, group = _merged(left, right, low, high, group)
    count = len(left)
    if not count:
        return []
    following, touching = _following(left, right, low, high, group)
    side, walk = _walks(following)
    begin, end, along = (np.concatenate(v) for v in ((left, right), (right, left), (low, high)))
    xy = np.stack([begin[side], along[side], end[side], along[side]], axis=1).reshape(-1, 2)
    # Where a side goes straight on across a border there is no corner.
    corner = along != along[following]
    corner_before = np.empty_like(corner)
    corner_before[following] = corner
    real = np.stack([corner_before[side], corner[side]], axis=1).ravel()
    xy, owner = xy[real], np.repeat(walk, 2)[real]
    of_walk = np.arange(owner[-1] + 1)
    if touching:
        xy, owner, of_walk = _taken_apart(xy, owner)
    walk_of = np.empty(2 * count, dtype=np.int64)
    walk_of[side] = walk
    body = _bodies(walk_of[:count], walk_of[count:])[of_walk]
    number = group[side[np.searchsorted(walk, of_walk)] % count]
    rings = np.asarray(shapely.linearrings(xy, indices=owner))
    return [_ground(rings[number == one], body[number == one]) for one in np.unique(number)]


def _merged(left: Floats, right: Floats, low: Floats, high: Floats, group: Ints) -> tuple[Floats, ...]:
    """Join rectangles of which one begins where the other one ends."""
    order = np.lexsort((low, left, group))
    left, right, low, high, group = (v[order] for v in (left, right, low, high, group))
    goes_on = (group[1:] == group[:-1]) & (left[1:] == left[:-1]) & (low[1:] == high[:-1])
    begins, ends = np.append(True, ~goes_on)[: len(left)], np.append(~goes_on, True)[: len(left)]
    return left[begins], right[begins], low[begins], high[ends], group[begins]


def _following(left: Floats, right: Floats, low: Floats, high: Floats, group: Ints) -> tuple[Ints, bool]:
    """The side that is walked after each side, lower ones before upper ones; whether any corners touch."""
    count = len(left)
    # Corners where sides are left, then where they are begun, each of lower and then of upper sides.
    across = np.concatenate([right, left, left, right])
    along = np.tile(np.concatenate([low, high]), 2)
    opens = np.tile(np.repeat([1, 0], count), 2)
    of = np.tile(group, 4)
    # Where ground ends and across the border other ground begins, the two do not hang together.
    order = np.lexsort((opens, along, across, of))
    partner = np.empty(4 * count, dtype=np.int64)
    partner[order[::2]], partner[order[1::2]] = order[1::2], order[::2]
    one, other = order[1:-1:2], order[2::2]
    touch = (of[one] == of[other]) & (across[one] == across[other]) & (along[one] == along[other])
    return partner[: 2 * count] - 2 * count, bool(touch.any())


def _walks(following: Ints) -> tuple[Ints, Ints]:
    """Sides in the order in which they are walked, and the number of each one's walk."""
    ahead, free = following.tolist(), [True] * len(following)
    side: list[int] = []
    walk: list[int] = []
    number = 0
    for first in range(len(ahead)):
        if not free[first]:
            continue
        at = first
        while free[at]:
            free[at] = False
            side.append(at)
            walk.append(number)
            at = ahead[at]
        number += 1
    return np.array(side, dtype=np.int64), np.array(walk, dtype=np.int64)


def _taken_apart(xy: Floats, owner: Ints) -> tuple[Floats, Ints, Ints]:
    """Cut walks that come through one point twice into rings that do not; with the walk of each ring."""
    rings: list[list[tuple[float, float]]] = []
    of_walk = []
    for number in range(int(owner[-1]) + 1):
        open_: list[tuple[float, float]] = []
        for point in map(tuple, xy[owner == number].tolist()):
            if point in open_:
                first = open_.index(point)
                rings.append(open_[first:])
                of_walk.append(number)
                del open_[first:]
            open_.append(point)
        rings.append(open_)
        of_walk.append(number)
    sizes = [len(ring) for ring in rings]
    points = np.array([point for ring in rings for point in ring])
    return points, np.repeat(np.arange(len(rings)), sizes), np.array(of_walk)


def _bodies(one: Ints, other: Ints) -> Ints:
    """Number walks alike that go round the same ground: those of a rectangle's lower and upper side do."""
    body = np.arange(max(one.max(), other.max()) + 1)
    while True:
        least = body.copy()
        np.minimum.at(least, one, body[other])
        np.minimum.at(least, other, body[one])
        if (least == body).all():
            return body
        body = least[least]


def _ground(rings: np.ndarray, body: Ints) -> BaseGeometry:
    """Polygons of rings: of each body the one that runs with its ground inside, and its holes."""
    shell = shapely.is_ccw(rings)
    made = np.asarray(shapely.polygons(rings[shell]))
    for hollow in np.unique(body[~shell]):
        own = body == hollow
        made[body[shell] == hollow] = shapely.polygons(rings[own & shell][0], holes=rings[own & ~shell])
    return made[0] if len(made) == 1 else shapely.MultiPolygon(list(made))


def grounds(cells: Cells, columns: Columns) -> list[BaseGeometry]:
    """Ground that straight strips cover at least once, twice, and so on.

    Parameters
    ----------
    cells : Cells
        What was planted how often.
    columns : Columns
        Columns of the plan.

    Returns
    -------
    list of shapely.Geometry
        Plan frame. The first holds the second, the second the third; empty where nothing was planted.
    """
    found = []
    for times in range(1, int(cells.times.max(initial=0)) + 1):
        deep = cells.times >= times
        column, one = cells.column[deep], np.zeros(int(deep.sum()), dtype=np.int64)
        found += outlines(columns.left[column], columns.right[column], cells.low[deep], cells.high[deep], one)
    return found


def leg_grounds(strips: Strips, columns: Columns) -> tuple[np.ndarray, Ints]:
    """Ground that each leg covered.

    Parameters
    ----------
    strips : Strips
        Straight strips, plan frame.
    columns : Columns
        Columns of the plan that they make.

    Returns
    -------
    ground : ndarray of shapely geometries, shape (l,)
        Plan frame.
    leg : ndarray of int, shape (l,)
        Index of each leg, rising.
    """
    legs, leg = np.unique(strips.leg, return_inverse=True)
    strip, column = columns.under(strips.left, strips.right)
    many = max(len(columns.left), 1)
    cells = cells_of(leg[strip] * many + column, strips.low[strip], strips.high[strip])
    of, column = cells.column // many, cells.column % many
    ground = np.empty(len(legs), dtype=object)
    ground[:] = outlines(columns.left[column], columns.right[column], cells.low, cells.high, of)
    return ground, legs
