"""What is planted: crop, plate, and how far apart the seeds lie in the row."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from overlapsim.basics.units import AMOUNT
from overlapsim.scenario.plain import Text
from overlapsim.scenario.quantities import Measure
from overlapsim.scenario.rows import row_strips
from overlapsim.scenario.tables import Table

if TYPE_CHECKING:
    from overlapsim.scenario.machine import Machine

__all__ = ["Seed", "laid_over", "seed_raw", "spaced"]


class Seed(Table):
    """What is planted; nothing of it need be said.

    Attributes
    ----------
    crop : str or None
        Its name, as in ``"corn"``.
    plate : str or None
        The seed plate or disc, in the user's words.
    spacing : float or None
        Between neighbouring seeds of one row, m; worked out where `population` is given.
    population : float or None
        Seeds per area, 1/m², if it was given that way.
    """

    crop: Annotated[str | None, Text(example="corn", optional=True)] = None
    plate: Annotated[str | None, Text(example="24 cells", optional=True)] = None
    # Common practice: 1 in for grain drilled by the seed to 2 ft for squash.
    spacing: Annotated[
        float | None, Measure("length", 0.002, 3.0, likely=(0.02, 0.6), example="6 in", optional=True)
    ] = None
    # Common practice: 1 seed per m² for squash, 40 for soybeans, 400 for grain.
    population: Annotated[
        float | None, Measure(AMOUNT, 0.05, 2000.0, likely=(2.0, 120.0), example="32,000 /ac", optional=True)
    ] = None

    def to_text(self) -> dict[str, Any]:
        """Write the table the way it was given.

        Returns
        -------
        dict
            Quantities as text in SI; the spacing only where no population says it.
        """
        return {k: v for k, v in super().to_text().items() if k != "spacing" or self.population is None}


def laid_over(own: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    """Lay a row setup's seed over the seed of all: a spacing replaces a population, and the other way round.

    Parameters
    ----------
    own, over : dict
        Keys as written.

    Returns
    -------
    dict
        What holds for the setup.
    """
    other = {"spacing": "population", "population": "spacing"}
    replaced = {other[key] for key in over if key in other}
    return {key: value for key, value in own.items() if key not in replaced} | dict(over)


def spaced(seed: Seed, machine: Machine) -> Seed:
    """Turn a population into the spacing in the row: 1 / (population times row spacing).

    The row spacing is the width of ground that a row has to itself. Where rows are not evenly spaced it is
    the middle one of these widths (the median): row units that are driven alike drop alike.

    Parameters
    ----------
    seed : Seed
        As given.
    machine : Machine
        With the row setup that works.

    Returns
    -------
    Seed
        With its spacing in m, where it can be known.
    """
    if seed.population is None:
        return seed
    width = float(np.median(row_strips(machine, machine.setup).width))
    return seed.model_copy(update={"spacing": 1.0 / (seed.population * width)})


def seed_raw(seed: Seed) -> dict[str, Any]:
    """Write the seed as its keys, with numbers in SI.

    Parameters
    ----------
    seed : Seed
        As it stands.

    Returns
    -------
    dict
        Lengths in m, populations in 1/m²; what was worked out is left out.
    """
    raw = {key: value for key, value in dict(seed).items() if value is not None}
    if seed.population is not None:
        raw.pop("spacing", None)
    return raw
