"""What the trade says about wide and narrow rows (common practice, no source).

- A 16-row 30-inch planter with a second rank between the rows plants 32 rows at 15 inches, or 31 where the
  rear rank has one row fewer.
- With the extra row on the left the machine is re-centred sideways by half of a narrow spacing, 7.5 in; with
  31 rows (or 23) there is nothing to re-centre.
- With only the front rank working, the reference is measured to the front rank's seed delivery; with both
  (equally many rows, times that match) it is set half-way between the two.
- Splitting the difference halves the longest gap of either rank's own offset.
"""

from __future__ import annotations

import pytest

from overlapsim import tune
from overlapsim.scenario.rows import row_layout
from tests.helpers import INCH, inches, scenario, square, two_ranks

FIELD = square("120 ft", "400 ft")


def test_sixteen_rows_at_thirty_become_thirty_two_at_fifteen() -> None:
    wide = row_layout(scenario(two_ranks(setup="wide"), FIELD))
    narrow = row_layout(scenario(two_ranks(), FIELD))
    assert (len(wide.number), len(narrow.number)) == (16, 32)
    assert narrow.right_edge - narrow.left_edge == pytest.approx([15 * INCH] * 32, abs=1e-12)
    assert wide.right_edge - wide.left_edge == pytest.approx([30 * INCH] * 16, abs=1e-12)
    assert list(narrow.rank[:4]) == ["rear", "front", "rear", "front"]
    assert narrow.working_width == pytest.approx(wide.working_width, abs=1e-12)


@pytest.mark.parametrize(("shift", "astray"), [(0, -7.5), (7.5, 0)])
def test_thirty_two_rows_are_recentred_by_half_a_narrow_spacing(shift: float, astray: float) -> None:
    layout = row_layout(scenario(two_ranks(setups={"narrow": {"hitch_shift": inches(shift)}}), FIELD))
    assert layout.middle == pytest.approx(astray * INCH, abs=1e-12)


@pytest.mark.parametrize(("front", "rear"), [(16, 15), (12, 11)])
def test_thirty_one_and_twenty_three_rows_need_no_recentring(front: int, rear: int) -> None:
    layout = row_layout(scenario(two_ranks(front, rear), FIELD))
    assert len(layout.number) == front + rear
    assert layout.middle == pytest.approx(0, abs=1e-12)


def test_reference_goes_from_the_front_rank_to_midway_when_both_work() -> None:
    wide = tune(scenario(two_ranks(setup="wide"), FIELD)).to_dict()
    narrow = tune(scenario(two_ranks(), FIELD)).to_dict()
    assert wide["recommended"]["as_typed"] == "84.0 in"
    assert narrow["recommended"]["as_typed"] == "101.5 in"


def test_splitting_the_difference_halves_the_longest_gap() -> None:
    result = tune(scenario(two_ranks(), FIELD)).to_dict()
    gap = {each["key"]: each["longest_gap_m"] for each in result["alternatives"]}
    assert gap["midway"] == pytest.approx(gap["foremost_rank"] / 2, abs=1e-12)
    assert gap["midway"] == pytest.approx(gap["rearmost_rank"] / 2, abs=1e-12)
