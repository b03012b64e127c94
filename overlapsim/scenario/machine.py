"""The machine: ranks of row units, row setups, and where they stand behind the hitch pin.

`overlapsim.basics.frames` states the axes and signs.
"""

from __future__ import annotations

import math
from typing import Annotated

from overlapsim.basics.units import INCH
from overlapsim.scenario.plain import Choice, Count, Text, Words
from overlapsim.scenario.quantities import Measure
from overlapsim.scenario.steps import Step
from overlapsim.scenario.tables import Table

__all__ = ["CLOSEST_ROWS", "MOST_RANKS", "MOST_ROWS", "Machine", "Rank", "Setup"]

MOST_RANKS = 4
MOST_ROWS = 72
CLOSEST_ROWS = INCH
"""Metres: row units whose lines are closer than this run in one furrow (this program's choice)."""


class Rank(Table):
    """One toolbar with row units at one distance behind the hitch pin.

    Attributes
    ----------
    rows : int
        Number of row units.
    spacing : float
        Between neighbouring row units of this rank, m.
    behind_pin : float
        Hitch pin back to where the seed meets the ground, m; worked out where `behind_front` is given.
    behind_front : float or None
        Counted from the foremost rank, m, if it was given that way.
    right : float
        Middle of the rank, right of the machine's centre line, m.
    """

    rows: Annotated[int, Count(1, MOST_ROWS, example=16)]
    spacing: Annotated[
        float,
        Measure("length", 0.05, 4.0, likely=(0.1, 1.6), example="30 in"),
    ]
    behind_pin: Annotated[float, Measure("length", 0.0, 10.0, likely=(0.3, 6.0), example="84 in")] = math.nan
    behind_front: Annotated[
        float | None, Measure("length", 0.0, 5.0, likely=(0.1, 2.0), example="35 in", optional=True)
    ] = None
    right: Annotated[float, Measure("length", -15.0, 15.0, likely=(0.0, 3.0), example="-15 in")] = 0.0


class Setup(Table):
    """A row setup: which ranks work.

    Attributes
    ----------
    ranks : tuple of str
        Names of the working ranks.
    hitch_shift : float
        How far the hitch moves the machine to the right, m.
    working_width : float or None
        Stated width, m; None = what the row strips add up to.
    """

    ranks: Annotated[tuple[str, ...], Words(example=("front", "rear"))]
    hitch_shift: Annotated[float, Measure("length", -2.0, 2.0, likely=(0.0, 0.6), example="7.5 in")] = 0.0
    working_width: Annotated[
        float | None, Measure("length", 0.1, 120.0, likely=(1.0, 60.0), example="40 ft", optional=True)
    ] = None


class Machine(Table):
    """A planter with its ranks and row setups.

    Attributes
    ----------
    title : str
        Printed on reports.
    hitch : {"drawn", "mounted"}
        How it hangs on the tractor.
    axle_to_pin : float or None
        Tractor's rear axle back to the hitch pin, m.
    pin_to_wheels : float or None
        Hitch pin back to the machine's ground wheels, m.
    ranks : dict of Rank
        By name.
    setups : dict of Setup
        By name.
    setup : str
        The row setup that works.
    rows_off : tuple of str
        Rows locked up or switched off by hand, as in ``"rear 3"``.
    changeover : tuple of Step
        The user's own steps from one row setup to another.
    """

    title: Annotated[str, Text(example="16-row planter")] = "Machine"
    hitch: Annotated[str, Choice(("drawn", "mounted"), example="drawn")] = "drawn"
    axle_to_pin: Annotated[
        float | None, Measure("length", 0.0, 6.0, likely=(0.3, 3.0), example="1.1 m", optional=True)
    ] = None
    pin_to_wheels: Annotated[
        float | None, Measure("length", 0.0, 15.0, likely=(0.5, 8.0), example="3.4 m", optional=True)
    ] = None
    ranks: dict[str, Rank]
    setups: dict[str, Setup]
    setup: Annotated[str, Text(example="narrow")]
    rows_off: Annotated[tuple[str, ...], Words(example=("rear 3",))] = ()
    changeover: tuple[Step, ...] = ()

    @property
    def working_ranks(self) -> tuple[str, ...]:
        """Ranks of the setup that works, in the order written."""
        return self.setups[self.setup].ranks
