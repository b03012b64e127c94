"""Turn it, move it, mirror it, drive it faster: the areas stay what they are.

Tolerance: a coordinate of some 50 m (or of 1 km, where the field is moved) is known to 1e-14 (2e-13) m, a
crossing of an edge that runs along the way, off it by 1 in 100, to a hundred times that; times some hundred
metres of row ends. 1e-8 of the field's some 1000 m² is far above it and far below a millimetre anywhere.
"""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.properties.moves import (
    AREAS,
    LENGTHS,
    faster,
    mirrored,
    run,
    shifted,
    turned,
    with_odd_whole_passes,
)
from tests.reference.case import Case
from tests.reference.cases import PLAIN, cases
from tests.reference.stepper import drive

TOLERANCE = 1e-8
FEW = settings(max_examples=30)


def settled(case: Case) -> Case:
    """The case, if no rounding decides what happens in it."""
    assume(not drive(case).doubtful)
    return case


def require_same(one: dict[str, float], other: dict[str, float]) -> None:
    for key in (*AREAS, *LENGTHS):
        assert one[key] == pytest.approx(other[key], abs=TOLERANCE * one["plantable_m2"]), key


@FEW
@given(cases(), st.floats(-179, 179))
def test_turning_field_and_heading_together(case: Case, degrees: float) -> None:
    require_same(run(settled(case)), run(turned(case, degrees)))


@FEW
@given(cases(), st.floats(-1000, 1000), st.floats(-1000, 1000))
def test_moving_the_field(case: Case, east: float, north: float) -> None:
    require_same(run(settled(case)), run(shifted(case, east, north)))


@FEW
@given(cases())
def test_mirroring_field_and_machine(case: Case) -> None:
    """Ticks fall by the number of a leg, and the mirror numbers legs from the other side: none here."""
    case = settled(with_odd_whole_passes(dataclasses.replace(case, period=0.0)))
    require_same(run(case), run(mirrored(case)))


@FEW
@given(cases(), st.sampled_from([0.5, 0.8, 1.25, 2.0]))
def test_faster_with_shorter_times(case: Case, times: float) -> None:
    require_same(run(settled(case)), run(faster(case, times)))


@pytest.mark.parametrize(
    "wrong",
    [
        lambda case: dataclasses.replace(turned(case, 31.0), heading_deg=case.heading_deg),
        lambda case: dataclasses.replace(mirrored(case), setups=case.setups, ranks=case.ranks),
        lambda case: dataclasses.replace(faster(case, 2.0), lat_on=case.lat_on),
    ],
    ids=["field turned without the heading", "field mirrored without the machine", "one time left alone"],
)
def test_half_a_symmetry_is_noticed(wrong: object) -> None:
    """Negative controls: each of these must come out different."""
    case = with_odd_whole_passes(dataclasses.replace(PLAIN, sections=(3, 5)))
    with pytest.raises(AssertionError):
        require_same(run(case), run(wrong(case)))  # type: ignore[operator]
