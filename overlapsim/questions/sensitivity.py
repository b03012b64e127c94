"""How far the best offset moves when a condition is a little different."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from overlapsim.basics.units import INCH, MPH
from overlapsim.questions.search import Offset, find_best
from overlapsim.scenario.rows import row_layout
from overlapsim.scenario.scenario import Scenario

STEP_S, STEP_MPH, STEP_IN = 0.1, 1.0, 1.0
"""Steps either way: 0.1 s of latency, 1 mph of speed, 1 in of tape."""

SLOWEST = 0.1
"""m/s: a slower speed than this is not tried."""


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
    A latency or speed that cannot be lowered by the whole step is lowered as far as it goes.
    """
    response, layout = scenario.response, row_layout(scenario)
    result: dict[str, Any] = {}
    for name in ("on", "off"):
        latency = dict(getattr(response, f"{name}_latency"))
        down = min(STEP_S, *latency.values())
        key = f"response.{name}_latency"
        result[f"m_per_s_of_{name}_latency"] = _moved(
            scenario.with_({key: {rank: value - down for rank, value in latency.items()}}),
            scenario.with_({key: {rank: value + STEP_S for rank, value in latency.items()}}),
            down + STEP_S,
        )
        progress()
    speed = scenario.speed.working
    slow = max(speed - STEP_MPH * MPH, min(speed, SLOWEST))
    result["m_per_m_per_s"] = _moved(
        scenario.with_({"speed.working": slow}),
        scenario.with_({"speed.working": speed + STEP_MPH * MPH}),
        speed + STEP_MPH * MPH - slow,
    )
    progress()
    by_rank = {}
    for rank in layout.working_ranks:
        key, behind = f"machine.ranks.{rank}.behind_pin", layout.behind_pin_of(rank)
        by_rank[rank] = _moved(
            scenario.with_({key: behind - STEP_IN * INCH}),
            scenario.with_({key: behind + STEP_IN * INCH}),
            2 * STEP_IN * INCH,
        )
        progress()
    result["m_per_m_of_behind_pin"] = by_rank
    return result


def _moved(less: Scenario, more: Scenario, by: float) -> Offset:
    """How far the best offset moves per unit of the change."""
    before, after = find_best(less).offset, find_best(more).offset
    if isinstance(before, dict) and isinstance(after, dict):
        return {rank: (after[rank] - before[rank]) / by for rank in before}
    return (after - before) / by  # type: ignore[operator]
