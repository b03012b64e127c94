"""Times, speeds, delays and ticks on square ends with one rank: e = r - a + c at each end.

c_on = v_on (on_latency - turn_on_time + position_delay + mean tick lag), c_off likewise. 5 mph is 88 in/s
exactly (5 x 63360 in / 3600 s), so 0.1 s is 8.8 in.
"""

from __future__ import annotations

import math

import pytest

from overlapsim import simulate
from tests.helpers import FOOT, INCH, MPH, areas, check, inches, one_rank, scenario, square, two_ranks

LONG = 400 * FOOT


def test_speeds_at_on_and_off_count_each_for_its_own_end() -> None:
    """4 mph (70.4 in/s) x 0.1 s = 7.04 in late at "on", 6 mph (105.6 in/s) x -0.1 s = -10.56 in at "off".

    Reference 3 in behind the seed: starts 10.04 in late, stops 7.56 in early; both skip.
    """
    result = areas(
        one_rank(4),
        square("60 ft", "400 ft"),
        speed={"at_on": "4 mph", "at_off": "6 mph"},
        switching={"reference_offset": "87 in"},
        response={"on_latency": "0.5 s", "off_latency": "0.3 s"},
    )
    check(
        result,
        60 * FOOT * LONG,
        skip_m2=6 * 120 * (10.04 + 7.56) * INCH**2,
        off_field_m2=0,
        worst_row_error_m=10.04 * INCH,
        longest_gap_m=10.04 * INCH,
        missing_row_m=6 * 4 * (10.04 + 7.56) * INCH,
        double_planted_row_m=0,
    )


@pytest.mark.parametrize(
    ("mph", "on", "off"),
    [(4, 1.10467, 0.74704), (5, 1.30584, 0.85880), (6, 1.50701, 0.97056), (8, 1.90934, 1.19408)],
)
def test_what_a_digger_finds_at_four_speeds(mph: float, on: float, off: float) -> None:
    """0.30 m too much offset, 0.45 s too little time at "on" and 0.25 s at "off": d = 0.30 m + v dt.

    At 4 mph: 0.3 + 1.78816 x 0.45 = 1.10467 m. Tabled to 1e-5 m, so half of that is the tolerance.
    """
    simulation = simulate(
        scenario(
            one_rank(4, behind_pin="2 m"),
            square("60 ft", "400 ft"),
            speed={"working": f"{mph} mph"},
            switching={"reference_offset": "2.3 m", "turn_on_time": "0.1 s", "turn_off_time": "0.1 s"},
            response={"on_latency": "0.55 s", "off_latency": "0.35 s"},
        )
    )
    columns = simulation.row_ends.columns
    for kind, speed, error in zip(
        columns["event"], columns["speed_m_per_s"], columns["error_m"], strict=True
    ):
        assert speed == pytest.approx(mph * MPH, rel=1e-12)
        assert error == pytest.approx(on if kind == "on" else off, abs=0.5e-5)
        assert error == pytest.approx(0.30 + mph * MPH * (0.45 if kind == "on" else 0.25), abs=1e-9)


def test_position_delay_makes_both_ends_late() -> None:
    """0.3 s at 5 mph: 26.4 in late at every end. A time longer by the delay cures it."""
    field = square("60 ft", "400 ft")
    late = areas(one_rank(4), field, controller={"position_delay": "0.3 s"})
    half = 6 * 120 * 26.4 * INCH**2
    check(late, 60 * FOOT * LONG, skip_m2=half, off_field_m2=half, longest_gap_m=26.4 * INCH)
    times = {"turn_on_time": "0.7 s", "turn_off_time": "0.7 s"}
    cured = areas(one_rank(4), field, controller={"position_delay": "0.3 s"}, switching=times)
    check(cured, 60 * FOOT * LONG, skip_m2=0, off_field_m2=0)


def lags(way: float, speed: float, period: float, legs: int) -> list[float]:
    """How far each leg's command comes late (m): from a place `way` along the leg to its next tick.

    Ticks of leg k fall at (frac(0.618034 (k - 1)) + n) T after its start.
    """
    found = []
    for leg in range(legs):
        phase = math.fmod(0.618034 * leg, 1.0)
        clock = way / speed / period
        found.append((math.ceil(clock - phase) + phase - clock) * period * speed)
    return found


@pytest.mark.parametrize(("on_mph", "off_mph"), [(5, 5), (4, 6)])
def test_update_ticks_over_thirty_passes(on_mph: float, off_mph: float) -> None:
    """10 Hz: late starts skip, late stops fall beyond the edge, as far as each pass's ticks say.

    30 passes of 10 ft, 400 ft long. A leg starts before its end by r (or a: both 84 in) + v max(times,
    latencies, T) + 1 m, v the larger speed; "on" is due where the pin is r - v t behind the edge, that is
    after 84 in + v_max 0.4 s + 1 m + 84 in - v_on 0.4 s of way, and "off" 400 ft later.
    """
    on, off, fastest = on_mph * MPH, off_mph * MPH, max(on_mph, off_mph) * MPH
    before = 84 * INCH + 0.4 * fastest + 1.0
    late_on = lags(before + 84 * INCH - 0.4 * on, on, 0.1, 30)
    late_off = lags(before + LONG + 84 * INCH - 0.4 * off, off, 0.1, 30)
    result = areas(
        one_rank(4),
        square("300 ft", "400 ft"),
        speed={"working": f"{fastest!r} m/s", "at_on": f"{on_mph} mph", "at_off": f"{off_mph} mph"},
        controller={"update_rate": "10 Hz"},
    )
    check(
        result,
        300 * FOOT * LONG,
        skip_m2=120 * INCH * sum(late_on),
        off_field_m2=120 * INCH * sum(late_off),
        missing_row_m=4 * sum(late_on),
        double_planted_row_m=4 * sum(late_off),
    )
    # The rule's own figure: thirty golden steps leave no phase out, so the mean is half a period's way.
    assert sum(late_on) / 30 == pytest.approx(0.5 * on * 0.1, rel=0.06)
    assert sum(late_off) / 30 == pytest.approx(0.5 * off * 0.1, rel=0.06)


def test_mean_of_the_phases_themselves() -> None:
    """A command due exactly as the leg starts: 30 legs at 10 Hz and 5 mph lag 0.495 v T in the mean."""
    speed = 5 * MPH
    mean = sum(lags(0.0, speed, 0.1, 30)) / 30
    assert mean / (speed * 0.1) == pytest.approx(0.495, abs=0.0005)


def test_ticks_count_with_half_a_period_in_what_digging_shows() -> None:
    """10 Hz at 5 mph: the mean lag is 0.05 s = 4.4 in on a square end, in the worst row and the gap."""
    result = areas(one_rank(4), square("60 ft", "400 ft"), controller={"update_rate": "10 Hz"})
    check(result, LONG, worst_row_error_m=4.4 * INCH, longest_gap_m=4.4 * INCH)


@pytest.mark.parametrize("shift", [-0.2, 0.15, 0.3])
def test_offset_and_times_stand_in_for_one_another_at_one_speed(shift: float) -> None:
    """Both times longer by 0.15 s and the offset by 13.2 in: every row starts and stops where it did."""
    field = {
        "polygon": [[0, 0], [90, 12], [70, 130], [30, 80], [-15, 140]],
        "exclusions": [[[20, 30], [40, 33], [31, 60]]],
    }
    tables = {"plan": {"heading": "17 deg"}, "response": {"on_latency": "0.5 s", "off_latency": "0.3 s"}}
    before = areas(
        two_ranks(),
        field,
        switching={"reference_offset": "100 in", "turn_on_time": "0.4 s", "turn_off_time": "0.3 s"},
        **tables,
    )
    after = areas(
        two_ranks(),
        field,
        switching={
            "reference_offset": inches(100 + 88 * shift),
            "turn_on_time": f"{0.4 + shift!r} s",
            "turn_off_time": f"{0.3 + shift!r} s",
        },
        **tables,
    )
    for key in ("skip_m2", "overlap_m2", "off_field_m2", "worst_row_error_m"):
        assert after[key] == pytest.approx(before[key], abs=1e-7)


def test_two_speeds_tell_offset_and_times_apart() -> None:
    """The same exchange with 4 mph at "on" and 6 mph at "off": "on" 2.64 in late, "off" 2.64 in early.

    Offset +13.2 in, times +0.15 s: 13.2 - 0.15 x 70.4 = 2.64 in, 13.2 - 0.15 x 105.6 = -2.64 in.
    """
    result = areas(
        one_rank(4),
        square("60 ft", "400 ft"),
        speed={"at_on": "4 mph", "at_off": "6 mph"},
        switching={
            "reference_offset": inches(84 + 13.2),
            "turn_on_time": "0.55 s",
            "turn_off_time": "0.55 s",
        },
    )
    check(result, 60 * FOOT * LONG, skip_m2=6 * 120 * 2 * 2.64 * INCH**2, off_field_m2=0)


def test_latencies_may_differ_from_rank_to_rank() -> None:
    """Rear rank 0.1 s slower at both ends: 8.8 in late; front rank right. Each rank by its own offset."""
    result = areas(
        two_ranks(),
        square("120 ft", "400 ft"),
        switching={"reference_offset": {"front": "84 in", "rear": "119 in"}},
        response={
            "on_latency": {"front": "0.4 s", "rear": "0.5 s"},
            "off_latency": {"front": "0.4 s", "rear": "0.5 s"},
        },
    )
    half = 3 * 16 * 15 * 8.8 * INCH**2
    check(result, 120 * FOOT * LONG, skip_m2=half, off_field_m2=half, worst_row_error_m=8.8 * INCH)
