"""The search on a field with headland laps.

Two ranks of 16 rows, 84 and 119 in behind the pin, 5 mph = 88 in/s, times 0.40/0.25 s, latencies
0.45/0.30 s: both ends come 4.4 in late. Pass ends meet the lap's inner border square-on, so what passes
add is flat from 84 - 4.4 to 119 - 4.4 in, and outside of it grows with all 32 rows at both ends. Laps add
row ends of the same machine; only at their four corners may the curve bend inside that stretch, by less
than an as-good half inch is worth. So the as-good stretch is the flat one. Tolerance: 0.1 in, the distance
between the simulations that the search places at a bend (2 mm at the least).
"""

from __future__ import annotations

import pytest

import overlapsim
from overlapsim.questions.search import find_best
from tests.helpers import scenario, two_ranks

INCH = 0.0254


def square_field(**more: object) -> overlapsim.Scenario:
    """Twelve widths by 300 m, one lap, the machine of the module's first lines."""
    return scenario(
        two_ranks(),
        {"rectangle": ["480 ft", "300 m"]},
        plan={"headland_laps": 1},
        switching={"reference_offset": "84 in", "turn_on_time": "0.40 s", "turn_off_time": "0.25 s"},
        response={"on_latency": "0.45 s", "off_latency": "0.30 s"},
        **more,
    )


def test_as_good_stretch_is_the_flat_one() -> None:
    found = find_best(square_field())
    assert found.bracketed
    low, high = (end / INCH for end in found.as_good)
    assert low == pytest.approx(84 - 4.4, abs=0.1)
    assert high == pytest.approx(119 - 4.4, abs=0.1)


def test_best_is_no_worse_than_what_people_would_try() -> None:
    case = square_field()
    best = case.with_({"switching.reference_offset": find_best(case).offset})
    least = overlapsim.simulate(best).areas["combined_m2"]
    for inches in (84, 101.5, 119, 97):
        other = case.with_({"switching.reference_offset": inches * INCH})
        # Sampled to 2 mm: 32 rows of 15 in at two ends of 12 legs cost less than 1 m² per 2 mm.
        assert least <= overlapsim.simulate(other).areas["combined_m2"] + 1.0
