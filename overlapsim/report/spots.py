"""The worst spots of a field: where on one place most ground was missed, planted twice or planted outside."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints
from overlapsim.report.compass import side_of
from overlapsim.scenario.rows import row_layout

if TYPE_CHECKING:
    from overlapsim.ground.layers import Layer

KINDS = ("skip", "overlap", "off_field")
"""Layers of ground that was lost or planted for nothing."""

SLENDER = 8.0
"""Times its width from which on a piece is a sliver: said by width and length, not by how far over how many
rows."""

# A piece whose nearest row end lies within this many metres was made by it. Pieces at a start or a stop have
# it on their border; what lies farther off was made by something else.
_ITS_OWN = 0.05
# Working widths: a longer piece runs along a pass (a joint, a row that is off) and is no row end.
_ALONG = 3.0
# Working widths along a leg between two pieces from which on they are two spots; a row of pieces longer than
# the second figure, at a slanted end, is cut into several, so that a spot can be shown at true scale.
_APART, _LONGEST = 1.0, 1.5
# Working widths that are shown of a spot that is too long to be shown whole.
_CLOSE = 0.5
# Share of the field's longer side by which spots that are named lie apart.
_SPREAD = 0.08
# Working widths from an exclusion (its laps not counted), and from where a pass's ground ends, within which a
# spot is said to lie there.
_AT, _AT_END = 1.5, 3.0


@dataclass(frozen=True)
class Spot:
    """One place with errors.

    Attributes
    ----------
    where : str
        As in ``"pass 12, north end"``.
    middle : ndarray, shape (2,)
        Ground frame, metres.
    reach : float
        Side of the square round the middle that is worth looking at: it holds all of it, or where that is
        too long the middle of its largest piece, metres.
    area : dict of str to float
        By layer, m².
    depth : dict of str to float
        Longest missing or surplus piece of row, by layer, metres: the mean over a piece's width. Of a sliver
        its length.
    breadth : dict of str to float
        Width of all pieces together, square to the way, by layer, metres. Of a sliver its mean width.
    slender : bool
        Whether its largest piece is a sliver along an edge, not one of row ends side by side.
    """

    where: str
    middle: Floats
    reach: float
    area: dict[str, float]
    depth: dict[str, float]
    breadth: dict[str, float]
    slender: bool


@dataclass(frozen=True)
class _Pieces:
    """All pieces of lost ground, by the leg and the kind of end that made them."""

    shape: np.ndarray
    kind: Ints
    area: Floats
    leg: Ints  # index of the leg, from 0
    event: Ints  # 0 start, 1 stop, 2 neither
    length: Floats  # along the leg, metres
    breadth: Floats  # square to the leg, metres
    place: Floats  # of its middle along the leg, metres


def worst_spots(run: Any, most: int) -> list[Spot]:
    """Find the places where most ground is lost.

    Parameters
    ----------
    run : Simulation
        Finished simulation, with its layers.
    most : int
        How many to name.

    Returns
    -------
    list of Spot
        Worst first by weighted area; none near to one before it, and of slivers along the edge of a field
        no more than a quarter, so that ends of passes are shown too.

    Notes
    -----
    Kept with the run, as its layers are: the page and the picture of the field ask for the same spots.
    """
    kept = vars(run).setdefault("_worst_spots", {})
    if most not in kept:
        kept[most] = _find(run, most)
    return list(kept[most])


def forget_spots(run: Any) -> None:
    """Drop the spots that are kept with a run; only needed to measure what finding them costs.

    Parameters
    ----------
    run : Simulation
        Finished simulation.
    """
    vars(run).pop("_worst_spots", None)


def _find(run: Any, most: int) -> list[Spot]:
    layers = run.layers
    if not len(layers["passes"].geometry) or not any(len(layers[kind].geometry) for kind in KINDS):
        return []
    width = row_layout(run.scenario).working_width
    pieces = _pieces(layers)
    weights = run.scenario.weights
    weigh = np.array([weights.skip, weights.overlap, weights.off_field])[pieces.kind] * pieces.area
    group = _groups(pieces, width)
    cost = np.bincount(group, weigh)
    west, south, east, north = shapely.total_bounds(layers["boundary"].geometry)
    apart = max(width, _SPREAD * max(east - west, north - south))
    spots: list[Spot] = []
    # To the square centimetre: spots that are alike but for rounding come in driving order.
    for one in np.lexsort((np.arange(len(cost)), -np.round(cost, 4))):
        spot = _spot(run, pieces, np.flatnonzero(group == one), width)
        far = all(np.abs(spot.middle - other.middle).max() > apart for other in spots)
        if far and not (spot.slender and sum(other.slender for other in spots) >= most / 4):
            spots.append(spot)
        if len(spots) == most:
            break
    return spots


def _pieces(layers: dict[str, Layer]) -> _Pieces:
    shapes = [np.asarray(layers[kind].geometry, dtype=object) for kind in KINDS]
    shape = np.concatenate(shapes)
    kind = np.repeat(np.arange(len(KINDS)), [len(s) for s in shapes])
    leg, event = _makers(shape, layers)
    lines = np.asarray(layers["passes"].geometry, dtype=object)
    place = shapely.line_locate_point(lines[leg], shapely.centroid(shape))
    along = _on_lines(lines, leg, place + 0.25) - _on_lines(lines, leg, place - 0.25)
    along /= np.maximum(np.hypot(*along.T), 1e-12)[:, None]
    points, owner = shapely.get_coordinates(shape, return_index=True)
    first = np.flatnonzero(np.diff(owner, prepend=-1))
    (x, y), (east, north) = points.T, along[owner].T
    length, across = (
        np.maximum.reduceat(reading, first) - np.minimum.reduceat(reading, first)
        for reading in (x * east + y * north, x * north - y * east)
    )
    area = shapely.area(shape)
    return _Pieces(shape, kind, area, leg, event, length, across, place)


def _on_lines(lines: np.ndarray, leg: Ints, place: Floats) -> Floats:
    """Points of legs at places along them, their ends for places beyond."""
    points, owner = shapely.get_coordinates(lines, return_index=True)
    step = np.hypot(*np.diff(points, axis=0, prepend=points[:1]).T)
    step[np.diff(owner, prepend=-1) > 0] = 0.0
    way = np.cumsum(step)
    bounds = np.searchsorted(owner, np.arange(len(lines) + 1))
    first, last = way[bounds[:-1]], way[bounds[1:] - 1]
    # Legs lie one behind the other, a metre apart.
    at = np.clip(first[leg] + place, first[leg], last[leg]) + leg
    return np.stack([np.interp(at, way + owner, values) for values in points.T], axis=1)


def _makers(shape: np.ndarray, layers: dict[str, Layer]) -> tuple[Ints, Ints]:
    """Tell for every piece which leg made it, and whether at a start or a stop."""
    lines, ends = layers["passes"], layers["row_ends"]
    numbers = np.asarray(lines.columns["leg"])
    leg = np.zeros(len(shape), dtype=np.int64)
    event = np.full(len(shape), 2, dtype=np.int64)
    if len(ends.geometry):
        tree = shapely.STRtree(ends.geometry)
        piece, end = tree.query(shape, predicate="dwithin", distance=_ITS_OWN)
        number = np.asarray(ends.columns["leg"])[end]
        # The first of a piece's row ends, in driving order, stands for all.
        order = np.lexsort((end, piece))
        piece, end, number = (v[order[np.diff(piece[order], prepend=-1) > 0]] for v in (piece, end, number))
        driven = np.argsort(numbers)
        leg[piece] = driven[np.searchsorted(numbers, number, sorter=driven)]
        event[piece] = np.asarray(ends.columns["event"])[end] == "off"
    rest = np.flatnonzero(event == 2)
    points = shapely.point_on_surface(shape[rest])
    piece, nearest = shapely.STRtree(lines.geometry).query_nearest(points, all_matches=False)
    leg[rest[piece]] = nearest
    return leg, event


def _groups(pieces: _Pieces, width: float) -> Ints:
    """Number the spots: pieces of one leg and kind of end that follow one another without a break."""
    long = pieces.length > _ALONG * width
    event = np.where(long, 3, pieces.event)
    order = np.lexsort((pieces.place, event, pieces.leg))
    same = (np.diff(pieces.leg[order]) == 0) & (np.diff(event[order]) == 0)
    near = np.diff(pieces.place[order]) <= _APART * width
    first = np.flatnonzero(np.r_[True, ~(same & near) | long[order][1:]])
    size = np.diff(np.r_[first, len(order)])
    # Rows of pieces that are too long are cut into equal lengths.
    begin = np.repeat(pieces.place[order][first], size)
    span = np.repeat(pieces.place[order][first + size - 1], size) - begin
    cuts = np.ceil(span / (_LONGEST * width)).clip(1.0)
    cut = np.floor((pieces.place[order] - begin) / np.maximum(span, 1e-9) * cuts).clip(0, cuts - 1)
    run = np.repeat(np.arange(len(first)), size)
    group = np.empty(len(order), dtype=np.int64)
    keys = run * (int(cuts.max()) + 1) + cut.astype(np.int64)
    group[order] = np.unique(keys, return_inverse=True)[1]
    return group


def _spot(run: Any, pieces: _Pieces, own: Ints, width: float) -> Spot:
    largest = own[np.argmax(np.round(pieces.area[own], 6))]
    bounds = shapely.total_bounds(pieces.shape[own])
    middle, reach = (bounds[:2] + bounds[2:]) / 2, float((bounds[2:] - bounds[:2]).max())
    if reach > _LONGEST * width:
        # Too long to be shown whole: its largest piece is.
        middle = shapely.get_coordinates(shapely.point_on_surface(pieces.shape[largest]))[0]
        reach = _CLOSE * width
    mean = pieces.area / pieces.breadth
    sliver = mean > SLENDER * pieces.breadth
    area, depth, breadth = {}, {}, {}
    for k, kind in enumerate(KINDS):
        some = own[pieces.kind[own] == k]
        area[kind] = float(pieces.area[some].sum())
        depth[kind] = float(mean[some].max(initial=0.0))
        breadth[kind] = float(pieces.breadth[some].sum())
        if len(some) and sliver[one := some[np.argmax(pieces.area[some])]]:
            depth[kind] = float(pieces.length[one])
            breadth[kind] = float(pieces.area[one] / pieces.length[one])
    where = _where(run, int(pieces.leg[largest]), middle, float(pieces.place[largest]), width)
    return Spot(where, middle, reach, area, depth, breadth, bool(sliver[largest]))


def _where(run: Any, leg: int, middle: Floats, place: float, width: float) -> str:
    """Name a place by the leg that made it."""
    lines = run.layers["passes"]
    kinds = [str(kind) for kind in lines.columns["kind"]]
    parts = np.atleast_1d(run.layers["boundary"].geometry)
    inside = int(np.argmin(shapely.distance(parts, shapely.Point(middle))))
    if kinds[leg] == "pass":
        name = f"pass {kinds[: leg + 1].count('pass')}"
        line = shapely.get_coordinates(lines.geometry[leg])
        from_where = (line[0] + line[-1]) / 2
        first, last = _ground_on(lines.geometry[leg], parts[inside])
        at_end = min(place - first, last - place) < _AT_END * width
        side = f"{side_of(middle - from_where)} {'end' if at_end else 'half'}"
    else:
        name = f"lap {run.drive.legs[leg].lap + 1}"
        from_where = shapely.get_coordinates(shapely.centroid(parts[inside]))[0]
        side = f"{side_of(middle - from_where)} side"
    near = (_AT + run.lap_count) * width
    if _at_exclusion(parts[inside].interiors, middle, near):
        side = "at an exclusion"
    names = getattr(run.scenario.field, "part_names", ())
    if len(parts) > 1:
        name = f"{names[inside] if names else f'part {inside + 1}'}: {name}"
    return f"{name}, {side}"


def _ground_on(line: shapely.LineString, part: shapely.Polygon) -> tuple[float, float]:
    """Where a pass first and last has plantable ground under its planned line, metres along it."""
    corners = shapely.get_coordinates(shapely.intersection(line, part))
    if not len(corners):
        return 0.0, float(line.length)
    along = shapely.line_locate_point(line, shapely.points(corners))
    return float(along.min()), float(along.max())


def _at_exclusion(rings: Iterable[Any], middle: Floats, near: float) -> bool:
    point = shapely.Point(middle)
    return any(shapely.distance(ring, point) <= near for ring in rings)
