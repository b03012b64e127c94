"""Every area that the ledger reads without laps, held against full simulations one by one.

With equal weights planted ground inside the field drops out of the combined error (skip less what the union
grows, overlap more): a ledger that is wrong about it would still find the best offset. So each area is
compared by itself.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import overlapsim
from overlapsim import Scenario
from overlapsim.questions.readings import areas_at
from tests.properties.test_search_is_least import one_offset
from tests.reference.case import Case
from tests.reference.cases import PLAIN, cases

AREAS = ("skip_m2", "overlap_m2", "off_field_m2", "planted_m2", "combined_m2")
ROWS = ("missing_row_m", "double_planted_row_m")


def require_alike(made: Scenario, offsets: list[float]) -> list[dict[str, Any]]:
    """Areas within 1e-9 of the ground, metres of row within 1e-6; gives the simulations' own."""
    found = []
    for offset, read in zip(offsets, areas_at(made, offsets), strict=True):
        full = overlapsim.simulate(made.with_({"switching.reference_offset": offset})).areas
        for key in AREAS:
            assert read[key] == pytest.approx(full[key], abs=1e-9 * made.field.plantable_m2), (key, offset)
        for key in ROWS:
            assert read[key] == pytest.approx(full[key], abs=1e-6), (key, offset)
        found.append(full)
    return found


@settings(max_examples=15)
@given(cases(), st.lists(st.floats(1.0, 5.0), min_size=5, max_size=5))
def test_each_area_is_that_of_a_full_simulation(case: Case, offsets: list[float]) -> None:
    require_alike(Scenario.from_dict(one_offset(case).as_dict()), offsets)


@pytest.mark.parametrize("lateral", [0.0, 0.13])
def test_passes_side_by_side_and_over_one_another(lateral: float) -> None:
    """The hitch has centred the rows. Where 0.13 m are entered besides, the machine runs that far left of
    its lines, out and back, and every other pair of neighbouring passes shares 0.26 m all along."""
    case = dataclasses.replace(PLAIN, lateral=lateral)
    full = require_alike(Scenario.from_dict(one_offset(case).as_dict()), [1.3, 2.7, 3.1, 4.2])
    assert (min(one["overlap_m2"] for one in full) > 10.0) == (lateral > 0.0)
    assert all(one["off_field_m2"] > 0.1 for one in full)
