"""Where the rows of a setup stand in its working width, and which believed section each one obeys.

Two middles matter. Strips and rows are counted from the middle of the real working width; sections
are counted from the planned line, on which the middle is believed to run. :attr:`RowLayout.middle`
is how far the real middle runs to the right of that belief.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Bools, Floats, Ints

if TYPE_CHECKING:
    from overlapsim.scenario.machine import Machine
    from overlapsim.scenario.scenario import Scenario

SAME_PLACE = 1e-9
"""Metres: a row this close to a section's border stands on it, and obeys the section to its right."""


@dataclass(frozen=True)
class RowStrips:
    """The rows of one setup from left to right, with the strip of ground that each one owns.

    Attributes
    ----------
    rank : ndarray of str, shape (n,)
        Name of the rank.
    number : ndarray of int, shape (n,)
        Number within the rank, from the left, starting at 1.
    behind_pin : ndarray, shape (n,)
        Hitch pin back to where the seed meets the ground, metres.
    right : ndarray, shape (n,)
        Right of the middle of the working width, metres.
    left_edge, right_edge : ndarray, shape (n,)
        Edges of the row strips, right of the middle of the working width, metres.
    middle_of_pin : float
        Middle of the working width, right of the hitch pin, before any hitch shift, metres.
    """

    rank: np.ndarray
    number: Ints
    behind_pin: Floats
    right: Floats
    left_edge: Floats
    right_edge: Floats
    middle_of_pin: float

    @property
    def width(self) -> Floats:
        """Width of each row strip, metres, shape (n,)."""
        return self.right_edge - self.left_edge

    @property
    def working_width(self) -> float:
        """Width from the first strip's left edge to the last strip's right edge, metres."""
        return float(self.right_edge[-1] - self.left_edge[0])


def row_strips(machine: Machine, setup: str) -> RowStrips:
    """Lay out the rows of a setup and the strips that tile its working width.

    A strip reaches half-way to each neighbour; an outermost row reaches outward by half the distance
    to its one neighbour; a lone row uses its rank's spacing. A stated working width is met by
    splitting the difference equally over the two outer strips.

    Parameters
    ----------
    machine : Machine
        Ranks and setups, validated.
    setup : str
        Name of the setup.

    Returns
    -------
    RowStrips
        Rows from left to right.
    """
    chosen = machine.setups[setup]
    names, numbers, behind, right, spacing = [], [], [], [], []
    for name in chosen.ranks:
        rank = machine.ranks[name]
        for i in range(rank.rows):
            names.append(name)
            numbers.append(i + 1)
            behind.append(rank.behind_pin)
            right.append(rank.right + (i - (rank.rows - 1) / 2) * rank.spacing)
            spacing.append(rank.spacing)
    place = np.array(right)
    order = np.argsort(place, kind="stable")
    place = place[order]
    if len(place) == 1:
        half = spacing[0] / 2
        left_edge, right_edge = place - half, place + half
    else:
        border = (place[1:] + place[:-1]) / 2
        first, last = place[0] - (border[0] - place[0]), place[-1] + (place[-1] - border[-1])
        left_edge, right_edge = np.append(first, border), np.append(border, last)
    if chosen.working_width is not None:
        spare = (chosen.working_width - (right_edge[-1] - left_edge[0])) / 2
        left_edge[0] -= spare
        right_edge[-1] += spare
    middle = float(left_edge[0] + right_edge[-1]) / 2
    return RowStrips(
        rank=np.array(names)[order],
        number=np.array(numbers, dtype=np.int64)[order],
        behind_pin=np.array(behind)[order],
        right=place - middle,
        left_edge=left_edge - middle,
        right_edge=right_edge - middle,
        middle_of_pin=middle,
    )


@dataclass(frozen=True)
class RowLayout(RowStrips):
    """Rows that really work, and the sections that the controller believes in.

    Attributes
    ----------
    off : ndarray of bool, shape (n,)
        Rows locked up or switched off by hand.
    middle : float
        How far the real middle of the width runs to the right of the planned line, metres.
    section_edges : ndarray, shape (m + 1,)
        Borders of the believed sections, right of the planned line, metres.
    section_of_row : ndarray of int, shape (n,)
        The believed section that each real row obeys.
    believed_width : float
        Working width of the setup that is entered: the distance between passes, metres.
    """

    off: Bools
    middle: float
    section_edges: Floats
    section_of_row: Ints
    believed_width: float

    @cached_property
    def working_ranks(self) -> tuple[str, ...]:
        """Ranks of the real setup, from the foremost to the rearmost."""
        depth = {str(n): a for n, a in zip(self.rank, self.behind_pin, strict=True)}
        return tuple(sorted(depth, key=lambda n: (depth[n], n)))

    def behind_pin_of(self, rank: str) -> float:
        """Distance of a working rank behind the hitch pin, metres.

        Parameters
        ----------
        rank : str
            Name of the rank.

        Returns
        -------
        float
            Metres behind the hitch pin.
        """
        return float(self.behind_pin[self.rank == rank][0])


def row_layout(scenario: Scenario) -> RowLayout:
    """Work out rows, strips and believed sections of a scenario.

    A real row obeys the believed section at the same place in the width; beyond the outermost
    section it obeys that one.

    Parameters
    ----------
    scenario : Scenario
        Validated scenario.

    Returns
    -------
    RowLayout
        Rows of the real setup from left to right.
    """
    machine, switching = scenario.machine, scenario.switching
    real = row_strips(machine, machine.setup)
    entered = switching.entered_setup
    believed = real if entered == machine.setup else row_strips(machine, entered)
    edges = np.append(believed.left_edge, believed.right_edge[-1])
    if switching.sections != "each-row":
        rows = len(believed.rank)
        if isinstance(switching.sections, int):
            counts = np.full(switching.sections, rows // switching.sections)
        else:
            counts = np.array(switching.sections)
        edges = edges[np.append(0, np.cumsum(counts))]
    section = np.searchsorted(edges, real.right + SAME_PLACE, side="right") - 1
    locked = set(machine.rows_off)
    off = np.array([f"{n} {i}" in locked for n, i in zip(real.rank, real.number, strict=True)])
    shift = machine.setups[machine.setup].hitch_shift
    return RowLayout(
        **vars(real),
        off=off,
        middle=real.middle_of_pin + shift - switching.lateral_offset,
        section_edges=edges,
        section_of_row=np.clip(section, 0, len(edges) - 2),
        believed_width=believed.working_width,
    )
