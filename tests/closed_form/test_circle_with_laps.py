"""A round field: closed laps without a single command, and passes that end on the inner circle.

The circle is a regular polygon of n sides with apothem a (the distance of its sides from the middle).
Eroded by d it is the same polygon with apothem a - d; between two of them lies n tan(pi/n) (a1^2 - a2^2). A
vertex turns by 360/n degrees: no corner, so every lap is one closed leg, always on its own ground and never
switched. On rails each row's strip is the ring between two such polygons, whatever reference offset and
times are.

Passes start and stop where half of a row's width is inside the inner polygon. Over a row's strip the border
is monotone (the machine has an even number of rows and its lines lie evenly round the middle, so no strip
holds the top of the circle), so that happens on its middle line; with times matched and r = a each strip
leaves and drops the integral of |y(x) - y(middle)| over its width, y(x) the border: a polyline, integrated
exactly between its own vertices. What is dropped falls on the laps' ground. The border is curved, so skip and
overlap are not the same and both are summed on their own.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

import overlapsim
from tests.helpers import EXACT, INCH, inches, one_rank, scenario, two_ranks

SIDES, ROW = 90, 30 * INCH
WIDTH = 16 * ROW
LAPS, PASSES = 2, 10
# Passes fill the inner polygon exactly: its leftmost and rightmost points are vertices, a' / cos(pi/n) out.
OUT = PASSES * WIDTH / 2
INNER = OUT * math.cos(math.pi / SIDES)
APOTHEM = INNER + LAPS * WIDTH


def polygon(apothem: float, sides: int = SIDES) -> np.ndarray:
    """Vertices of the regular polygon, anticlockwise, one of them due east; metres."""
    angle = 2 * math.pi * np.arange(sides) / sides
    reach = apothem / math.cos(math.pi / sides)
    return reach * np.column_stack([np.cos(angle), np.sin(angle)])


def ring_m2(outer: float, inner: float, sides: int = SIDES) -> float:
    """Area between two regular polygons of the given apothems, m²."""
    return sides * math.tan(math.pi / sides) * (outer**2 - inner**2)


def run(machine: dict, order: str, sides: int = SIDES, **tables: object) -> overlapsim.Simulation:
    plan = {"headland_laps": LAPS, "headland_order": order}
    return overlapsim.simulate(
        scenario(machine, {"polygon": polygon(APOTHEM, sides).tolist()}, plan=plan, **tables)
    )


@pytest.mark.parametrize("order", ["first", "last"])
@pytest.mark.parametrize("offset", [84.0, 140.0])
def test_closed_laps_have_no_commands_and_exact_rings(order: str, offset: float) -> None:
    late = {"reference_offset": inches(offset), "turn_on_time": "0.1 s", "sections": 8}
    done = run(one_rank(), order, switching=late, response={"on_latency": "0.6 s"})
    laps = [leg for leg in done.drive.legs if leg.kind == "lap"]
    assert [leg.closed for leg in laps] == [True, True]
    assert not set(done.row_ends.columns["leg"]) & {leg.number for leg in laps}
    areas = shapely.area(done.lap_strips.polygon)
    for leg in laps:
        for row in range(16):
            own = (done.lap_strips.leg == leg.number - 1) & (done.lap_strips.row == row)
            outer = APOTHEM - leg.lap * WIDTH - row * ROW  # the boundary is on the left
            assert areas[own].sum() == pytest.approx(ring_m2(outer, outer - ROW), rel=EXACT)


def beside_passes(rows: np.ndarray) -> tuple[float, float]:
    """Skip and overlap of one end of rows with the given right-hand borders' places across, m²."""
    inner = polygon(INNER)
    upper = inner[inner[:, 1] >= -1e-9]
    x, y = upper[np.argsort(upper[:, 0])].T
    skip = overlap = 0.0
    for left in rows:
        level = np.interp(left + ROW / 2, x, y)
        knots = np.concatenate([[left, left + ROW / 2, left + ROW], x[(left < x) & (x < left + ROW)]])
        knots = np.unique(knots)
        apart = np.interp(knots, x, y) - level
        # Monotone: it changes its sign on the middle line only, which is a knot.
        pieces = (apart[1:] + apart[:-1]) / 2 * np.diff(knots)
        skip += pieces[pieces > 0].sum()
        overlap -= pieces[pieces < 0].sum()
    return skip, overlap


@pytest.mark.parametrize("order", ["first", "last"])
def test_passes_end_on_the_inner_circle(order: str) -> None:
    done = run(one_rank(), order)
    assert done.pass_count == PASSES
    skip, overlap = beside_passes(-OUT + ROW * np.arange(PASSES * 16))
    ground = ring_m2(APOTHEM, 0.0)
    assert done.plantable_m2 == pytest.approx(ground, rel=EXACT)
    assert skip > 10.0
    assert done.areas["skip_m2"] == pytest.approx(2 * skip, abs=EXACT * ground)
    assert done.areas["overlap_m2"] == pytest.approx(2 * overlap, abs=EXACT * ground)
    assert done.areas["off_field_m2"] == pytest.approx(0.0, abs=EXACT * ground)
    assert done.witness.largest_relative_difference < 1e-9


@pytest.mark.parametrize("sides", [360, 2000])
def test_a_finer_circle_is_driven_within_two_centimetres(sides: int) -> None:
    """A path of fewer points may miss its curve by 2 cm; every row follows it with the same miss.

    So a row's ring is wrong by no more than 2 cm in its radius: area = width x length, and a length is
    wrong by 2 pi x 2 cm at the most. Beyond the boundary falls no more than 2 cm all the way round.
    """
    done = run(two_ranks(), "first", sides, switching={"reference_offset": {
        "front": "84 in", "rear": "119 in"}})  # fmt: skip
    assert [leg.closed for leg in done.drive.legs if leg.kind == "lap"] == [True, True]
    strip = ROW / 2
    areas = shapely.area(done.lap_strips.polygon)
    for lap in range(LAPS):
        for row in range(32):
            own = (done.lap_strips.leg == lap) & (done.lap_strips.row == row)
            outer = APOTHEM - lap * WIDTH - row * strip
            near = 2 * math.pi * 0.02 * strip
            assert areas[own].sum() == pytest.approx(ring_m2(outer, outer - strip, sides), abs=near)
    assert done.areas["off_field_m2"] <= 2 * math.pi * APOTHEM * 0.02
    assert done.witness.largest_relative_difference < 1e-9
