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
from tests import helpers
from tests.properties.test_search_is_least import one_offset
from tests.reference.case import Case
from tests.reference.cases import cases


def scenario_of(case: Case) -> Scenario:
    return Scenario.from_dict(one_offset(case).as_dict())


@settings(max_examples=8)
@given(cases())
def test_joint_least_is_no_more_than_the_least_at_the_times_as_entered(case: Case) -> None:
    """To 1e-9; what is reported is a full simulation within 1e-6 of what the search read."""
    made = scenario_of(case)
    own = find_best(made)
    joint = search_times(made, own)
    ground = made.field.plantable_m2
    # On update ticks the last search, at the times that are reported, may find less than the curve over the
    # times has: never more, and what is reported is what that search read.
    least = least_of(joint.found)
    assert least <= min(joint.curve[1] + [least_of(own)]) * (1 + 1e-6) + 1e-9 * ground
    full = overlapsim.simulate(joint.scenario).areas["combined_m2"]
    assert full == pytest.approx(least, rel=1.01e-6, abs=1.01e-9 * ground)
    assert full <= least_of(own) * (1 + 1.01e-6) + 1.01e-9 * ground


@settings(max_examples=6)
@given(cases(), st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=6, max_size=6))
def test_no_pair_of_times_is_better(case: Case, pairs: list[tuple[float, float]]) -> None:
    """With continuous updates: none of six pairs, each at its own best offset, is below the joint least."""
    made = scenario_of(dataclasses.replace(case, period=0.0))
    joint = search_times(made, find_best(made))
    best = overlapsim.simulate(joint.scenario).areas["combined_m2"]
    equal = max(1e-6 * best, 1e-9 * made.field.plantable_m2)
    for times in pairs:
        assert least_of(find_best(with_times(made, times))) >= best - 2 * equal


@settings(max_examples=6)
@given(cases(), st.lists(st.tuples(*[st.floats(-1, 1)] * 3), min_size=5, max_size=5))
def test_whatever_lies_in_the_box_is_equal(case: Case, spots: list[tuple[float, float, float]]) -> None:
    """Five spots of the box anywhere, and its corners: within 1e-6 of its middle."""
    made = scenario_of(dataclasses.replace(case, period=0.0))
    joint = search_times(made, find_best(made))
    box = joint.box
    assert not isinstance(box.offset, dict)
    ends = np.array([box.offset, box.on, box.off])
    least = min(joint.curve[1])
    for spot in [*spots, (1, 1, 1), (1, -1, -1), (-1, 1, -1)]:
        offset, *times = (float(v) for v in ends.mean(axis=1) + np.array(spot) * np.ptp(ends, axis=1) / 2)
        one = with_times(made, (times[0], times[1])).with_({"switching.reference_offset": offset})
        full = overlapsim.simulate(one).areas["combined_m2"]
        assert full == pytest.approx(least, rel=1.01e-6, abs=1.01e-9 * made.field.plantable_m2)


@pytest.mark.parametrize("order", ["first", "last"])
def test_with_laps_full_simulations_are_no_worse_than_with_the_times_as_entered(order: str) -> None:
    """One lap round 80 x 70 m with slanted ends, the turn-off time 0.15 s too short: full simulations."""
    case = helpers.scenario(
        helpers.two_ranks(4, 4),
        {"polygon": [[0, 0], [80, 14], [80, 84], [0, 70]]},
        plan={"headland_laps": 1, "headland_order": order},
        response={"on_latency": "0.45 s", "off_latency": "0.55 s"},
    )
    alone, both = overlapsim.tune(case), overlapsim.tune(case, with_times=True)
    told = both.to_dict()
    assert told["best"]["combined_m2"] <= alone.best.areas["combined_m2"]
    for other in (both.recommended, *(both.alternatives[k] for k in ("as_set", "midway", "times_matched"))):
        assert told["best"]["combined_m2"] <= other.areas["combined_m2"]
    box = told["equal_box"]
    for key in ("reference_offset_m", "turn_on_time_s", "turn_off_time_s"):
        assert told["best"][key] == pytest.approx(sum(box[key]) / 2)
    again = {f"switching.{key.rpartition('_')[0]}": told["best"][key] for key in box}
    assert overlapsim.simulate(case.with_(again)).areas["combined_m2"] == pytest.approx(
        told["best"]["combined_m2"], rel=1e-9
    )
