"""Closed forms of square ends against the search over a field that is nothing but square ends.

On a rectangle as wide as a whole number of passes every pass costs the same two ends, so the search's best,
as-good stretch and recommended offset are those of one pass.
"""

from __future__ import annotations

import numpy as np
import pytest

import overlapsim
from overlapsim import Scenario
from overlapsim.questions.square_ends import square_answer

INCH = 0.0254


def machine(rng: np.random.Generator) -> Scenario:
    rows = int(rng.integers(2, 9))
    spacing = float(rng.choice([0.5, 0.762]))
    ranks = {"front": {"rows": rows, "spacing": f"{spacing} m", "behind_pin": f"{rng.integers(50, 110)} in"}}
    if rng.random() < 0.7:
        odd = int(rng.random() < 0.4)
        ranks["rear"] = {
            "rows": rows - odd,
            "spacing": f"{spacing} m",
            "behind_front": f"{rng.integers(10, 60)} in",
            "right": "0 m" if odd else f"{-spacing / 2} m",
        }
    count = sum(rank["rows"] for rank in ranks.values())
    width = count * spacing / len(ranks)
    shift = 0.25 * spacing * (len(ranks) == 2 and count % 2 == 0)
    times = {key: f"{rng.integers(0, 20) * 0.05:.2f} s" for key in ("on", "off", "on_latency", "off_latency")}
    return Scenario.from_dict({
        "machine": {"ranks": ranks, "setups": {"all": {"ranks": list(ranks), "hitch_shift": f"{shift} m"}}},
        "field": {"rectangle": [f"{4 * width} m", "200 m"]},
        "speed": {"working": f"{rng.integers(3, 11)} mph"},
        "switching": {"reference_offset": f"{rng.integers(50, 150)} in",
                      "turn_on_time": times["on"], "turn_off_time": times["off"]},
        "response": {"on_latency": times["on_latency"], "off_latency": times["off_latency"]},
    })  # fmt: skip


@pytest.mark.parametrize("seed", range(12))
def test_it_is_what_the_search_finds_on_square_ends(seed: int) -> None:
    scenario = machine(np.random.default_rng(seed))
    found, answer = overlapsim.tune(scenario), square_answer(scenario)
    offset = found.recommended.scenario.switching.reference_offset
    assert offset == pytest.approx(answer.recommended, abs=1e-9)
    # The search takes costs for equal that differ by a millionth: on the slope of a strip some micrometres.
    assert found.as_good_m == pytest.approx(answer.as_good, abs=2e-5)
    assert found.as_set.areas["longest_gap_m"] == pytest.approx(answer.gap_now, abs=1e-9)
    assert found.recommended.areas["longest_gap_m"] == pytest.approx(answer.gap_then, abs=1e-9)


def test_two_ranks_by_hand() -> None:
    """Ranks at 84 and 119 in, starts 0.05 s late at 5 mph (4.4 in), stops 0.10 s early (8.8 in).

    Row ends stand on the line at 79.6 and 114.6 in (starts), 92.8 and 127.8 in (stops): flat between the
    second and the third, 92.8 to 114.6 in; the smallest worst row at (79.6 + 127.8)/2 = 103.7, typed as
    103.5 in.
    """
    scenario = Scenario.from_dict({
        "machine": {"ranks": {
            "front": {"rows": 16, "spacing": "30 in", "behind_pin": "84 in"},
            "rear": {"rows": 16, "spacing": "30 in", "behind_pin": "119 in", "right": "-15 in"}},
            "setups": {"narrow": {"ranks": ["front", "rear"], "hitch_shift": "7.5 in"}}},
        "speed": {"working": "5 mph"},
        "switching": {"reference_offset": "84 in", "turn_on_time": "0.40 s", "turn_off_time": "0.40 s"},
        "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
    })  # fmt: skip
    answer = square_answer(scenario)
    assert [round(end / INCH, 1) for end in answer.equal] == [92.8, 114.6]
    assert answer.recommended == pytest.approx(103.5 * INCH)
    assert round(answer.gap_now / INCH, 1) == 43.8
    assert round(answer.gap_then / INCH, 1) == 24.3
