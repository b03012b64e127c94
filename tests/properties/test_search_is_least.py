"""What the search says, held against plain simulations on a grid of offsets.

The search reads a ledger and never tries offsets; here nothing is done but trying. Small crooked fields,
every setting of the controller.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given, settings

import overlapsim
from overlapsim import Scenario
from tests.helpers import INCH
from tests.reference.case import Case
from tests.reference.cases import cases

TAPE = 0.5 * INCH


def one_offset(case: Case) -> Case:
    """The case with one reference offset for all ranks, its seed well behind the pin.

    A scenario takes no offset more than a few metres ahead of the pin; a metre farther back keeps all that
    is tried within that.
    """
    ranks = {name: dataclasses.replace(rank, behind=rank.behind + 1.0) for name, rank in case.ranks.items()}
    return dataclasses.replace(case, ranks=ranks, offset=2.5)


def error_of(case: Case) -> Callable[[float], float]:
    """Combined error as a function of the reference offset, by full simulations."""

    def combined(offset: float) -> float:
        data = dataclasses.replace(case, offset=float(offset)).as_dict()
        return overlapsim.simulate(Scenario.from_dict(data)).areas["combined_m2"]

    return combined


@settings(max_examples=10)
@given(cases())
def test_no_offset_on_a_grid_is_better_than_the_best(case: Case) -> None:
    """41 offsets within 1.5 m, and four close by: none below the best by more than counts as equal."""
    case = one_offset(case)
    result = overlapsim.tune(Scenario.from_dict(case.as_dict())).to_dict()
    best, error = result["best"]["reference_offset_m"], error_of(case)
    equal = max(1e-6 * result["best"]["combined_m2"], 1e-9 * result["plantable_m2"])
    assert error(best) == pytest.approx(result["best"]["combined_m2"], abs=1e-9 * result["plantable_m2"])
    for offset in best + np.concatenate([np.linspace(-1.5, 1.5, 41), [-1e-2, -1e-3, 1e-3, 1e-2]]):
        assert error(offset) >= result["best"]["combined_m2"] - equal
    assert result["bracketed"] is True
    assert result["ledger_relative_difference"] < 1e-9
    for each in (result["recommended"], *result["alternatives"][:4]):
        assert each["combined_m2"] >= result["best"]["combined_m2"] - equal


@settings(max_examples=10)
@given(cases())
def test_stretches_hold_what_they_promise(case: Case) -> None:
    """Equal: no more than equal everywhere. As good: within S t of the least until t beyond either end.

    S is the summed strip width of all row ends at the best. Ticks make steps, sometimes a thousandth of an
    inch apart; a stretch keeps 1e-6 m away from one, so 3e-6 m beyond either end is outside of it.
    """
    case = one_offset(case)
    result = overlapsim.tune(Scenario.from_dict(case.as_dict())).to_dict()
    best, error = result["best"], error_of(case)
    equal = max(1e-6 * best["combined_m2"], 1e-9 * result["plantable_m2"])
    rounding = 1e-9 * result["plantable_m2"]
    low, high = result["equal_m"]
    assert low <= best["reference_offset_m"] <= high
    for offset in np.linspace(low, high, 9):
        assert error(offset) <= best["combined_m2"] + equal + rounding
    at_best = dataclasses.replace(case, offset=best["reference_offset_m"])
    ends = overlapsim.simulate(Scenario.from_dict(at_best.as_dict())).row_ends.columns
    strip = {(row.rank, row.number): row.right_edge - row.left_edge for row in case.rows_of(case.setup)}
    summed = sum(strip[str(rank), int(row)] for rank, row in zip(ends["rank"], ends["row"], strict=True))
    low, high = result["as_good_m"]
    assume(low < high)
    allowed = best["combined_m2"] + summed * TAPE
    # A best nearer than t to a step keeps its place as the stretch's end: nothing is promised beyond it.
    chosen = best["reference_offset_m"]
    reach = [end + side * TAPE for end, side in ((low, -1), (high, 1)) if end != chosen]
    for offset in np.linspace(min(low, *reach), max(high, *reach), 15):
        assert error(offset) <= allowed + equal + rounding
    # The best may lie above the very least by what counts as equal, and the stretch is told from the least.
    for end in reach:
        outside = end + (3e-6 if end > chosen else -3e-6)
        assert error(outside) > allowed - equal - rounding
    typed = result["recommended"]["reference_offset_m"] / 0.01
    assert typed == pytest.approx(round(typed), abs=1e-6)
