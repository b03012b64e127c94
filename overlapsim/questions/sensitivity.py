"""How far the best offset moves when a condition is a little different."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from overlapsim.basics.errors import ScenarioError
from overlapsim.basics.units import INCH, MPH
from overlapsim.control.run import Simulation
from overlapsim.questions.search import Offset, best_offset

STEP_S, STEP_MPH, STEP_IN = 0.1, 1.0, 1.0
"""Steps either way: 0.1 s of latency, 1 mph of speed, 1 in of tape."""


def sensitivity(as_set: Simulation, progress: Callable[[], None] = lambda: None) -> dict[str, Any]:
    """Search the best offset again with one condition changed either way.

    Parameters
    ----------
    as_set : Simulation
        A run of the scenario under its own conditions.
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
    scenario = as_set.scenario
    response, layout = scenario.response, as_set.layout
    result: dict[str, Any] = {}
    for name in ("on", "off"):
        key = f"response.{name}_latency"
        latency = dict(getattr(response, f"{name}_latency"))
        result[f"m_per_s_of_{name}_latency"] = _moved(as_set, key, latency, STEP_S)
        progress()
    result["m_per_m_per_s"] = _moved(as_set, "speed.working", scenario.speed.working, STEP_MPH * MPH)
    progress()
    by_rank = {}
    for rank in layout.working_ranks:
        key, behind = f"machine.ranks.{rank}.behind_pin", layout.behind_pin_of(rank)
        by_rank[rank] = _moved(as_set, key, behind, STEP_IN * INCH)
        progress()
    result["m_per_m_of_behind_pin"] = by_rank
    return result


def _moved(as_set: Simulation, key: str, now: Offset, step: float) -> Offset:
    """How far the best offset moves per unit of one condition."""
    scenario, ends = as_set.scenario, list[tuple[float, Offset]]()
    for by in (-step, step):
        try:
            value = {rank: one + by for rank, one in now.items()} if isinstance(now, dict) else now + by
            changed = scenario.with_({key: value})
        except ScenarioError:
            changed, by = scenario, 0.0
        ends.append((by, best_offset(changed, as_set)))
    (low, before), (high, after) = ends
    if isinstance(before, dict) and isinstance(after, dict):
        return {rank: (after[rank] - before[rank]) / (high - low) for rank in before}
    return (after - before) / (high - low)  # type: ignore[operator]
