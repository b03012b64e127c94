"""How many passes, where they lie, which strip a row owns, what a row that is off leaves."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from overlapsim import simulate
from tests.helpers import ACRE, FOOT, INCH, areas, check, inches, one_rank, scenario, square, two_ranks

LONG = 400 * FOOT
EVEN = {"reference_offset": "84 in"}


@pytest.mark.parametrize(
    ("beyond_mm", "passes"), [(-500, 10), (0, 10), (0.5, 10), (0.99, 10), (1.01, 11), (2, 11), (900, 11)]
)
def test_pass_count(beyond_mm: float, passes: int) -> None:
    """Passes of 10 ft over 100 ft and a bit: ceil((extent - 1 mm) / W). Up to 1 mm asks for no pass more."""
    width = 100 * FOOT + beyond_mm / 1000
    simulation = simulate(scenario(one_rank(4), square(f"{width!r} m", "400 ft")))
    assert simulation.pass_count == passes
    assert simulation.lap_count == 0
    assert simulation.working_width_m == pytest.approx(10 * FOOT, abs=1e-12)


def test_last_pass_partly_outside_plants_row_by_row() -> None:
    """104 ft: the 11th pass has rows at 100-102.5, 102.5-105 ...: row 1 in, row 2 0.6 in and on, rest off.

    Row 2 drops 1 ft x 400 ft beyond the side. With 103.6 ft it has 0.44 of its strip in and is off: 1.1 ft
    skip.
    """
    wider = areas(one_rank(4), square("104 ft", "400 ft"))
    check(wider, 104 * FOOT * LONG, skip_m2=0, off_field_m2=1 * FOOT * LONG)
    narrower = areas(one_rank(4), square("103.6 ft", "400 ft"))
    check(narrower, 104 * FOOT * LONG, skip_m2=1.1 * FOOT * LONG, off_field_m2=0)


def test_passes_alternate_and_start_at_the_left() -> None:
    """Heading 90 deg: the first pass runs east along the north side, the next back west, south of it."""
    simulation = simulate(scenario(one_rank(4), square("400 ft", "30 ft"), plan={"heading": "90 deg"}))
    passes = simulation.layers["passes"]
    lines = [shapely.get_coordinates(line) for line in passes.geometry]
    assert [int(leg) for leg in passes.columns["leg"]] == [1, 2, 3]
    assert [bool(line[-1, 0] > line[0, 0]) for line in lines] == [True, False, True]
    np.testing.assert_allclose([line[:, 1].mean() / FOOT for line in lines], [10, 0, -10], atol=1e-9)
    assert set(passes.columns["kind"]) == {"pass"}


@pytest.mark.parametrize("angle", [0, 20])
def test_a_pass_starts_and_ends_outside_the_field(angle: float) -> None:
    """By max(a, r) + v max(times, latencies, delay + T) + d + 1 m, over the full swath.

    r = 100 in (behind a = 84 in), the higher speed 6 mph = 105.6 in/s, 0.9 s of latency (delay + T are 0.5),
    d = 6 in. A tilted end reaches half a swath (60 in) x tan(20 deg) farther, seen from the planned line.
    """
    simulation = simulate(
        scenario(
            one_rank(4),
            square("20 ft", "400 ft", end_angle=f"{angle} deg"),
            speed={"at_off": "6 mph"},
            switching={"reference_offset": "100 in", "deliberate_overlap": "6 in"},
            controller={"update_rate": "5 Hz", "position_delay": "0.3 s"},
            response={"on_latency": "0.4 s", "off_latency": "0.9 s"},
        )
    )
    beyond = 200 * 12 + 100 + 0.9 * 105.6 + 6 + 1 / INCH + 60 * math.tan(math.radians(angle))
    for number, line in enumerate(simulation.layers["passes"].geometry):
        way = 1 if number == 0 else -1
        along = shapely.get_coordinates(line)[:, 1] / INCH
        # The planned line itself meets the tilted end 60 in west or east of the field's middle.
        middle = -60 * way * math.tan(math.radians(angle))
        assert list(along) == pytest.approx([middle - way * beyond, middle + way * beyond], abs=1e-8)


@pytest.mark.parametrize("azimuth", [0, 37, 90, 143.5, 179])
@pytest.mark.parametrize("turned", [0, 1])
def test_auto_heading_lies_along_the_long_side(azimuth: float, turned: int) -> None:
    """A rectangle of 200 m x 50 m whose long side points `azimuth` deg: that heading, in [0, 180)."""
    angle = math.radians(azimuth)
    along = np.array([math.sin(angle), math.cos(angle)])
    right = np.array([math.cos(angle), -math.sin(angle)])
    corners = [x * along + y * right for x, y in [(-100, -25), (100, -25), (100, 25), (-100, 25)]]
    polygon = np.roll(corners, turned, axis=0).tolist()
    simulation = simulate(scenario(one_rank(4), {"polygon": polygon}, plan={"heading": "auto"}))
    first = shapely.get_coordinates(simulation.layers["passes"].geometry[0])
    way = first[-1] - first[0]
    way /= math.hypot(*way)
    # Rounding of corners 100 m out turns the smallest rectangle by some 1e-15 / 1e2; 0 may come out as 180.
    assert abs(abs(way @ along) - 1) < 1e-12
    if azimuth not in (0,):
        assert way @ along > 0
    assert simulation.pass_count == math.ceil((50 - 0.001) / (10 * FOOT))


def test_a_row_that_is_off_leaves_its_strip() -> None:
    """Rear row 3 of 16 + 16 is locked up: 3 passes x 15 in x 400 ft of gap. It has no row ends."""
    own = {"reference_offset": {"front": "84 in", "rear": "119 in"}}
    tables = {"switching": own}
    case = scenario(two_ranks(rows_off=["rear 3"]), square("120 ft", "400 ft"), **tables)
    simulation = simulate(case)
    gap = 3 * 15 * INCH * LONG
    check(simulation.areas, 120 * FOOT * LONG, skip_m2=gap, off_field_m2=0, overlap_m2=0)
    columns = simulation.row_ends.columns
    assert ("rear", 3) not in set(zip(columns["rank"], (int(row) for row in columns["row"]), strict=True))
    assert len(columns["row"]) == 3 * 31 * 2


def test_a_row_that_is_off_errs_nowhere() -> None:
    """All of the rear rank off: the worst row is the front rank's, and the gap at its ends is none."""
    off = [f"rear {row}" for row in range(1, 17)]
    result = areas(two_ranks(rows_off=off), square("120 ft", "400 ft"))
    check(result, LONG, worst_row_error_m=0, longest_gap_m=0, missing_row_m=0)
    check(result, 120 * FOOT * LONG, skip_m2=3 * 16 * 15 * INCH * LONG)


@pytest.mark.parametrize(("row", "strip"), [(1, 36), (2, 30), (4, 36)])
def test_stated_working_width_goes_to_the_outer_strips(row: int, strip: float) -> None:
    """4 rows at 30 in are 120 in wide; 132 in stated: the outer strips are 36 in, and passes 11 ft apart."""
    machine = one_rank(4)
    machine["setups"]["wide"]["working_width"] = "11 ft"
    machine["rows_off"] = [f"front {row}"]
    simulation = simulate(scenario(machine, square("44 ft", "400 ft")))
    assert simulation.working_width_m == pytest.approx(11 * FOOT, abs=1e-12)
    assert simulation.pass_count == 4
    check(simulation.areas, 44 * FOOT * LONG, skip_m2=4 * strip * INCH * LONG, off_field_m2=0)


def test_stated_working_width_may_be_narrower() -> None:
    """4 rows at 30 in on 114 in: outer strips of 27 in."""
    machine = one_rank(4)
    machine["setups"]["wide"]["working_width"] = "114 in"
    machine["rows_off"] = ["front 4"]
    result = areas(machine, square(inches(4 * 114), "400 ft"))
    check(result, 44 * FOOT * LONG, skip_m2=4 * 27 * INCH * LONG, off_field_m2=0)


def test_strips_of_uneven_rows() -> None:
    """Ranks of 3 rows at 40 in, the second 10 in right of the first: lines at -40 -30 0 10 40 50 in.

    Half-way to each neighbour: strips of 10, 20, 20, 20, 20, 10 in: 100 in in all.
    """
    machine = one_rank(3, "40 in")
    machine["ranks"]["rear"] = {"rows": 3, "spacing": "40 in", "behind_pin": "85 in", "right": "10 in"}
    machine["setups"]["both"] = {"ranks": ["front", "rear"], "hitch_shift": "-5 in"}
    machine["setup"] = "both"
    own = {"reference_offset": {"front": "84 in", "rear": "85 in"}}
    strips = {"front 1": 10, "rear 1": 20, "front 2": 20, "rear 2": 20, "front 3": 20, "rear 3": 10}
    for name, strip in strips.items():
        result = areas({**machine, "rows_off": [name]}, square("500 in", "400 ft"), switching=own)
        check(result, 500 * INCH * LONG, skip_m2=5 * strip * INCH * LONG, off_field_m2=0)


def test_a_lone_row_has_its_ranks_spacing() -> None:
    """One row at 30 in: passes 30 in apart."""
    simulation = simulate(scenario(one_rank(1), square("10 ft", "400 ft")))
    assert simulation.pass_count == 4
    check(simulation.areas, 10 * FOOT * LONG, skip_m2=0, off_field_m2=0)


def test_seventy_two_rows() -> None:
    """72 rows at 20 in: 120 ft, the widest there is; 4 in late at both ends of 3 passes."""
    result = areas(one_rank(72, "20 in"), square("360 ft", "400 ft"), switching={"reference_offset": "88 in"})
    half = 360 * FOOT * 4 * INCH
    check(result, 360 * FOOT * LONG, skip_m2=half, off_field_m2=half)


def test_textbook_field_is_eighty_acres() -> None:
    """No field given: 1320 ft x 2640 ft, 80 acres; 33 passes of 40 ft, and nothing left to want."""
    simulation = simulate(scenario(one_rank(16), None))
    assert simulation.plantable_m2 == pytest.approx(80 * ACRE, rel=1e-12)
    assert simulation.pass_count == 33
    check(simulation.areas, 80 * ACRE, skip_m2=0, overlap_m2=0, off_field_m2=0)


@pytest.mark.parametrize("machine", [one_rank(16), two_ranks(setup="wide")], ids=["one", "of two"])
def test_concave_field_is_one_leg_per_line(machine: dict) -> None:
    """A U of 120 ft by 400 ft with 300 ft cut out of its middle 40 ft: 3 legs, all ends square."""
    corners = [(0, 0), (120, 0), (120, 400), (80, 400), (80, 100), (40, 100), (40, 400), (0, 400)]
    polygon = [[x * FOOT, y * FOOT] for x, y in corners]
    result = simulate(scenario(machine, {"polygon": polygon}, switching={"reference_offset": "90 in"}))
    assert result.pass_count == 3
    half = 120 * FOOT * 6 * INCH
    check(result.areas, 120 * FOOT * LONG, skip_m2=half, off_field_m2=half, overlap_m2=0)


def test_a_leg_meets_the_edge_several_times() -> None:
    """The same U driven across: north of the notch each line has two pieces, and switches four times."""
    corners = [(0, 0), (400, 0), (400, 120), (300, 120), (300, 40), (100, 40), (100, 120), (0, 120)]
    polygon = [[x * FOOT, y * FOOT] for x, y in corners]
    simulation = simulate(
        scenario(
            one_rank(16),
            {"polygon": polygon},
            plan={"heading": "90 deg"},
            switching={"reference_offset": "90 in"},
        )
    )
    assert len(simulation.row_ends.columns["leg"]) == 16 * (4 + 4 + 2)
    half = (2 + 2 + 1) * 40 * FOOT * 6 * INCH
    check(simulation.areas, 400 * FOOT * 120 * FOOT, skip_m2=half, off_field_m2=half, overlap_m2=0)
