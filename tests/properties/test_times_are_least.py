"""The search over reference offset and times, held against searches and simulations that know nothing of it.

Small crooked fields and every setting of the controller, as for the search over the offset alone.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import overlapsim
from overlapsim import Scenario
from overlapsim.questions.search import find_best
from overlapsim.questions.time_lines import least_of, with_times
from overlapsim.questions.times import search_times
from tests.properties.test_search_is_least import one_offset
from tests.reference.case import Case
from tests.reference.cases import cases


def scenario_of(case: Case) -> Scenario:
    return Scenario.from_dict(one_offset(case).as_dict())


@settings(max_examples=8)
@given(cases())
def test_joint_least_is_no_more_than_the_least_at_the_times_as_entered(case: Case) -> None:
    """To 1e-9; what is reported is a full simulation within 1e-6 of what the search read."""
    scenario = scenario_of(case)
    own = find_best(scenario)
    joint = search_times(scenario, own)
    ground = scenario.field.plantable_m2
    least = min(joint.curve[1] + [least_of(own)])
    assert least <= least_of(own) * (1 + 1e-9)
    full = overlapsim.simulate(joint.scenario).areas["combined_m2"]
    assert full == pytest.approx(least, rel=1.01e-6, abs=1.01e-9 * ground)
    assert full <= least_of(own) * (1 + 1.01e-6) + 1.01e-9 * ground


@settings(max_examples=6)
@given(cases(), st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=6, max_size=6))
def test_no_pair_of_times_is_better(case: Case, pairs: list[tuple[float, float]]) -> None:
    """With continuous updates: none of six pairs, each at its own best offset, is below the joint least."""
    scenario = scenario_of(dataclasses.replace(case, period=0.0))
    joint = search_times(scenario, find_best(scenario))
    best = overlapsim.simulate(joint.scenario).areas["combined_m2"]
    equal = max(1e-6 * best, 1e-9 * scenario.field.plantable_m2)
    for times in pairs:
        assert least_of(find_best(with_times(scenario, times))) >= best - 2 * equal


@settings(max_examples=6)
@given(cases(), st.lists(st.tuples(*[st.floats(-1, 1)] * 3), min_size=5, max_size=5))
def test_whatever_lies_in_the_box_is_equal(case: Case, spots: list[tuple[float, float, float]]) -> None:
    """Five spots of the box anywhere, and its corners: within 1e-6 of its middle."""
    scenario = scenario_of(dataclasses.replace(case, period=0.0))
    joint = search_times(scenario, find_best(scenario))
    box = joint.box
    assert not isinstance(box.offset, dict)
    ends = np.array([box.offset, box.on, box.off])
    least = min(joint.curve[1])
    for spot in [*spots, (1, 1, 1), (1, -1, -1), (-1, 1, -1)]:
        offset, *times = (float(v) for v in ends.mean(axis=1) + np.array(spot) * np.ptp(ends, axis=1) / 2)
        one = with_times(scenario, (times[0], times[1])).with_({"switching.reference_offset": offset})
        full = overlapsim.simulate(one).areas["combined_m2"]
        assert full == pytest.approx(least, rel=1.01e-6, abs=1.01e-9 * scenario.field.plantable_m2)
