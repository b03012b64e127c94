"""The machine as digs show it: put back into the scenario, so that a full simulation tells what it costs."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from overlapsim.basics.errors import Fault, InputError, ScenarioError
from overlapsim.basics.frames import Floats, to_ground
from overlapsim.questions.digs import BETWEEN, DRIFT, DX, OFF, ON, Dig, DigModel, lag
from overlapsim.questions.least_squares import Fit
from overlapsim.scenario.rows import row_layout
from overlapsim.scenario.scenario import Scenario

LONGEST = 3.0
"""Seconds: a time longer than this is not typed in, nor is it any machine's latency."""


def predicted_at_ends(model: DigModel) -> Floats:
    """How the unknowns add up at the scenario's own pass ends, rank by rank, starts and stops.

    Parameters
    ----------
    model : DigModel
        With its scenario.

    Returns
    -------
    ndarray, shape (2 k, p)
        Metres per unit of each unknown; a displacement of the ground counts on the average of both
        directions, nothing.
    """
    speed = model.scenario.speed
    rows = model.design(
        [
            Dig(end, rank, "out", at, 0.0)
            for rank in row_layout(model.scenario).working_ranks
            for end, at in (("on", speed.at_on), ("off", speed.at_off))
        ]
    )
    rows[:, [name == DRIFT for name in model.unknowns]] = 0.0
    return rows


def choice_of(model: DigModel, fit: Fit) -> dict[str, float]:
    """Choose one machine of all that the digs allow: what is not known to be wrong is left as described.

    Parameters
    ----------
    model : DigModel
        Names of the unknowns.
    fit : Fit
        What is known of them.

    Returns
    -------
    dict of str to float
        A value for each unknown, m and s. Where all can be told apart there is no choice.
    """
    names, value, loose = model.unknowns, fit.value, fit.loose
    if loose.shape[1]:
        metres = np.array([name not in (ON, OFF) for name in names])
        value = value - loose @ np.linalg.lstsq(loose[metres], value[metres], rcond=None)[0]
        # A latency below nothing is no machine's: then part of it must be the offset.
        early = min(value[names.index(ON)], value[names.index(OFF)])
        free = [way for way in loose.T if abs(way[0]) > 1e-9]
        if early < 0 and len(free) == 1:
            least = names.index(ON) if value[names.index(ON)] == early else names.index(OFF)
            if abs(free[0][least]) > 1e-9:
                value = value - free[0] * early / free[0][least]
    return {name: float(one) for name, one in zip(names, value, strict=True)}


def as_found(model: DigModel, value: Mapping[str, float]) -> Scenario:
    """Put what was found into the scenario, the settings left as they were entered.

    Parameters
    ----------
    model : DigModel
        With the scenario as described.
    value : mapping of str to float
        The unknowns, m and s.

    Returns
    -------
    Scenario
        Ranks where they truly stand, latencies as they truly are, less what the controller's position delay
        and update rate make of it already.

    Raises
    ------
    InputError
        If no machine is like that.
    """
    scenario = model.scenario
    layout, own = row_layout(scenario), lag(scenario)
    changes: dict[str, object] = {}
    for rank in layout.working_ranks:
        place = layout.behind_pin_of(rank) - value[DX] + value.get(BETWEEN + rank, 0.0)
        changes[f"machine.ranks.{rank}.behind_pin"] = place
    changes["response.on_latency"] = max(value[ON] - own, 0.0)
    changes["response.off_latency"] = max(value[OFF] - own, 0.0)
    if value.get(DRIFT, 0.0):
        # Landing late along the heading is reading too little along it.
        read = to_ground(np.array([0.0, -value[DRIFT]]), model.heading)
        changes["controller.drift"] = tuple(float(x) for x in np.array(scenario.controller.drift) + read)
    try:
        return scenario.with_(changes)
    except ScenarioError as error:
        rule = "the digs show a machine that is none: " + "; ".join(str(fault) for fault in error.faults)
        raise InputError(Fault(rule.rstrip("."), "Look at units, signs and ends of the sheet.")) from None


def settings_for(scenario: Scenario, value: Mapping[str, float | None]) -> dict[str, float | None]:
    """Round the times that fit to what can be typed in.

    Parameters
    ----------
    scenario : Scenario
        With its time step.
    value : mapping of str to float or None
        The unknowns; None = not known.

    Returns
    -------
    dict of str to float or None
        `turn_on_time` and `turn_off_time`, s: each equal to its latency, which holds the controller's own
        lag.
    """
    step = scenario.controller.time_step
    found = {}
    for key, name in (("turn_on_time", ON), ("turn_off_time", OFF)):
        latency = value[name]
        steps = None if latency is None else math.floor(min(max(latency, 0.0), LONGEST) / step + 0.5)
        # Steps are decimals: 9 of 0.05 s are 0.45 s, not 0.45000000000000001.
        found[key] = None if steps is None else round(steps * step, 9)
    return found
