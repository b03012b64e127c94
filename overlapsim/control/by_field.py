"""One run over several fields, told field by field."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.control.result import areas_of

if TYPE_CHECKING:
    from overlapsim.control.run import Simulation


def fields_of(run: Simulation) -> list[dict[str, Any]]:
    """Areas and row-end figures of each of several fields that one run went over.

    Parameters
    ----------
    run : Simulation
        The run.

    Returns
    -------
    list of dict
        `name`, `plantable_m2` and the keys of a run's own areas, SI, in the order of the file; they add up
        to the run's. Empty where its scenario has one field.
    """
    names = run.scenario.field.part_names
    legs = np.array([leg.part for leg in run.drive.legs], dtype=np.int64)
    part_of_end = legs[run.ends.leg]
    told = []
    for name in dict.fromkeys(names):
        own = [part for part, owner in enumerate(names) if owner == name]
        ends = run.ends.take(np.flatnonzero(np.isin(part_of_end, own)))
        alone = replace(run, accounts=tuple(run.accounts[part] for part in own), ends=ends)
        told.append({"name": name, "plantable_m2": alone.plantable_m2, **areas_of(alone)})
    return told


def told_by_field(run: Simulation) -> dict[str, Any]:
    """What results say about each of several fields.

    Parameters
    ----------
    run : Simulation
        The run.

    Returns
    -------
    dict
        `fields`, as :func:`fields_of` tells them; nothing where the scenario has one field.
    """
    told = fields_of(run)
    return {"fields": told} if told else {}
