"""Where the error comes from, line by line, on square ends: stagger, times, reference offset, updates."""

from __future__ import annotations

import pytest

import overlapsim
from overlapsim.questions.breakdown import KEYS
from tests.closed_form.causes_by_hand import ENDS, EQUAL, FIELD, GROUND, causes, check, settings
from tests.helpers import EXACT, INCH, inches, one_rank, scenario, square, two_ranks


def test_two_ranks_on_square_ends_lose_by_stagger_alone() -> None:
    """84 entered, all times right: front rows 0, rear rows 35 in early; at the best midway, 17.5 in each."""
    done = causes(two_ranks())
    check(done, stagger=17.5)
    assert done.lines["stagger"]["skip_m2"] == pytest.approx(8.75 * ENDS * INCH, abs=EXACT * GROUND)
    assert done.lines["stagger"]["off_field_m2"] == pytest.approx(8.75 * ENDS * INCH, abs=EXACT * GROUND)
    assert done.lines["stagger"]["worst_row_error_m"] == pytest.approx(17.5 * INCH)


def test_offset_is_what_lies_beyond_the_ranks() -> None:
    """60 entered: front rows 24, rear rows 59 in early: 41.5 on the mean, 24 more than at the best."""
    check(causes(two_ranks(), switching=settings("60 in")), stagger=17.5, offset=24)


def test_a_mismatch_that_is_alike_at_both_ends_is_the_offsets() -> None:
    """0.05 s = 4.4 in late at both ends: a smaller number takes that up; 119 in does not."""
    late = {"on_latency": "0.45 s", "off_latency": "0.45 s"}
    check(causes(two_ranks(), response=late, switching=settings("119 in")), stagger=17.5, offset=4.4)
    check(causes(one_rank(), response=late, switching=settings("79.6 in")))


def test_a_mismatch_that_differs_is_the_times() -> None:
    """One rank, starts 4.4 and stops 13.2 in late: (13.2 - 4.4) / 2 stay at the best, with 84 in 8.8."""
    done = causes(one_rank(), response={"on_latency": "0.45 s", "off_latency": "0.55 s"})
    check(done, timing=4.4, offset=4.4)


def test_behind_ranks_that_stand_apart_an_unequal_mismatch_hides() -> None:
    """Starts want 79.6 and 114.6, stops 70.8 and 105.8: flat from 79.6 to 105.8 in, 17.5 on the mean."""
    check(causes(two_ranks(), response={"on_latency": "0.45 s", "off_latency": "0.55 s"}), stagger=17.5)


def test_a_late_rear_rank_cancels_stagger() -> None:
    """0.15 s = 13.2 in late it wants 105.8 instead of 119 in: (105.8 - 84) / 2 = 10.9, 6.6 less than 17.5."""
    late = {"front": "0.40 s", "rear": "0.55 s"}
    done = causes(
        two_ranks(), response={"on_latency": late, "off_latency": late}, switching=settings("101.5 in")
    )
    check(done, stagger=17.5, timing=-6.6)


def test_position_delay_and_drift_come_last() -> None:
    """0.2 s = 17.6 in late at both ends, for which nothing was entered."""
    check(causes(one_rank(), controller={"position_delay": "0.2 s"}), updates=17.6)


def test_times_that_hold_the_delay_cancel_it() -> None:
    """Times 0.6 for latencies 0.4 and a delay of 0.2 s: without delay 84 in is 17.6 in too little."""
    done = causes(one_rank(), switching=settings("84 in", 0.6, 0.6), controller={"position_delay": "0.2 s"})
    check(done, offset=17.6, updates=-17.6)


def test_drift_is_nobodys_fault_but_its_own() -> None:
    """10 in north: passes north stop and start 10 in early, the one south 10 in late."""
    check(causes(one_rank(), controller={"drift": ["0 in", "10 in"]}), updates=10)


def test_with_an_offset_per_rank_nothing_is_compromised() -> None:
    """84 and 116 in entered: rear rows 3 in early at both ends, 1.5 on the mean."""
    done = causes(two_ranks(), switching=settings({"front": "84 in", "rear": "116 in"}))
    check(done, offset=1.5)
    assert not done.compromised
    assert set(done.stagger["at_best"].values()) == set(done.stagger["as_set"].values()) == {0.0}
    best = done.runs["timing"].scenario.switching.reference_offset
    assert best == pytest.approx({"front": 84 * INCH, "rear": 119 * INCH}, abs=1e-9)


@pytest.mark.parametrize("offset", [40, 60, 84, 95, 101.5, 119, 150])
def test_stagger_as_set_is_not_blamed_for_a_wrong_number(offset: float) -> None:
    """Between the ranks any number loses 17.5; beyond them ranks that stand together lose the rest too."""
    done = causes(two_ranks(), switching=settings(f"{offset} in"))
    for which in ("at_best", "as_set"):
        lost = done.stagger[which]
        assert lost["combined_m2"] == pytest.approx(17.5 * ENDS * INCH, rel=EQUAL)
        assert lost["skip_m2"] == pytest.approx(8.75 * ENDS * INCH, rel=EQUAL)


def test_stagger_as_set_tells_today_from_the_best() -> None:
    """16 + 15 rows of 15 in: 15 rows x 35 in at the front rank's number, 31 x 17.5 at midway."""
    field = square("116.25 ft", "400 ft")
    done = overlapsim.causes(scenario(two_ranks(16, 15), field, switching=settings("101.5 in")))
    unit = 6 * 15 * INCH * INCH
    assert done.stagger["at_best"]["combined_m2"] == pytest.approx(unit * 15 * 35, rel=EQUAL)
    assert done.stagger["as_set"]["combined_m2"] == pytest.approx(unit * 31 * 17.5, rel=EQUAL)
    assert done.lines["offset"]["combined_m2"] == pytest.approx(unit * 17.5, rel=1e-3)


def test_ranks_at_one_distance_have_no_stagger() -> None:
    """Two ranks, both at 84 in: 10 in too much is the number's fault."""
    machine = two_ranks()
    machine["ranks"]["rear"]["behind_pin"] = "84 in"
    done = causes(machine, switching=settings("94 in"))
    check(done, offset=10)
    assert done.stagger["as_set"]["combined_m2"] == 0.0


def test_weights_weigh_every_line() -> None:
    """Skip counts double: 8.75 x 2 + 8.75 at midway; at 50 in all are 34 in more early, half of it skip."""
    done = causes(two_ranks(), switching=settings("50 in"), weights={"skip": 2})
    check(done, stagger=1.5 * 17.5, offset=1.5 * 34)


def test_a_heading_that_is_found_is_kept() -> None:
    """The same lines as with that heading written: 400 ft is the long side, north."""
    slanted = square("120 ft", "400 ft", end_angle="12 deg")
    found, written = (
        causes(two_ranks(), slanted, switching=settings("84 in", sections=4), plan={"heading": heading})
        for heading in ("auto", "0 deg")
    )
    for key in KEYS:
        one, other = found.lines[key]["combined_m2"], written.lines[key]["combined_m2"]
        assert one == pytest.approx(other, abs=EXACT * GROUND)


def test_what_is_handed_over() -> None:
    """Keys in their order, the number of each run, and the scenario's own areas; trailing is not told."""
    case = scenario(two_ranks(), FIELD, switching=settings("60 in"))
    told = overlapsim.causes(case).to_dict()
    assert [line["key"] for line in told["causes"]] == list(KEYS)
    assert told["not_reckoned"] == ["trailing"]
    assert told["total"] == overlapsim.simulate(case).areas
    for key in ("skip_m2", "overlap_m2", "off_field_m2", "combined_m2"):
        assert sum(line[key] for line in told["causes"]) == pytest.approx(told[key], rel=1e-12)
    numbers = [line["reference_offset_m"] for line in told["causes"]]
    own = {"front": pytest.approx(84 * INCH), "rear": pytest.approx(119 * INCH)}
    assert numbers[:3] == [own] * 3
    assert numbers[3:5] == pytest.approx([101.5 * INCH] * 2)
    assert numbers[5:] == pytest.approx([60 * INCH] * 2)
    assert told["witness"]["largest_relative_difference"] <= 1e-6


def test_progress_is_told_to_the_end() -> None:
    """Never more than there is to do, and at last all of it."""
    said: list[tuple[int, int, str]] = []
    case = scenario(two_ranks(), FIELD, switching=settings(inches(60)), plan={"heading": "auto"})
    overlapsim.causes(case, lambda *step: said.append(step))
    assert [step[0] for step in said] == sorted(step[0] for step in said)
    assert all(done <= total for done, total, _ in said)
    assert said[-1] == (said[0][1], said[0][1], "done")
