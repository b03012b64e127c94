"""What one could enter instead: the obvious alternatives, what to type in, and what nothing cures."""

from __future__ import annotations

import math

import numpy as np

from overlapsim.control.response import late_by
from overlapsim.questions.search import Best, Offset, Span, best_offset, with_offset
from overlapsim.questions.targets import RowTargets, row_targets
from overlapsim.scenario.rows import RowLayout, row_layout
from overlapsim.scenario.scenario import Scenario

ON_STEP = 1e-9
"""Metres within which a point lies on an entry step."""


def typed_shift(scenario: Scenario) -> float:
    """What is added to a reference offset where it is typed from elsewhere than the hitch pin.

    Parameters
    ----------
    scenario : Scenario
        Measured from the hitch pin or from the rear axle.

    Returns
    -------
    float
        Metres.
    """
    if scenario.controller.measured_from == "rear axle":
        return float(scenario.machine.axle_to_pin or 0.0)
    return 0.0


def recommend(scenario: Scenario, best: Best) -> Offset:
    """Choose what to type in: on the entry step, as good as the best, with the smallest worst row.

    Parameters
    ----------
    scenario : Scenario
        With its entry step.
    best : Best
        Outcome of the search.

    Returns
    -------
    float or dict of str to float
        Metres behind the hitch pin; where no step lies in the as-good stretch, the cheaper of the two
        steps around it.
    """
    step, shift = scenario.controller.offset_step, typed_shift(scenario)
    if isinstance(best.as_good, tuple):
        return _on_step(best, "", best.as_good, row_targets(scenario), step, shift)
    return {
        rank: _on_step(best, rank, stretch, row_targets(scenario, frozenset({rank})), step, shift)
        for rank, stretch in best.as_good.items()
    }


def _on_step(best: Best, rank: str, stretch: Span, targets: RowTargets, step: float, shift: float) -> float:
    first = math.ceil((stretch[0] + shift - ON_STEP) / step)
    last = math.floor((stretch[1] + shift + ON_STEP) / step)
    if first <= last:
        # The worst row is V-shaped over the offset: only the steps next to its middle, and the ends, count.
        nearest = (targets.middle + shift) / step
        steps = {min(max(n, first), last) for n in (math.floor(nearest), math.ceil(nearest))}
        return targets.best_of(n * step - shift for n in sorted(steps))
    around = np.array([last * step - shift, first * step - shift])
    cost = best.ledgers[rank].combined.at(around)[:, 0]
    return float(around[int(cost[1] < cost[0])])


def matched_times(scenario: Scenario) -> Scenario:
    """The same scenario with each time set to what the machine takes.

    Parameters
    ----------
    scenario : Scenario
        Latencies, delay and update rate.

    Returns
    -------
    Scenario
        Times = mean latency over working rows by strip width + position delay + half an update period.
    """
    layout = row_layout(scenario)
    use = ~layout.off if not layout.off.all() else np.ones(len(layout.off), dtype=bool)
    controller, response = scenario.controller, scenario.response
    lag = controller.position_delay + controller.update_period / 2

    def mean(latency: dict[str, float]) -> float:
        return float(np.average([latency[str(n)] for n in layout.rank[use]], weights=layout.width[use])) + lag

    return scenario.with_(
        {
            "switching.turn_on_time": mean(dict(response.on_latency)),
            "switching.turn_off_time": mean(dict(response.off_latency)),
        }
    )


def per_rank(scenario: Scenario) -> Scenario:
    """The same scenario on a controller that holds an offset for each rank.

    Parameters
    ----------
    scenario : Scenario
        Any.

    Returns
    -------
    Scenario
        Each rank's offset at its own distance behind the pin, to start a search from.
    """
    layout = row_layout(scenario)
    return with_offset(scenario, {name: layout.behind_pin_of(name) for name in layout.working_ranks})


def alternatives(scenario: Scenario) -> dict[str, Scenario]:
    """Lay out the settings that people think of.

    Parameters
    ----------
    scenario : Scenario
        As set.

    Returns
    -------
    dict of str to Scenario
        By key, in the order in which results list them. The last, ``floor``, is what no setting of this
        machine goes below on square ends.
    """
    layout = row_layout(scenario)
    front, rear = (layout.behind_pin_of(layout.working_ranks[i]) for i in (0, -1))
    found = {
        "as_set": scenario,
        "foremost_rank": with_offset(scenario, front),
        "midway": with_offset(scenario, (front + rear) / 2),
        "rearmost_rank": with_offset(scenario, rear),
    }
    matched = matched_times(scenario)
    for key, start in (
        ("offset_per_rank", per_rank(scenario)),
        ("times_matched", matched),
        ("floor", per_rank(matched)),
    ):
        found[key] = with_offset(start, best_offset(start))
    return found


def digging(scenario: Scenario, layout: RowLayout, offset: Offset) -> list[dict[str, float | str]]:
    """What digging should show on an edge square to the way, rank by rank.

    Parameters
    ----------
    scenario : Scenario
        Times, latencies, deliberate overlap.
    layout : RowLayout
        Rows.
    offset : float or dict of str to float
        Entered reference offset, metres behind the hitch pin.

    Returns
    -------
    list of dict
        `rank`, `on_m` and `off_m`: signed distance beyond the edge, metres, positive = late; without the
        half seed spacing that the first and last seed add on average.
    """
    wanted = scenario.switching.deliberate_overlap.boundary
    shown: list[dict[str, float | str]] = []
    for rank in layout.working_ranks:
        c_on, c_off = late_by(scenario, rank)
        ahead = (offset[rank] if isinstance(offset, dict) else offset) - layout.behind_pin_of(rank)
        shown.append({"rank": rank, "on_m": ahead + c_on - wanted, "off_m": ahead + c_off + wanted})
    return shown
