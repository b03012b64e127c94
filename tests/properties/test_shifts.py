"""Areas over shifts against full simulations: any offset, speed, time and latency, with and without laps."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from overlapsim import Scenario, simulate
from overlapsim.control.run import Simulation
from overlapsim.control.shifts import build_shifts, read, shifts_of, shortest
from tests.helpers import BASE, merge, two_ranks

HOLES = [[[18.0, 30.0], [30.0, 33.0], [29.0, 47.0], [17.0, 45.0]]]
SLANTED = {"rectangle": ["44 m", "60 m"], "end_angle": "12 deg"}
CROOKED = [[0, 0], [80, 9], [86, 60], [40, 71], [38, 64], [2, 58]]


def scenario(**changes: Any) -> Scenario:
    data = merge(BASE, {
        "machine": two_ranks(4, 4),
        "field": {"polygon": CROOKED, "exclusions": HOLES},
        "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
    })  # fmt: skip
    data = merge(data, changes)
    data["field"] = changes.get("field", data["field"])
    return Scenario.from_dict(data)


def other_settings(run: Simulation, span: tuple[float, float], seed: int) -> Any:
    """Settings whose shifts lie within a range, and their areas by full simulation."""
    rng, start = np.random.default_rng(seed), run.scenario
    while True:
        offset = start.switching.reference_offset
        changes: dict[str, Any] = {
            "switching.reference_offset": float(rng.uniform(1.8, 3.2)) if isinstance(offset, float)
            else {rank: value + float(rng.uniform(-0.3, 0.3)) for rank, value in offset.items()},
            "switching.turn_on_time": float(rng.uniform(0.1, 0.8)),
            "switching.turn_off_time": float(rng.uniform(0.1, 0.8)),
            "speed.working": float(rng.uniform(1.2, 3.2)),
        }  # fmt: skip
        later = float(rng.uniform(-0.2, 0.2))
        for end in ("on_latency", "off_latency"):
            latency = getattr(start.response, end)
            changes[f"response.{end}"] = {rank: value + later for rank, value in latency.items()}
        asked = start.with_(changes)
        at = {rank: shifts_of(asked, rank) for rank in run.layout.working_ranks}
        if all(span[0] < shift < span[1] for both in at.values() for shift in both):
            return at, simulate(asked).areas


def differences(start: Scenario, tries: int) -> list[float]:
    run, span = simulate(start), (0.8, 4.4)
    shifts, found = build_shifts(run, span), []
    for seed in range(tries):
        at, areas = other_settings(run, span, seed)
        union, inside, planted = read(shifts, at)
        parts = [run.plantable_m2 - union, inside - union, planted - inside]
        wanted = [areas["skip_m2"], areas["overlap_m2"], areas["off_field_m2"]]
        found.append(float(np.abs(np.subtract(parts, wanted)).max()) / sum(wanted))
    return found


@pytest.mark.parametrize(
    "changes",
    [
        {"field": SLANTED},
        {"field": SLANTED, "response": {"on_latency": {"front": "0.35 s", "rear": "0.55 s"}}},
        {"field": SLANTED, "switching": {"reference_offset": {"front": "2.1 m", "rear": "2.9 m"}}},
        {"field": SLANTED, "controller": {"minimum_on_time": "2 s", "minimum_off_time": "2 s"}},
    ],
    ids=["as-it-is", "latency-per-rank", "offset-per-rank", "least-times-that-put-nothing-off"],
)  # fmt: skip
def test_without_laps_they_are_exact(changes: dict[str, Any]) -> None:
    # Rounding, and nothing else: on slanted ends alone no row end can come to where another one comes.
    assert max(differences(scenario(**changes), 8)) < 1e-9


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"switching": {"lateral_offset": "10 in", "deliberate_overlap": "3 in"}},
        {"plan": {"headland_laps": 1, "headland_order": "first"}},
        {"plan": {"headland_laps": 1, "headland_order": "last"}},
    ],
    ids=["round-a-hole", "overlapping-joints", "lap-first", "lap-last"],
)
def test_where_row_ends_meet_they_are_close(changes: dict[str, Any]) -> None:
    # A tenth of a per cent is asked for: spots and tables over both shifts stand 2 and 4 cm apart.
    assert max(differences(scenario(**changes), 8)) < 1e-3


def test_commands_come_as_near_as_the_edges_that_they_are_given_at() -> None:
    """Passes run 60 m along a rectangle with a hole from 20 m to 27 m: 20 m on, 7 m off, then 33 m on.

    A deliberate overlap of 0.1 m at the boundary begins each of them sooner and ends it later: 20.2 m and
    6.8 m. Times, and the latencies of the machine, are not asked.
    """
    hole = [[12.0, 20.0], [30.0, 20.0], [30.0, 27.0], [12.0, 27.0]]
    field = {"polygon": [[0, 0], [44, 0], [44, 60], [0, 60]], "exclusions": [hole]}
    plain = {"field": field, "plan": {"heading": "0 deg"}}
    assert shortest(simulate(scenario(**plain))) == pytest.approx((20.0, 7.0))
    wider = {"switching": {"deliberate_overlap": "0.1 m", "turn_on_time": "0.7 s"}}
    assert shortest(simulate(scenario(**plain, **wider))) == pytest.approx((20.2, 6.8))


def test_a_planted_fault_is_seen() -> None:
    """Reading starts where stops belong is far off."""
    start = scenario()
    run, span = simulate(start), (0.8, 4.4)
    shifts = build_shifts(run, span)
    at, areas = other_settings(run, span, 0)
    wrong = {rank: (stop, start) for rank, (start, stop) in at.items()}
    union, _, _ = read(shifts, wrong)
    assert abs(run.plantable_m2 - union - areas["skip_m2"]) > 0.01 * areas["skip_m2"]
