"""With headland laps, and over fields of several parts: every line against runs laid out here by hand.

Sums on paper end where laps begin, so each of the seven scenarios is written out as a file would have it, and
simulated; where the best number belongs, no number of a coarse comb may be better than the one found.
"""

from __future__ import annotations

from typing import Any

import pytest
import shapely

import overlapsim
from overlapsim import Field
from overlapsim.questions.breakdown import KEYS
from tests.helpers import EXACT, INCH, inches, merge, one_rank, scenario, square, two_ranks

CROOKED = {"polygon": [[0, 0], [90, 12], [84, 130], [30, 118], [-9, 96]]}
PLAN = {"headland_laps": 1, "heading": "5 deg"}
OWN = {"front": "84 in", "rear": "119 in"}
NONE = {"on_latency": "0 s", "off_latency": "0 s"}
AS_SET: dict[str, Any] = {
    "switching": {
        "reference_offset": "90 in", "turn_on_time": "0.40 s", "turn_off_time": "0.25 s", "sections": 8,
        "switch_fraction": 0.6, "deliberate_overlap": "3 in", "lateral_offset": "2 in",
    },
    "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
    "controller": {"position_delay": "0.1 s", "update_rate": "10 Hz", "drift": ["1 in", "2 in"]},
    "plan": PLAN,
}  # fmt: skip


def run(tables: dict[str, Any], **more: Any) -> float:
    machine = two_ranks(4, 4, rows_off=["rear 2"]) if more.pop("amiss", True) else two_ranks(4, 4)
    return overlapsim.simulate(scenario(machine, CROOKED, **merge(tables, more))).areas["combined_m2"]


@pytest.mark.slow
def test_each_line_is_the_difference_of_two_runs() -> None:
    done = overlapsim.causes(scenario(two_ranks(4, 4, rows_off=["rear 2"]), CROOKED, **AS_SET))
    calm = {k: v for k, v in AS_SET.items() if k != "controller"}
    prompt = merge(calm, {"response": NONE, "switching": {"turn_on_time": "0 s", "turn_off_time": "0 s"}})
    own = merge(prompt, {"switching": {"reference_offset": OWN}})
    alone = merge(own, {"switching": {"sections": "each-row", "switch_fraction": 0.5}})
    sound = merge(alone, {"switching": {"deliberate_overlap": "0 in", "lateral_offset": "0 in"}})
    found = {
        key: inches(done.runs[key].scenario.switching.reference_offset / INCH)
        for key in ("stagger", "timing")
    }
    levels = [
        run(sound, amiss=False),
        run(alone),
        run(own),
        run(prompt, switching={"reference_offset": found["stagger"]}),
        run(calm, switching={"reference_offset": found["timing"]}),
        run(calm),
        run(AS_SET),
    ]
    near = EXACT * done.as_set.plantable_m2
    before = 0.0
    for key, level in zip(KEYS, levels, strict=True):
        assert done.lines[key]["combined_m2"] == pytest.approx(level - before, abs=near), key
        before = level
    # With laps the search goes by a curve that full simulations follow within a thousandth.
    for key, tables in (("stagger", prompt), ("timing", calm)):
        comb = [run(tables, switching={"reference_offset": inches(r)}) for r in range(76, 132, 5)]
        assert done.runs[key].areas["combined_m2"] <= min(comb) * (1 + 1e-3)


@pytest.mark.parametrize("order", ["first", "last"])
def test_one_rank_with_all_right_loses_by_edges_alone(order: str) -> None:
    """Corners, slanted ends and odd sides: nothing else is amiss, and no other line may say so."""
    machine, plan = one_rank(4), {**PLAN, "headland_order": order}
    done = overlapsim.causes(scenario(machine, CROOKED, plan=plan))
    assert done.lines["geometry"]["combined_m2"] > 1.0
    near = 1e-6 * done.as_set.areas["combined_m2"]
    for key in KEYS[1:]:
        assert done.lines[key]["combined_m2"] == pytest.approx(0.0, abs=near), key


def test_fields_of_several_parts_are_added_before_the_search() -> None:
    """Two parts apart: a line is the sum of both alone, where no number is searched."""
    parts = [shapely.box(0, 0, 36, 60), shapely.Polygon([(60, 0), (96, 8), (96, 70), (60, 60)])]
    case = scenario(two_ranks(), square("36 m", "60 m"), switching={"sections": 8})
    both = overlapsim.causes(case.with_({"field": Field.from_geometry(shapely.MultiPolygon(parts))}))
    alone = [overlapsim.causes(case.with_({"field": Field.from_geometry(part)})) for part in parts]
    near = EXACT * both.as_set.plantable_m2
    for key in ("geometry", "setup", "sections"):
        for kind in ("skip_m2", "overlap_m2", "off_field_m2", "combined_m2"):
            summed = sum(done.lines[key][kind] for done in alone)
            assert both.lines[key][kind] == pytest.approx(summed, abs=near), (key, kind)
    total = sum(done.as_set.areas["combined_m2"] for done in alone)
    assert sum(line["combined_m2"] for line in both.lines.values()) == pytest.approx(total, abs=near)
    # One number for both can only be worse than the best one for each.
    least = sum(done.runs["stagger"].areas["combined_m2"] for done in alone)
    assert both.runs["stagger"].areas["combined_m2"] >= least * (1 - 1e-6)
