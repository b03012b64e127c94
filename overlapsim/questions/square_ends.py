"""What to type in where passes end square to the way: closed forms, without a field."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.control.response import square_ends
from overlapsim.questions.options import ON_STEP, typed_shift
from overlapsim.questions.search import Span, with_offset
from overlapsim.questions.targets import RowTargets, row_targets
from overlapsim.scenario.scenario import Scenario

SAME_COST = 1e-9
"""m² per pass: costs closer than this are equal but for rounding."""


@dataclass(frozen=True)
class SquareAnswer:
    """What square ends ask for.

    Attributes
    ----------
    equal, as_good : tuple of float
        Stretches of offsets with the least cost, and as good for a tape, metres behind the hitch pin.
    recommended : float
        What to type in: on the entry step, as good, with the smallest worst row, metres behind the pin.
    gap_now, gap_then : float
        Longest gap in a row as entered and at `recommended`, metres.
    """

    equal: Span
    as_good: Span
    recommended: float
    gap_now: float
    gap_then: float


def square_answer(scenario: Scenario) -> SquareAnswer:
    """Answer the main question by closed forms.

    Parameters
    ----------
    scenario : Scenario
        One reference offset for all ranks, all weights alike; its field is not looked at.

    Returns
    -------
    SquareAnswer
        Exact for ends square to the way without headland laps.

    Notes
    -----
    Entry and exit of a pass cost ``sum w_i (|r - t_on,i| + |r - t_off,i|)``, t the offset at which a row end
    stands on the line and w the width of its row strip. That is least on a weighted median. As good is what
    costs no more than a tape's error on every row end, less that error at both sides.
    """
    targets, reach = row_targets(scenario), scenario.tune.as_good
    order = np.argsort(targets.target, kind="stable")
    place, weight = targets.target[order], targets.weight[order]
    cost = np.array([_cost(targets, r) for r in place])
    least = float(cost.min())
    lowest = np.flatnonzero(cost <= least + SAME_COST)
    equal = float(place[lowest[0]]), float(place[lowest[-1]])
    best = min(max(targets.middle, equal[0]), equal[1])
    level = least + float(weight.sum()) * reach
    low, high = _crossing(place, weight, cost, level, -1), _crossing(place, weight, cost, level, 1)
    shrunk = low + reach, high - reach
    as_good = (best, best) if shrunk[0] > shrunk[1] else (min(shrunk[0], best), max(shrunk[1], best))
    new = _on_step(scenario, targets, as_good)
    return SquareAnswer(
        equal, as_good, new,
        square_ends(scenario).longest_gap_m, square_ends(with_offset(scenario, new)).longest_gap_m,
    )  # fmt: skip


def _cost(targets: RowTargets, offset: float) -> float:
    return float((targets.weight * np.abs(offset - targets.target)).sum())


def _crossing(place: Floats, weight: Floats, cost: Floats, level: float, way: int) -> float:
    """Where the cost comes up to a level, left (-1) or right (1) of its least."""
    inside = np.flatnonzero(cost <= level)
    at = int(inside[0] if way < 0 else inside[-1])
    # Beyond the outermost place inside, the cost rises evenly by what pulls back less what pulls on.
    behind = place <= place[at] if way > 0 else place >= place[at]
    rise = float(weight[behind].sum() - weight[~behind].sum())
    return float(place[at]) + way * (level - float(cost[at])) / rise


def _on_step(scenario: Scenario, targets: RowTargets, stretch: Span) -> float:
    """The entry step of a stretch with the smallest worst row; outside of it the cheaper one beside it."""
    step, shift = scenario.controller.offset_step, typed_shift(scenario)
    first = math.ceil((stretch[0] + shift - ON_STEP) / step)
    last = math.floor((stretch[1] + shift + ON_STEP) / step)
    if first <= last:
        nearest = (targets.middle + shift) / step
        steps = {min(max(n, first), last) for n in (math.floor(nearest), math.ceil(nearest))}
        return targets.best_of(n * step - shift for n in sorted(steps))
    around = (last * step - shift, first * step - shift)
    return min(around, key=lambda r: (round(_cost(targets, r), 9), r))
