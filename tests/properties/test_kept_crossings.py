"""Crossings that are kept from one setting serve another only where that changes nothing about them.

The second witness is the program itself with nothing kept: the same scenario, whatever was simulated before.
"""

from __future__ import annotations

from typing import Any

import pytest

import overlapsim
from overlapsim import Field
from overlapsim.control import switched
from tests.helpers import scenario, two_ranks

DITCH = [[60, 150], [150, 150], [150, 150.4], [60, 150.4]]
FIELD = {"polygon": [[0, 0], [210, 60], [190, 330], [20, 260]], "exclusions": [DITCH]}
CHANGES: dict[str, Any] = {
    "field": Field.polygon([[0, 0], [210, 80], [190, 330], [20, 260]], [DITCH]),
    "plan.heading": "10 deg",
    "plan.start_side": "right",
    "plan.headland_laps": 3,
    "machine.ranks.front.spacing": "0.8 m",
    "machine.ranks.front.behind_pin": "2.9 m",
    "switching.sections": 4,
    "switching.switch_fraction": 0.3,
    "switching.reference_offset": {"front": 2.2, "rear": 3.1},
    "switching.turn_on_time": "0.9 s",
    "switching.lateral_offset": "0.2 m",
    "controller.edge_tolerance": "0.3 m",
    "controller.update_rate": "5 Hz",
    "controller.position_delay": "0.3 s",
    "response.on_latency": "0.9 s",
    "speed.at_off": "1.5 m/s",
}

LAPS: dict[str, Any] = {"headland_laps": 2}
PLANS = [{"headland_laps": 0}, LAPS, {**LAPS, "headland_order": "last"}]


@pytest.mark.parametrize("plan", PLANS, ids=["no laps", "laps first", "laps last"])
@pytest.mark.parametrize("key", CHANGES)
def test_what_was_simulated_before_makes_no_difference(key: str, plan: dict[str, Any]) -> None:
    entered = {"sections": 2, "switch_fraction": 1.0, "turn_off_time": "0.6 s"}
    before = scenario(two_ranks(8, 8), FIELD, plan=plan, switching=entered)
    after = before.with_({key: CHANGES[key]})
    switched.forget()
    plain = overlapsim.simulate(before).areas
    changed = overlapsim.simulate(after).areas
    switched.forget()
    assert overlapsim.simulate(after).areas == changed
    assert changed != plain
