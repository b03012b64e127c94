"""Passes over an exclusion with upright sides, and gaps and pieces that are too short to switch for.

One rank of 4 rows at 30 in: passes 10 ft wide. The field is 40 ft by 400 ft, four passes; each row is its
own section, and the second pass (x from 10 to 20 ft) meets the exclusion. A pass southward meets it from
the other side; what is late is late for both.
"""

from __future__ import annotations

import pytest

from overlapsim import simulate
from tests.helpers import FOOT, INCH, areas, block, check, inches, one_rank, scenario

LONG = 400 * FOOT
WHOLE = 40 * FOOT * LONG
SQUARE_FEET = FOOT**2


def field(*exclusions: tuple[float, float, float, float]) -> dict:
    """40 ft by 400 ft less blocks (west, south, east, north; feet)."""
    return {
        "polygon": block(0, 0, 40 * FOOT, LONG),
        "exclusions": [block(*(each * FOOT for each in corners)) for corners in exclusions],
    }


def test_rows_over_an_exclusion_switch_at_both_of_its_sides() -> None:
    """10 to 16 ft across, 50 ft along, reference 6 in too far back: everything 0.5 ft late.

    Field ends: 40 ft x 0.5 ft of skip and as much off-field. The two western strips are off over it: 5 ft x
    0.5 ft dropped into it and as much missing behind it. The third (15 to 17.5 ft) has 0.6 of its strip on
    good ground and drives on: 1 ft x 50 ft off-field.
    """
    result = areas(one_rank(4), field((10, 150, 16, 200)), switching={"reference_offset": "90 in"})
    check(
        result,
        WHOLE,
        skip_m2=(20 + 2.5) * SQUARE_FEET,
        off_field_m2=(20 + 2.5 + 50) * SQUARE_FEET,
        overlap_m2=0,
    )


def test_a_row_with_less_than_the_fraction_on_good_ground_is_off() -> None:
    """10 to 16.5 ft: the third strip has 0.4 on good ground and is off, half a foot late at both sides.

    Of that strip: its good 1 ft is skipped for 49.5 ft, all of its 2.5 ft for the half foot behind it;
    the 1.5 ft over the exclusion get half a foot of seed.
    """
    result = areas(one_rank(4), field((10, 150, 16.5, 200)), switching={"reference_offset": "90 in"})
    check(
        result,
        WHOLE,
        skip_m2=(20 + 2.5 + 49.5 + 1.25) * SQUARE_FEET,
        off_field_m2=(20 + 2.5 + 0.75) * SQUARE_FEET,
    )


@pytest.mark.parametrize(
    ("q", "skip", "outside"), [(0.5, 4 * 50, 0), (0.3, 0, 6 * 50), (1, 200, 0), (0, 0, 300)]
)
def test_one_section_over_part_of_an_exclusion(q: float, skip: float, outside: float) -> None:
    """10 to 16 ft of a section 10 to 20 ft: 0.4 of it on good ground. Off for q > 0.4, else on."""
    result = areas(one_rank(4), field((10, 150, 16, 200)), switching={"sections": 1, "switch_fraction": q})
    check(result, WHOLE, skip_m2=skip * SQUARE_FEET, off_field_m2=outside * SQUARE_FEET)


def test_sections_given_as_a_list() -> None:
    """Rows 1-3 and row 4, on a pass southward: rows 1-3 cover 20 to 12.5 ft, row 4 12.5 to 10 ft.

    Over 10 to 16 ft rows 1-3 have 4 of their 7.5 ft on good ground and drive on (3.5 ft x 50 ft beside
    it); row 4 is off. Counted from the wrong side, rows 1-3 would have 0.2 and be off.
    """
    result = areas(one_rank(4), field((10, 150, 16, 200)), switching={"sections": [3, 1]})
    check(result, WHOLE, skip_m2=0, off_field_m2=3.5 * 50 * SQUARE_FEET)


def test_row_ends_name_the_edge() -> None:
    """Rows 1 and 2 stop and start at an exclusion, all else is boundary."""
    simulation = simulate(scenario(one_rank(4), field((10, 150, 16, 200))))
    columns = simulation.row_ends.columns
    named = [
        (int(leg), int(row))
        for leg, row, edge in zip(columns["leg"], columns["row"], columns["edge"], strict=True)
        if edge == "exclusion"
    ]
    # The second pass is driven southward: its rows 1 and 2 are the eastern ones, so these are 3 and 4.
    assert sorted(named) == [(2, 3), (2, 3), (2, 4), (2, 4)]


@pytest.mark.parametrize(("length", "planted_through"), [(52.0, True), (53.6, False)])
def test_a_gap_too_short_to_switch_for_is_driven_through(length: float, planted_through: bool) -> None:
    """0.9 s before "on", 0.3 s before "off": at 88 in/s "on" comes first for gaps up to 52.8 in.

    Dropped, 10 ft x 52 in are planted over the exclusion. Kept, nothing is: the times are the latencies.
    """
    times = {"turn_on_time": "0.9 s", "turn_off_time": "0.3 s"}
    result = areas(
        one_rank(4),
        field((10, 150, 20, 150 + length / 12)),
        switching=times,
        response={"on_latency": "0.9 s", "off_latency": "0.3 s"},
    )
    check(result, WHOLE, skip_m2=0, off_field_m2=120 * 52 * INCH**2 if planted_through else 0)


@pytest.mark.parametrize(("length", "left_out"), [(52.0, True), (53.6, False)])
def test_a_piece_too_short_to_switch_for_is_left_out(length: float, left_out: bool) -> None:
    """0.3 s before "on", 0.9 s before "off": a bridge of up to 52.8 in gets no seed."""
    result = areas(
        one_rank(4),
        field((10, 100, 20, 150), (10, 150 + length / 12, 20, 200)),
        switching={"turn_on_time": "0.3 s", "turn_off_time": "0.9 s"},
        response={"on_latency": "0.3 s", "off_latency": "0.9 s"},
    )
    check(result, WHOLE, skip_m2=120 * 52 * INCH**2 if left_out else 0, off_field_m2=0)


@pytest.mark.parametrize(("length", "dropped"), [(60.0, True), (66.0, False)])
def test_deliberate_overlap_shortens_gaps(length: float, dropped: bool) -> None:
    """6 in at both sides as well: gaps up to 52.8 + 12 in are driven through.

    Every kept end drops 6 in beyond its edge: 4 passes x 2 ends x 10 ft, and 2 ends at a kept gap.
    """
    result = areas(
        one_rank(4),
        field((10, 150, 20, 150 + length / 12)),
        switching={"turn_on_time": "0.9 s", "turn_off_time": "0.3 s", "deliberate_overlap": "6 in"},
        response={"on_latency": "0.9 s", "off_latency": "0.3 s"},
    )
    ends = 8 * 120 * 6 * INCH**2
    gap = 120 * 60 * INCH**2 if dropped else 2 * 120 * 6 * INCH**2
    check(result, WHOLE, skip_m2=0, off_field_m2=ends + gap)


@pytest.mark.parametrize("overlap", ["9 in", {"planted": "0 in", "boundary": "9 in"}], ids=["one", "by kind"])
@pytest.mark.parametrize("offset", [84, 90])
def test_deliberate_overlap_starts_sooner_and_stops_later(offset: float, overlap: object) -> None:
    """9 in: starts r - a - 9 in, stops r - a + 9 in. No row is late to start; all errors are off-field."""
    result = areas(
        one_rank(4),
        field(),
        switching={"reference_offset": inches(offset), "deliberate_overlap": overlap},
    )
    late = offset - 84
    check(
        result,
        WHOLE,
        skip_m2=0,
        off_field_m2=4 * 120 * ((9 - late) + (9 + late)) * INCH**2,
        worst_row_error_m=(9 + late) * INCH,
        longest_gap_m=0,
    )


def test_overlap_over_planted_ground_alone_does_nothing_without_laps() -> None:
    """Passes lie side by side: no section's line ever meets an edge of planted ground."""
    result = areas(
        one_rank(4), field(), switching={"deliberate_overlap": {"planted": "9 in", "boundary": "0 in"}}
    )
    check(result, WHOLE, skip_m2=0, overlap_m2=0, off_field_m2=0)


def test_a_slow_stop_can_swallow_the_next_start() -> None:
    """Commands kept, but the machine stops 0.6 s later than it starts: 52.8 in. A gap of 52 in is planted.

    At the far ends every row stops 52.8 in late as well.
    """
    result = areas(one_rank(4), field((10, 150, 20, 150 + 52 / 12)), response={"off_latency": "1.0 s"})
    check(result, WHOLE, skip_m2=0, off_field_m2=(120 * 52 + 4 * 120 * 52.8) * INCH**2)


def test_a_slow_start_can_outlast_a_short_piece() -> None:
    """The machine starts 0.6 s later than it stops: a bridge of 52 in gets no seed, all else starts late."""
    result = areas(
        one_rank(4),
        field((10, 100, 20, 150), (10, 150 + 52 / 12, 20, 200)),
        response={"on_latency": "1.0 s"},
    )
    starts = 4 + 1  # every pass, and the second one again behind the exclusions
    check(result, WHOLE, skip_m2=(120 * 52 + starts * 120 * 52.8) * INCH**2, off_field_m2=0)


@pytest.mark.parametrize(
    ("drift", "unit"), [((0, 10), 40 * 12), ((0, -10), 40 * 12), ((10, 0), 4800), ((-10, 0), 4800)]
)
def test_drift_moves_everything_to_minus_drift(drift: tuple[int, int], unit: float) -> None:
    """10 in: every pass lies 10 in the other way, out on one side and short on the other.

    North or south: 40 ft x 10 in each of skip and off-field; east or west: 400 ft x 10 in. Neighbouring
    passes all move alike, so no joint opens.
    """
    result = areas(one_rank(4), field(), controller={"drift": inches(*drift)})
    half = unit * 10 * INCH**2
    check(result, WHOLE, skip_m2=half, off_field_m2=half, overlap_m2=0)


def test_drift_lands_on_the_side_that_the_sign_says() -> None:
    """The receiver reads 10 in too far north: the machine, steered to the right reading, is 10 in south."""
    simulation = simulate(scenario(one_rank(4), field(), controller={"drift": ["0 in", "10 in"]}))
    heights = sorted({round(point.y / INCH, 6) for point in simulation.row_ends.geometry})
    assert heights == [-10.0, 4790.0]
