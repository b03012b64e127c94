"""The middle of the working width off the planned line, and the wrong setup entered.

16 + 16 rows with the extra row on the left: the middle of the 32 strips lies 7.5 in left of the pin
(m0 = -7.5 in). The real middle runs e = m0 + hitch shift - lateral offset right of the planned line.
Passes alternate in direction, so joints are alternately 2e too wide and 2e too narrow, all along. With e to
the right the first pass (northward, at the west side) runs e too far east, the second e too far west: the
first joint overlaps. An offset for each rank leaves no error at the row ends.
"""

from __future__ import annotations

import pytest

from overlapsim import simulate
from tests.helpers import FOOT, INCH, areas, check, inches, one_rank, scenario, square, two_ranks

LONG = 400 * FOOT
OWN = {"reference_offset": {"front": "84 in", "rear": "119 in"}}


def joints(passes: int, shift_in: float) -> dict[str, float]:
    """Skip, overlap and off-field of the joints and the two long sides, by hand, m²."""
    unit = abs(shift_in) * INCH * LONG
    odd, even = (passes // 2, (passes - 1) // 2)  # joints 1, 3, ... and 2, 4, ...
    found = {"skip_m2": 0.0, "overlap_m2": 0.0, "off_field_m2": 0.0}
    found["overlap_m2" if shift_in > 0 else "skip_m2"] += odd * 2 * unit
    found["skip_m2" if shift_in > 0 else "overlap_m2"] += even * 2 * unit
    found["skip_m2" if shift_in > 0 else "off_field_m2"] += unit  # west side, first pass northward
    outward = (shift_in > 0) == (passes % 2 == 1)  # last pass: to the east when it errs east
    found["off_field_m2" if outward else "skip_m2"] += unit
    return found


@pytest.mark.parametrize("passes", [3, 4])
@pytest.mark.parametrize(
    ("shift", "lateral", "error"),
    [(0, 0, -7.5), (7.5, 0, 0), (0, -7.5, 0), (7.5, -7.5, 7.5), (0, 7.5, -15), (2.5, 0, -5)],
    ids=["forgotten", "hitch", "guidance", "both", "wrong way", "too little"],
)
def test_forgotten_and_double_recentring(shift: float, lateral: float, error: float, passes: int) -> None:
    """By the hitch alone or by guidance alone nothing is left; forgotten and doubled it is 7.5 in."""
    result = areas(
        two_ranks(setups={"narrow": {"hitch_shift": inches(shift)}}),
        square(inches(480 * passes), "400 ft"),
        switching={**OWN, "lateral_offset": inches(lateral)},
    )
    width = passes * 40 * FOOT
    check(result, width * LONG, planted_m2=width * LONG, **joints(passes, error))


def test_what_the_joints_lose_is_booked_at_the_joints() -> None:
    """Forgotten, 4 passes: joints 1 and 3 gape 15 in, joint 2 overlaps 15 in; by place it adds up."""
    simulation = simulate(
        scenario(
            two_ranks(setups={"narrow": {"hitch_shift": "0 in"}}), square("160 ft", "400 ft"), switching=OWN
        )
    )
    strip = 15 * INCH * LONG
    places = simulation.to_dict()["by_place"]
    # "Away from the ends" may leave out a working width at each end of a pass.
    assert strip * 2 * (1 - 80 / 400) - 1e-6 <= places["joints"]["skip_m2"] <= 2 * strip + 1e-6
    assert strip * (1 - 80 / 400) - 1e-6 <= places["joints"]["overlap_m2"] <= strip + 1e-6
    for key in ("skip_m2", "overlap_m2"):
        assert sum(place[key] for place in places.values()) == pytest.approx(simulation.areas[key], abs=1e-6)


def test_thirty_one_rows_need_no_recentring() -> None:
    """16 + 15 rows, the rear rank centred: nothing to shift, and nothing is left."""
    result = areas(two_ranks(16, 15), square(inches(465 * 4), "400 ft"), switching=OWN)
    check(result, 4 * 465 * INCH * LONG, skip_m2=0, overlap_m2=0, off_field_m2=0)


def test_wide_and_narrow_have_the_same_width() -> None:
    """16 rows at 30 in become 32 at 15 in: 40 ft both, and as many passes."""
    for setup in ("wide", "narrow"):
        simulation = simulate(scenario(two_ranks(setup=setup), square("160 ft", "400 ft")))
        assert simulation.working_width_m == pytest.approx(40 * FOOT, abs=1e-12)
        assert simulation.pass_count == 4


def test_wide_entered_while_narrow_works() -> None:
    """Same width, rows in pairs, one reference: the front rank's 84 in. The rear rank errs 35 in per end."""
    result = areas(
        two_ranks(), square("160 ft", "400 ft"), switching={"entered_setup": "wide", "sections": 16}
    )
    half = 4 * 16 * 15 * INCH * 35 * INCH
    check(result, 160 * FOOT * LONG, skip_m2=half, off_field_m2=half, overlap_m2=0)


def test_narrow_entered_while_wide_works() -> None:
    """Midway, 101.5 in, is still entered: the front rank's 16 strips of 30 in are 17.5 in late."""
    result = areas(
        two_ranks(setup="wide"),
        square("160 ft", "400 ft"),
        switching={"entered_setup": "narrow", "sections": 16, "reference_offset": "101.5 in"},
    )
    half = 4 * 40 * FOOT * 17.5 * INCH
    check(result, 160 * FOOT * LONG, skip_m2=half, off_field_m2=half, overlap_m2=0)


def test_entered_setup_sets_the_distance_between_passes() -> None:
    """31 rows at 15 in (465 in) driven on lines 480 in apart: 15 in is left at each joint, 7.5 at each side.

    Reference midway: every row is 17.5 in late or early, half of them skip at the start and the other half
    at the stop: 17.5 in x 465 in of skip and as much off-field per pass; every row is as long as the field.
    """
    result = areas(
        two_ranks(16, 15),
        square("160 ft", "400 ft"),
        switching={"entered_setup": "wide", "sections": 16, "reference_offset": "101.5 in"},
    )
    ends = 4 * 465 * INCH * 17.5 * INCH
    check(
        result,
        160 * FOOT * LONG,
        skip_m2=ends + 4 * 15 * INCH * LONG,
        off_field_m2=ends,
        overlap_m2=0,
        planted_m2=4 * 465 * INCH * LONG,
    )


def test_entered_setup_may_be_narrower_than_the_machine() -> None:
    """16 rows at 30 in (480 in) driven on lines 465 in apart: 15 in twice at 3 joints, 7.5 out at 2 sides."""
    result = areas(
        two_ranks(16, 15, setup="wide"),
        square(inches(4 * 465), "400 ft"),
        switching={"entered_setup": "narrow", "sections": "each-row"},
    )
    check(
        result,
        4 * 465 * INCH * LONG,
        skip_m2=0,
        overlap_m2=3 * 15 * INCH * LONG,
        off_field_m2=15 * INCH * LONG,
    )


def test_entered_setup_brings_its_own_numbers() -> None:
    """[switching.wide] holds the wide setup's offset; entered wide, it is what the machine is switched by."""
    tables = {"reference_offset": "101.5 in", "sections": 16, "wide": {"reference_offset": "84 in"}}
    field = square("160 ft", "400 ft")
    right = areas(two_ranks(), field, switching={**tables})
    wrong = areas(two_ranks(), field, switching={**tables, "entered_setup": "wide"})
    assert right["longest_gap_m"] == pytest.approx(17.5 * INCH, abs=1e-12)
    assert wrong["longest_gap_m"] == pytest.approx(35 * INCH, abs=1e-12)


def test_machine_with_a_rank_off_its_centreline() -> None:
    """One rank standing 10 in right: m0 = +10 in; a lateral offset of +10 in steers it back."""
    machine = one_rank(4)
    machine["ranks"]["front"]["right"] = "10 in"
    field = square("40 ft", "400 ft")
    left = areas(machine, field, switching={"lateral_offset": "10 in"})
    check(left, 40 * FOOT * LONG, skip_m2=0, overlap_m2=0, off_field_m2=0)
    astray = areas(machine, field)
    check(astray, 40 * FOOT * LONG, **joints(4, 10))
