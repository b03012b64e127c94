"""How far the best offset moves when a condition is a little different."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from overlapsim.basics.errors import ScenarioError
from overlapsim.basics.units import INCH, MPH
from overlapsim.questions.search import Offset, find_best
from overlapsim.scenario.rows import row_layout
from overlapsim.scenario.scenario import Scenario

STEP_S, STEP_MPH, STEP_IN = 0.1, 1.0, 1.0
"""Steps either way: 0.1 s of latency, 1 mph of speed, 1 in of tape."""


def sensitivity(scenario: Scenario, progress: Callable[[], None] = lambda: None) -> dict[str, Any]:
    """Search the best offset again with one condition changed either way.

    Parameters
    ----------
    scenario : Scenario
        The scenario's own conditions.
    progress : callable
        Called after every pair of searches.

    Returns
    -------
    dict
        `m_per_s_of_on_latency`, `m_per_s_of_off_latency` (metres per second), `m_per_m_per_s` (metres
        per m/s of working speed) and `m_per_m_of_behind_pin` by rank. Where the scenario has an offset
        per rank each figure is a dict by rank.

    Notes
    -----
    A condition that no machine has one way (a latency below 0 s) is changed the other way only.
    """
    response, layout = scenario.response, row_layout(scenario)
    result: dict[str, Any] = {}
    for name in ("on", "off"):
        key = f"response.{name}_latency"
        latency = dict(getattr(response, f"{name}_latency"))
        result[f"m_per_s_of_{name}_latency"] = _moved(scenario, key, latency, STEP_S)
        progress()
    result["m_per_m_per_s"] = _moved(scenario, "speed.working", scenario.speed.working, STEP_MPH * MPH)
    progress()
    by_rank = {}
    for rank in layout.working_ranks:
        key, behind = f"machine.ranks.{rank}.behind_pin", layout.behind_pin_of(rank)
        by_rank[rank] = _moved(scenario, key, behind, STEP_IN * INCH)
        progress()
    result["m_per_m_of_behind_pin"] = by_rank
    return result


def _moved(scenario: Scenario, key: str, now: Offset, step: float) -> Offset:
    """How far the best offset moves per unit of one condition."""
    ends: list[tuple[float, Offset]] = []
    for by in (-step, step):
        try:
            value = {rank: one + by for rank, one in now.items()} if isinstance(now, dict) else now + by
            changed = scenario.with_({key: value})
        except ScenarioError:
            changed, by = scenario, 0.0
        ends.append((by, find_best(changed).offset))
    (low, before), (high, after) = ends
    if isinstance(before, dict) and isinstance(after, dict):
        return {rank: (after[rank] - before[rank]) / (high - low) for rank in before}
    return (after - before) / (high - low)  # type: ignore[operator]
