"""What digs show, by hand: the field check's table, half a seed spacing, headland rows, one speed alone."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from overlapsim import Scenario, correct, simulate
from overlapsim.questions.correction import fit_digs
from overlapsim.questions.digs import Dig, DigModel, half_strip
from overlapsim.questions.least_squares import least_squares
from tests.dig_helpers import SPACING, TRUE, dug, flow_ends, plan_of, seed_found, two_ranks
from tests.helpers import EXACT_M, INCH, MPH

SPEEDS = (4, 5, 6, 8)
ON = (1.10467, 1.30584, 1.50701, 1.90934)
OFF = (0.74704, 0.85880, 0.97056, 1.19408)
HALF_DIGIT = 5e-6


def checked() -> tuple[DigModel, list[Dig]]:
    """One rank at its own offset, times of nought, no seed spacing: digs are dx + v tau."""
    scenario = Scenario.from_dict({
        "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "2 m"}}},
        "speed": {"working": "5 mph"},
        "switching": {"reference_offset": "2 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    })  # fmt: skip
    digs = [Dig("on", "bar", "out", v * MPH, d) for v, d in zip(SPEEDS, ON, strict=True)]
    digs += [Dig("off", "bar", "out", v * MPH, d) for v, d in zip(SPEEDS, OFF, strict=True)]
    return DigModel(scenario, 0.0), digs


def test_the_field_check_table() -> None:
    """dx 0.30 m, tau_on 0.45 s, tau_off 0.25 s, no seed spacing: 0.30 + 4 x 0.44704 x 0.45 = 1.10467 m."""
    model, digs = checked()
    predicted = model.described(digs) + model.design(digs) @ [0.30, 0.45, 0.25]
    assert predicted == pytest.approx([*ON, *OFF], abs=HALF_DIGIT)


def test_the_joint_fit_returns_what_was_put_in() -> None:
    model, digs = checked()
    fit = fit_digs(model, digs, None)
    # The table is rounded to 5e-6 m; the fit hands that on, times 1.42 for dx and 0.55 s/m for a time.
    assert fit.value == pytest.approx([0.30, 0.45, 0.25], abs=2e-5)


def test_standard_errors_for_each_unit_of_scatter() -> None:
    """From the normal equations of the eight digs: dx 1.4193, each latency 0.5511 s/m.

    By hand: without dx, a latency has sum v² = V = 141 x 0.44704² in its own end; dx then has
    8 - 2 (sum v)²/V = 8 - 2 x 23²/141 = 0.4965, and 1/sqrt(0.4965) = 1.4193.
    """
    assert 1 / math.sqrt(8 - 2 * 23**2 / 141) == pytest.approx(1.4193, abs=5e-5)
    model, digs = checked()
    fit = least_squares(model.design(digs), np.zeros(8), least_sigma=1.0)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([1.4193, 0.5511, 0.5511], abs=5e-5)


def test_the_first_and_the_last_seed_lie_half_a_spacing_inside() -> None:
    """Seeds lie a spacing apart, anyhow: many lie half of it away, and scatter by it over root 12."""
    chance, count = np.random.default_rng(11), 20_000
    for end, sign in (("on", 1), ("off", -1)):
        dig = Dig(end, "front", "out", 5 * MPH, 0.0)
        found = np.array([seed_found(dig, chance) for _ in range(count)]) - flow_ends(dig)
        error = SPACING / math.sqrt(12 * count)
        assert found.mean() == pytest.approx(sign * SPACING / 2, abs=4 * error)
        assert found.std() == pytest.approx(SPACING / math.sqrt(12), rel=4 / math.sqrt(2 * count))
        model = DigModel(two_ranks(), SPACING)
        told = model.described([dig]) + model.design([dig]) @ [TRUE["dx"], TRUE["on"], TRUE["off"]]
        assert float(told[0]) == pytest.approx(flow_ends(dig) + sign * SPACING / 2, abs=EXACT_M)


def test_start_and_stop_lag_differ_by_one_seed_spacing() -> None:
    """Ling et al. 2025, doi 10.1016/j.compag.2025.110068 (abstract, read): the start's lag is the greater."""
    scenario = two_ranks(switching={"turn_off_time": "0.40 s"})
    on, off = (Dig(end, "front", "out", 5 * MPH, 0.0) for end in ("on", "off"))
    model = DigModel(scenario, SPACING)
    equal = [0.0, 0.3, 0.3]
    lag = [float((model.described([dig]) + model.design([dig]) @ equal)[0]) for dig in (on, off)]
    assert lag[0] - lag[1] == pytest.approx(SPACING, abs=EXACT_M)


@pytest.mark.parametrize("overlap", [0.0, 0.2])
def test_the_model_is_what_a_full_simulation_does(overlap: float) -> None:
    """Row ends of a simulated field, rank by rank and both ways, with a drift and without seed spacing."""
    entered = {"deliberate_overlap": {"boundary": f"{overlap} m", "planted": "0 m"}}
    drift = {"drift": ["0 m", "-0.05 m"]}  # reads 5 cm too little northward: lands 5 cm late on the way out
    scenario = two_ranks(
        switching=entered, controller=drift, response={"on_latency": "0.46 s", "off_latency": "0.27 s"}
    )
    run = simulate(scenario)
    model = DigModel(scenario, 0.0)
    ends = run.row_ends.columns
    for end in ("on", "off"):
        for rank in ("front", "rear"):
            for way, odd in (("out", 1), ("back", 0)):
                own = (ends["event"] == end) & (ends["rank"] == rank) & (ends["leg"] % 2 == odd)
                dig = Dig(end, rank, way, 5 * MPH, 0.0)
                told = float((model.described([dig]) + model.design([dig]) @ [0.0, 0.46, 0.27])[0])
                found = ends["error_m"][own]
                assert len(found) > 3
                assert found == pytest.approx(told, abs=1e-6)


def test_from_a_headland_row_half_a_row_spacing_is_wanted() -> None:
    """15 in rows: the line lies 7 1/2 in beyond the last headland row. A perfect start stands 7 1/2 in past
    the row, a perfect stop 7 1/2 in before it; both are on the line.
    """
    scenario = two_ranks()
    assert half_strip(scenario) == pytest.approx(7.5 * INCH, abs=EXACT_M)
    digs = [
        Dig("on", "front", "out", 1.0, 7.5 * INCH, "headland row"),
        Dig("off", "front", "out", 1.0, -7.5 * INCH, "headland row"),
        Dig("off", "front", "out", 1.0, -7.5 * INCH, "flag"),
    ]
    assert DigModel(scenario, 0.0).past_line(digs) == pytest.approx([0.0, 0.0, -7.5 * INCH], abs=EXACT_M)


def exact(plan: list[Dig], scenario: Scenario) -> list[Dig]:
    """Digs without any scatter, seeds at their mean place."""
    return [replace(d, past=flow_ends(d) + (SPACING if d.end == "on" else -SPACING) / 2) for d in plan]


def test_two_speeds_tell_all_apart() -> None:
    done = correct(two_ranks(), exact(plan_of((3, 7)), two_ranks()), seed_spacing=SPACING)
    value = [done.estimates[key]["value"] for key in ("offset_error_m", "on_latency_s", "off_latency_s")]
    assert value == pytest.approx(list(TRUE.values()), abs=EXACT_M)
    assert done.settled_by == []
    assert done.together == []
    assert (done.recommended["turn_on_time_s"], done.recommended["turn_off_time_s"]) == (0.45, 0.25)


def test_one_speed_tells_only_sums() -> None:
    """At 5 mph what is known is dx + v tau_on and dx + v tau_off; no number is made up for the parts. At that
    speed settings are right all the same, whichever of the two is wrong.
    """
    done = correct(two_ranks(), exact(plan_of((5,)), two_ranks()), seed_spacing=SPACING)
    assert {one["value"] for one in done.estimates.values()} == {None}
    told = {next(k for k in one.coefficients if k != "offset_error_m"): one for one in done.together}
    assert set(told) == {"on_latency_s", "off_latency_s"}
    for key, name in (("on_latency_s", "on"), ("off_latency_s", "off")):
        assert told[key].coefficients == pytest.approx({"offset_error_m": 1.0, key: 5 * MPH})
        stated = done.stated(told[key].row)
        assert stated["value"] == pytest.approx(TRUE["dx"] + 5 * MPH * TRUE[name], abs=EXACT_M)
    assert ("starts at another speed",) in done.settled_by
    assert ("stops at another speed",) in done.settled_by
    assert any("tape" in way for ways in done.settled_by for way in ways)
    assert done.before is not None
    assert done.after is not None
    right = correct(two_ranks(), exact(plan_of((3, 7)), two_ranks()), seed_spacing=SPACING)
    assert done.before.areas["combined_m2"] == pytest.approx(right.before.areas["combined_m2"], rel=1e-9)


def test_one_speed_says_nothing_of_another() -> None:
    done = correct(two_ranks(), exact(plan_of((3,)), two_ranks()), seed_spacing=SPACING)
    assert done.before is None
    assert done.recommended == {"reference_offset_m": None, "turn_on_time_s": None, "turn_off_time_s": None}
    assert done.to_dict()["before"] is None


def test_a_trusted_tape_settles_both_times_at_one_speed() -> None:
    scenario = two_ranks()
    plan = [replace(dig, past=dig.past - TRUE["dx"]) for dig in exact(plan_of((5,)), scenario)]
    done = correct(scenario, plan, seed_spacing=SPACING, tape_error=INCH / 2)
    assert done.estimates["on_latency_s"]["value"] == pytest.approx(TRUE["on"], abs=1e-6)
    assert done.estimates["off_latency_s"]["value"] == pytest.approx(TRUE["off"], abs=1e-6)
    # Four starts, four stops; exact digs scatter as seed spacing alone would make them.
    error = math.hypot(INCH / 2, SPACING / math.sqrt(12 * 4)) / (5 * MPH)
    assert done.estimates["on_latency_s"]["standard_error"] == pytest.approx(error, rel=1e-9)


def test_starts_alone_leave_the_stops_untold() -> None:
    digs = [dig for dig in exact(plan_of((3, 7)), two_ranks()) if dig.end == "on"]
    done = correct(two_ranks(), digs, seed_spacing=SPACING)
    assert done.estimates["off_latency_s"]["value"] is None
    assert done.estimates["on_latency_s"]["value"] == pytest.approx(TRUE["on"], abs=EXACT_M)
    assert done.settled_by == [("stops",)]
    assert done.recommended["turn_on_time_s"] == 0.45
    assert done.recommended["turn_off_time_s"] is None


def test_one_direction_does_not_tell_a_displacement_from_the_offset() -> None:
    out = [dig for dig in exact(plan_of((3, 7)), two_ranks()) if dig.direction == "out"]
    done = correct(two_ranks(), out, seed_spacing=SPACING, drift=True)
    assert done.estimates["offset_error_m"]["value"] is None
    assert done.estimates["drift_m"]["value"] is None
    assert done.estimates["on_latency_s"]["value"] == pytest.approx(TRUE["on"], abs=EXACT_M)
    assert ("digs on the way back",) in done.settled_by


def test_a_displacement_and_a_rank_set_farther_back_are_found() -> None:
    """3 cm late on the way out and as early on the way back; the rear rank 4 cm farther back than told."""
    digs = [
        replace(
            d, past=d.past + (0.03 if d.direction == "out" else -0.03) - (0.04 if d.rank == "rear" else 0.0)
        )
        for d in exact(plan_of((3, 7)), two_ranks())
    ]
    done = correct(two_ranks(), digs, seed_spacing=SPACING, drift=True, rank_distance=True)
    value = {key: one["value"] for key, one in done.estimates.items()}
    assert value == pytest.approx(
        {
            "offset_error_m": TRUE["dx"], "on_latency_s": TRUE["on"], "off_latency_s": TRUE["off"],
            "rank_distance_error_m.rear": 0.04, "drift_m": 0.03,
        },
        abs=EXACT_M,
    )  # fmt: skip
    assert done.before is not None
    # The displacement is put back as what the receiver reads: less along the heading.
    assert done.before.scenario.controller.drift == pytest.approx((0.0, -0.03), abs=EXACT_M)
    ends = simulate(done.before.scenario).row_ends.columns
    first = (ends["event"] == "on") & (ends["rank"] == "rear") & (ends["leg"] == 1)
    dig = Dig("on", "rear", "out", 5 * MPH, 0.0)
    assert ends["error_m"][first] == pytest.approx(flow_ends(dig) + 0.03 - 0.04, abs=1e-6)


def test_position_delay_and_updates_are_not_counted_twice() -> None:
    """Estimated latencies hold them: 0.10 s of delay and half of 0.2 s; the time to type in is all of it."""
    scenario = two_ranks(controller={"position_delay": "0.10 s", "update_rate": "5 Hz"})
    done = correct(scenario, exact(plan_of((3, 7)), scenario), seed_spacing=SPACING)
    assert done.estimates["on_latency_s"]["value"] == pytest.approx(0.46, abs=EXACT_M)
    assert done.before is not None
    assert done.before.scenario.response.on_latency["front"] == pytest.approx(0.26, abs=EXACT_M)
    assert done.recommended["turn_on_time_s"] == 0.45


def test_deliberate_overlap_is_no_error() -> None:
    """6 in sooner on and later off on purpose: the same machine comes out."""
    scenario = two_ranks(switching={"deliberate_overlap": "6 in"})
    digs = [
        replace(dig, past=dig.past + (-6 * INCH if dig.end == "on" else 6 * INCH))
        for dig in exact(plan_of((3, 7)), scenario)
    ]
    done = correct(scenario, digs, seed_spacing=SPACING)
    assert done.estimates["off_latency_s"]["value"] == pytest.approx(TRUE["off"], abs=EXACT_M)


def test_tape_and_digs_that_contradict_each_other_are_told() -> None:
    digs = dug(plan_of((3, 7), 3), 5)
    assert not correct(two_ranks(), digs, seed_spacing=SPACING).warnings
    said = correct(
        two_ranks(), [replace(d, past=d.past + 0.3) for d in digs], seed_spacing=SPACING, tape_error=0.01
    )
    assert any("contradict" in one for one in said.warnings)


def test_the_seed_spacing_is_the_scenarios_own() -> None:
    """In 15 in rows 41,817.6 seeds per acre stand 6,272,640 / (15 x 41,817.6) = 10 in apart."""
    plan = exact(plan_of((3, 7)), two_ranks())
    sown = two_ranks(seed={"population": "41817.6 /ac"})
    done = correct(sown, plan)
    assert done.model.seed_spacing == pytest.approx(10 * INCH, rel=1e-9)
    assert not done.spacing_assumed
    assert correct(sown, plan, seed_spacing=SPACING).model.seed_spacing == SPACING
    assert correct(two_ranks(), plan).spacing_assumed
