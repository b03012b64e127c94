"""The same scenario with one kind of imperfection taken away: what the causes of an error are measured by."""

from __future__ import annotations

import numpy as np

from overlapsim.scenario.rows import row_layout, row_strips
from overlapsim.scenario.scenario import Scenario

HALF = 0.5
"""Switch fraction with which a row on a straight edge switches where its own middle crosses it."""


def without_updates(scenario: Scenario) -> Scenario:
    """See the machine where it is, at every instant.

    Parameters
    ----------
    scenario : Scenario
        Any.

    Returns
    -------
    Scenario
        Continuous updates, no position delay, no drift, no time for which a section has to stay on or off.
    """
    return scenario.with_(
        {
            "controller.update_rate": "continuous",
            "controller.position_delay": 0.0,
            "controller.drift": (0.0, 0.0),
            "controller.minimum_on_time": None,
            "controller.minimum_off_time": None,
        }
    )


def without_latency(scenario: Scenario) -> Scenario:
    """Let seed start and stop with the command, and the controller look ahead by nothing.

    Parameters
    ----------
    scenario : Scenario
        Any.

    Returns
    -------
    Scenario
        Latencies and times are 0 s. Matched times leave the same ground, except that pieces and gaps that
        are too short to switch for at the times entered are dropped with those.
    """
    return scenario.with_(
        {
            "response.on_latency": 0.0,
            "response.off_latency": 0.0,
            "switching.turn_on_time": 0.0,
            "switching.turn_off_time": 0.0,
        }
    )


def at_own_places(scenario: Scenario, shift: float = 0.0) -> Scenario:
    """Give every rank a reference offset of its own: where its seed meets the ground.

    Parameters
    ----------
    scenario : Scenario
        Any.
    shift : float
        By how much all of them are larger than that, metres.

    Returns
    -------
    Scenario
        One offset per rank, for all ranks of the setup that works and of the one that is entered.
    """
    machine, entered = scenario.machine, scenario.switching.entered_setup
    names = dict.fromkeys((*machine.working_ranks, *machine.setups[entered].ranks))
    places = {name: machine.ranks[name].behind_pin + shift for name in names}
    return scenario.with_({"switching.reference_offset": places})


def row_by_row(scenario: Scenario) -> Scenario:
    """Let every row of the setup entered switch for itself, where its own middle crosses an edge.

    Parameters
    ----------
    scenario : Scenario
        Any.

    Returns
    -------
    Scenario
        A section for each row, switch fraction 1/2.
    """
    return scenario.with_({"switching.sections": "each-row", "switching.switch_fraction": HALF})


def well_set_up(scenario: Scenario) -> Scenario:
    """Centre the machine, let all rows work, enter the setup that runs and no deliberate overlap.

    Parameters
    ----------
    scenario : Scenario
        With sections that fit any setup: a row each.

    Returns
    -------
    Scenario
        Its middle runs on the planned line. The hitch shift that does it may be longer than a hitch has.
    """
    machine = scenario.machine
    sound = scenario.with_(
        {
            "machine.rows_off": (),
            "switching.entered_setup": machine.setup,
            "switching.deliberate_overlap": 0.0,
            "switching.lateral_offset": 0.0,
        }
    )
    middle = row_strips(machine, machine.setup).middle_of_pin
    centred = sound.machine.setups[machine.setup].model_copy(update={"hitch_shift": -middle})
    setups = {**sound.machine.setups, machine.setup: centred}
    # Copied, not read: a shift that no hitch makes is no fault in a machine that is only thought of.
    return sound.model_copy(update={"machine": sound.machine.model_copy(update={"setups": setups})})


def planting_places(scenario: Scenario) -> np.ndarray:
    """Tell how far behind the hitch pin rows really drop seed.

    Parameters
    ----------
    scenario : Scenario
        Any.

    Returns
    -------
    ndarray, shape (n,)
        Different distances of rows that are not off, metres, rising.
    """
    layout = row_layout(scenario)
    return np.unique(layout.behind_pin[~layout.off])
