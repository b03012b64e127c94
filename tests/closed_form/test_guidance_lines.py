"""Passes on the grower's own line, from either side, and headlands as wide as somebody wants them.

By hand in each test. Lines lie where points put them, so places are compared to 1e-9 m (a dozen roundings at
some hundred metres).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import overlapsim
from overlapsim import Field, Scenario, ScenarioError
from overlapsim.drive.legs import Leg
from overlapsim.drive.plan import plan_drive
from tests.helpers import BASE as PLAIN
from tests.helpers import EXACT_M, FOOT, merge, one_rank, scenario, square

W = 16 * 30 * 0.0254
"""Metres: 16 rows at 30 in."""


def passes(case: Scenario) -> list[Leg]:
    return [leg for leg in plan_drive(case).legs if leg.kind == "pass"]


def planned(**plan: object) -> Scenario:
    """One rank of 12.192 m on 400 m by 800 m round the origin."""
    own = {"heading": None, "headland_laps": None, **plan}
    return scenario(one_rank(), square("400 m", "800 m"), plan=own)


def test_passes_ten_metres_off_the_middle_by_hand() -> None:
    """A line 10 m east of the middle, driven north: lines at 10 + k 12.192 m.

    The field reaches from -200 to 200 m. The strip of line k reaches from 3.904 + k W to 16.096 + k W, so the
    first one that lies over the field is k = -17 (-203.36 to -191.168) and the last k = 16 (198.976 to
    211.168, 1.024 m of it on the field): 34 lines, the first at 10 - 17 W = -197.264 m.
    """
    found = passes(planned(line={"points": [[10, -300], [10, 300]]}))
    assert [leg.across for leg in found] == pytest.approx(
        [10 + k * W for k in range(-17, 17)], abs=EXACT_M
    )
    assert found[0].across == pytest.approx(-197.264, abs=EXACT_M)
    assert [leg.direction for leg in found[:3]] == [1, -1, 1]


def test_the_line_gives_the_heading_and_its_sense() -> None:
    """From (0, 0) to (-30, -40): 216.87 degrees clockwise from north, so atan(3/4) west of south."""
    (line,) = [planned(line={"points": [[0, 0], [-30, -40]]}).plan]
    assert float(line.heading) % math.tau == pytest.approx(math.pi + math.atan2(3, 4), abs=1e-15)


def test_a_place_to_go_through_with_a_heading() -> None:
    """Heading 30 degrees through (7, 5): across is x cos 30 - y sin 30 = 3.5621778 m, and W more and less."""
    case = planned(heading="30 deg", through=["7 m", "5 m"])
    place = 7 * math.cos(math.radians(30)) - 5 * math.sin(math.radians(30))
    off = np.array([leg.across - place for leg in passes(case)]) / W
    assert np.abs(off - off.round()).max() * W < EXACT_M
    assert 0.0 in off.round()


def test_from_the_right_is_from_the_right() -> None:
    """Flush with the right side, at 200 - W/2, leftward; first northward. 33 passes: 400 / 12.192 = 32.8."""
    right, left = passes(planned(start_side="right")), passes(planned(start_side="left"))
    from_edge = np.array([200 - (k + 0.5) * W for k in range(33)])
    assert [leg.across for leg in right] == pytest.approx(from_edge, abs=EXACT_M)
    assert [leg.across for leg in left] == pytest.approx(-from_edge, abs=EXACT_M)
    assert [leg.direction for leg in right[:2]] == [1, -1]
    assert [leg.across for leg in passes(planned())] == [leg.across for leg in left]


def test_either_side_on_a_line_takes_the_same_lines() -> None:
    line = {"points": [[10, -300], [13, 300]]}
    one, other = (passes(planned(line=line, start_side=side)) for side in ("left", "right"))
    assert [leg.across for leg in one] == [leg.across for leg in reversed(other)]


@settings(max_examples=25)
@given(st.floats(-math.pi, math.pi), st.floats(-500, 500), st.floats(-500, 500))
def test_some_pass_runs_on_the_line_within_a_millimetre(angle: float, x: float, y: float) -> None:
    ends = [[x, y], [x + 300 * math.sin(angle), y + 300 * math.cos(angle)]]
    lines = passes(planned(line={"points": ends}))
    way = np.array([math.sin(angle), math.cos(angle)])
    apart = [
        float((leg.believed[end] - ends[0]) @ np.array([way[1], -way[0]])) for leg in lines for end in (0, -1)
    ]
    off = np.array(apart) / W
    assert np.abs(off - off.round()).max() * W < 1e-3


def test_eighty_feet_are_two_laps_of_forty() -> None:
    """16 rows at 30 in are 40 ft: 80 ft are two laps, and everything is as with `headland_laps = 2`."""
    wide, laps = planned(headland_width="80 ft"), planned(headland_laps=2)
    assert wide.plan.headland_laps == 2
    assert overlapsim.simulate(wide).areas == overlapsim.simulate(laps).areas


def test_eighty_feet_are_three_laps_of_thirty() -> None:
    """12 rows at 30 in are 30 ft: three laps, the innermost of which has 20 ft of its 30 to plant.

    The interior of 400 m by 800 m begins at 80 ft = 24.384 m: 351.232 m by 751.232 m. Each row is a section,
    so the third lap's 8 outer rows plant and its 4 inner ones (10 ft, beyond the headland) stay off. Row by
    row at 2 1/2 ft the 20 ft come out even, all times are matched and one rank stands at its own offset, so
    along the sides nothing is skipped or planted twice: what is left lies at corners and at pass ends at the
    side, where the last pass reaches over the headland: 351.232 / 9.144 = 38.41, so 39 passes of which the
    last has 0.41 of its width to plant; its rows switch one by one, and the one that straddles the line
    plants up to half of 0.762 m too much or too little over 751.232 m.
    """
    case = scenario(
        one_rank(rows=12), square("400 m", "800 m"), plan={"headland_laps": None, "headland_width": "80 ft"}
    )
    drive = plan_drive(case)
    (zone,) = drive.zones
    assert case.plan.headland_laps == 3
    assert zone.interior[0].bounds == pytest.approx((-175.616, -375.616, 175.616, 375.616), abs=1e-9)
    third = zone.laps[2]
    width = 18.288, 80 * FOOT
    assert third.outer[0].bounds[0] == pytest.approx(-200 + width[0], abs=1e-9)
    assert third.inner[0].bounds[0] == pytest.approx(-200 + width[1], abs=1e-9)
    tracks = [leg.track for leg in drive.legs if leg.kind == "lap" and leg.lap == 2]
    assert min(float(track.place[:, 0].min()) for track in tracks if track) < -200 + 2.5 * 9.144 + 1e-9
    result = overlapsim.simulate(case).areas
    straddling = 0.5 * 0.762 * 751.232
    # Four corners of three laps, one width square each, are more than laps leave and plant twice there.
    corners = 4 * 3 * 9.144**2
    assert result["combined_m2"] < straddling + corners


def test_laps_and_interior_share_nothing_they_should_not() -> None:
    """45 ft of headland and 30 ft of machine: the third zone of 15 ft is planted once, by lap two.

    A rectangle without corners cut off: 400 m by 800 m less 45 ft (13.716 m) all round leaves 372.568 m by
    772.568 m. The second lap stands 13.716 m from the edge, just over the line: its right half (six rows of
    its twelve) is off along the sides, and lap rows laid are 6 x 0.762 = 4.572 m wide there.
    """
    plan = {"headland_laps": None, "headland_width": "45 ft"}
    case = scenario(one_rank(rows=12), square("400 m", "800 m"), plan=plan)
    run = overlapsim.simulate(case)
    planted = run.layers["planted"].geometry
    legs = [leg for leg in run.drive.legs if leg.kind == "lap" and leg.lap == 1]
    middle = shapely.box(-200, -300, -200 + 60 * FOOT, 300)
    assert legs
    inside = sum(float(shapely.area(shapely.intersection(one, middle))) for one in planted)
    # All of the strip is planted once: by laps up to 45 ft, by the first pass from there on.
    assert inside == pytest.approx(60 * FOOT * 600, rel=1e-6)


def test_setting_what_contradicts_takes_it_back() -> None:
    """A heading or a number of laps set later wins over a line or a width; the same ones leave them."""
    case = planned(line={"points": [[10, -300], [10, 300]]}, headland_width="80 ft")
    assert case.with_({"plan.heading": 0.0, "plan.headland_laps": 2}).plan == case.plan
    assert case.with_({"plan.heading": "5 deg"}).plan.line is None
    assert case.with_({"plan.headland_laps": 1}).plan.headland_width is None
    assert case.with_({"plan.through": ["1 m", "1 m"]}).plan.line is None
    assert case.with_({"plan.headland_width": "120 ft"}).plan.headland_laps == 3


@pytest.mark.parametrize(
    ("plan", "key", "words"),
    [
        ({"line": {"points": [[0, 0], [0, 300]]}, "heading": "5 deg"}, "plan.heading", "runs at"),
        ({"line": {"points": [[0, 0], [3, 150], [0, 300]]}}, "plan.line", "3.00 m off the straight line"),
        ({"line": {"points": [[0, 0], [0, 0.5]]}}, "plan.line", "0.50 m apart"),
        ({"line": {"points": [[0, 0]]}}, "plan.line", "two points"),
        ({"line": {"file": "x.geojson"}}, "plan.line", "load_scenario"),
        ({"line": {"points": [[0, 0], [0, 9]], "nam": "x"}}, "plan.line.nam", "no such key"),
        ({"line": {"points": [[0, 0], [0, 9]]}, "through": ["1 m", "1 m"]}, "plan.through", "same as line"),
        ({"line": {"points": [[0, 90e3], [0, 91e3]]}}, "plan.line", "km from the field"),
        ({"through": [12.0, 48.0]}, "plan.through", "not known"),
        ({"through": [48.0, 112.0]}, "plan.through", "no longitude"),
        ({"through": [12.0, "48"]}, "plan.through", "two numbers"),
        ({"through": ["1 s", "1 m"]}, "plan.through", "m"),
        ({"start_side": "north"}, "plan.start_side", "choices"),
        ({"headland_width": 24}, "plan.headland_width", "needs a unit"),
        ({"headland_width": "300 ft"}, "plan.headland_width", "more than 6"),
        ({"headland_width": "80 ft", "headland_laps": 3}, "plan.headland_laps", "needs 2"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_words(plan: dict, key: str, words: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        planned(**plan)
    assert [fault.key for fault in caught.value.faults] == [key]
    assert words in str(caught.value)


@pytest.mark.parametrize(
    "plan",
    [
        {"line": {"points": [[10.1, -300], [12.3, 300]], "name": "North"}},
        {"line": {"points": [[0, 0], [0.01, 50], [0, 100]]}},
        {"through": ["7.1 m", "3 ft"], "heading": "auto"},
        {"headland_width": "100 ft", "start_side": "right"},
    ],
)
def test_inputs_make_an_equal_plan(plan: dict) -> None:
    case = planned(**plan)
    again = Scenario.from_dict(case.to_inputs())
    assert again.plan == case.plan
    assert again.to_inputs() == case.to_inputs()


def test_absent_keys_stay_out_of_the_inputs() -> None:
    assert set(planned(heading="0 deg").to_inputs()["plan"]) == {"heading", "headland_laps", "headland_order"}


def test_a_longitude_and_latitude_lie_where_the_reference_library_says() -> None:
    """A pass through a place in degrees: by pyproj's Geod it is 100 m east of the field's middle.

    Heading north at the middle's own meridian; 100 m on the ellipsoid are 100 m on the plane to 1e-8 of them.
    """
    pyproj = pytest.importorskip("pyproj")
    geod = pyproj.Geod(ellps="WGS84")
    corner = shapely.box(12.0, 48.0, 12.008, 48.006)
    field = Field.from_geometry(corner, "EPSG:4326")
    longitude, latitude, _ = geod.fwd(12.004, 48.003, 90.0, 100.0)
    data = merge(PLAIN, {"machine": one_rank(), "plan": {"through": [longitude, latitude]}})
    case = Scenario.from_dict(data, field=field)
    off = (np.array([leg.across for leg in passes(case)]) - 100.0) / W
    assert np.abs(off - off.round()).max() * W < 1e-3
