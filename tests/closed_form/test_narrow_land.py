"""A strip of land narrower than the machine, and land that laps alone fill.

32 rows of 15 in, 40 ft together, an offset for each rank and times matched: rows start and stop where they
should, so all that is left is a matter of which ground is whose. Land 300 m long, sides along the passes.

- No laps: one pass, flush with the western side. Rows with more than half of their strip on the land plant.
- A lap runs half a working width inside; in land narrower than that twice there is no such place, and no
  interior either: nothing is planted, and all of it is said to be unreached.
- Up to two working widths a lap is a ring, its second long leg beside the first: what is held as planted
  already stays switched off, row by row. With whole rows left over nothing is lost along it. Below two widths
  both corners of a short side lie within one working width of way and are one bend, on which the machine
  swings round: a little is lost there, less than half a row's width of the short side. At two widths the
  bends part, and nothing is lost at all.
- Between two and four widths the first lap leaves an interior narrower than the machine, where a second one
  has no path: it stays unplanted, and is said to be unreached.
"""

from __future__ import annotations

import pytest
import shapely

import overlapsim
from tests.helpers import EXACT, INCH, block, scenario, two_ranks

ROW, LENGTH = 15 * INCH, 300.0
WIDTH = 32 * ROW


def run(rows: float, laps: int, order: str = "first", **field: object) -> overlapsim.Simulation:
    """Land of so many rows' width."""
    done = overlapsim.simulate(
        scenario(
            two_ranks(),
            {"polygon": block(0, 0, rows * ROW, LENGTH), **field},
            plan={"headland_laps": laps, "headland_order": order},
            switching={"reference_offset": {"front": "84 in", "rear": "119 in"}},
        )
    )
    assert done.witness.largest_relative_difference < 1e-9
    return done


def areas(done: overlapsim.Simulation) -> list[float]:
    return [done.areas[key] for key in ("planted_m2", "skip_m2", "overlap_m2", "off_field_m2")]


def near(*values: float) -> object:
    return pytest.approx(list(values), abs=EXACT * max(values))


@pytest.mark.parametrize("order", ["first", "last"])
@pytest.mark.parametrize("part", [0.0, 0.25, 0.75])
def test_without_laps_rows_beside_the_land_stay_off(part: float, order: str) -> None:
    """20 rows and a part of the next one: from half of it on it plants, beyond the boundary too."""
    done = run(20 + part, 0, order)
    one = ROW * LENGTH
    skip, off = (part * one, 0.0) if part < 0.5 else (0.0, (1 - part) * one)
    assert areas(done) == near((20 + part) * one - skip + off, skip, 0.0, off)
    assert (done.pass_count, done.lap_count) == (1, 0)


@pytest.mark.parametrize("order", ["first", "last"])
@pytest.mark.parametrize("laps", [1, 2, 6])
@pytest.mark.parametrize("rows", [0.5, 20, 31.9])
def test_narrower_than_the_machine_no_lap_has_a_place(rows: float, laps: int, order: str) -> None:
    done = run(rows, laps, order)
    ground = rows * ROW * LENGTH
    assert areas(done) == near(0.0, ground, 0.0, 0.0)
    assert done.drive.unreached_m2 == pytest.approx(ground, rel=EXACT)
    assert (done.pass_count, done.lap_count, len(done.drive.legs)) == (0, 0, 0)


@pytest.mark.parametrize("order", ["first", "last"])
@pytest.mark.parametrize("laps", [1, 2])
@pytest.mark.parametrize("rows", [40, 52, 63, 64])
def test_one_lap_plants_all_of_up_to_two_widths(rows: int, laps: int, order: str) -> None:
    done = run(rows, laps, order)
    assert (done.pass_count, done.lap_count, done.drive.unreached_m2) == (0, 1, 0.0)
    if rows == 64:
        assert len(done.drive.legs) == 4
        assert areas(done) == near(rows * ROW * LENGTH, 0.0, 0.0, 0.0)
        return
    assert len(done.drive.legs) == 2
    assert max(areas(done)[1:]) < ROW / 2 * rows * ROW
    turning = shapely.union_all([shapely.box(-1, y, 99, y + 2 * WIDTH) for y in (-1, LENGTH + 1 - 2 * WIDTH)])
    for layer in ("skip", "overlap"):
        away = shapely.area(shapely.difference(done.layers[layer].geometry, turning))
        assert away.sum() == pytest.approx(0.0, abs=EXACT * done.plantable_m2)


@pytest.mark.parametrize("order", ["first", "last"])
def test_an_interior_narrower_than_the_machine(order: str) -> None:
    """84 rows, 105 ft: one lap leaves 20 rows, which one pass plants; a second lap has no path in them."""
    one, two = run(84, 1, order), run(84, 2, order)
    assert areas(one) == near(84 * ROW * LENGTH, 0.0, 0.0, 0.0)
    assert one.pass_count == 1
    left = 20 * ROW * (LENGTH - 2 * WIDTH)
    assert areas(two) == near(84 * ROW * LENGTH - left, left, 0.0, 0.0)
    assert two.drive.unreached_m2 == pytest.approx(left, rel=1e-9)
    assert (two.pass_count, two.lap_count) == (0, 1)
