"""A headland that comes with the field, by hand on rectangles.

One rank of 16 rows at 30 in (W = 12.192 m), each row a section, at its own reference offset, times equal to
latencies: every row starts and stops exactly where its own line meets a square edge. Areas are compared to
1e-9 of the field (roundings).
"""

from __future__ import annotations

import math
from collections import Counter
from typing import Any

import numpy as np
import pytest
import shapely

import overlapsim
from overlapsim import Field, Scenario
from overlapsim.control.ledger import build_ledger
from overlapsim.drive.plan import plan_drive
from overlapsim.questions.pattern_cases import lay_out, with_pattern
from tests.helpers import block, check, one_rank, scenario, square, two_ranks

ROW = 0.762
W = 16 * ROW
FIELD = 400.0 * 800.0
BOUNDARY = block(-200, -400, 200, 400)


def ring(side: float, end: float, off: float = 0.0) -> dict[str, Any]:
    """So wide along the sides and at the ends, its outer edge so far within the boundary, m."""
    outer = block(-200 + off, -400 + off, 200 - off, 400 - off)
    return {"polygon": outer, "exclusions": [block(-200 + side, -400 + end, 200 - side, 400 - end)]}


def inside(side: float, end: float) -> dict[str, Any]:
    return {"polygon": block(-200 + side, -400 + end, 200 - side, 400 - end)}


def both_ends(deep: float, short: float = 0.0) -> dict[str, Any]:
    """Two strips across the ends, so far from the sides and from the ends themselves, m."""
    south = block(-200 + short, -400 + short, 200 - short, -400 + deep)
    north = block(-200 + short, 400 - deep, 200 - short, 400 - short)
    return {"parts": [{"polygon": south}, {"polygon": north}]}


def planned(headland: Any, holes: Any = (), machine: Any = None, **plan: Any) -> Scenario:
    field = square("400 m", "800 m", exclusions=list(holes))
    own = {"headland_laps": None, "headland": headland, **plan}
    return scenario(machine or one_rank(), field, plan=own)


def laps_of(case: Scenario) -> dict[int, int]:
    """Count the legs of each lap, from 1."""
    return dict(Counter(leg.lap + 1 for leg in plan_drive(case).legs if leg.kind == "lap"))


@pytest.mark.parametrize("headland", [ring(2 * W, 2 * W), inside(2 * W, 2 * W)], ids=["ring", "interior"])
@pytest.mark.parametrize("order", ["first", "last"])
def test_an_even_headland_is_as_its_width(headland: dict[str, Any], order: str) -> None:
    wide = planned(None, headland_width=f"{2 * W} m", headland_order=order)
    case = planned(headland, headland_order=order)
    assert case.plan.headland_laps == wide.plan.headland_laps == 2
    assert case.warnings == wide.warnings
    one, other = overlapsim.simulate(case), overlapsim.simulate(wide)
    check(one.areas, FIELD, **{key: other.areas[key] for key in ("skip_m2", "overlap_m2", "planted_m2")})
    assert len(one.drive.legs) == len(other.drive.legs)


@pytest.mark.parametrize("deep", [1.4, 2.5])
def test_an_even_headland_of_no_whole_number_of_laps_is_as_its_width(deep: float) -> None:
    """The innermost lap has 0.4 or 0.5 of its width to plant; its other rows are off, and nothing is lost."""
    wide = planned(None, headland_width=f"{deep * W} m")
    one, other = overlapsim.simulate(planned(ring(deep * W, deep * W))), overlapsim.simulate(wide)
    check(one.areas, FIELD, **{key: other.areas[key] for key in ("skip_m2", "overlap_m2", "planted_m2")})
    assert one.drive.unreached_m2 == other.drive.unreached_m2 == 0.0


@pytest.mark.parametrize("headland", [ring(W, 2 * W), inside(W, 2 * W)], ids=["ring", "interior"])
def test_twice_as_wide_at_the_ends(headland: dict[str, Any]) -> None:
    """Sides one lap, ends two: the second lap is driven at the ends only, 1.5 W from them, and on straight
    over the first one's ground beside it. (400 - 2 W) (800 - 4 W) are left for passes, which start and stop
    at 400 - 2 W, where the second lap's ground begins: ceil((400 - 2 W) / W) = 31 of them.
    """
    case = planned(headland)
    run = overlapsim.simulate(case)
    (zone,) = run.drive.zones
    assert [one.area for one in zone.interior] == pytest.approx([(400 - 2 * W) * (800 - 4 * W)], rel=1e-12)
    assert laps_of(case) == {1: 4, 2: 2}
    second = [leg.track for leg in run.drive.legs if leg.lap == 1]
    at = sorted(float(track.place[0, 1]) for track in second if track)
    assert at == pytest.approx([-400 + 1.5 * W, 400 - 1.5 * W], abs=1e-9)
    passes = [leg.number for leg in run.drive.legs if leg.kind == "pass"]
    assert len(passes) == 31
    ends = run.row_ends
    own = np.isin(np.array(ends.columns["leg"]), passes)
    north = np.array([abs(point.y) for point in ends.geometry])[own]
    assert north == pytest.approx(np.full(len(north), 400 - 2 * W), abs=1e-9)
    # The last pass laps over the lap along the east side by what its straddling row is wide there.
    over = 31 * W - (400 - 2 * W)
    straddling = ROW - over % ROW
    assert straddling > ROW / 2
    check(run.areas, FIELD, skip_m2=0.0, overlap_m2=(ROW - straddling) * (800 - 4 * W), off_field_m2=0.0)


@pytest.mark.parametrize("headland", [both_ends(2 * W), inside(0, 2 * W)], ids=["ends", "interior"])
@pytest.mark.parametrize("order", ["first", "last"])
def test_headland_at_the_ends_only(headland: dict[str, Any], order: str) -> None:
    """Two laps at either end, 400 m long from side to side, none along the sides; passes between.

    33 passes from the west side: of the last one's rows the 13th hangs over the east side by
    13 x 0.762 - (400 - 32 W) = 0.05 m, along 800 - 4 W; the last three are off.
    """
    case = planned(headland, headland_order=order)
    run = overlapsim.simulate(case)
    lengths = [leg.last - leg.first for leg in run.drive.legs if leg.kind == "lap"]
    assert lengths == pytest.approx([400.0] * 4, abs=1e-9)
    assert sum(leg.kind == "pass" for leg in run.drive.legs) == 33
    over = 13 * ROW - (400 - 32 * W)
    check(run.areas, FIELD, skip_m2=0.0, overlap_m2=0.0, off_field_m2=over * (800 - 4 * W))


def test_on_slanted_ends_laps_follow_the_ends() -> None:
    """Ends tilted by 30 degrees: strips 2 W deep along them, so 2 W / cos 30 along the sides."""
    tilt, deep = math.radians(30), 2 * W / math.cos(math.radians(30))
    rise = 200 * math.tan(tilt)
    inner = [
        [-200, -400 - rise + deep],
        [200, -400 + rise + deep],
        [200, 400 + rise - deep],
        [-200, 400 - rise - deep],
    ]
    plan = {"headland_laps": None, "headland": {"polygon": inner}}
    case = scenario(one_rank(), square("400 m", "800 m", end_angle="30 deg"), plan=plan)
    drive = plan_drive(case)
    legs = [leg for leg in drive.legs if leg.kind == "lap"]
    assert case.plan.headland_laps == 2
    assert laps_of(case) == {1: 2, 2: 2}
    for leg in legs:
        assert leg.track is not None
        way = np.diff(leg.track.place[[0, -1]], axis=0)[0]
        assert abs(way[1] / way[0]) == pytest.approx(math.tan(tilt), abs=1e-9)
        # From side to side, with the full swath beyond them: W tan 30 more than 400 / cos 30.
        assert leg.last - leg.first == pytest.approx((400 + W * math.sin(tilt)) / math.cos(tilt), abs=1e-6)
    assert drive.zones[0].interior[0].area == pytest.approx(FIELD - 2 * 400 * deep, rel=1e-12)


@pytest.mark.parametrize("radius", [5.0, 25.0])
def test_rounded_corners_are_corners_all_the_same(radius: float) -> None:
    """Ends 2 W deep between long sides: laps keep to the ends, though nothing turns by 60 degrees within W/2.

    A quarter circle of 25 m radius turns by 60 degrees in 26 m of way, less than 4 W. A lap that went along a
    side would be some 750 m long; across an end it has 400 m and at most an arc at either end.
    """
    corners = shapely.box(-200, -400, 200, 400).buffer(-radius).buffer(radius, quad_segs=16)
    field = Field.polygon(shapely.get_coordinates(corners.exterior).tolist())
    case = planned(both_ends(2 * W)).with_({"field": field})
    legs = [leg for leg in plan_drive(case).legs if leg.kind == "lap"]
    assert case.plan.headland_laps == 2
    assert len(legs) == 4
    assert max(leg.last - leg.first for leg in legs) < 400 + math.pi * radius
    areas = overlapsim.simulate(case).areas
    assert areas["skip_m2"] < 4 * (1 - math.pi / 4) * (radius + W) ** 2


def test_a_headland_round_an_island() -> None:
    """One lap along the boundary, one round 40 m by 40 m, drawn with square corners round the island too.

    There a lap covers what lies within W of the island; of each corner W² (1 - pi/4) lies beyond, less than
    2 % of the headland in all, and is left to passes. Interior: the rectangle less 40² + 4 x 40 W + pi W²;
    arcs are chords that lie up to 1 mm inside.
    """
    hole = block(-20, -20, 20, 20)
    around = {"polygon": block(-20 - W, -20 - W, 20 + W, 20 + W), "exclusions": [hole]}
    case = planned({"parts": [ring(W, W), around]}, [hole])
    (zone,) = plan_drive(case).zones
    left = (400 - 2 * W) * (800 - 2 * W) - (40**2 + 4 * 40 * W + math.pi * W**2)
    assert sum(one.area for one in zone.interior) == pytest.approx(left, abs=0.16)
    assert [[one.exclusion for one in lap.rings] for lap in zone.laps] == [[False, True]]
    beyond = 4 * W**2 * (1 - math.pi / 4)
    assert f"{beyond:.0f} m2 of the headland lie just beyond its laps" in case.warnings[-1]


def test_an_island_without_a_headland_gets_no_lap() -> None:
    """On row borders and square to the passes: it costs nothing, and laps are as without it."""
    left = -200 + 2 * W + 40 * ROW
    hole = block(left, -10, left + 20 * ROW, 20)
    run, bare = (
        overlapsim.simulate(planned(ring(2 * W, 2 * W), [hole])),
        overlapsim.simulate(planned(ring(2 * W, 2 * W))),
    )
    same = {key: bare.areas[key] for key in ("skip_m2", "overlap_m2", "off_field_m2")}
    check(run.areas, FIELD, **same, planted_m2=bare.areas["planted_m2"] - 20 * ROW * 30)
    assert run.drive.lap_count == 2


def test_a_few_metres_off_the_boundary_are_how_it_was_drawn() -> None:
    """Two metres within the boundary all round: 400 x 800 - 396 x 796 = 4784 m² are headland all the same."""
    case, exact = planned(ring(2 * W, 2 * W, off=2.0)), planned(ring(2 * W, 2 * W))
    assert overlapsim.simulate(case).areas == overlapsim.simulate(exact).areas
    assert "narrower than 3 m, 4,784 m2" in case.warnings[-1]
    assert exact.warnings == ()


def test_ends_drawn_short_of_boundary_and_sides() -> None:
    """Strips that keep two metres from sides and ends: laps at the ends only, as if they were drawn exactly.

    Where the strip along a side meets the interior 5 cm of it stay with the interior, so that edges are cut
    square: 4 x 2 m x 0.05 m in all.
    """
    run = overlapsim.simulate(planned(both_ends(2 * W, short=2.0)))
    exact = overlapsim.simulate(planned(both_ends(2 * W)))
    assert [leg.kind for leg in run.drive.legs] == [leg.kind for leg in exact.drive.legs]
    assert run.drive.zones[0].interior[0].area == pytest.approx(400 * (800 - 4 * W) + 4 * 2 * 0.05, rel=1e-9)
    assert run.areas["combined_m2"] == pytest.approx(exact.areas["combined_m2"], abs=4 * 2 * 0.05)


def test_an_inner_edge_that_wavers_needs_no_lap_of_its_own() -> None:
    """0.4 m more than two laps along the sides, 0.5 m less at the ends: two laps, and the sides' 0.4 m are
    the passes' as far as they lie more than 2 W from the ends too: 2 x 0.4 x (800 - 4 W) m².
    """
    case = planned(ring(2 * W + 0.4, 2 * W - 0.5))
    assert case.plan.headland_laps == 2
    interior = plan_drive(case).zones[0].interior[0]
    assert interior.area == pytest.approx((399.2 - 4 * W) * (801 - 4 * W) + 0.8 * (800 - 4 * W), rel=1e-9)
    assert f"{0.8 * (800 - 4 * W):.0f} m2 of the headland lie just beyond" in case.warnings[-1]


@pytest.mark.parametrize("headland", [ring(W, 2.5 * W), both_ends(1.5 * W)], ids=["ring", "ends"])
@pytest.mark.parametrize("order", ["first", "last"])
def test_ledger_agrees_with_full_simulations(headland: dict[str, Any], order: str) -> None:
    """The bound is that of the ledger's other checks with laps: 1e-3 of the combined error."""
    holes = [block(-150, -60, -110, -20)]
    case = planned(headland, holes, two_ranks(), headland_order=order)
    ledger = build_ledger(case, 1.9, 3.3)
    for offset in (2.0, 2.58, 3.1):
        full = overlapsim.simulate(case.with_({"switching.reference_offset": offset})).areas
        found = float(ledger.combined.at(np.array([offset]))[0][0])
        assert found == pytest.approx(full["combined_m2"], rel=1e-3)


def test_another_machine_takes_other_laps() -> None:
    """2 W deep: two laps of 16 rows, four of 8; `headland_laps` set later takes the areas' place."""
    case = planned(ring(2 * W, 2 * W))
    assert planned(ring(2 * W, 2 * W), machine=one_rank(rows=8)).plan.headland_laps == 4
    assert case.with_({"plan.headland_laps": 2}).plan == case.plan
    assert case.with_({"plan.headland_laps": 1}).plan.headland is None
    assert case.with_({"plan.headland_width": "40 ft"}).plan.headland is None
    wide = planned(None, headland_width="40 ft").with_({"plan.headland": both_ends(2 * W)})
    assert (wide.plan.headland_width, wide.plan.headland_laps) == (None, 2)


def test_ways_to_drive_keep_the_headland_where_their_laps_are_its_own() -> None:
    case = planned(both_ends(2 * W))
    kept = {
        p.key: with_pattern(case, p).plan.headland is not None for p in lay_out(case, ["0 deg"], laps=[1, 2])
    }
    assert kept["now"]
    assert {key: one for key, one in kept.items() if key.startswith("1")} == {
        "1-lap-first-0-deg": False,
        "1-lap-last-0-deg": False,
    }


@pytest.mark.parametrize(
    "headland",
    [ring(W, 2 * W), both_ends(W), {**inside(W, W), "is": "interior"}],
    ids=["ring", "ends", "interior"],
)
def test_inputs_make_an_equal_plan(headland: dict[str, Any]) -> None:
    case = planned(headland)
    again = Scenario.from_dict(case.to_inputs())
    assert again.plan == case.plan
    assert again.to_inputs() == case.to_inputs()
