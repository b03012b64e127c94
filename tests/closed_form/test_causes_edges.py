"""Where the error comes from, line by line: slanted edges, row setup, sections.

On ends tilted by 12 degrees a strip of width w costs the integral of |error| over its width, with the error
rising by tan(12 deg) per metre to the side.
"""

from __future__ import annotations

from typing import Any

import pytest

import overlapsim
from tests.closed_form.causes_by_hand import ENDS, EQUAL, GROUND, causes, check, settings
from tests.helpers import EXACT, FOOT, INCH, one_rank, scenario, square, two_ranks

SLANTED = square("120 ft", "400 ft", end_angle="12 deg")
TAN = 0.2125565616700221  # of 12 degrees


def strip(first: float, last: float, width: float) -> float:
    """Integral of |error| over a strip whose error runs evenly from one edge to the other."""
    if first * last >= 0:
        return width * abs(first + last) / 2
    return width * (first**2 + last**2) / (abs(first) + abs(last)) / 2


def slanted_end(rows: list[float], width: float, section: int, places: dict[int, float]) -> float:
    """Loss at one tilted end where `section` neighbours switch at the middle of their section (q = 1/2).

    `rows`: strip middles; `places`: error of each row, were the edge square.
    """
    lost = 0.0
    for i, middle in enumerate(rows):
        own = rows[i - i % section : i - i % section + section]
        aside = TAN * ((own[0] + own[-1]) / 2 - middle)
        lost += strip(places[i] + aside + TAN * width / 2, places[i] + aside - TAN * width / 2, width)
    return lost


def test_rows_alone_lose_their_corners_on_a_slant() -> None:
    """16 strips of w = 30 in: w² tan / 4 at each of 6 ends, half of it gap, half beyond the boundary."""
    done = causes(one_rank(), SLANTED)
    by_hand = 6 * 16 * (30 * INCH) ** 2 * TAN / 4
    check(done, by_hand, geometry=1)
    assert done.lines["geometry"]["skip_m2"] == pytest.approx(by_hand / 2, abs=EXACT * GROUND)


@pytest.mark.parametrize(("sections", "width"), [(1, 480), (4, 120), ([8, 4, 4], (240, 120, 120))])
def test_sections_lose_theirs(sections: Any, width: Any) -> None:
    """W² tan / 4 for each section of width W, less what its rows lose alone."""
    done = causes(one_rank(), SLANTED, switching=settings("84 in", sections=sections))
    widths = width if isinstance(width, tuple) else (width,) * (480 // width)
    rows = 16 * 30**2
    by_hand = 6 * INCH**2 * TAN / 4
    check(done, by_hand, geometry=rows, sections=sum(w**2 for w in widths) - rows)


def test_the_switch_fraction_belongs_to_sections() -> None:
    """q = 1 with an inch of tolerance: a row starts with 29 of its 30 in in, and stops with 1 in out.

    29² tan / 2 of gap and 1² tan / 2 beyond the boundary. Alone it loses 15² tan / 2 of both.
    """
    done = causes(one_rank(), SLANTED, switching=settings("84 in", switch_fraction=1.0))
    unit = 6 * 16 * INCH**2 * TAN / 2
    check(done, unit, geometry=2 * 15**2, sections=29**2 + 1 - 2 * 15**2)
    line = done.lines["sections"]
    assert line["skip_m2"] == pytest.approx(unit * (29**2 - 15**2), abs=EXACT * GROUND)
    assert line["off_field_m2"] == pytest.approx(unit * (1 - 15**2), abs=EXACT * GROUND)


@pytest.mark.parametrize("section", [1, 2, 16, 32])
def test_stagger_on_a_slant(section: int) -> None:
    """32 strips of 15 in, every other one of the rear rank, first a rear row; the best number is midway."""
    width = 15 * INCH
    rows = [width * (i - 15.5) for i in range(32)]
    own, midway = dict.fromkeys(range(32), 0.0), {i: 17.5 * INCH * (1 if i % 2 else -1) for i in range(32)}
    alone = 6 * slanted_end(rows, width, 1, own)
    grouped = 6 * slanted_end(rows, width, section, own)
    apart = 6 * slanted_end(rows, width, section, midway)
    done = causes(two_ranks(), SLANTED, switching=settings("101.5 in", sections=32 // section))
    check(done, 1.0, geometry=alone, sections=grouped - alone, stagger=apart - grouped)


def test_stagger_of_rows_alone_on_a_slant() -> None:
    """h = w tan / 2 is less than half of D = 35 in: (D - h) / 2 for each row end."""
    done = causes(two_ranks(), SLANTED, switching=settings("101.5 in"))
    line = done.lines["stagger"]["combined_m2"]
    assert line == pytest.approx(ENDS * (35 - 15 * TAN / 2) / 2 * INCH, rel=EQUAL)


def test_a_row_that_is_off() -> None:
    """15 in on 3 passes of 400 ft. Line 4: 16 rows against 15, so the front rank's number, 35 x 15."""
    done = causes(two_ranks(rows_off=["rear 8"]), switching=settings("84 in"))
    unit = 3 * 15 * INCH
    check(done, unit, setup=400 * FOOT, stagger=2 * 15 * 35 * INCH)
    assert done.lines["setup"]["skip_m2"] == pytest.approx(unit * 400 * FOOT, rel=1e-9)


def test_a_forgotten_hitch_shift() -> None:
    """e = 7.5 in to the left of the planned line on passes north, south, north.

    West: e beyond the boundary; first joint 2 e of gap, second 2 e twice; east: e of gap. All along 400 ft.
    """
    machine = two_ranks(setups={"narrow": {"hitch_shift": "0 in"}})
    done = causes(machine, switching=settings("101.5 in"))
    along = 7.5 * INCH * 400 * FOOT
    line = done.lines["setup"]
    assert line["skip_m2"] == pytest.approx(3 * along, rel=1e-9)
    assert line["overlap_m2"] == pytest.approx(2 * along, rel=1e-9)
    assert line["off_field_m2"] == pytest.approx(along, rel=1e-9)
    for key in ("geometry", "sections", "timing", "updates"):
        assert done.lines[key]["combined_m2"] == pytest.approx(0, abs=EXACT * GROUND)


def test_a_middle_that_guidance_brings_back_is_well_set_up() -> None:
    """The extra row on the left puts the middle 7.5 in left of the pin; guidance steers it back."""
    machine = two_ranks(setups={"narrow": {"hitch_shift": "0 in"}})
    check(causes(machine, switching=settings("101.5 in", lateral_offset="-7.5 in")), stagger=17.5)


def test_a_machine_that_no_hitch_brings_back_is_centred_all_the_same() -> None:
    """Its rank stands 4 m right of the pin: 3 passes of 2 m, each 4 m beside its line, north, south, north.

    In the middle nothing is lost. As it stands they land on 4 to 6, -2 to 0 and 8 to 10 m of a field that
    reaches from 0 to 6 m: 4 m are bare and 4 m lie outside.
    """
    machine = one_rank(2, "1 m", "2 m")
    machine["ranks"]["front"]["right"] = "4 m"
    field = square("6 m", "100 m")
    done = overlapsim.causes(scenario(machine, field, switching=settings("2 m")))
    assert done.lines["geometry"]["combined_m2"] == pytest.approx(0, abs=1e-6)
    assert done.lines["setup"]["skip_m2"] == pytest.approx(400, abs=1e-6)
    assert done.lines["setup"]["off_field_m2"] == pytest.approx(400, abs=1e-6)


def test_deliberate_overlap_takes_a_part_of_what_stagger_loses() -> None:
    """d = 12 in beyond at each end. At midway starts err 5.5 and -29.5, stops 29.5 and -5.5: 5.5 more."""
    done = causes(two_ranks(), switching=settings("101.5 in", deliberate_overlap="12 in"))
    check(done, setup=12, stagger=5.5)
    assert done.lines["setup"]["off_field_m2"] == pytest.approx(12 * ENDS * INCH, rel=1e-9)
    assert done.lines["stagger"]["skip_m2"] == pytest.approx(2.75 * ENDS * INCH, rel=1e-6)


def test_the_wrong_setup_entered_pairs_rows() -> None:
    """Wide entered for narrow: each of its 16 rows stands for a front and a rear row, on a slant."""
    width = 15 * INCH
    rows = [width * (i - 15.5) for i in range(32)]
    own = dict.fromkeys(range(32), 0.0)
    alone, paired = (6 * slanted_end(rows, width, n, own) for n in (1, 2))
    done = causes(two_ranks(), SLANTED, switching=settings("101.5 in", sections=16, entered_setup="wide"))
    midway = {i: 17.5 * INCH * (1 if i % 2 else -1) for i in range(32)}
    apart = 6 * slanted_end(rows, width, 2, midway)
    check(done, 1.0, geometry=alone, setup=paired - alone, stagger=apart - paired)


def test_one_rank_of_two_works_while_both_are_entered() -> None:
    """Front rows only, narrow entered: nothing stands apart, and 90 in is 6 in too much."""
    machine = two_ranks(setup="wide")
    done = causes(machine, switching=settings("90 in", entered_setup="narrow", sections=32))
    check(done, offset=6)
    assert not done.compromised


def test_a_rank_of_which_no_row_plants_stands_nowhere() -> None:
    """All rear rows off, their number entered: front rows 35 in late, 16 strips of 32: no stagger."""
    rear = [f"rear {number}" for number in range(1, 17)]
    done = causes(two_ranks(rows_off=rear), switching=settings("119 in"))
    assert not done.compromised
    assert done.lines["setup"]["skip_m2"] == pytest.approx(GROUND / 2, rel=1e-9)
    assert done.lines["stagger"]["combined_m2"] == 0.0
    assert done.lines["offset"]["combined_m2"] == pytest.approx(ENDS / 2 * 35 * INCH, abs=EXACT * GROUND)
