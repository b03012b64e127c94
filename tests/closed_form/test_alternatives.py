"""What else could be entered, what no setting cures, what digging shows, and what moves the best.

The example machine (84 and 119 in, 16 + 16 rows, times 0.40/0.25 s, latencies 0.45/0.30 s: 4.4 in late at
both ends at 5 mph) on 3 passes of 40 ft with square ends; S = 3 x 2 x 40 ft of row ends.
"""

from __future__ import annotations

import pytest

import overlapsim
from tests.helpers import FOOT, INCH, MPH, inches, one_rank, scenario, square, two_ranks

FIELD = square("120 ft", "400 ft")
GROUND = 120 * FOOT * 400 * FOOT
ENDS = 3 * 2 * 40 * FOOT
LATE = {
    "switching": {"turn_on_time": "0.40 s", "turn_off_time": "0.25 s"},
    "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
}


def tune(machine: dict, **tables: object) -> dict:
    return overlapsim.tune(scenario(machine, FIELD, **tables)).to_dict()


def alternatives(result: dict) -> dict:
    return {each["key"]: each for each in result["alternatives"]}


def test_every_alternative_and_what_it_costs() -> None:
    """Combined error in units of S x inches: (|r + 4.4 - 84| + |r + 4.4 - 119|)/2.

    As set and front rank (84): 4.4 and 30.6 -> 17.5. Midway (101.5) 17.5. Rear (119): 39.4 and 4.4 -> 21.9.
    """
    found = alternatives(tune(two_ranks(), **LATE))
    assert list(found) == [
        "as_set",
        "foremost_rank",
        "midway",
        "rearmost_rank",
        "offset_per_rank",
        "times_matched",
    ]
    expected = {
        "as_set": (84, 17.5, 30.6),
        "foremost_rank": (84, 17.5, 30.6),
        "midway": (101.5, 17.5, 21.9),
        "rearmost_rank": (119, 21.9, 39.4),
        "times_matched": (101.5, 17.5, 17.5),
    }
    for key, (offset, mean, worst) in expected.items():
        assert found[key]["reference_offset_m"] == pytest.approx(offset * INCH, abs=1e-9)
        assert found[key]["combined_m2"] == pytest.approx(ENDS * mean * INCH, abs=1e-9 * GROUND)
        assert found[key]["worst_row_error_m"] == pytest.approx(worst * INCH, abs=1e-9)
        on, off = (0.45, 0.30) if key == "times_matched" else (0.40, 0.25)
        assert found[key]["turn_on_time_s"] == pytest.approx(on, abs=1e-12)
        assert found[key]["turn_off_time_s"] == pytest.approx(off, abs=1e-12)


def test_offset_per_rank_takes_up_an_equal_mismatch() -> None:
    """84 - 4.4 and 119 - 4.4 in: nothing is left, though the times stay as set."""
    own = alternatives(tune(two_ranks(), **LATE))["offset_per_rank"]
    assert own["reference_offset_m"] == {
        "front": pytest.approx(79.6 * INCH, abs=1e-9),
        "rear": pytest.approx(114.6 * INCH, abs=1e-9),
    }
    assert own["combined_m2"] == pytest.approx(0, abs=1e-9 * GROUND)


def test_offset_per_rank_cannot_take_up_an_unequal_one() -> None:
    """Starts 4.4 and stops 13.2 in late: S/2 x 8.8 in stay; half-way the worst row errs 4.4 in."""
    result = tune(two_ranks(), **{**LATE, "response": {"on_latency": "0.45 s", "off_latency": "0.40 s"}})
    own = alternatives(result)["offset_per_rank"]
    assert own["combined_m2"] == pytest.approx(ENDS / 2 * 8.8 * INCH, abs=1e-9 * GROUND)
    assert own["worst_row_error_m"] == pytest.approx(4.4 * INCH, abs=1e-7)
    assert result["floor"]["combined_m2"] == pytest.approx(0, abs=1e-9 * GROUND)


def test_floor_is_an_offset_per_rank_with_matched_times() -> None:
    """84 and 119 in, 0.45 and 0.30 s: 0 and 0 on square ends."""
    floor = tune(two_ranks(), **LATE)["floor"]
    assert floor["reference_offset_m"] == {
        "front": pytest.approx(84 * INCH, abs=1e-9),
        "rear": pytest.approx(119 * INCH, abs=1e-9),
    }
    assert (floor["turn_on_time_s"], floor["turn_off_time_s"]) == pytest.approx((0.45, 0.30), abs=1e-12)
    assert floor["combined_m2"] == pytest.approx(0, abs=1e-9 * GROUND)


def test_floor_keeps_what_sections_cost_on_a_slant() -> None:
    """One section of 40 ft on ends at 12 deg: W² tan(12 deg)/4 per end stays, whatever is entered."""
    field = square("120 ft", "400 ft", end_angle="12 deg")
    result = overlapsim.tune(scenario(one_rank(16), field, switching={"sections": 1})).to_dict()
    by_hand = 6 * (40 * FOOT) ** 2 * 0.2125565616700221 / 4
    assert result["floor"]["combined_m2"] == pytest.approx(by_hand, rel=1e-9)


def test_matched_times_hold_delay_and_half_a_period() -> None:
    """Latency + position delay 0.2 s + half of 0.1 s. Ranks that differ: the mean, 16 of 31 and 15 of 31."""
    result = tune(
        two_ranks(16, 15),
        controller={"position_delay": "0.2 s", "update_rate": "10 Hz"},
        response={
            "on_latency": {"front": "0.40 s", "rear": "0.71 s"},
            "off_latency": {"front": "0.3 s", "rear": "0.3 s"},
        },
    )
    for entry in (alternatives(result)["times_matched"], result["floor"]):
        assert entry["turn_on_time_s"] == pytest.approx(0.55 + 0.2 + 0.05, abs=1e-12)
        assert entry["turn_off_time_s"] == pytest.approx(0.3 + 0.2 + 0.05, abs=1e-12)


def test_digging_at_the_recommended_offset() -> None:
    """97.0 in: front rows 97 - 84 + 4.4 = 17.4 in late at both ends, rear rows 17.6 in early."""
    rows = tune(two_ranks(), **LATE)["digging_should_show"]
    assert [(row["rank"], row["on_m"], row["off_m"]) for row in rows] == [
        ("front", pytest.approx(17.4 * INCH, abs=1e-9), pytest.approx(17.4 * INCH, abs=1e-9)),
        ("rear", pytest.approx(-17.6 * INCH, abs=1e-9), pytest.approx(-17.6 * INCH, abs=1e-9)),
    ]


def test_digging_holds_deliberate_overlap_delay_and_tick() -> None:
    """One rank, r = a: starts c - d, stops c + d with c = 88 in/s x (0.2 + 0.05) s = 22 in and d = 6 in.

    The best r is 84 - 22 in, where starts are 6 in early and stops 6 in late.
    """
    result = tune(
        one_rank(16),
        controller={"position_delay": "0.2 s", "update_rate": "10 Hz", "offset_step": "1 mm"},
        switching={"deliberate_overlap": "6 in"},
    )
    assert result["best"]["worst_row_error_m"] == pytest.approx(6 * INCH, abs=1e-3)
    (row,) = result["digging_should_show"]
    typed = result["recommended"]["reference_offset_m"]
    assert row["on_m"] == pytest.approx(typed - 84 * INCH + (22 - 6) * INCH, abs=1e-9)
    assert row["off_m"] == pytest.approx(typed - 84 * INCH + (22 + 6) * INCH, abs=1e-9)


def test_what_moves_the_best() -> None:
    """Best = (a_f + a_r)/2 - v (0.05 s + 0.05 s)/2: v/2 per second on either latency, 0.05 s on speed."""
    moves = tune(two_ranks(), **LATE)["sensitivity"]
    assert moves["m_per_s_of_on_latency"] == pytest.approx(-5 * MPH / 2, abs=1e-8)
    assert moves["m_per_s_of_off_latency"] == pytest.approx(-5 * MPH / 2, abs=1e-8)
    assert moves["m_per_m_per_s"] == pytest.approx(-0.05, abs=1e-8)
    assert moves["m_per_m_of_behind_pin"] == pytest.approx({"front": 0.5, "rear": 0.5}, abs=1e-7)


def test_unequal_ranks_move_the_best_with_the_larger_one() -> None:
    """16 + 15 rows: the best is the front rank's place; an inch of tape there is an inch, at the rear none.

    Among equals (1e-6 of the least) the best is the rearmost, some 1e-5 m behind: 1e-6 per inch moved.
    """
    moves = tune(two_ranks(16, 15))["sensitivity"]
    assert moves["m_per_m_of_behind_pin"] == pytest.approx({"front": 1, "rear": 0}, abs=2e-5)


def test_a_row_that_is_off_counts_for_nothing_in_the_search() -> None:
    """16 + 16 rows with one of the rear rank off: 16 against 15, and the front rank's place is best.

    Least: a gap of 3 x 15 in x 400 ft and 15 rear rows of 15 in, 35 in off at 6 ends. One row more errs on
    the one side than on the other, so each metre rearward costs 6 ends x 15 in; the best is the smallest
    worst row among those equal to 1e-6, that is as far rearward as that is worth (3 thousandths of an inch).
    """
    result = tune(two_ranks(rows_off=["rear 8"]))
    least = 3 * 15 * INCH * 400 * FOOT + 6 * 15 * 15 * INCH * 35 * INCH
    best = 84 * INCH + 1e-6 * least / (6 * 15 * INCH)
    assert result["best"]["reference_offset_m"] == pytest.approx(best, abs=1e-8)


def test_best_for_each_swept_condition() -> None:
    """On latency 0.25, 0.35, 0.45 s: c_on = -13.2, -4.4, 4.4 in, c_off 4.4: 101.5 - (c_on + c_off)/2.

    Flat stretches 97.2-114.6, 88.4-114.6 and 79.6-114.6 in hold 105.9, 101.5 and 97.1.
    """
    result = tune(two_ranks(), **LATE, sweep={"response.on_latency": ["0.25 s", "0.35 s", "0.45 s"]})
    best = [condition["best_reference_offset_m"] / INCH for condition in result["conditions"]]
    assert best == pytest.approx([105.9, 101.5, 97.1], abs=1e-8)


def test_no_offset_cures_drift() -> None:
    """Drift 10 in north, 4 passes: what helps northward hurts southward. Flat for 10 in either way.

    Passes err x - 10 in northward, x + 10 in southward: two of each, so 10 in at every end in the mean for
    every |x| <= 10 in, and the worst row is unaware of it. The floor has it too.
    """
    case = scenario(one_rank(16), square("160 ft", "400 ft"), controller={"drift": ["0 in", "10 in"]})
    result = overlapsim.tune(case).to_dict()
    assert result["best"]["reference_offset_m"] == pytest.approx(84 * INCH, abs=1e-9)
    assert result["equal_m"] == pytest.approx([74 * INCH, 94 * INCH], abs=1e-6)
    for entry in (result["best"], result["floor"]):
        assert entry["skip_m2"] == pytest.approx(160 * FOOT * 10 * INCH, abs=1e-9 * GROUND)
        assert entry["off_field_m2"] == pytest.approx(160 * FOOT * 10 * INCH, abs=1e-9 * GROUND)


def test_uneven_numbers_of_passes_each_way_lean_on_drift() -> None:
    """3 passes, two of them northward: 10 in more offset rights those two and costs the third 20 in."""
    result = tune(one_rank(16), controller={"drift": ["0 in", "10 in"]})
    assert result["best"]["reference_offset_m"] == pytest.approx(94 * INCH, abs=1e-6)
    assert result["best"]["combined_m2"] == pytest.approx(2 * 40 * FOOT * 20 * INCH, rel=1.1e-6)


@pytest.mark.parametrize(
    ("places", "best", "flat"),
    [
        ([84], 84, (84, 84)),
        ([84, 119], 101.5, (84, 119)),
        ([70, 84, 119], 84, (84, 84)),
        ([60, 84, 119, 170], 115, (84, 119)),
        ([60, 84, 100, 170], 100, (84, 100)),
    ],
)
def test_one_to_four_ranks_have_their_median(places: list[float], best: float, flat: tuple) -> None:
    """4 rows in each rank, strips alike: the least is at the median of the ranks' places.

    With an even count the flat stretch lies between the two middle ranks, and in it the smallest worst row
    is half-way between the first and the last rank, or as near to that as the stretch goes.
    """
    count = len(places)
    machine = {
        "title": "ranks",
        "hitch": "drawn",
        "setup": "all",
        "ranks": {
            f"r{index}": {
                "rows": 4,
                "spacing": inches(10 * count),
                "behind_pin": inches(place),
                "right": inches(10 * index - 5 * (count - 1)),
            }
            for index, place in enumerate(places)
        },
        "setups": {"all": {"ranks": [f"r{index}" for index in range(count)]}},
    }
    width = 40 * count * INCH
    field = square(f"{3 * width!r} m", "400 ft")
    result = overlapsim.tune(scenario(machine, field)).to_dict()
    least = 3 * 2 * 40 * INCH * sum(abs(place - flat[0]) for place in places) * INCH
    # Equals, within 1e-6 of the least, widen a flat stretch by some 1e-6 of a rank's distance at its ends.
    ground = 3 * width * 400 * FOOT
    assert 0 <= result["best"]["combined_m2"] - least + 1e-9 * ground <= 1e-6 * least + 2e-9 * ground
    assert result["best"]["reference_offset_m"] == pytest.approx(best * INCH, abs=5e-6)
    assert result["equal_m"] == pytest.approx([flat[0] * INCH, flat[1] * INCH], abs=5e-6)


@pytest.mark.parametrize(("works", "entered", "best"), [("wide", "narrow", 84), ("narrow", "wide", 101.5)])
def test_search_goes_by_what_works_while_another_setup_is_entered(
    works: str, entered: str, best: float
) -> None:
    """The rows that work decide: the front rank's 84 in, or midway."""
    result = tune(two_ranks(setup=works), switching={"entered_setup": entered, "sections": 16})
    assert result["best"]["reference_offset_m"] == pytest.approx(best * INCH, abs=1e-9)
    if works == "wide":
        assert alternatives(result)["offset_per_rank"]["combined_m2"] == pytest.approx(0, abs=1e-9 * GROUND)
