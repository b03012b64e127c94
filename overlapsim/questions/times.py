"""The reference offset and both times searched together, and what to type in then."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from overlapsim.control.run import Simulation, simulate
from overlapsim.questions.options import ON_STEP, recommend
from overlapsim.questions.search import Best, find_best, with_offset
from overlapsim.questions.targets import row_end_cost
from overlapsim.questions.time_box import Box, box_of_equals, flat_box
from overlapsim.questions.time_lines import TimeLines, least_of, with_times
from overlapsim.questions.valley import lowest_line
from overlapsim.scenario.scenario import Scenario

FINE, COARSE = 1e-7, 0.02
"""Metres to which the search comes near to the best pair of times; the latter where the box is flat."""

PICTURE_STEPS, PICTURE_S = 24, 0.3
"""Lines read for the picture, and seconds that it reaches beyond the best times and those as entered."""

SEARCHES, SEARCHES_FLAT = 110.0, 20.0
"""What all of it takes in times of one search for the offset (counted); the latter where the box is flat."""

BETTER = 1e-9
"""Share of the combined error by which the times as entered must be better to be left."""


@dataclass(frozen=True)
class Joint:
    """Outcome of a search over the reference offset and both times.

    Attributes
    ----------
    scenario : Scenario
        At the best: the middle of the box.
    found : Best
        The search over the offset alone at these times.
    box : Box
        Settings equal to it but for rounding.
    typed : Scenario
        What to type in, on the steps of the controller.
    typed_found : Best
        The search over the offset alone at the times that are typed in.
    curve : tuple of list
        `apart` (see :class:`TimeLines`), metres, and the least combined error over the offset there, m².
    lines : TimeLines
        Pairs of times.
    """

    scenario: Scenario
    found: Best
    box: Box
    typed: Scenario
    typed_found: Best
    curve: tuple[list[float], list[float]]
    lines: TimeLines

    def to_dict(self) -> dict[str, Any]:
        """What a result holds besides what it holds without times.

        Returns
        -------
        dict
            `with_times`; `equal_box`: two ends each of `reference_offset_m` (by rank where there is one per
            rank), `turn_on_time_s` and `turn_off_time_s`, any combination of which is equal to the best;
            `not_separable`: settings that one speed at starts and one at stops cannot tell apart; `stand_in`:
            seconds more on each time that undo one metre more of offset at these speeds, s/m.
        """
        v_on, v_off = self.lines.speeds
        return {
            "with_times": True,
            "equal_box": self.box.to_dict(),
            "not_separable": ["reference_offset", "turn_on_time", "turn_off_time"],
            "stand_in": {"turn_on_time_s_per_m": 1.0 / v_on, "turn_off_time_s_per_m": 1.0 / v_off},
        }


def searches_for_times(scenario: Scenario) -> float:
    """Reckon how long a search over the times takes.

    Parameters
    ----------
    scenario : Scenario
        Its laps, updates and kind of offset decide how it is searched.

    Returns
    -------
    float
        In times of one search for the best reference offset (no unit).
    """
    return SEARCHES if _exact(scenario) else SEARCHES_FLAT


def _exact(scenario: Scenario) -> bool:
    """Whether the ledger is exact in the times: nothing but where starts and stops are wanted counts."""
    by_rank = isinstance(scenario.switching.reference_offset, dict)
    controller = scenario.controller
    lasting = controller.minimum_on_time or controller.minimum_off_time
    return not (scenario.plan.headland_laps or controller.update_period or by_rank or lasting)


def search_times(scenario: Scenario, own: Best, progress: Callable[[], None] = lambda: None) -> Joint:
    """Search the reference offset and both times with the least combined error.

    Parameters
    ----------
    scenario : Scenario
        As set; conditions stay.
    own : Best
        Its search over the offset alone.
    progress : callable
        Called before every search.

    Returns
    -------
    Joint
        No worse than `own`. The box has room for the times where the ledger is exact in them: one offset
        for all ranks, continuous updates, no headland laps.
    """
    exact, switching = _exact(scenario), scenario.switching
    lines = TimeLines(scenario, progress)
    entered = (switching.turn_on_time, switching.turn_off_time)
    start = -2.0 * switching.deliberate_overlap.boundary
    apart = lowest_line(lines, start, FINE if exact else COARSE)
    times = lines.times_at(apart)
    if least_of(own) < lines.least(apart) * (1.0 - BETTER):
        # With ticks the times as entered may lie better than any pair that plants the same ground otherwise.
        apart, times = lines.apart_of(entered), entered
    if exact:
        box = box_of_equals(lines, apart)
        found = find_best(with_times(scenario, box.middle_times))
    else:
        found = own if times == entered else find_best(with_times(scenario, times))
        box = flat_box(found, times)
    chosen = with_times(scenario, box.middle_times)
    found = replace(found, offset=box.middle_offset)
    best = with_offset(chosen, box.middle_offset)
    typed, typed_found = _typed(scenario, box, simulate(best), lines)
    if exact:
        switching = typed.switching
        typed_times = (switching.turn_on_time, switching.turn_off_time)
        _read_for_picture(lines, box.middle_times, entered, typed_times)
    return Joint(best, found, box, typed, typed_found, lines.curve, lines)


def _read_for_picture(lines: TimeLines, *marks: tuple[float, float]) -> None:
    """Search lines evenly over all pairs of times within reach of those that are marked."""
    on, off = zip(*marks, strict=True)
    low, high = lines.range
    first = max(low, lines.apart_of((min(on) - PICTURE_S, max(off) + PICTURE_S)))
    last = min(high, lines.apart_of((max(on) + PICTURE_S, min(off) - PICTURE_S)))
    for n in range(PICTURE_STEPS + 1):
        lines.least(first + (last - first) * n / PICTURE_STEPS)


def _typed(scenario: Scenario, box: Box, best: Simulation, lines: TimeLines) -> tuple[Scenario, Best]:
    """Choose what to type in: both times on their steps, the offset as for them alone.

    As good as the best for a tape and the smallest worst row; where no pair is as good, the cheapest.
    Tried are the steps next to the best and next to times that match: these have the smallest worst row.
    """
    step, allowed = scenario.controller.time_step, row_end_cost(best) * scenario.tune.as_good
    level = best.areas["combined_m2"] + allowed
    tried: list[tuple[tuple[float, ...], Scenario, Best]] = []
    wanted = (box.middle_times, lines.times_at(0.0))
    pairs = {
        (on, off)
        for times in wanted
        for on, off in itertools.product(*(_steps(t, step, lines.limits) for t in times))
    }
    for times in sorted(pairs):
        one = with_times(scenario, times)
        found = find_best(one)
        typed = with_offset(one, recommend(one, found))
        areas = simulate(typed).areas
        cost, worst = round(areas["combined_m2"], 6), round(areas["worst_row_error_m"], 9)
        rank = (0.0, worst, cost) if cost <= level else (1.0, cost, worst)
        tried.append(((*rank, *times), typed, found))
    _, typed, found = min(tried, key=lambda one: one[0])
    return typed, found


def _steps(time: float, step: float, limits: tuple[float, float]) -> list[float]:
    """The one or two times next to a time that can be typed in, seconds."""
    around = {math.floor(time / step + ON_STEP), math.ceil(time / step - ON_STEP)}
    typed = [round(n * step, 12) for n in sorted(around)]
    return [t for t in typed if limits[0] - ON_STEP <= t <= limits[1] + ON_STEP] or [time]


def lower(joint: Joint, best: Simulation, others: list[Simulation]) -> tuple[Joint, Simulation]:
    """Where a sampled search missed a lower run with the same kind of offset, take that one.

    Parameters
    ----------
    joint : Joint
        Outcome of the search.
    best : Simulation
        Its full simulation.
    others : list of Simulation
        Other settings.

    Returns
    -------
    joint : Joint
        The same, or with another best whose box is a point.
    best : Simulation
        Its full simulation.
    """
    kind = type(best.scenario.switching.reference_offset)
    alike = [run for run in others if type(run.scenario.switching.reference_offset) is kind]
    run = min([best, *alike], key=lambda one: one.areas["combined_m2"])
    if run is best:
        return joint, best
    switching = run.scenario.switching
    offset = switching.reference_offset
    ends = {k: (v, v) for k, v in offset.items()} if isinstance(offset, dict) else (offset, offset)
    on, off = switching.turn_on_time, switching.turn_off_time
    found = replace(find_best(run.scenario), offset=offset, equal=ends)
    return replace(joint, scenario=run.scenario, found=found, box=Box(ends, (on, on), (off, off))), run
