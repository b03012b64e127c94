"""Whatever is wrong with a machine on a field: the lines of causes add up, and say what they ought to.

Tolerance of sums: a dozen additions of areas with 16 digits each; 1e-12 of the field is far above it.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import overlapsim
from overlapsim import Scenario
from overlapsim.questions.breakdown import KEYS, CausesResult
from tests.properties.moves import turned
from tests.reference.case import Case
from tests.reference.cases import PLAIN, cases

FEW = settings(max_examples=12)
KINDS = ("skip_m2", "overlap_m2", "off_field_m2", "combined_m2", "planted_m2")
NOTHING: dict[str, Any] = {
    "period": 0.0, "delay": 0.0, "drift": (0.0, 0.0), "t_on": 0.0, "t_off": 0.0, "rows_off": (),
    "overlap": 0.0, "entered": None, "sections": "each-row", "q": 0.5,
    "q_boundary": None, "least_on": 0.0, "least_off": 0.0,
}  # fmt: skip


def causes(case: Case) -> CausesResult:
    return overlapsim.causes(Scenario.from_dict(case.as_dict()))


def faultless(case: Case, **faults: Any) -> Case:
    """The case centred, with an offset for each rank at its own place, and nothing wrong but `faults`."""
    rows = case.rows_of(case.setup)
    ranks = case.ranks
    middle = (rows[0].left_edge + rows[-1].right_edge) / 2
    none = dict.fromkeys(ranks, 0.0)
    return dataclasses.replace(
        case,
        **{
            **NOTHING, "offset": {name: rank.behind for name, rank in ranks.items()}, "lateral": middle,
            "lat_on": none, "lat_off": none, **faults,
        },
    )  # fmt: skip


@FEW
@given(cases())
def test_the_lines_add_up_to_the_scenario_as_it_stands(case: Case) -> None:
    done = causes(case)
    areas = overlapsim.simulate(done.scenario).areas
    near = 1e-12 * done.as_set.plantable_m2
    assert tuple(done.lines) == KEYS
    for kind in KINDS:
        assert sum(line[kind] for line in done.lines.values()) == pytest.approx(areas[kind], abs=near)
    told = done.to_dict()
    total = sum(line["combined_m2"] for line in told["causes"])
    assert total == pytest.approx(told["total"]["combined_m2"], abs=near)
    # Today's number is never better than the best one, but for what counts as equal.
    assert (
        done.lines["offset"]["combined_m2"] >= -1e-6 * areas["combined_m2"] - 1e-9 * done.as_set.plantable_m2
    )
    assert done.lines["geometry"]["combined_m2"] >= 0.0
    if isinstance(case.offset, dict):
        assert set(done.lines["stagger"].values()) == {0.0}


@FEW
@given(cases())
def test_the_first_line_is_a_machine_without_fault(case: Case) -> None:
    """Laid out here once more, by hand, as a scenario of its own."""
    done = causes(case)
    alone = overlapsim.simulate(Scenario.from_dict(faultless(case).as_dict())).areas
    near = 1e-8 * done.as_set.plantable_m2  # the same ground on lines that lie elsewhere by some 1e-16 m
    for kind in KINDS:
        assert done.lines["geometry"][kind] == pytest.approx(alone[kind], abs=near)


@FEW
@given(cases(), st.data())
def test_a_single_fault_stands_in_its_own_line(case: Case, data: st.DataObject) -> None:
    """Added to a machine without any: the line is what the field then loses more, other lines are empty."""
    case = faultless(case)
    own = next(iter(case.ranks))
    fault, key = data.draw(
        st.sampled_from(
            [
                ({"sections": 1}, "sections"),
                ({"q": 1.0}, "sections"),
                ({"overlap": 0.4}, "setup"),
                ({"lateral": case.lateral + 0.2}, "setup"),
                ({"rows_off": ((own, 1),)}, "setup"),
                ({"drift": (0.21, -0.13)}, "updates"),
                ({"delay": 0.4}, "updates"),
                ({"period": 0.5}, "updates"),
            ]
        )
    )
    sound, faulty = (Scenario.from_dict(one.as_dict()) for one in (case, dataclasses.replace(case, **fault)))
    done = overlapsim.causes(faulty)
    more = overlapsim.simulate(faulty).areas["combined_m2"] - overlapsim.simulate(sound).areas["combined_m2"]
    near = 1e-8 * done.as_set.plantable_m2
    lines = {name: line["combined_m2"] for name, line in done.lines.items()}
    assert lines[key] == pytest.approx(more, abs=near)
    # Offsets for each rank can undo a part of what sections do, and today's do not.
    undone = {"timing", "offset"} if key in ("sections", "setup") else set()
    for name in set(KEYS) - {"geometry", key} - undone:
        assert lines[name] == pytest.approx(0.0, abs=near), name
    assert lines["timing"] + lines["offset"] == pytest.approx(0.0, abs=near)


@settings(max_examples=5)
@given(st.floats(-179, 179))
def test_turning_field_and_heading_turns_nothing_else(degrees: float) -> None:
    case = dataclasses.replace(PLAIN, sections=4, offset=1.9, t_on=0.3, delay=0.2, period=0.2, overlap=0.15)
    one, other = causes(case), causes(turned(case, degrees))
    for key in KEYS:
        for kind in ("skip_m2", "overlap_m2", "off_field_m2"):
            near = 1e-4 * one.as_set.areas["combined_m2"]  # a searched offset is known to 1e-6 of the error
            assert one.lines[key][kind] == pytest.approx(other.lines[key][kind], abs=near), (key, kind)
