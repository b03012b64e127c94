"""Two ranks on square ends, one reference offset for both: the table, the flat stretch, the worst row.

Two ranks stand D = 35 in apart (84 and 119 in behind the pin), n_f and n_r rows, every strip w wide, times
equal to latencies. A row at a_i under the reference r lands r - a_i late at both of its ends: too late at
the start leaves a gap of that length, too late at the stop drops as much beyond the edge, and too early the
other way round. So per pass (one start and one stop)

    skip = off-field = w (n_f |r - 84 in| + n_r |r - 119 in|)
"""

from __future__ import annotations

import pytest

from overlapsim import simulate
from tests.helpers import FOOT, INCH, areas, check, inches, scenario, square, two_ranks

D = 35 * INCH
W_ROW = 15 * INCH
LONG = 400 * FOOT


@pytest.mark.parametrize(
    ("front", "rear", "ahead", "units"),
    [
        *[(8, 8, ahead, units) for ahead, units in [(-0.5, 32), (0, 16), (0.5, 16), (1, 16), (1.5, 32)]],
        *[(16, 15, ahead, units) for ahead, units in [(-0.5, 63), (0, 32), (0.5, 31), (1, 30), (1.5, 61)]],
    ],
)
def test_table_of_two_ranks(front: int, rear: int, ahead: float, units: float) -> None:
    """The reference `ahead` x D in front of the rear rank; skip + off-field per pass in units of w D.

    8/8, half D behind the rear rank: 8 (1.5 D) + 8 (0.5 D) = 16 each of skip and off-field, 32 together.
    """
    passes = 3
    width = passes * (front + rear) * W_ROW
    result = areas(
        two_ranks(front, rear),
        square(inches(passes * (front + rear) * 15), "400 ft"),
        switching={"reference_offset": inches(119 - ahead * 35)},
    )
    half = passes * units * W_ROW * D / 2
    check(
        result,
        width * LONG,
        skip_m2=half,
        off_field_m2=half,
        overlap_m2=0,
        combined_m2=2 * half,
        planted_m2=width * LONG,
    )


def test_start_by_the_front_rank_and_stop_by_the_rear_rank_leaves_no_skip() -> None:
    """Reference at the rear rank, "on" given 35 in of way sooner: 8/8 gives skip 0, off-field 16 w D.

    Starts: front 119 - 84 - 35 = 0, rear -35 in (early: beyond the edge). Stops: front +35 in, rear 0.
    """
    on = 0.4 + 35 / 88  # 5 mph is 88 in/s
    result = areas(
        two_ranks(8, 8),
        square("60 ft", "400 ft"),
        switching={"reference_offset": "119 in", "turn_on_time": f"{on!r} s"},
    )
    check(result, 60 * FOOT * LONG, skip_m2=0, off_field_m2=3 * 16 * W_ROW * D, overlap_m2=0)


@pytest.mark.parametrize("offset", [70, 84, 90, 101.5, 119, 130])
def test_row_lengths_and_worst_row(offset: float) -> None:
    """16 + 16 rows, 3 passes: late starts and early stops in metres of row, and the same doubled.

    Every row misses |r - a_i| at one of its two ends and doubles as much at the other. The longest gap is
    the latest start or the earliest stop: both are as long as the worst row error here.
    """
    front, rear = offset - 84, offset - 119
    result = areas(two_ranks(), square("120 ft", "400 ft"), switching={"reference_offset": inches(offset)})
    length = 3 * 16 * (abs(front) + abs(rear)) * INCH
    check(
        result,
        LONG,
        missing_row_m=length,
        double_planted_row_m=length,
        worst_row_error_m=max(abs(front), abs(rear)) * INCH,
        longest_gap_m=max(abs(front), abs(rear)) * INCH,
    )


def test_longest_gap_counts_late_starts_and_early_stops_only() -> None:
    """Front rank alone, r = 80 in: starts 4 in early. Stops 0.1 s too late (8.8 in): 4.8 in late. No gap."""
    result = areas(
        two_ranks(setup="wide"),
        square("120 ft", "400 ft"),
        switching={"reference_offset": "80 in"},
        response={"off_latency": "0.5 s"},
    )
    check(result, LONG, worst_row_error_m=4.8 * INCH, longest_gap_m=0, missing_row_m=0)
    check(result, LONG, double_planted_row_m=3 * 16 * (4 + 4.8) * INCH)


def test_flat_in_area_is_not_flat_in_the_worst_row() -> None:
    """Between the ranks the area is the same, and half-way the longest gap is half of that at either rank."""
    results = [
        areas(two_ranks(), square("120 ft", "400 ft"), switching={"reference_offset": inches(offset)})
        for offset in (84, 101.5, 119)
    ]
    for result in results:
        check(result, 120 * FOOT * LONG, combined_m2=3 * 2 * 16 * W_ROW * D)
    assert [round(result["longest_gap_m"] / INCH, 9) for result in results] == [35, 17.5, 35]


@pytest.mark.parametrize(
    ("offset", "more"), [(79.6, 0), (92, 0), (105.8, 0), (106.8, 1), (78.6, 1), (115.6, 8.8 + 2)]
)
def test_flat_stretch_with_unequal_mismatch(offset: float, more: float) -> None:
    """Starts 4.4 in late (0.05 s), stops 13.2 in late (0.15 s) at 5 mph: flat from 79.6 to 105.8 in.

    Flat from a_front - min(c_on, c_off) = 84 - 4.4 to a_rear - max(c_on, c_off) = 119 - 13.2. Beyond, the
    first inches cost two row ends of four (the front rank's two, the rear rank's one more and one less);
    from 114.6 in on all four: 8.8 in at half price, then full. `more` in inches x half of all row ends.
    """
    result = areas(
        two_ranks(),
        square("120 ft", "400 ft"),
        switching={"reference_offset": inches(offset), "turn_on_time": "0.40 s", "turn_off_time": "0.25 s"},
        response={"on_latency": "0.45 s", "off_latency": "0.40 s"},
    )
    least = 3 * 2 * 16 * W_ROW * D
    check(result, 120 * FOOT * LONG, combined_m2=least + 3 * 2 * 16 * W_ROW * more * INCH)


def test_row_ends_say_what_each_row_errs() -> None:
    """97 in entered, 4.4 in late: front rows 17.4 in late, rear rows 17.6 in early, at every end."""
    simulation = simulate(
        scenario(
            two_ranks(),
            square("120 ft", "400 ft"),
            switching={"reference_offset": "97 in", "turn_on_time": "0.40 s", "turn_off_time": "0.25 s"},
            response={"on_latency": "0.45 s", "off_latency": "0.30 s"},
        )
    )
    columns = simulation.row_ends.columns
    assert len(columns["leg"]) == 3 * 32 * 2
    for rank, error, kind in zip(columns["rank"], columns["error_m"], columns["edge"], strict=True):
        assert error == pytest.approx((17.4 if rank == "front" else -17.6) * INCH, abs=1e-9)
        assert kind == "boundary"


def test_an_offset_for_each_rank_leaves_nothing() -> None:
    """84 in for the front rank and 119 in for the rear one: 0 and 0."""
    for front, rear in ((8, 8), (16, 15)):
        result = areas(
            two_ranks(front, rear),
            square(inches(3 * (front + rear) * 15), "400 ft"),
            switching={"reference_offset": {"front": "84 in", "rear": "119 in"}},
        )
        check(result, 120 * FOOT * LONG, skip_m2=0, overlap_m2=0, off_field_m2=0, worst_row_error_m=0)
