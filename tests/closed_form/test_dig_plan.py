"""Plans of digs: standard errors by hand, the choice against all other choices, sheets that are read back."""

from __future__ import annotations

import csv
import io
import itertools
import math
from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from overlapsim import correct, digplan, load_digs
from overlapsim.questions.dig_plan import MOST_TURNS
from overlapsim.questions.digs import DigModel
from overlapsim.questions.dug_turns import Turn, digs_at, minutes_for
from overlapsim.questions.planned import DigPlan
from overlapsim.report.dig_sheet import sheet_text
from overlapsim.report.words import Words
from tests.dig_helpers import SPACING, two_ranks
from tests.helpers import INCH, MPH

TAPED = {"tape_error": INCH / 2}


def test_ten_minutes_with_a_trusted_tape_by_hand() -> None:
    """One turn at 5 mph: four stops and four starts. The tape tells dx to 1/2 in; a latency is what four digs
    say less dx, over 88 in/s: sqrt(0.5² + s²/4)/88 s. Digs of both ends then say nothing new of dx.
    """
    plan = digplan(two_ranks(), minutes=10, scatter=2 * INCH, **TAPED)
    assert Counter((dig.end, dig.rank) for dig in plan.digs) == dict.fromkeys(
        itertools.product(("on", "off"), ("front", "rear")), 2
    )
    assert plan.minutes == 10
    error = math.hypot(0.5, 2 / math.sqrt(4)) / 88
    for name in ("on_latency_s", "off_latency_s"):
        assert plan.standard_errors[name] == pytest.approx(error, rel=1e-9)
    assert plan.standard_errors["offset_error_m"] == pytest.approx(INCH / 2, rel=1e-9)
    assert plan.not_separable == []
    assert plan.is_enough


def test_ten_minutes_without_a_tape_tell_sums_only_and_say_what_would_do() -> None:
    plan = digplan(two_ranks(), minutes=10, trust_tape=False)
    assert plan.not_separable == ["offset_error_m", "on_latency_s", "off_latency_s"]
    assert not plan.is_enough
    assert ("starts at another speed",) in plan.settled_by
    assert plan.to_dict()["predicted"]["on_latency_s"]["standard_error"] is None


def test_without_a_tape_slowest_and_fastest_are_driven_and_nothing_between() -> None:
    """A straight line is told best from its two ends (common to all textbooks of design)."""
    plan = digplan(two_ranks(), slowest=3 * MPH, fastest=8 * MPH)
    assert {round(turn.speed / MPH, 6) for turn in plan.turns} == {3.0, 8.0}
    assert {turn.where for turn in plan.turns} == {"far", "near"}
    assert {dig.direction for dig in plan.digs if dig.end == "on"} == {"out", "back"}
    assert plan.is_enough


def largest(turns: list[Turn], plan: DigPlan) -> float:
    """Largest standard error over what is wanted, from the normal equations; inf where something is not
    told."""
    rows = plan.model.design(digs_at(plan.scenario, turns))
    if np.linalg.matrix_rank(rows) < rows.shape[1]:
        return math.inf
    errors = plan.scatter * np.sqrt(np.diag(np.linalg.inv(rows.T @ rows)))
    return float((errors / list(plan.unknowns_wanted.values())).max())


@pytest.mark.parametrize("drift", [False, True])
@pytest.mark.parametrize("within", [1.6, 1.3, 1.1])
def test_no_other_choice_of_as_many_turns_is_much_surer(within: float, drift: bool) -> None:
    """Against all choices of three speeds and two ends; one by one is within a twelfth of all at once."""
    plan = digplan(two_ranks(), offset_within=within * INCH, drift=drift)
    count = len(plan.turns)
    assert 3 <= count <= 9
    speeds = [3 * MPH, 5 * MPH, 7 * MPH]
    offers = [Turn(end, v, 2) for end in ("far", "near") for v in speeds]
    best = min(largest(list(turns), plan) for turns in itertools.combinations_with_replacement(offers, count))
    assert largest(list(plan.turns), plan) <= best * (1 + 1 / 12)


def test_a_plan_stops_when_it_is_sure_enough() -> None:
    plan = digplan(two_ranks())
    reach = {name: plan.reach(name) for name in plan.standard_errors}
    assert reach["offset_error_m"] <= 2 * INCH
    assert reach["on_latency_s"] <= 0.1
    one_less = largest(list(plan.turns[:-1]), plan) * plan.quantile
    assert one_less > 1


def test_what_cannot_be_reached_is_given_up_and_told() -> None:
    plan = digplan(two_ranks(), offset_within=0.01 * INCH)
    assert len(plan.turns) == MOST_TURNS
    assert not plan.is_enough


def test_updates_scatter_too() -> None:
    """5 Hz at 7 mph: 123.2 in/s x 0.2 s over the root of 12 = 7.113 in, seeds 6 in / root 12, reading 1/4
    in."""
    plan = digplan(two_ranks(controller={"update_rate": "5 Hz"}), minutes=10, **TAPED)
    wanted = math.sqrt(7.113**2 + 3 + 0.0625)
    assert plan.scatter / INCH == pytest.approx(wanted, abs=1e-3)


def shown(plan: DigPlan, end: str, rank: str, mph: float) -> float:
    found = {
        round(one / INCH, 9)
        for dig, one in zip(plan.digs, plan.should_show, strict=True)
        if (dig.end, dig.rank, round(dig.speed / MPH, 6)) == (end, rank, mph)
    }
    assert len(found) == 1
    return found.pop()


@pytest.mark.parametrize(("laps", "half"), [(0, 0.0), (1, 7.5)])
def test_what_digs_should_show_now(laps: int, half: float) -> None:
    """97 in entered: front rows 13 in late, rear rows 22 in early; latencies 0.05 s over the times, 4.4 in at
    5 mph; half of 6 in of seed spacing; from a headland row 7 1/2 in more at starts and less at stops.
    """
    scenario = two_ranks(
        plan={"headland_laps": laps}, response={"on_latency": "0.45 s", "off_latency": "0.30 s"}
    )
    plan = digplan(scenario, minutes=10, **TAPED)
    assert {dig.origin for dig in plan.digs} == {"headland row" if laps else "flag"}
    for rank, place in (("front", 13.0), ("rear", -22.0)):
        assert shown(plan, "on", rank, 5.0) == pytest.approx(place + 4.4 + 3 + half)
        assert shown(plan, "off", rank, 5.0) == pytest.approx(place + 4.4 - 3 - half)


def test_rows_that_are_off_are_not_dug() -> None:
    scenario = two_ranks(machine={"rows_off": ["front 1", "front 2", "front 4"]})
    plan = digplan(scenario)
    assert {dig.row for dig in plan.digs if dig.rank == "front"} == {3}
    assert {dig.row for dig in plan.digs if dig.rank == "rear"} == {1, 2, 3, 4}


@pytest.mark.parametrize("minutes", [6, 14, 30, 61])
@pytest.mark.parametrize("trust", [True, False])
def test_minutes_are_kept(minutes: float, trust: bool) -> None:
    plan = digplan(two_ranks(), minutes=minutes, trust_tape=trust)
    assert plan.minutes <= minutes
    assert minutes_for(plan.scenario, [*plan.turns, plan.turns[0]]) > minutes or minutes > 30
    assert plan.turns[0].speed == 5 * MPH


def test_what_could_not_be_told_with_less() -> None:
    said = {
        one["with"]: one["not_told"]
        for one in digplan(two_ranks(), drift=True, rank_distance=True).with_fewer
    }
    assert said["starts only"] == ["off_latency_s"]
    assert said["stops only"] == ["on_latency_s"]
    assert said["one speed only"] == ["offset_error_m", "on_latency_s", "off_latency_s"]
    assert said["one rank only"] == ["rank_distance_error_m.rear"]
    assert "drift_m" in said["one direction only"]
    taped = {one["with"]: one["not_told"] for one in digplan(two_ranks(), minutes=10, **TAPED).with_fewer}
    assert taped["no tape to trust"] == ["offset_error_m", "on_latency_s", "off_latency_s"]


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("laps", [0, 1])
def test_the_sheet_filled_in_as_it_should_show_gives_the_machine_back(
    tmp_path: Path, units: str, laps: int
) -> None:
    """Printed to a tenth of an inch or centimetre: latencies come back to a hundredth of a second."""
    scenario = two_ranks(
        plan={"headland_laps": laps}, response={"on_latency": "0.45 s", "off_latency": "0.30 s"}
    )
    plan = digplan(scenario)
    comments = [line for line in sheet_text(plan, Words(units)).splitlines() if line.startswith("#")]
    rows = list(
        csv.reader(line for line in sheet_text(plan, Words(units)).splitlines() if line not in comments)
    )
    past, told = (
        next(i for i, n in enumerate(rows[0]) if n.startswith(s)) for s in ("past line", "should show")
    )
    for row in rows[1:]:
        assert row[past] == ""
        row[past] = row[told]
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    path = tmp_path / "sheet.csv"
    path.write_text("\n".join(comments) + "\n" + out.getvalue(), encoding="utf-8")
    digs = load_digs(path, scenario)
    assert len(digs) == len(plan.digs)
    done = correct(scenario, digs)
    assert done.estimates["on_latency_s"]["value"] == pytest.approx(0.45, abs=0.005)
    assert done.estimates["off_latency_s"]["value"] == pytest.approx(0.30, abs=0.005)
    assert done.estimates["offset_error_m"]["value"] == pytest.approx(0.0, abs=0.005)


def test_predicted_errors_are_those_that_come_out() -> None:
    """500 fields dug by the plan, scatter normal: estimates scatter as was predicted; robust fits know 95 %
    of what plain ones do, so up to 1/sqrt(0.95) more.
    """
    from dataclasses import replace

    from overlapsim.questions.correction import fit_digs

    plan = digplan(two_ranks(), scatter=3 * INCH, offset_within=4 * INCH)
    model = DigModel(plan.scenario, SPACING)
    mean = model.described(plan.digs) + model.design(plan.digs) @ [0.05, 0.45, 0.30]
    chance = np.random.default_rng(8)
    values = []
    for _ in range(500):
        noise = chance.normal(0.0, 3 * INCH, len(mean))
        digs = [replace(d, past=float(x)) for d, x in zip(plan.digs, mean + noise, strict=True)]
        values.append(fit_digs(model, digs, None).value)
    found = np.std(values, axis=0) / list(plan.standard_errors.values())
    chance_of_it = 4 / math.sqrt(2 * 500)
    assert (found > 1 - chance_of_it).all()
    assert (found < 1 / math.sqrt(0.95) + chance_of_it).all()
