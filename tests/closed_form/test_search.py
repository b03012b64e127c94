"""The offset with the least combined error, what is equal to it, as good as it, and to be typed in.

Square ends, 3 passes of 40 ft: S is the summed strip width of all row ends, 3 x 2 x 40 ft. Within the flat
stretch the combined error is S D/2 for two ranks with equally many rows, D = 35 in apart. Where no row is
on the right side of its edge any more it grows by S per metre.

"Equal" is meant but for rounding: up to 1e-6 of the least or 1e-9 of the plantable ground, the larger, so
the stretch reported is longer than the flat one by what that is worth. The tests' numbers have it in them.
"""

from __future__ import annotations

import math

import pytest

import overlapsim
from tests.helpers import FOOT, INCH, inches, metres, one_rank, scenario, square, two_ranks

FIELD = square("120 ft", "400 ft")
GROUND = 120 * FOOT * 400 * FOOT
ENDS = 3 * 2 * 40 * FOOT
MISMATCH = {
    "switching": {"turn_on_time": "0.40 s", "turn_off_time": "0.25 s"},
    "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
}
UNEQUAL = {
    "switching": {"turn_on_time": "0.40 s", "turn_off_time": "0.25 s"},
    "response": {"on_latency": "0.45 s", "off_latency": "0.40 s"},
}
# Ends of a stretch are found where a sum of some hundred ramps reaches a level: 1e-13 of the ground, over
# its slope of some 10 m.
FOUND = 1e-9


def tune(machine: dict, field: dict = FIELD, **tables: object) -> dict:
    return overlapsim.tune(scenario(machine, field, **tables)).to_dict()


def in_inches(value: float | list[float]) -> object:
    return [each / INCH for each in value] if isinstance(value, list) else value / INCH


def stretch(result: dict, key: str, low: float, high: float) -> None:
    """The ends of a stretch, given in inches."""
    assert result[key] == pytest.approx([low * INCH, high * INCH], abs=FOUND)


def rounding(least: float, slope: float, ground: float = GROUND) -> float:
    """How much longer a flat stretch comes out at an end, in inches (least in m², slope in m² per m)."""
    return max(1e-6 * least, 1e-9 * ground) / slope / INCH


def test_example_machine() -> None:
    """16 + 16 rows, 5 mph, 4.4 in late at both ends: flat 79.6-114.6 in, 17.5 in at 97.1, 97.0 to type in."""
    result = tune(two_ranks(), **MISMATCH)
    least = ENDS * 35 * INCH / 2
    assert result["best"]["combined_m2"] == pytest.approx(least, abs=1e-9 * GROUND)
    assert in_inches(result["best"]["reference_offset_m"]) == pytest.approx(97.1, abs=1e-9)
    assert in_inches(result["best"]["worst_row_error_m"]) == pytest.approx(17.5, abs=1e-9)
    more = rounding(least, ENDS)
    stretch(result, "equal_m", 79.6 - more, 114.6 + more)
    stretch(result, "as_good_m", 79.6, 114.6)
    assert in_inches(result["recommended"]["reference_offset_m"]) == pytest.approx(97.0, abs=1e-9)
    assert in_inches(result["recommended"]["worst_row_error_m"]) == pytest.approx(17.6, abs=1e-9)
    assert result["recommended"]["as_typed"] == "97.0 in"
    assert result["bracketed"] is True
    assert result["ledger_relative_difference"] < 1e-9


def test_matched_times_put_the_best_midway() -> None:
    """Times equal to latencies: flat from 84 to 119 in, the smallest worst row at 101.5."""
    result = tune(two_ranks())
    assert in_inches(result["best"]["reference_offset_m"]) == pytest.approx(101.5, abs=1e-9)
    stretch(result, "as_good_m", 84, 119)
    assert result["recommended"]["as_typed"] == "101.5 in"


def test_latency_longer_than_its_time_moves_the_best_forward() -> None:
    """0.1 s more at both ends: 8.8 in, and the best is 8.8 in nearer to the pin."""
    result = tune(two_ranks(), response={"on_latency": "0.5 s", "off_latency": "0.5 s"})
    assert in_inches(result["best"]["reference_offset_m"]) == pytest.approx(101.5 - 8.8, abs=1e-9)


def test_unequal_mismatch() -> None:
    """Starts 4.4, stops 13.2 in late: flat 79.6 to 105.8 in; the smallest worst row at 101.5 - 8.8.

    Just beyond the flat stretch three row ends in four still balance but for two: it grows by S/2 per metre.
    """
    result = tune(two_ranks(), **UNEQUAL)
    least = ENDS * 35 * INCH / 2
    assert result["best"]["combined_m2"] == pytest.approx(least, abs=1e-9 * GROUND)
    assert in_inches(result["best"]["reference_offset_m"]) == pytest.approx(92.7, abs=1e-9)
    more = rounding(least, ENDS / 2)
    stretch(result, "equal_m", 79.6 - more, 105.8 + more)


@pytest.mark.parametrize(("tape", "longer"), [(0.5, 0.5), (2, 2), (4.4, 4.4), (6, 4.4)])
def test_as_good_with_unequal_mismatch(tape: float, longer: float) -> None:
    """Longer than the flat stretch by min(t, |c_on - c_off|/2) at each end, |c_on - c_off| = 8.8 in.

    S t is used up at S/2 per metre for the first 8.8 in, then at S. For t = 0.5 in: 1 in out, less t.
    """
    result = tune(two_ranks(), **UNEQUAL, tune={"as_good": inches(tape)})
    stretch(result, "as_good_m", 79.6 - longer, 105.8 + longer)


def test_sixteen_and_fifteen_rows() -> None:
    """The least is at the front rank: 15/31 of S against 16/31. As good up to 99 in; midway costs 3.3 % more.

    From 84 in rearward the error grows by S (16 - 15)/31 per metre: S t (t = 0.5 in) is reached 15.5 in out,
    less t: 99 in. Forward it grows by S: t out, less t. Least: 15/31 S D; midway: S D/2: 31/30.
    """
    field = square(inches(3 * 465), "400 ft")
    ends, ground = 3 * 2 * 465 * INCH, 3 * 465 * INCH * 400 * FOOT
    result = tune(two_ranks(16, 15), field)
    least = ends * 35 * INCH * 15 / 31
    # Among the equal ones (up to 1e-6 of it more) the smallest worst row: as far rearward as "equal" goes.
    low, high = rounding(least, ends, ground), rounding(least, ends / 31, ground)
    assert result["best"]["combined_m2"] == pytest.approx(least * (1 + 1e-6), abs=1e-9 * ground)
    assert in_inches(result["best"]["reference_offset_m"]) == pytest.approx(84 + high, abs=1e-7)
    stretch(result, "equal_m", 84 - low, 84 + high)
    stretch(result, "as_good_m", 84, 99)
    assert in_inches(result["recommended"]["reference_offset_m"]) == pytest.approx(99.0, abs=1e-9)
    midway = next(each for each in result["alternatives"] if each["key"] == "midway")
    assert midway["combined_m2"] == pytest.approx(least * 31 / 30, abs=1e-9 * ground)


def test_one_rank_has_one_best_and_nothing_else_is_as_good() -> None:
    """Error S |r - 84 in|: a tape's half inch is worth half an inch, and nothing is left of the stretch."""
    result = tune(one_rank(16))
    assert in_inches(result["best"]["reference_offset_m"]) == pytest.approx(84, abs=1e-9)
    more = rounding(0, ENDS)
    stretch(result, "equal_m", 84 - more, 84 + more)
    stretch(result, "as_good_m", 84, 84)
    assert result["recommended"]["as_typed"] == "84.0 in"


@pytest.mark.parametrize("rows", [3, 4])
@pytest.mark.parametrize("angle", [30, -12])
def test_one_rank_on_slanted_ends(angle: float, rows: int) -> None:
    """One section of W = 90 or 120 in: the mean error of a row end is (x² + h²)/(2h), h = W tan(theta)/2.

    Least h/2 at x = 0, under a row's line or between two. Equal while x²/(2h) <= 1e-6 h/2: x = 1e-3 h. As
    good while x²/(2h) <= t, less t: x = sqrt(2 h t) - t with t = 0.5 in (x < h for all four).
    """
    half = 15 * rows * math.tan(math.radians(abs(angle)))
    field = square(inches(6 * 30 * rows), "300 ft", end_angle=f"{angle} deg")
    result = tune(one_rank(rows), field, switching={"sections": 1})
    ends = 6 * 2 * 30 * rows * INCH
    assert result["best"]["combined_m2"] == pytest.approx(ends * half / 2 * INCH, rel=1e-9)
    assert in_inches(result["best"]["reference_offset_m"]) == pytest.approx(84, abs=1e-7)
    # Where a parabola leaves its least by 1e-6, a rounding of 1e-13 moves the place by 1e-7 of the stretch.
    equal = [(84 - 1e-3 * half) * INCH, (84 + 1e-3 * half) * INCH]
    assert result["equal_m"] == pytest.approx(equal, abs=1e-6 * half * INCH)
    away = math.sqrt(2 * half * 0.5) - 0.5
    stretch(result, "as_good_m", 84 - away, 84 + away)


def test_recommended_lies_on_the_step_that_can_be_typed_in() -> None:
    """Metric entry: whole centimetres. Best 2.5781 m; at 2.58 the worst row errs 44.6 cm, at 2.57 45.3."""
    result = tune(two_ranks(), switching={"reference_offset": "2.13 m"})
    assert result["recommended"]["reference_offset_m"] == pytest.approx(2.58, abs=1e-12)
    coarse = tune(two_ranks(), controller={"offset_step": "4 in"})
    assert coarse["recommended"]["as_typed"] == "100.0 in"


def test_step_applies_to_what_is_typed() -> None:
    """Typed from the rear axle, 40.2 in ahead of the pin: 141.5 in are typed for 101.3, 142 for 101.8.

    101.3 in has the smaller worst row (17.7 in against 17.8). The scenario's own figure stays what it says:
    inches behind the hitch pin.
    """
    result = tune(two_ranks(axle_to_pin="40.2 in"), controller={"measured_from": "rear axle"})
    as_set = next(each for each in result["alternatives"] if each["key"] == "as_set")
    assert in_inches(as_set["reference_offset_m"]) == pytest.approx(84, abs=1e-9)
    assert in_inches(result["recommended"]["reference_offset_m"]) == pytest.approx(101.3, abs=1e-9)
    assert result["recommended"]["as_typed"] == "141.5 in"


def test_step_at_the_foremost_end_of_what_is_as_good() -> None:
    """15 + 16 rows: as good from 104 to 119 in, and the foremost of it has the smallest worst row.

    (The mirror image of 16 + 15: 119 - 15 in.) Typed from the axle, 144.2 in on, the first step is 144.5.
    """
    machine = two_ranks(15, 16, axle_to_pin="40.2 in")
    field = square(inches(3 * 465), "400 ft")
    result = tune(machine, field, controller={"measured_from": "rear axle"})
    stretch(result, "as_good_m", 104, 119)
    assert result["recommended"]["as_typed"] == "144.5 in"
    assert in_inches(result["recommended"]["reference_offset_m"]) == pytest.approx(104.3, abs=1e-9)


def test_no_step_in_the_stretch_takes_the_cheaper_neighbour() -> None:
    """One rank at 84.2 in, steps of 0.5 in: 84.0 (0.2 in off) is cheaper than 84.5 (0.3 in off)."""
    result = tune(one_rank(16, behind_pin="84.2 in"))
    assert result["recommended"]["as_typed"] == "84.0 in"


def test_weights_count_in_the_combined_error_and_in_as_good() -> None:
    """Skip counts three times. Starts and stops err alike, so the flat stretch stays; the price doubles.

    S t is taken times the mean of 3 and 1, and beyond the flat stretch a metre costs S (3 + 1)/2: 79.6 and
    114.6 in again.
    """
    result = tune(two_ranks(), **MISMATCH, weights={"skip": 3})
    least = ENDS * 35 * INCH / 2
    for each in [result["best"], result["recommended"], *result["alternatives"]]:
        by_hand = 3 * each["skip_m2"] + each["overlap_m2"] + each["off_field_m2"]
        assert each["combined_m2"] == pytest.approx(by_hand, abs=1e-9)
    assert result["best"]["combined_m2"] == pytest.approx(2 * least, abs=1e-9 * GROUND)
    stretch(result, "as_good_m", 79.6, 114.6)


def test_weights_where_starts_are_late_and_stops_early() -> None:
    """One rank, starts 0.2 s late, stops 0.1 s early: 17.6 and -8.8 in. Starts and stops share the skip.

    At r = 84 - 17.6 in starts are right and stops 26.4 in early, at 84 + 8.8 in stops are right and starts
    26.4 in late: between them each inch takes from one what it gives to the other, all of it skip.
    With skip at 3 the error is three times as large and as flat.
    """
    tables = {"response": {"on_latency": "0.6 s", "off_latency": "0.3 s"}}
    for weight in (1, 3):
        result = tune(one_rank(16), **tables, weights={"skip": weight})
        least = weight * ENDS / 2 * 26.4 * INCH
        assert result["best"]["combined_m2"] == pytest.approx(least, abs=1e-9 * GROUND)
        assert result["best"]["off_field_m2"] == pytest.approx(0, abs=1e-9 * GROUND)
        assert in_inches(result["best"]["reference_offset_m"]) == pytest.approx(84 - 4.4, abs=1e-9)


def test_best_does_not_depend_on_what_is_entered_now() -> None:
    """Another offset now, in another unit: the same best."""
    offsets = [tune(two_ranks(), switching={"reference_offset": now})["best"] for now in ("60 in", metres(3))]
    assert offsets[0]["reference_offset_m"] == pytest.approx(offsets[1]["reference_offset_m"], abs=1e-12)
