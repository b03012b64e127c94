"""The gallery: every scenario runs, and what its first lines teach is what comes out.

Expected numbers are worked out by hand in each test from the sizes in the file: ranks 84 and 119 in behind
the pin, 5 mph = 88 in/s. Tolerances: 1e-9 for a few operations of rounding; 1e-6 of the plantable area where
areas are compared, which is what the account promises. Offsets count as equal within the larger of 1e-6 of
the least and 1e-9 of the plantable area, so an equal stretch ends `beyond` where the least itself ends.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import overlapsim

GALLERY = Path(__file__).resolve().parents[2] / "scenarios"
NAMES = sorted(path.stem for path in GALLERY.glob("*.toml"))
INCH = 0.0254
STRIP = 15 * INCH
#: Inches. The curve is a sum of some thousand areas, each a part in 1e15 off, over the slope of one row.
ROUNDING = 1e-6


def beyond(row_inches: float, net_rows: float, passes: int = 33, width_ft: float = 40) -> float:
    """How far an end of the equal stretch lies outside of where the least ends, inches, on passes of 2640 ft.

    Both ends of every pass cost `row_inches` (|error| summed over rows) at the least, and outside of it
    `net_rows` more for every inch.
    """
    strips = passes * 2 * STRIP * INCH
    equal = max(1e-6 * strips * row_inches, 1e-9 * passes * width_ft * 2640 * (12 * INCH) ** 2)
    return equal / (strips * net_rows)


def load(name: str, **changed: Any) -> Any:
    """Load a scenario of the gallery, with some keys changed (`__` for a dot)."""
    scenario = overlapsim.load_scenario(GALLERY / f"{name}.toml")
    return (
        scenario.with_({key.replace("__", "."): value for key, value in changed.items()})
        if changed
        else scenario
    )


@cache
def tuned(name: str) -> Any:
    """Tune a scenario of the gallery, once."""
    return overlapsim.tune(load(name))


def offset(run: Any) -> float:
    """Reference offset of a run, inches."""
    return float(run.scenario.switching.reference_offset / INCH)


@pytest.mark.parametrize("path", sorted(GALLERY.rglob("*.toml")), ids=lambda path: path.stem)
def test_the_first_lines_say_what_it_teaches(path: Path) -> None:
    head = re.match(r"(?:#.*\n)+", path.read_text(encoding="utf-8"))
    assert head
    assert path.parent.name == "machines" or "Teaches:" in head[0]


@pytest.mark.parametrize("name", NAMES)
def test_every_scenario_runs_balances_and_is_confirmed(name: str) -> None:
    run = overlapsim.simulate(load(name))
    a, plantable = run.areas, run.plantable_m2
    assert a["planted_m2"] == pytest.approx(
        plantable - a["skip_m2"] + a["overlap_m2"] + a["off_field_m2"], abs=1e-6 * plantable
    )
    assert run.to_dict()["witness"]["largest_relative_difference"] <= 1e-6
    told = [said for said in run.scenario.warnings if "textbook field" not in said]
    assert not told
    assert run.scenario.field.textbook == (name == "textbook-square")


@pytest.mark.parametrize("name", NAMES)
def test_every_scenario_comes_back_from_its_own_result(name: str) -> None:
    scenario = load(name)
    again = overlapsim.Scenario.from_dict(scenario.to_inputs())
    assert again == scenario


def test_textbook_square_is_flat_and_best_in_the_middle() -> None:
    result = tuned("textbook-square")
    # 0.05 s late at both ends: 4.4 in less than the two tapes. 32 rows are 17.5 in off in the mean, and
    # outside of the stretch all of them pay.
    more = beyond(32 * 17.5, 32)
    assert [edge / INCH for edge in result.equal_m] == pytest.approx(
        [84 - 4.4 - more, 119 - 4.4 + more], abs=ROUNDING
    )
    assert offset(result.best) == pytest.approx(97.1, abs=ROUNDING)
    assert result.best.areas["worst_row_error_m"] / INCH == pytest.approx(35 / 2, abs=ROUNDING)


def test_slanted_ends_have_a_rounded_trough_and_cost_less_stagger() -> None:
    """The stagger's cost is what an offset per rank saves against midway, all times being matched here."""
    per_rank = {"front": "84 in", "rear": "119 in"}

    def stagger(scenario: Any) -> float:
        apart = scenario.with_({"switching.reference_offset": per_rank})
        both, each = (overlapsim.simulate(one).areas["combined_m2"] for one in (scenario, apart))
        return float(both - each)

    slanted = load("slanted-ends")
    square = slanted.with_({"field": overlapsim.Field.rectangle(1320 * 12 * INCH, 2640 * 12 * INCH)})
    # Square ends: 33 passes, two ends, 32 rows half of D off.
    assert stagger(square) == pytest.approx(33 * 2 * 32 * STRIP * 35 * INCH / 2, rel=1e-6)
    # Slanted, four rows (60 in) in a section: with an offset per rank the mean |error| of a row end is
    # 15 in tan(30 deg). Midway, front rows are late and rear rows early by D/2, less half of what the edge
    # gains over the 15 in that front rows stand to the right of rear rows; no row changes its sign.
    gain = 15 * INCH * 3**-0.5
    assert stagger(slanted) == pytest.approx(33 * 2 * 32 * STRIP * ((35 * INCH - gain) / 2 - gain), rel=1e-6)
    low, high = tuned("slanted-ends").equal_m
    assert high - low < 1 * INCH


def test_unequal_ranks_cost_least_at_the_rank_with_more_rows() -> None:
    result = tuned("unequal-ranks")
    # 15 rows are 35 in off; behind 84 in one row net pays, before it all 31. Among equals the best is the one
    # nearest to midway.
    low, high = (beyond(15 * 35, rows, passes=34, width_ft=38.75) for rows in (31, 1))
    assert [edge / INCH for edge in result.equal_m] == pytest.approx([84 - low, 84 + high], abs=ROUNDING)
    assert offset(result.best) == pytest.approx(84 + high, abs=ROUNDING)

    def ends(run: Any) -> float:
        return float(run.areas["missing_row_m"] + run.areas["double_planted_row_m"])

    midway = result.alternatives["midway"]
    # Per row end: 15 rows a whole D off, or 31 rows half of D off.
    at_front = result.alternatives["foremost_rank"]
    assert ends(midway) / ends(at_front) == pytest.approx(31 / 30, rel=1e-9)
    assert midway.areas["longest_gap_m"] == pytest.approx(35 * INCH / 2, rel=1e-9)


def test_wide_setup_is_clean_at_both_ends() -> None:
    run = overlapsim.simulate(load("wide"))
    assert run.areas["worst_row_error_m"] == pytest.approx(0, abs=1e-9)
    assert run.areas["combined_m2"] < overlapsim.simulate(load("demo")).areas["combined_m2"]


@pytest.mark.parametrize("name", ["forgotten-hitch-shift", "double-correction"])
def test_a_machine_off_its_line_shows_at_every_second_joint(name: str) -> None:
    run = overlapsim.simulate(load(name))
    # 1320 ft in passes of 40 ft: 33 passes, 32 joints, 16 of them 15 in too wide and 16 as much too narrow.
    assert run.pass_count == 33
    joints = run.to_dict()["by_place"]["joints"]
    for found in (joints["skip_m2"], joints["overlap_m2"]):
        # 2640 ft = 804.7 m long. Joints count away from the pass ends: at most 20 m is left out at each.
        assert 16 * 15 * INCH * 764 <= found <= 16 * 15 * INCH * 805
    assert tuned(name).best.areas["skip_m2"] >= joints["skip_m2"] * (1 - 1e-9)


def test_the_two_wrong_corrections_are_mirror_images() -> None:
    left, right = (load(name) for name in ("forgotten-hitch-shift", "double-correction"))
    assert overlapsim.simulate(left).layout.middle / INCH == pytest.approx(-7.5)
    assert overlapsim.simulate(right).layout.middle / INCH == pytest.approx(7.5)


def test_an_offset_per_rank_cures_the_stagger() -> None:
    worst = tuned("offset-per-rank").best.areas["worst_row_error_m"]
    assert worst / INCH == pytest.approx(0, abs=beyond(0, 16))
    assert overlapsim.simulate(load("offset-per-rank")).areas["worst_row_error_m"] == pytest.approx(3 * INCH)


def test_slow_updates_make_everything_late() -> None:
    ends = overlapsim.simulate(load("slow-updates")).square_ends
    # 0.1 s of delay and half of 0.1 s, at 88 in/s; front rows 17.5 in late besides, rear rows 17.5 in early.
    late = sorted({round(float(e) / INCH, 9) for e in ends.on_m})
    assert late == pytest.approx([13.2 - 17.5, 13.2 + 17.5], abs=1e-9)


def test_the_wrong_setup_gives_its_offset_to_the_machine() -> None:
    scenario = load("wrong-setup-entered")
    assert scenario.switching.reference_offset / INCH == pytest.approx(84)
    assert scenario.switching.sections == 16
    assert overlapsim.simulate(scenario).areas["longest_gap_m"] == pytest.approx(35 * INCH)


def test_wide_sections_cost_what_no_offset_cures() -> None:
    wide = tuned("half-width-sections").best.areas["combined_m2"]
    rows = overlapsim.tune(load("half-width-sections", switching__sections="each-row")).best.areas[
        "combined_m2"
    ]
    saved = overlapsim.simulate(load("half-width-sections")).areas["combined_m2"] - wide
    assert wide - rows > 5 * saved


def test_a_locked_up_row_costs_its_strip_all_along() -> None:
    run = overlapsim.simulate(load("locked-up-row"))
    whole = overlapsim.simulate(load("locked-up-row", machine__rows_off=[]))
    # 33 passes of 804.7 m; the row is missing at both ends too, where some are early and some late.
    lost = run.areas["skip_m2"] - whole.areas["skip_m2"]
    assert 33 * STRIP * 803 <= lost <= 33 * STRIP * 806


def test_starts_and_stops_want_different_corrections() -> None:
    ends = overlapsim.simulate(load("slow-starts-fast-stops")).square_ends
    # (0.45 - 0.25) s at 3 mph = 52.8 in/s; (0.30 - 0.25) s at 6 mph = 105.6 in/s.
    assert ends.on_m / INCH == pytest.approx(0.20 * 52.8)
    assert ends.off_m / INCH == pytest.approx(0.05 * 105.6)
    matched = tuned("slow-starts-fast-stops").alternatives["times_matched"]
    assert matched.areas["worst_row_error_m"] / INCH == pytest.approx(0, abs=beyond(0, 16))


def test_a_late_rear_rank_draws_the_ranks_together() -> None:
    result = tuned("latency-per-rank")
    # The rear rank is 0.15 s = 13.2 in late: it wants 105.8 in, the front rank 84 in.
    more = beyond(32 * (105.8 - 84) / 2, 32)
    assert [edge / INCH for edge in result.equal_m] == pytest.approx(
        [84 - more, 119 - 13.2 + more], abs=ROUNDING
    )


def test_drift_is_beyond_any_offset() -> None:
    result = tuned("drift")
    # Each end is 3 in early or late on 33 passes; 17 of them go one way and 16 the other, and only that one
    # pass more can be helped. The sides, 6 in off over 804.7 m, cannot.
    ends, sides = 33 * 2 * 40 * 12 * INCH * 3 * INCH, 2 * 6 * INCH * 804.672
    assert result.as_set.areas["combined_m2"] == pytest.approx(ends + sides, rel=1e-3)
    assert result.best.areas["combined_m2"] > result.as_set.areas["combined_m2"] * (1 - 1 / 33)


def test_deliberate_overlap_trades_one_error_for_another() -> None:
    run = overlapsim.simulate(load("deliberate-overlap"))
    none = overlapsim.simulate(load("deliberate-overlap", switching__deliberate_overlap="0 in"))
    assert none.areas["longest_gap_m"] - run.areas["longest_gap_m"] == pytest.approx(12 * INCH)
    assert run.areas["skip_m2"] < none.areas["skip_m2"]
    assert run.areas["off_field_m2"] > none.areas["off_field_m2"]


def test_the_middle_one_of_three_ranks_is_pleased() -> None:
    result = tuned("three-ranks")
    assert offset(result.best) == pytest.approx(72 + 28, abs=ROUNDING)
    assert result.best.areas["worst_row_error_m"] == pytest.approx(28 * INCH)


def test_sweep_gives_a_row_for_each_combination() -> None:
    table = tuned("sweep").sweep_table
    assert {len(column) for column in table.values()} == {91 * 3 * 2}
    assert "switching_reference_offset_m" in table


def test_each_tenth_of_a_second_takes_the_best_forward() -> None:
    """101.5 in - 88 in/s (on latency - 0.45 s + off latency - 0.30 s)/2: 4.4 in for 0.1 s of either."""
    result = tuned("latencies")
    moves = result.to_dict()["sensitivity"]["swept"]
    for key in ("response_on_latency_s", "response_off_latency_s"):
        for way in ("mean", "least", "largest"):
            assert moves[key][way] / INCH / 10 == pytest.approx(-4.4, abs=ROUNDING)
    assert set(result.sweep_table["switching_reference_offset_m"]) == {101.5 * INCH}
    assert {len(column) for column in result.sweep_table.values()} == {5 * 5}


def test_what_is_not_known_to_the_last_digit() -> None:
    told = overlapsim.tune(load("unsure"), uncertain=True).to_dict()
    sure, typed = told["uncertain"], told["recommended"]["reference_offset_m"]
    assert sure["best"]["reference_offset_m"] == pytest.approx(typed, abs=INCH)
    assert sure["points"][1]["share_as_good"] > 0.99
    costs = {one["key"]: one["unknown_m2"] for one in sure["not_known"]}
    tapes, latencies = ([costs[k] for k in costs if k.startswith(head)] for head in ("machine", "response"))
    assert 10 * max(tapes) < min(latencies)
