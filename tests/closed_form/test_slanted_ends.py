"""Slanted ends: one section switches for its whole width, and the edge runs across at an angle.

A field with both ends tilted by theta and sides along the passes. A section of width W switches where the
fraction q of its line has come onto the ground. Measured from that place, the edge leaves a triangle
q W wide and q W tan(theta) long of ground that is not planted, and on the other side one of (1 - q) W that
is planted beyond the edge. So per end

    skip = q² W² tan(theta) / 2        off-field = (1 - q)² W² tan(theta) / 2

With each row on its own, W is one row strip, and there are as many ends as rows.
"""

from __future__ import annotations

import math

import pytest

from overlapsim import simulate
from tests.helpers import FOOT, INCH, areas, check, inches, one_rank, scenario, square, two_ranks

LONG = 300 * FOOT


def slanted(width_in: float, angle_deg: float) -> dict:
    return square(inches(width_in), "300 ft", end_angle=f"{angle_deg!r} deg")


@pytest.mark.parametrize("angle", [30, -30, 4, -55])
@pytest.mark.parametrize("sections", [1, 2, "each-row"])
@pytest.mark.parametrize("q", [0, 0.25, 0.5, 1])
def test_skip_and_off_field_of_a_slanted_end(q: float, sections: int | str, angle: float) -> None:
    """4 rows at 30 in, 6 passes. An edge tolerance t makes q = 0 mean t/W and q = 1 mean 1 - t/W.

    t = 0.01 in here, so that the effective fractions are 0 and 1 but for it; it is in the hand's numbers.
    """
    count = 4 if sections == "each-row" else int(sections)
    width = 120 * INCH / count
    fraction = min(max(q, 0.01 * INCH / width), 1 - 0.01 * INCH / width)
    result = areas(
        one_rank(4),
        slanted(6 * 120, angle),
        switching={"switch_fraction": q, "sections": sections},
        controller={"edge_tolerance": "0.01 in"},
    )
    triangle = 6 * 2 * count * width**2 * math.tan(math.radians(abs(angle))) / 2
    check(
        result,
        60 * FOOT * LONG,
        skip_m2=fraction**2 * triangle,
        off_field_m2=(1 - fraction) ** 2 * triangle,
        overlap_m2=0,
    )


def test_default_edge_tolerance_counts_less_than_an_inch_as_none() -> None:
    """q = 0, one section of 120 in: "on" comes when 1 in of the line is on the ground: q is 1/120."""
    result = areas(one_rank(4), slanted(720, 30), switching={"switch_fraction": 0, "sections": 1})
    triangle = 6 * 2 * (120 * INCH) ** 2 * math.tan(math.radians(30)) / 2
    check(result, 60 * FOOT * LONG, skip_m2=triangle / 120**2, off_field_m2=triangle * (119 / 120) ** 2)


@pytest.mark.parametrize("angle", [30, -30])
def test_rows_on_the_side_where_the_edge_lies_farther_ahead_are_early(angle: float) -> None:
    """One section, q = 1/4: row errors are (right_q - right_i) tan(theta), right_q = -60 in + q 120 in.

    At "off" the fraction counts from the other side: -60 in + (1 - q) 120 in; for theta < 0 both mirrored.
    """
    simulation = simulate(
        scenario(one_rank(4), slanted(720, angle), switching={"switch_fraction": 0.25, "sections": 1})
    )
    columns = simulation.row_ends.columns
    assert len(columns["leg"]) == 6 * 4 * 2
    for row, kind, error in zip(columns["row"], columns["event"], columns["error_m"], strict=True):
        right = (-45 + 30 * (row - 1)) * INCH
        switches = -30 if kind == "on" else 30
        if angle < 0:
            switches = -switches
        expected = (switches * INCH - right) * math.tan(math.radians(angle))
        assert error == pytest.approx(expected, abs=1e-9)


def positive(distance: float, half: float) -> float:
    """The mean of the positive part of distance + z, z spread evenly from -half to half."""
    if distance >= half:
        return distance
    return 0.0 if distance <= -half else (distance + half) ** 2 / (4 * half)


@pytest.mark.parametrize("late", [0, 10, -10, 34, 50, -50])
def test_mean_error_of_a_row_end_on_a_slant(late: float) -> None:
    """One rank, one section of W = 120 in, q = 1/2, r - a = x: mean |error| is (x² + h²)/(2h), or |x|.

    h = W tan(theta)/2 = 34.64 in at 30 deg: the errors of the spots across the end are spread evenly over
    x - h .. x + h. The mean of their positive parts is (x + h)²/(4h), of their negative ones (h - x)²/(4h).
    """
    half = 60 * math.tan(math.radians(30))
    result = areas(
        one_rank(4),
        slanted(720, 30),
        switching={"reference_offset": inches(84 + late), "sections": 1},
    )
    mean = abs(late) if abs(late) >= half else (late**2 + half**2) / (2 * half)
    ends = 6 * 2 * 120 * INCH * INCH
    check(result, 60 * FOOT * LONG, combined_m2=ends * mean)
    both = 6 * 120 * INCH * INCH * (positive(late, half) + positive(-late, half))
    check(result, 60 * FOOT * LONG, skip_m2=both, off_field_m2=both)


@pytest.mark.parametrize(("angle", "behind"), [(4, 35), (-4, 35), (12, 35), (-30, 35), (4, 20)])
def test_stagger_at_midway_on_a_slant(angle: float, behind: float) -> None:
    """16 + 15 rows, one section of W = 465 in, the reference midway: stagger adds (D - h)/2 or D²/(8h).

    h = 232.5 in x tan(theta). The two ranks lie symmetrically about the middle, so at midway (x = +-D/2)
    they err like mirror images and their strips make up the whole width: the mean is |x| = D/2 for
    h <= D/2, else (x² + h²)/(2h). Without stagger (x = 0) it is h/2. The difference is (D - h)/2, or
    D²/(8h).
    """
    half = 232.5 * abs(math.tan(math.radians(angle)))
    machine = two_ranks(16, 15, ranks={"rear": {"behind_pin": inches(84 + behind)}})
    field = slanted(3 * 465, angle)
    tables = {"reference_offset": inches(84 + behind / 2), "sections": 1}
    together = areas(machine, field, switching=tables)["combined_m2"]
    same_place = areas(one_rank(31, "15 in", "84 in"), field, switching={"sections": 1})["combined_m2"]
    ends = 3 * 2 * 465 * INCH * INCH
    scale = 3 * 465 * INCH * LONG
    check({"base": same_place}, scale, base=ends * half / 2)
    added = (behind - half) / 2 if half <= behind / 2 else behind**2 / (8 * half)
    check({"added": together - same_place}, scale, added=ends * added)


def integral(late: float, left: float, right: float, slope: float) -> float:
    """The integral of |late - slope z| dz from left to right: from y|y|/2, whose derivative is |y|."""

    def half_square(y: float) -> float:
        return y * abs(y) / 2

    return (half_square(late - slope * left) - half_square(late - slope * right)) / slope


@pytest.mark.parametrize("offset", [70, 84, 97, 101.5, 119, 140])
@pytest.mark.parametrize("angle", [3, -12, 30])
def test_two_ranks_on_a_slant_strip_by_strip(angle: float, offset: float) -> None:
    """16 + 16 rows, one section: every strip's |(r - a) - z tan(theta)| summed up, z right of the middle.

    Front strips are centred at z = -217.5, -187.5 ... 232.5 in, rear ones 15 in left of them (an extra row
    on the left, re-centred by 7.5 in).
    """
    slope = math.tan(math.radians(angle))
    total = 0.0
    for row in range(16):
        for behind, right in ((84, -217.5 + 30 * row), (119, -232.5 + 30 * row)):
            total += integral(offset - behind, right - 7.5, right + 7.5, slope)
    result = areas(
        two_ranks(),
        slanted(3 * 480, angle),
        switching={"reference_offset": inches(offset), "sections": 1},
    )
    check(result, 120 * FOOT * LONG, combined_m2=3 * 2 * total * INCH**2)
