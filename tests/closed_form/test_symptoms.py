"""The table of symptoms in full simulations: each cause put in, what one should see looked for."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from overlapsim import Scenario, correct, simulate
from overlapsim.report.symptoms import SYMPTOMS, shown_by
from overlapsim.report.words import Words
from tests.dig_helpers import SPACING, dug, plan_of, two_ranks
from tests.helpers import INCH, MPH

MATCHED = {"reference_offset": "84 in", "turn_on_time": "0.40 s", "turn_off_time": "0.25 s"}


def wide(**changes: Any) -> Scenario:
    """One rank, its own offset, times that match: every row end on the line."""
    return two_ranks(**{"machine": {"setup": "wide"}, "switching": MATCHED, **changes})


def late(scenario: Scenario, event: str, **only: Any) -> np.ndarray:
    """Signed row ends of a simulated field, metres, late positive: stops beyond the line are late."""
    columns = simulate(scenario).row_ends.columns
    own = columns["event"] == event
    if "rank" in only:
        own &= columns["rank"] == only["rank"]
    if "odd" in only:
        own &= columns["leg"] % 2 == only["odd"]
    found = columns["error_m"][own]
    assert len(found) > 3
    return found


def both(scenario: Scenario, mph: float) -> tuple[float, float]:
    """Starts and stops at a speed, all rows alike."""
    at = scenario.with_({"speed.working": mph * MPH})
    on, off = late(at, "on"), late(at, "off")
    assert np.ptp(on) < 1e-6
    assert np.ptp(off) < 1e-6
    return float(on.mean()), float(off.mean())


def test_every_line_of_the_table_is_checked_here() -> None:
    assert [one.key for one in SYMPTOMS] == [
        "offset", "turn_on", "turn_off", "stagger", "recentring", "position",
    ]  # fmt: skip


def test_nothing_wrong_shows_nothing() -> None:
    assert both(wide(), 5) == pytest.approx((0.0, 0.0), abs=1e-6)


@pytest.mark.parametrize(("entered", "shown"), [("90 in", 6 * INCH), ("78 in", -6 * INCH)])
def test_offset_too_big_starts_and_stops_late_alike_at_any_speed(entered: str, shown: float) -> None:
    scenario = wide(switching={**MATCHED, "reference_offset": entered})
    for mph in (3, 7):
        assert both(scenario, mph) == pytest.approx((shown, shown), abs=1e-6)


def test_turn_on_time_too_short_starts_the_later_the_faster() -> None:
    """0.1 s: 0.1 v at each speed; stops do not care."""
    scenario = wide(switching={**MATCHED, "turn_on_time": "0.30 s"})
    for mph in (3, 7):
        assert both(scenario, mph) == pytest.approx((0.1 * mph * MPH, 0.0), abs=1e-6)


def test_turn_off_time_too_short_stops_the_farther_over_the_faster() -> None:
    scenario = wide(switching={**MATCHED, "turn_off_time": "0.15 s"})
    for mph in (3, 7):
        assert both(scenario, mph) == pytest.approx((0.0, 0.1 * mph * MPH), abs=1e-6)


def test_stagger_front_late_and_rear_early_by_as_much() -> None:
    """Midway between ranks 35 in apart: 17.5 in each way; whatever number, ranks stay 35 in apart."""
    scenario = two_ranks(switching={**MATCHED, "reference_offset": "101.5 in"})
    for event in ("on", "off"):
        assert late(scenario, event, rank="front") == pytest.approx(17.5 * INCH, abs=1e-6)
        assert late(scenario, event, rank="rear") == pytest.approx(-17.5 * INCH, abs=1e-6)
    for offset in (60, 84, 110, 140):
        at = scenario.with_({"switching.reference_offset": offset * INCH})
        apart = late(at, "on", rank="front").mean() - late(at, "on", rank="rear").mean()
        assert apart == pytest.approx(35 * INCH, abs=1e-6)


def test_recentring_makes_joints_too_wide_and_too_narrow_in_turn_and_leaves_ends_alone() -> None:
    """7 1/2 in off its line: joints 15 in too wide and too narrow in turn."""
    scenario = wide(
        machine={"setup": "wide", "setups": {"wide": {"ranks": ["front"], "hitch_shift": "7.5 in"}}}
    )
    run = simulate(scenario)
    joints = run.to_dict()["by_place"]["joints"]
    one = 15 * INCH * 60  # m²: a joint along 60 m; ends of passes do not count as joints
    wrong = (joints["skip_m2"] / one, joints["overlap_m2"] / one)
    assert sum(wrong) == pytest.approx(run.pass_count - 1, rel=0.25)
    assert abs(wrong[0] - wrong[1]) < 1.25
    assert both(scenario, 5) == pytest.approx((0.0, 0.0), abs=1e-6)


def test_a_position_that_is_off_shows_opposite_by_direction_and_no_offset_cures_it() -> None:
    scenario = wide(controller={"drift": ["0 m", "-0.1 m"]})
    for offset in (84, 90):
        at = scenario.with_({"switching.reference_offset": offset * INCH})
        for event in ("on", "off"):
            out, back = (late(at, event, odd=odd).mean() for odd in (1, 0))
            assert out - back == pytest.approx(0.2, abs=1e-6)


def test_digs_show_their_symptoms_and_no_others() -> None:
    digs = dug(plan_of((3, 7), 3), 0)  # offset 6 cm too big, turn-on 0.06 s and turn-off 0.02 s too short
    done = correct(two_ranks(), digs, seed_spacing=SPACING, drift=True)
    shown = shown_by(done, Words("us"))
    assert shown["stagger"] == "ranks 35 in apart, one number between them"
    assert "too big" in shown["offset"]
    assert "too short" in shown["turn_on"]
    assert "recentring" not in shown
    assert "position" not in shown
    assert abs(float(shown["offset"].split()[0]) * INCH - 0.06) < 0.05


def test_one_rank_shows_no_stagger() -> None:
    digs = [dig for dig in dug(plan_of((3, 7), 3), 0) if dig.rank == "front"]
    assert "stagger" not in shown_by(correct(wide(), digs, seed_spacing=SPACING), Words("us"))
