"""North Dakota State University Extension, J. Nowatzki, 24 May 2010 (read).

A quarter section split on the diagonal has "nearly two acres" of overlap with a 12-row planter. A quarter
section is 2640 ft square; the row spacing is not given there, 30 in is an assumption of this test.

Passes 30 ft apart run along one side of each of the two triangles, 88 of them, and switched as one section
that never leaves a skip (on as soon as any of its width has ground ahead of it) every pass ends in a
triangle of 30 ft by 30 ft on the other side of the diagonal: 2 x 88 x 450 sq ft = 1.818 ac. Row by row it is
a twelfth: 0.1515 ac. With no headland and each triangle a field of its own, it is booked as off-field.
"""

from __future__ import annotations

import pytest

from tests.helpers import ACRE, FOOT, areas, one_rank

SIDE = 2640 * FOOT
TRIANGLES = {
    "south-east": [[0, 0], [SIDE, 0], [SIDE, SIDE]],
    "north-west": [[0, 0], [SIDE, SIDE], [0, SIDE]],
}


def beyond_the_diagonal(sections: int | str) -> float:
    """Acres planted beyond the diagonal by both triangles together, nothing skipped."""
    total = 0.0
    for polygon in TRIANGLES.values():
        result = areas(
            one_rank(12),
            {"polygon": polygon},
            switching={"switch_fraction": 0, "sections": sections},
            # The default inch would let each row wait for its first inch of ground.
            controller={"edge_tolerance": "0 in"},
        )
        # Nothing is skipped; seed ends at the diagonal or beyond it. (Rounding of 32 ha.)
        assert result["skip_m2"] == pytest.approx(0, abs=1e-9 * SIDE**2)
        assert result["overlap_m2"] == pytest.approx(0, abs=1e-9 * SIDE**2)
        total += result["off_field_m2"]
    return total / ACRE


def test_quarter_section_split_on_the_diagonal_is_nearly_two_acres() -> None:
    acres = beyond_the_diagonal(1)
    assert acres == pytest.approx(1.818, abs=0.0005)  # half of the last printed digit
    assert 1.75 < acres < 2  # "nearly two"


def test_row_by_row_it_is_a_twelfth() -> None:
    acres = beyond_the_diagonal("each-row")
    assert acres == pytest.approx(0.1515, abs=0.00005)  # half of the last printed digit
    # A few 1e-8 m of a line are as good as none: 1e-8 of a row's 30 in, and the triangle goes by its square.
    assert acres == pytest.approx(beyond_the_diagonal(1) / 12, rel=1e-7)
