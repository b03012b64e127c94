"""The account: exact areas of one run on one part of a field, which must balance."""

from __future__ import annotations

from dataclasses import dataclass

from overlapsim.basics.errors import BalanceError
from overlapsim.ground.columns import Cells, Columns, Strips, cells_of, columns_of
from overlapsim.ground.edges import Edges
from overlapsim.ground.lap_cover import LapCover
from overlapsim.ground.profile import Profile, profile

BALANCE = 1e-6
"""Share of the plantable area by which the areas may miss their balance."""

ROUNDING = 1e-13
"""Share of the plantable area that is rounding: sums of some thousand terms of it, in double precision."""


@dataclass(frozen=True)
class Account:
    """Areas of one run on one part of a field, m².

    Attributes
    ----------
    plantable_m2, planted_m2, skip_m2, overlap_m2, off_field_m2 : float
        As named; a spot planted twice counts twice in `planted_m2`, once in `overlap_m2`.
    columns : Columns
        Columns of the plan.
    cells : Cells
        What was planted how often.
    ground : Profile
        The plantable ground in the columns.
    laps : LapCover or None
        What headland laps planted.
    """

    plantable_m2: float
    planted_m2: float
    skip_m2: float
    overlap_m2: float
    off_field_m2: float
    columns: Columns
    cells: Cells
    ground: Profile
    laps: LapCover | None


def account(strips: Strips, ground: Edges, plantable_m2: float, laps: LapCover | None = None) -> Account:
    """Account for straight strips, and strips on laps, on one part of a field.

    Parameters
    ----------
    strips : Strips
        Planted rectangles, plan frame.
    ground : Edges
        Plantable ground, plan frame, interior on the left.
    plantable_m2 : float
        Its area from elsewhere, m².
    laps : LapCover, optional
        What headland laps planted.

    Returns
    -------
    Account
        Exact but for rounding.

    Raises
    ------
    BalanceError
        Where planted is not plantable - skip + overlap + off field to :data:`BALANCE`, or a negative
        area comes out.
    """
    columns = columns_of(strips.left, strips.right, strips.leg)
    field = profile(ground, columns.left, columns.right)
    strip, column = columns.under(strips.left, strips.right)
    cells = cells_of(column, strips.low[strip], strips.high[strip])
    inside = field.area_before(cells.column, cells.high) - field.area_before(cells.column, cells.low)
    whole = (columns.right - columns.left)[cells.column] * (cells.high - cells.low)
    union, overlap = float(inside.sum()), float(((cells.times - 1) * inside).sum())
    planted, off = float(strips.area.sum()), float((cells.times * (whole - inside)).sum())
    if laps is not None:
        before = profile(laps.held, columns.left, columns.right)
        again = before.area_before(cells.column, cells.high) - before.area_before(cells.column, cells.low)
        union += laps.union_m2 - float(again.sum())
        overlap += laps.inside_m2 - laps.union_m2 + float(again.sum())
        planted += laps.planted_m2
        off += laps.planted_m2 - laps.inside_m2
    result = Account(
        plantable_m2=plantable_m2,
        planted_m2=planted,
        skip_m2=_area(plantable_m2 - union, plantable_m2),
        overlap_m2=_area(overlap, plantable_m2),
        off_field_m2=_area(off, plantable_m2),
        columns=columns,
        cells=cells,
        ground=field,
        laps=laps,
    )
    check_balance(result)
    return result


def _area(value: float, plantable_m2: float) -> float:
    """An area that rounding took below zero is zero; anything more is left for the balance to refuse."""
    return 0.0 if abs(value) <= ROUNDING * plantable_m2 else value


def check_balance(result: Account) -> None:
    """Refuse areas that do not balance.

    Parameters
    ----------
    result : Account
        Areas of a run.

    Raises
    ------
    BalanceError
        With the difference in words.
    """
    areas = (result.skip_m2, result.overlap_m2, result.off_field_m2)
    miss = result.planted_m2 - (result.plantable_m2 - areas[0] + areas[1] + areas[2])
    if not abs(miss) <= BALANCE * result.plantable_m2:
        raise BalanceError(f"planted ground misses the balance of areas by {miss:.6g} m²")
    if min(areas) < -BALANCE * result.plantable_m2:
        raise BalanceError(f"an area comes out negative: {areas} m²")
