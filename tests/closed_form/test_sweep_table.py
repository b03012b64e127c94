"""The table of combinations, row by row: 16 + 16 rows on 3 passes of 40 ft with square ends.

A row at a_i errs r - a_i + c_on at its start and r - a_i + c_off at its stop; late starts and early stops
skip, early starts and late stops fall beyond the edge: each of the 3 x 16 rows of a rank its strip of 15 in.
"""

from __future__ import annotations

import numpy as np
import pytest

import overlapsim
from tests.helpers import FOOT, INCH, metres, scenario, square, two_ranks

FIELD = square("120 ft", "400 ft")
SCALE = 1e-9 * 120 * FOOT * 400 * FOOT
ROWS = 3 * 16


def by_hand(offset: float, on: float, off: float) -> dict[str, float]:
    """The figures of one setting; offset and what is late at starts and stops in inches."""
    starts = [offset - place + on for place in (84, 119)]
    stops = [offset - place + off for place in (84, 119)]
    missing = ROWS * INCH * (sum(max(e, 0) for e in starts) + sum(max(-e, 0) for e in stops))
    double = ROWS * INCH * (sum(max(-e, 0) for e in starts) + sum(max(e, 0) for e in stops))
    return {
        "skip_m2": missing * 15 * INCH,
        "overlap_m2": 0.0,
        "off_field_m2": double * 15 * INCH,
        "combined_m2": (missing + double) * 15 * INCH,
        "planted_m2": 120 * FOOT * 400 * FOOT + (double - missing) * 15 * INCH,
        "worst_row_error_m": max(abs(e) for e in starts + stops) * INCH,
        "longest_gap_m": max(0, *starts, *(-e for e in stops)) * INCH,
        "missing_row_m": missing,
        "double_planted_row_m": double,
    }


def test_every_combination_is_what_a_hand_gets() -> None:
    """Latencies of 0.3 and 0.5 s (8.8 in early and late) by offsets of 60 to 140 in: the last key runs first.

    60 and 140 in lie where all rows err to one side; 60 in with late starts has a gap at the stops.
    """
    sweep = {
        "response.on_latency": ["0.3 s", "0.5 s"],
        "switching.reference_offset": {"from": "60 in", "to": "140 in", "step": "20 in"},
    }
    table = overlapsim.tune(scenario(two_ranks(), FIELD, sweep=sweep)).sweep_table
    settings = [(latency, offset) for latency in (0.3, 0.5) for offset in (60, 80, 100, 120, 140)]
    assert table["response_on_latency_s"] == pytest.approx([latency for latency, _ in settings])
    assert table["switching_reference_offset_m"] == pytest.approx([offset * INCH for _, offset in settings])
    for row, (latency, offset) in enumerate(settings):
        for key, value in by_hand(offset, (latency - 0.4) * 88, 0).items():
            assert table[key][row] == pytest.approx(value, abs=SCALE), (settings[row], key)


def test_without_a_sweep_the_table_runs_over_all_that_was_searched() -> None:
    """Times as latencies: from 84 in - 0.5 m to 119 in + 0.5 m, in half inches: 64.5 to 138.5 in."""
    table = overlapsim.tune(scenario(two_ranks(), FIELD)).sweep_table
    offsets = np.arange(64.5, 138.51, 0.5)
    assert table["switching_reference_offset_m"] == pytest.approx(offsets * INCH, abs=1e-12)
    for row in (0, 40, 74, 100, 148):
        for key, value in by_hand(offsets[row], 0, 0).items():
            assert table[key][row] == pytest.approx(value, abs=SCALE), key


def test_searched_range_reaches_over_mismatch_and_deliberate_overlap() -> None:
    """From min(a) - max(c) - d - 0.5 m to max(a) - min(c) + d + 0.5 m: c_on 17.6 in, c_off -8.8 in, d 6 in.

    84 - 17.6 - 6 - 19.685 = 40.715 in and 119 + 8.8 + 6 + 19.685 = 153.485 in: half inches 41 to 153.
    """
    table = overlapsim.tune(
        scenario(
            two_ranks(),
            FIELD,
            switching={"deliberate_overlap": "6 in"},
            response={"on_latency": "0.6 s", "off_latency": "0.3 s"},
        )
    ).sweep_table
    offsets = table["switching_reference_offset_m"] / INCH
    assert (offsets[0], offsets[-1]) == pytest.approx((41, 153), abs=1e-9)


def test_swept_speed_takes_both_ends_along() -> None:
    """0.05 s late at both ends: 4.4 in at 5 mph, 7.04 at 8 mph; at_on and at_off scale with the speed."""
    case = scenario(
        two_ranks(),
        FIELD,
        response={"on_latency": "0.45 s", "off_latency": "0.45 s"},
        sweep={"speed.working": ["5 mph", "8 mph"], "switching.reference_offset": ["84 in", metres(2.5)]},
    )
    table = overlapsim.tune(case).sweep_table
    settings = [(late, offset) for late in (4.4, 7.04) for offset in (84, 2.5 / INCH)]
    for row, (late, offset) in enumerate(settings):
        for key, value in by_hand(offset, late, late).items():
            assert table[key][row] == pytest.approx(value, abs=SCALE), (settings[row], key)
