"""The worst spots, held against fields where one can say on paper where they are."""

from __future__ import annotations

import numpy as np
import pytest

import overlapsim
from overlapsim.report.compass import side_of
from overlapsim.report.spot_panels import spot_lines
from overlapsim.report.spots import Spot, worst_spots
from overlapsim.report.words import Words
from tests.helpers import INCH, one_rank, scenario, square

# Eight rows at 30 in: 6.096 m wide; five passes over 30.48 m.
ROWS = one_rank(rows=8, behind_pin="84 in")
FIELD = square("30.48 m", "200 m")
WIDTH = 8 * 30 * INCH


def run(**tables: object) -> overlapsim.Simulation:
    """One rank on five passes, 20 in too far back, unless tables say otherwise."""
    switching = {"reference_offset": "104 in", "sections": 1, **tables.pop("switching", {})}  # type: ignore[dict-item]
    return overlapsim.simulate(scenario(ROWS, tables.pop("field", FIELD), switching=switching, **tables))  # type: ignore[arg-type]


def test_a_gap_and_seed_beyond_the_line_at_the_ends_of_passes() -> None:
    # 20 in late at both ends: a gap where a pass starts, seed off the field where it stops.
    # All ten cost the same: in driving order, less what lies within 16 m (8 % of the field's length) of one.
    spots = worst_spots(run(), 4)
    assert [spot.where for spot in spots] == [
        "pass 1, south end", "pass 1, north end", "pass 4, north end", "pass 4, south end",
    ]  # fmt: skip
    for spot, kind in zip(spots, ("skip", "off_field") * 2, strict=True):
        assert spot.area[kind] == pytest.approx(20 * INCH * WIDTH)
        assert sum(spot.area.values()) == spot.area[kind]
        assert spot.depth[kind] == pytest.approx(20 * INCH)
        assert spot.breadth[kind] == pytest.approx(WIDTH)
        assert not spot.slender
    assert spots[0].middle == pytest.approx([-2 * WIDTH, -100 + 10 * INCH])


def test_weights_decide_what_is_worst() -> None:
    spots = worst_spots(run(weights={"skip": 1, "overlap": 1, "off_field": 2}), 2)
    assert [spot.where for spot in spots] == ["pass 1, north end", "pass 2, south end"]
    assert spots[0].area["off_field"] == pytest.approx(20 * INCH * WIDTH)


def test_a_row_that_is_off_is_a_sliver() -> None:
    machine = {**ROWS, "rows_off": ["front 3"]}
    bare = overlapsim.simulate(scenario(machine, FIELD, switching={"reference_offset": "84 in"}))
    (spot, *_) = worst_spots(bare, 4)
    assert spot.slender
    assert (spot.depth["skip"], spot.breadth["skip"]) == pytest.approx((200.0, 30 * INCH))
    assert spot_lines("A", spot, Words("us"))[1] == "gap 30 in x 656 ft, 1,640 sq ft"


def test_at_an_exclusion() -> None:
    # As wide as the third pass: its rows stop and start there, once more than the others.
    hole = [[-WIDTH / 2, -20.0], [WIDTH / 2, -20.0], [WIDTH / 2, 10.0], [-WIDTH / 2, 10.0]]
    spots = worst_spots(run(field=square("30.48 m", "200 m", exclusions=[hole])), 8)
    assert "pass 3, at an exclusion" in [spot.where for spot in spots]


def test_laps_are_named() -> None:
    spots = worst_spots(run(plan={"headland_laps": 1}, field=square("90 m", "200 m")), 8)
    assert {spot.where.split(",")[0][:4] for spot in spots} == {"pass", "lap "}
    assert all(spot.where.startswith(("lap 1, ", "pass ")) for spot in spots)


def test_no_two_are_near_one_another() -> None:
    spots = worst_spots(run(field=square("30.48 m", "60 m")), 4)
    places = np.array([spot.middle for spot in spots])
    apart = np.abs(places[:, None] - places[None, :]).max(axis=2)
    assert (apart[~np.eye(len(spots), dtype=bool)] > WIDTH).all()


def test_a_long_slanted_end_is_cut_so_that_it_can_be_shown() -> None:
    # At 80 degrees the end of one pass is 6.1 m x tan(80) = 35 m long.
    field = square("30.48 m", "400 m", end_angle="80 deg")
    switching = {"sections": "each-row"}
    for spot in worst_spots(run(field=field, switching=switching), 4):
        assert spot.reach <= 1.6 * WIDTH


@pytest.mark.parametrize(
    ("degrees", "side"),
    [(0, "north"), (22, "north"), (23, "north-east"), (180, "south"), (293, "north-west")],
)
def test_sides(degrees: float, side: str) -> None:
    angle = np.radians(degrees)
    assert side_of(np.array([np.sin(angle), np.cos(angle)])) == side


def test_words_of_a_spot() -> None:
    none = {"skip": 0.0, "overlap": 0.0, "off_field": 0.0}
    spot = Spot(
        "pass 12, east end", np.zeros(2), 12.0,
        {**none, "skip": 7.8, "off_field": 2.0, "overlap": 0.1},
        {**none, "skip": 0.64, "off_field": 0.2, "overlap": 0.01},
        {**none, "skip": 12.192, "off_field": 12.192, "overlap": 1.0},
        False,
    )  # fmt: skip
    assert spot_lines("A", spot, Words("us")) == [
        "A  pass 12, east end", "gap 25 in over 40 ft, 84 sq ft", "off-field 8 in over 40 ft, 22 sq ft",
    ]  # fmt: skip
    assert spot_lines("B", spot, Words("metric"))[1] == "gap 64 cm over 12 m, 7.8 m²"
