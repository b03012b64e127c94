"""Splitting sections whose rows see the same, and the balance of every account."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import overlapsim
from overlapsim import Scenario
from tests.helpers import areas, inches, one_rank, square
from tests.properties.moves import AREAS, run
from tests.reference.case import Case, rotated
from tests.reference.cases import PLAIN, cases
from tests.reference.count import count
from tests.reference.stepper import drive


@settings(max_examples=20)
@given(
    st.integers(60, 110),
    st.sampled_from([(1, 2), (2, 4), (4, "each-row")]),
    st.sampled_from([0, 0.3, 0.5, 1]),
    st.integers(2, 5),
    st.integers(0, 30),
)
def test_halving_sections_on_square_ends_changes_nothing(
    offset: int, sections: tuple, q: float, passes: int, late: int
) -> None:
    """All rows of a section cross a square end at once: sections of half the width do the same."""
    results = [
        areas(
            one_rank(8),
            square(inches(passes * 240), "300 ft"),
            switching={"reference_offset": inches(offset), "sections": each, "switch_fraction": q},
            response={"on_latency": f"{0.4 + late / 100} s"},
        )
        for each in sections
    ]
    for key, value in results[0].items():
        assert results[1][key] == pytest.approx(value, abs=1e-9 * 1000), key


def test_halving_sections_on_slanted_ends_changes_something() -> None:
    """The negative control: there the two halves do not cross at once."""
    one, two = (
        areas(one_rank(8), square(inches(480), "300 ft", end_angle="20 deg"), switching={"sections": each})[
            "combined_m2"
        ]
        for each in (1, 2)
    )
    # By the closed form, W² tan/4 per end: half the width, twice the ends: half of it.
    assert two == pytest.approx(one / 2, rel=1e-9)


def imbalance(result: dict[str, float]) -> float:
    """planted - (plantable - skip + overlap + off-field), as a share of the plantable ground."""
    planted = result["plantable_m2"] - result["skip_m2"] + result["overlap_m2"] + result["off_field_m2"]
    return abs(result["planted_m2"] - planted) / result["plantable_m2"]


@settings(max_examples=60)
@given(cases())
def test_every_account_balances(case: Case) -> None:
    """To 1e-6 of the plantable ground it must, or there is no result; rounding leaves it far better."""
    result = run(case)
    assert imbalance(result) < 1e-9
    assert min(result[key] for key in AREAS) > -1e-9 * result["plantable_m2"]
    weighted = result["skip_m2"] + result["overlap_m2"] + result["off_field_m2"]
    assert result["combined_m2"] == pytest.approx(weighted, abs=1e-9)


@settings(max_examples=15)
@given(cases())
def test_witness_agrees_on_every_field(case: Case) -> None:
    """Scan lines and polygons differ by at most 1e-6 of the length inside the field."""
    simulation = overlapsim.simulate(Scenario.from_dict(case.as_dict()))
    assert simulation.to_dict()["witness"]["largest_relative_difference"] <= 1e-6


@pytest.mark.parametrize("lost", ["skip_m2", "overlap_m2", "off_field_m2", "planted_m2"])
def test_balance_notices_what_is_lost(lost: str) -> None:
    """A negative control: a strip of 1 ft² that one of the four forgets."""
    result = run(dataclasses.replace(PLAIN, lateral=0.2))
    assert imbalance(result) < 1e-9
    assert imbalance({**result, lost: result[lost] - 0.093}) > 1e-6


def test_balance_alone_is_no_proof_but_a_second_count_is() -> None:
    """A whole strip taken for skip balances all the same; counting the strips again does not."""
    outcome = drive(PLAIN)
    result = run(PLAIN)
    strip = outcome.strips[60]
    area = (strip[1] - strip[0]) * (strip[3] - strip[2])
    wrong = {**result, "skip_m2": result["skip_m2"] + area, "planted_m2": result["planted_m2"] - area}
    assert imbalance(wrong) < 1e-9
    rings = [rotated(ring, PLAIN.heading_deg) for ring in (PLAIN.shell, *PLAIN.holes)]
    counted = count(rings, outcome.strips)
    assert np.isclose(counted["skip_m2"], result["skip_m2"], atol=1e-6)
    assert not np.isclose(counted["skip_m2"], wrong["skip_m2"], atol=1e-6)
