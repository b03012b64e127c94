"""Fewer laps round exclusions than along the boundary, and small ones driven through, by hand.

One rank of 16 rows at 30 in (W = 12.192 m), each row a section, at its own reference offset, times equal to
latencies: every row starts and stops exactly where its own line meets a square edge. So what stands on row
borders costs nothing wherever it lies, and areas are compared to 1e-9 of the field (roundings).
"""

from __future__ import annotations

import math
import os
from pathlib import Path

import numpy as np
import pytest
import shapely

import overlapsim
from overlapsim import Scenario, ScenarioError
from overlapsim.control.ledger import build_ledger
from overlapsim.drive.plan import plan_drive
from overlapsim.files.fields import read_field
from tests.helpers import block, check, one_rank, scenario, square, two_ranks

ROOT = Path(__file__).resolve().parents[2]
FIELDS = Path(os.environ.get("OVERLAPSIM_FIELDS") or ROOT.parent / "shared" / "fields") / "fields.geojson"
ROW = 0.762
W = 16 * ROW
FIELD = 400.0 * 800.0


def planned(holes: list, laps: int | None = 2, machine: dict | None = None, **plan: object) -> Scenario:
    field = square("400 m", "800 m", exclusions=holes)
    return scenario(machine or one_rank(), field, plan={"headland_laps": laps, **plan})


MIDDLE = block(-20, -20, 20, 20)


@pytest.mark.parametrize("most", [0, 1, 2])
def test_the_interior_keeps_the_wanted_distance_from_an_exclusion(most: int) -> None:
    """400 m by 800 m less 2 W all round, less 40 m by 40 m grown by d = `most` W.

    Grown by d a square of side s has s² + 4 s d + pi d². Its arcs are chords that lie up to 1 mm inside: an
    arc of length pi d / 2 may lose two thirds of that, less than 4 x 20 m x 1 mm in all.
    """
    (zone,) = plan_drive(planned([MIDDLE], exclusion_laps=most)).zones
    grown = 40**2 + 4 * 40 * most * W + math.pi * (most * W) ** 2
    assert zone.interior[0].area == pytest.approx((400 - 4 * W) * (800 - 4 * W) - grown, abs=0.16)
    rings = [len([ring for ring in lap.rings if ring.exclusion]) for lap in zone.laps]
    assert rings == [int(most >= 1), int(most >= 2)]


@pytest.mark.parametrize("plan", [{"exclusion_laps": 1}, {"drive_through": "0.1 ac"}], ids=str)
def test_a_field_without_exclusions_is_as_without_the_key(plan: dict) -> None:
    areas = overlapsim.simulate(planned([])).areas
    found = overlapsim.simulate(planned([], **plan)).areas
    check(found, FIELD, **{key: areas[key] for key in ("skip_m2", "overlap_m2", "planted_m2")})


@pytest.mark.parametrize("width", ["45 ft", "55 ft"])
def test_a_lap_that_hangs_over_the_interior_reaches_its_ground(width: str) -> None:
    """Its way lies 60 ft from the boundary, where its ground ends already: its outer rows plant it."""
    case = planned([MIDDLE], None, exclusion_laps=1, headland_width=width)
    assert plan_drive(case).unreached_m2 == 0.0


def test_as_many_as_laps_is_as_without() -> None:
    one, other = planned([MIDDLE]), planned([MIDDLE], exclusion_laps=2)
    areas = overlapsim.simulate(other).areas
    check(overlapsim.simulate(one).areas, FIELD, **{k: areas[k] for k in ("skip_m2", "overlap_m2")})


@pytest.mark.parametrize("order", ["first", "last"])
def test_without_laps_of_its_own_an_exclusion_on_row_borders_costs_nothing(order: str) -> None:
    """The first pass's left edge is at -200 + 2 W; from 40 to 60 rows farther right and 30 m long.

    Passes switch row by row at both its square ends, so all areas are those of the field without it, but for
    20 rows x 0.762 m x 30 m that are not planted.
    """
    left = -200 + 2 * W + 40 * ROW
    hole = block(left, -10, left + 20 * ROW, 20)
    bare = overlapsim.simulate(planned([], headland_order=order)).areas
    found = overlapsim.simulate(planned([hole], exclusion_laps=0, headland_order=order)).areas
    same = {key: bare[key] for key in ("skip_m2", "overlap_m2", "off_field_m2")}
    check(found, FIELD, **same, planted_m2=bare["planted_m2"] - 20 * ROW * 30)


@pytest.mark.parametrize("order", ["first", "last"])
@pytest.mark.parametrize("lap", [1, 2])
def test_laps_lead_through_a_small_exclusion_switched_off(lap: int, order: str) -> None:
    """An exclusion in the path of a lap, from its 4th to its 9th row, 30 m long: 6 x 0.762 x 30 = 137 m².

    0.1 acre is 405 m², so it is driven through: the way stays straight and rows over it stop and start at its
    square ends. All areas are those of the field without it but for the 137.16 m² that are not planted.
    """
    left = -200 + (lap - 1) * W + 3 * ROW
    hole = block(left, -10, left + 6 * ROW, 20)
    bare = overlapsim.simulate(planned([], headland_order=order)).areas
    run = overlapsim.simulate(planned([hole], drive_through="0.1 ac", headland_order=order))
    same = {key: bare[key] for key in ("skip_m2", "overlap_m2", "off_field_m2")}
    check(run.areas, FIELD, **same, planted_m2=bare["planted_m2"] - 6 * ROW * 30)
    ends = run.row_ends.columns
    assert (np.array(ends["edge"]) == "exclusion").sum() == 2 * 6


def test_an_exclusion_as_large_as_stated_gets_its_laps() -> None:
    """10 m by 10 m: not smaller than 100 m², smaller than 101 m²."""
    hole = block(-5, -5, 5, 5)
    count = [len(plan_drive(planned([hole], drive_through=size)).legs) for size in ("100 m²", "101 m²")]
    assert count[0] == count[1] + 2


def test_along_a_finished_exclusion_a_lap_is_switched_off() -> None:
    """An exclusion 15 m from the west edge, more than 1 W: lap one goes between. Lap two goes round it.

    With one lap round exclusions lap two has nothing to plant along it: its ground lies between 1 W and 2 W
    from the boundary and at least 1 W from the exclusion. South of it, beside it and north of it the way is
    one leg, so rows that come beside it stop and start again, and all of lap two's seed lies on its ground.
    """
    run = overlapsim.simulate(planned([block(-185, -20, -145, 20)], exclusion_laps=1))
    west = [leg for leg in run.drive.legs if leg.kind == "lap" and leg.lap == 1]
    numbers = [leg.number for leg in west]
    ends = run.row_ends
    own = np.isin(np.array(ends.columns["leg"]), numbers)
    place = shapely.points([(point.x, point.y) for point in ends.geometry])
    beside = own & (shapely.distance(place, shapely.box(-185, -20, -145, 20)) < 3 * W)
    starts = np.array(ends.columns["event"])[beside]
    assert (starts == "off").sum() >= 16
    assert (starts == "on").sum() >= 16
    # Flush with the one lap round it: 1 W and half a width from it, to the path's 2 cm and a bend's chords.
    rings = [shapely.LinearRing(ring.points) for ring in run.drive.zones[0].laps[1].rings]
    near = min(ring.distance(shapely.box(-185, -20, -145, 20)) for ring in rings)
    assert near == pytest.approx(1.5 * W, abs=0.04)
    full = overlapsim.simulate(planned([block(-185, -20, -145, 20)]))
    assert run.areas["overlap_m2"] < full.areas["overlap_m2"]


@pytest.mark.parametrize(
    "plan",
    [{"exclusion_laps": 1}, {"exclusion_laps": 0}, {"drive_through": "0.1 ac"}, {"headland_width": "60 ft"}],
    ids=str,
)
@pytest.mark.parametrize("order", ["first", "last"])
def test_ledger_agrees_with_full_simulations(plan: dict, order: str) -> None:
    """On laps the ledger counts contested ground on points: a few ten-thousandths of the error are its own.

    The bound is that of the ledger's other checks with laps: 1e-3 of the combined error.
    """
    holes = [block(-150, -60, -110, -20), block(-185, 30, -180, 40)]
    own = {"headland_laps": None} if "headland_width" in plan else {}
    case = planned(holes, machine=two_ranks(), headland_order=order, **(plan | own))
    ledger = build_ledger(case, 1.9, 3.3)
    for offset in (2.0, 2.58, 3.1):
        full = overlapsim.simulate(case.with_({"switching.reference_offset": offset})).areas
        found = float(ledger.combined.at(np.array([offset]))[0][0])
        assert found == pytest.approx(full["combined_m2"], rel=1e-3)


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        ({"exclusion_laps": -1}, "less than 0"),
        ({"exclusion_laps": "1"}, "whole number"),
        ({"drive_through": 0.1}, "needs a unit"),
        ({"drive_through": "0.1 ft"}, "unit of length"),
    ],
)
def test_what_cannot_be_is_refused_in_words(plan: dict, words: str) -> None:
    with pytest.raises(ScenarioError, match=words):
        planned([MIDDLE], **plan)


def test_inputs_make_an_equal_plan() -> None:
    case = planned([MIDDLE], exclusion_laps=1, drive_through="1/10 ac")
    assert case.plan.drive_through == pytest.approx(404.68564224, rel=1e-12)
    assert Scenario.from_dict(case.to_inputs()).plan == case.plan


@pytest.mark.skipif(not FIELDS.exists(), reason="no collection of real fields at hand")
@pytest.mark.parametrize("feature", [4, 17, 65])
def test_on_real_fields_fewer_laps_leave_more_interior(feature: int) -> None:
    """Account, balance and witness hold, or the run would refuse; the interior grows, no lap is lost."""
    field = read_field(FIELDS, where={"feature": feature})
    base = planned([]).with_({"field": field})
    runs = [overlapsim.simulate(base.with_({"plan.exclusion_laps": n})) for n in (0, 1, 2)]
    interior = [sum(part.area for zone in run.drive.zones for part in zone.interior) for run in runs]
    assert interior == sorted(interior, reverse=True)
    assert interior[0] > interior[2]
    assert {run.drive.lap_count for run in runs} == {2}
    full = overlapsim.simulate(base).areas
    check(runs[2].areas, base.field.plantable_m2, combined_m2=full["combined_m2"])
