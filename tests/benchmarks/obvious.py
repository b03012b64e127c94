"""The obvious way to count the ground: a polygon for each row and tick of the clock, then one union."""

from __future__ import annotations

from dataclasses import dataclass
from time import perf_counter
from typing import Any

import numpy as np
import shapely

TICK = 0.1
"""Seconds between two polygons of a row: ten positions a second, what receivers commonly give."""


@dataclass(frozen=True)
class Obvious:
    """What the obvious way took on a piece of ground."""

    seconds: float
    polygons: int
    area_m2: float

    @property
    def seconds_per_m2(self) -> float:
        """Time for each square metre."""
        return self.seconds / self.area_m2


def obvious_way(scenario: Any, side: float = 141.4) -> Obvious:
    """Plant a square piece (2 ha) in the obvious way, with the strips and the speed of a scenario.

    Row by row and tick by tick a rectangle, all of them in one `union_all`, less the piece, and so on: no
    section control, no second pass over what is planted, so it is less work than the simulation does.
    """
    from overlapsim.scenario.rows import row_layout

    layout = row_layout(scenario)
    begun = perf_counter()
    step = scenario.speed.working * TICK
    along = np.arange(0.0, side, step)
    passes = np.arange(0.0, side, layout.working_width) + layout.working_width / 2
    left = (passes[:, None] + np.asarray(layout.left_edge)).ravel()
    right = (passes[:, None] + np.asarray(layout.right_edge)).ravel()
    boxes = shapely.box(left[:, None], along, right[:, None], along + step).ravel()
    planted = shapely.union_all(boxes)
    piece = shapely.box(0.0, 0.0, side, side)
    skip = shapely.difference(piece, planted)
    off_field = shapely.difference(planted, piece)
    overlap = float(shapely.area(boxes).sum()) - planted.area
    assert skip.area + off_field.area + overlap >= 0
    return Obvious(perf_counter() - begun, len(boxes), float(shapely.area(boxes).sum()))
