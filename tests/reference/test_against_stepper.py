"""The exact controller against one that goes along every pass in small steps, on random small fields."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.reference.case import Case, Rank, Setup, rotated
from tests.reference.cases import PLAIN, cases
from tests.reference.compare import Disagreement, compare
from tests.reference.count import count
from tests.reference.stepper import drive


@settings(max_examples=40)
@given(cases())
def test_exact_and_stepping_controllers_agree(case: Case) -> None:
    outcome = drive(case)
    assume(not outcome.doubtful)
    compare(case, outcome)


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"q": 0.0, "sections": 2},
        {"q": 1.0, "sections": (3, 5)},
        {"offset": {"front": 2.1, "rear": 3.0}, "sections": 4},
        {"setup": "wide", "sections": 2},
        {"entered": "wide", "sections": 2},
        {"setup": "wide", "entered": "narrow", "sections": 4},
        {"t_on": 0.9, "t_off": 0.2},
        {"t_on": 0.2, "t_off": 0.9},
        {"v_on": 1.3, "v_off": 3.1},
        {"overlap": 0.3},
        {"period": 0.2},
        {"period": 0.5, "v_on": 1.3, "v_off": 3.1},
        {"delay": 0.3},
        {"delay": 0.3, "period": 0.2},
        {"drift": (0.21, -0.13)},
        {"lateral": 0.25, "rows_off": (("rear", 2),)},
        {"heading_deg": -163.2, "tolerance": 0.1, "q": 0.0},
        {"q_boundary": 1.0, "q": 0.5, "sections": 2},
        {"q_boundary": 0.2, "q": 0.9, "sections": 4},
        {"least_on": 3.0},
        {"least_off": 4.0},
        {"least_on": 2.5, "least_off": 3.5, "v_on": 1.3, "v_off": 3.1},
        {"least_on": 2.5, "least_off": 3.5, "period": 0.2},
    ],
    ids=str,
)
def test_one_thing_at_a_time_agrees(change: dict) -> None:
    case = dataclasses.replace(PLAIN, **change)
    outcome = drive(case)
    assert outcome.events
    assert not outcome.doubtful
    compare(case, outcome)


@pytest.mark.parametrize(
    "change",
    [{"offset": 2.551}, {"t_on": 0.401}, {"q": 0.501}, {"heading_deg": 13.701}, {"lateral": 0.001}]
    + [{"least_on": 40.0}, {"least_off": 4.0}, {"q_boundary": 0.501}],
    ids=str,
)
def test_comparison_notices_a_small_change(change: dict) -> None:
    """A negative control: one side is given a case that differs a little."""
    with pytest.raises(Disagreement):
        compare(PLAIN, drive(dataclasses.replace(PLAIN, **change)))


def test_reference_itself_on_a_square_by_hand() -> None:
    """One rank of 4 rows at 0.75 m (3 m wide) on 6 m by 20 m: two passes, 8 starts and 8 stops.

    Reference 2.5 m, seed at 2.1 m, times equal to latencies: everything is 0.4 m late, so each of the
    passes leaves 3 m x 0.4 m at its start and drops as much beyond its end.
    """
    case = Case(
        ranks={"front": Rank(4, 0.75, 2.1, 0.0)},
        setups={"wide": Setup(("front",))},
        setup="wide",
        shell=((0.0, 0.0), (6.0, 0.0), (6.0, 20.0), (0.0, 20.0)),
        offset=2.5,
        lat_on={"front": 0.4},
        lat_off={"front": 0.3},
    )
    outcome = drive(case)
    assert [event.along for event in outcome.events[:2]] == pytest.approx([0.4, 20.4], abs=1e-9)
    assert [event.along for event in outcome.events[-2:]] == pytest.approx([19.6, -0.4], abs=1e-9)
    areas = count([rotated(case.shell, 0.0)], outcome.strips)
    assert areas["skip_m2"] == pytest.approx(2 * 3 * 0.4, abs=1e-8)
    assert areas["off_field_m2"] == pytest.approx(2 * 3 * 0.4, abs=1e-8)
    assert areas["overlap_m2"] == pytest.approx(0.0, abs=1e-8)


@given(st.lists(st.tuples(*[st.integers(-40, 40)] * 4), max_size=6))
@settings(max_examples=50)
def test_column_count_agrees_with_counting_unit_squares(corners: list) -> None:
    """On whole metres every area is a number of unit squares, counted one by one."""
    shell = [(-20.0, -20.0), (20.0, -20.0), (20.0, 20.0), (5.0, 20.0), (5.0, 0.0), (-20.0, 0.0)]
    strips = [(min(a, b), max(a, b), min(c, d), max(c, d)) for a, b, c, d in corners]
    strips = [strip for strip in strips if strip[0] < strip[1] and strip[2] < strip[3]]
    expected = {"plantable_m2": 0, "skip_m2": 0, "overlap_m2": 0, "off_field_m2": 0}
    for x in range(-40, 40):
        for y in range(-40, 40):
            inside = -20 <= x < 20 and -20 <= y < (20 if x >= 5 else 0)
            times = sum(a <= x < b and c <= y < d for a, b, c, d in strips)
            expected["plantable_m2"] += inside
            expected["skip_m2"] += inside and times == 0
            expected["overlap_m2"] += max(times - 1, 0) if inside else 0
            expected["off_field_m2"] += 0 if inside else times
    counted = count([shell], [tuple(map(float, strip)) for strip in strips])
    for key, value in expected.items():
        assert counted[key] == pytest.approx(value, abs=1e-6)
