"""One setting for several fields: areas are those of the fields run one by one, added up.

Fields in metres, so that each run sees the very same coordinates. What is equal by sums of a few hundred
doubles is compared to EXACT of the plantable area.
"""

from __future__ import annotations

from typing import Any

import pytest
import shapely

from overlapsim import Scenario, simulate
from overlapsim.control.by_field import fields_of
from overlapsim.questions.search import find_best
from overlapsim.scenario.side_by_side import side_by_side
from tests.helpers import BASE, EXACT, INCH, merge, one_rank, two_ranks

WIDTH = 16 * 30 * INCH
SUMS = (
    "skip_m2", "overlap_m2", "off_field_m2", "combined_m2", "planted_m2", "missing_row_m",
    "double_planted_row_m",
)  # fmt: skip
FIELDS = {
    "Home": shapely.box(0, 0, 20 * WIDTH, 300),
    # Shares its south edge with Home.
    "Creek": shapely.box(0, 300, 7.5 * WIDTH, 450),
    "Hill": shapely.Polygon([(400, 0), (700, 40), (640, 333), (420, 250)]),
}


def scenario(fields: dict[str, shapely.Polygon], machine: Any = None, **tables: Any) -> Scenario:
    """A scenario whose fields are taken together."""
    data = merge(BASE, {"machine": machine or two_ranks(), **tables})
    return Scenario.from_dict(data, field=side_by_side(fields))


@pytest.mark.parametrize("laps", [0, 2])
def test_all_together_is_the_sum_of_each_alone(laps: int) -> None:
    plan = {"headland_laps": laps}
    together = simulate(scenario(FIELDS, plan=plan))
    alone = {name: simulate(scenario({name: field}, plan=plan)) for name, field in FIELDS.items()}
    ground = together.plantable_m2
    for key in SUMS:
        total = sum(run.areas[key] for run in alone.values())
        assert together.areas[key] == pytest.approx(total, abs=EXACT * ground), key
    assert together.pass_count == sum(run.pass_count for run in alone.values())
    told = fields_of(together)
    assert [one["name"] for one in told] == list(FIELDS)
    for one in told:
        run = alone[one["name"]]
        assert one["plantable_m2"] == pytest.approx(run.plantable_m2, rel=1e-12)
        for key, value in run.areas.items():
            assert one[key] == pytest.approx(value, abs=EXACT * ground), (one["name"], key)
    assert together.witness.largest_relative_difference < 1e-6


def test_a_field_alone_is_not_told_twice() -> None:
    run = simulate(Scenario.from_dict(merge(BASE, {"machine": two_ranks()})))
    assert fields_of(run) == []


def test_seed_on_the_neighbour_s_ground_is_off_field() -> None:
    """One rank of 16 rows at 84 in, reference at 94 in, times matched: 10 in late at both ends of every pass.

    Home is 20 passes wide and Creek lies on its north end, eight passes: all late starts are skip and all
    late stops off-field, in both; where they fall on the other field's ground nothing else is made of them.
    """
    late = 10 * INCH
    two = {name: FIELDS[name] for name in ("Home", "Creek")}
    run = simulate(scenario(two, one_rank(), switching={"reference_offset": "94 in"}))
    ground = run.plantable_m2
    wide = FIELDS["Home"].area / 300, FIELDS["Creek"].area / 150
    assert run.areas["skip_m2"] == pytest.approx(sum(wide) * late, abs=EXACT * ground)
    # Rows of Creek's last pass that run beside it, each a section of its own, stay off.
    assert run.areas["off_field_m2"] == pytest.approx(sum(wide) * late, abs=EXACT * ground)
    assert run.areas["overlap_m2"] == pytest.approx(0.0, abs=EXACT * ground)


def test_one_offset_serves_all_of_them() -> None:
    """The least of the sum: no offset of a grid, run field by field, comes out below it.

    But for the millionth part within which offsets count as equal.
    """
    together = scenario(FIELDS)
    offset = find_best(together).offset
    alone = [scenario({name: field}) for name, field in FIELDS.items()]

    def total(offset: object) -> float:
        runs = [simulate(one.with_({"switching.reference_offset": offset})) for one in alone]
        return sum(run.areas["combined_m2"] for run in runs)

    least = total(offset)
    run = simulate(together.with_({"switching.reference_offset": offset}))
    assert run.areas["combined_m2"] == pytest.approx(least, abs=EXACT * run.plantable_m2)
    assert least <= min(total(inch * INCH) for inch in range(84, 120, 2)) * (1 + 1e-6)
