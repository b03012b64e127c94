"""Lost ground in money, at the amounts that the user states."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from overlapsim.control.run import Simulation

MONEY = ("money", "money_lost_stand", "money_seed", "money_double_planting")
"""Keys of what lost ground costs: all of it, then its parts."""


def money_of(run: Simulation, skip_m2: float, overlap_m2: float, off_field_m2: float) -> dict[str, float]:
    """Reckon what a run's lost ground costs.

    Parameters
    ----------
    run : Simulation
        The run, with the amounts of its scenario.
    skip_m2, overlap_m2, off_field_m2 : float
        Its areas, m².

    Returns
    -------
    dict of str to float
        In the scenario's currency, by the names of :data:`MONEY`, no unit; empty where no amount is stated.

    Notes
    -----
    Lost stand: skipped ground, less the free gaps; a gap is free where a row starts late or stops early by
    less than `free_gap`, and counts with the width of its row strip. Bare strips beside passes and rows that
    are missing altogether are never free. Seed: ground planted twice (as often as it is more than once) and
    off the field. Double planting: ground planted twice. Weights have no part in it. Seed that was saved on
    skipped ground is not credited: where that matters, state `lost_stand` less the seed.
    """
    value = run.scenario.value
    if not value.given:
        return {}
    ends = run.ends
    gap = np.where(ends.off, -ends.error, ends.error)
    free = np.isfinite(gap) & (gap > 0.0) & (gap < value.free_gap)
    free_m2 = float((gap[free] * run.layout.width[ends.row[free]]).sum())
    lost = (value.lost_stand or 0.0) * max(skip_m2 - free_m2, 0.0)
    seed = (value.seed or 0.0) * (overlap_m2 + off_field_m2)
    double = (value.double_planting or 0.0) * overlap_m2
    return dict(zip(MONEY, (lost + seed + double, lost, seed, double), strict=True))
