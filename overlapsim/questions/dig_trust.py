"""How far a dig and a tape can be trusted: what a seed's place, a reading and updates scatter by."""

from __future__ import annotations

import numpy as np

from overlapsim.basics.units import INCH
from overlapsim.scenario.scenario import Scenario

ASSUMED_SPACING = 6 * INCH
"""Seed spacing where nobody states one: that of about 35,000 seeds per acre in 30 in rows (common
practice)."""

READING = INCH / 4
"""Standard error of reading a tape on the ground, metres: a quarter of an inch (this program's choice)."""

FINEST = 1e-4
"""Metres: no dig and no machine is read closer than a tenth of a millimetre."""

UNIFORM = 12**-0.5
"""Standard deviation of what lies anywhere in a stretch with equal odds, as a share of its length."""


def taped(scenario: Scenario) -> bool:
    """Tell whether the scenario says that all of its working ranks were taped.

    Parameters
    ----------
    scenario : Scenario
        With its ``[basis]`` table.

    Returns
    -------
    bool
        True if each one's distance, behind the pin or behind the foremost rank, is.
    """
    said = {key for key, source in scenario.basis.items() if source.strip().lower().startswith("taped")}
    return all(
        any(f"machine.ranks.{rank}.{key}" in said for key in ("behind_pin", "behind_front"))
        for rank in scenario.machine.working_ranks
    )


def trusted_tape(scenario: Scenario, error: float | None, trust: bool | None) -> float | None:
    """Tell how well the taped distances are trusted.

    Parameters
    ----------
    scenario : Scenario
        With its ``[basis]`` table.
    error : float or None
        Stated standard error, m.
    trust : bool or None
        Whether they count at all; None = if an error is stated, or all working ranks are said to be taped.

    Returns
    -------
    float or None
        Standard error, m: by default the scenario's `tune.as_good`. None = not trusted.
    """
    trusted = trust if trust is not None else error is not None or taped(scenario)
    return (error or scenario.tune.as_good or FINEST) if trusted else None


def spread_of(scenario: Scenario, seed_spacing: float, reading: float, speed: float) -> float:
    """Scatter of one dig: seed lies anywhere in its spacing, a tape is read so well, updates come in time.

    Parameters
    ----------
    scenario : Scenario
        With its update rate.
    seed_spacing : float
        In the row, metres.
    reading : float
        Standard error of a reading, metres.
    speed : float
        Ground speed, m/s.

    Returns
    -------
    float
        Standard deviation, metres.
    """
    update = speed * scenario.controller.update_period
    return float(np.sqrt((UNIFORM * seed_spacing) ** 2 + reading**2 + (UNIFORM * update) ** 2))
