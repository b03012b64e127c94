"""Ground between neighbouring passes: where their widths fail to meet, away from their ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.ground.areas import Account
from overlapsim.ground.columns import SAME_BORDER, cells_of
from overlapsim.ground.edges import Edges
from overlapsim.ground.profile import profile


@dataclass(frozen=True)
class Joints:
    """What lies at joints, m².

    Attributes
    ----------
    skip_m2 : float
        Missed ground in a gap between two passes, where both of its neighbours are planted.
    overlap_m2 : float
        Ground planted more than once where the widths of two passes lie over one another.
    """

    skip_m2: float
    overlap_m2: float


def joints(result: Account, ground: Edges) -> Joints:
    """Pick what lies at joints out of an account.

    Parameters
    ----------
    result : Account
        Of straight passes: among themselves they plant ground twice at joints only.
    ground : Edges
        Ground that the headland leaves to passes, plan frame.

    Returns
    -------
    Joints
        Areas.
    """
    cells, columns = result.cells, result.columns
    double = cells.times > 1
    within = profile(ground, columns.left, columns.right)
    column, low, high = cells.column[double], cells.low[double], cells.high[double]
    area = within.area_before(column, high) - within.area_before(column, low)
    return Joints(_gaps(result, ground), float(((cells.times[double] - 1) * area).sum()))


def _gaps(result: Account, ground: Edges) -> float:
    """Area of the gaps between columns where the rows on both sides of the gap are sowing."""
    columns, cells = result.columns, result.cells
    before = np.flatnonzero(columns.left[1:] - columns.right[:-1] > SAME_BORDER)
    if not len(before):
        return 0.0
    gap_of = np.full(len(columns.left), -1)
    gap_of[before] = np.arange(len(before))
    left_side = gap_of[cells.column]
    gap_of = np.full(len(columns.left), -1)
    gap_of[before + 1] = np.arange(len(before))
    right_side = gap_of[cells.column]
    gap = np.concatenate([left_side[left_side >= 0], right_side[right_side >= 0]])
    low: Floats = np.concatenate([cells.low[left_side >= 0], cells.low[right_side >= 0]])
    high: Floats = np.concatenate([cells.high[left_side >= 0], cells.high[right_side >= 0]])
    both = cells_of(gap, low, high)
    pick = both.times == 2
    field = profile(ground, columns.right[before], columns.left[before + 1])
    area = field.area_before(both.column[pick], both.high[pick])
    return float((area - field.area_before(both.column[pick], both.low[pick])).sum())
