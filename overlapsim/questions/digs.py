"""A dig, and what it tells: where seed starts and stops at a pass end, as a straight sum of what is wrong.

Of a row of rank k, dug where its seed starts or stops, the distance beyond the line along the way of travel
is

    on:   (r - a_k) + dx + v (tau_on  - turn_on_time)  - d + s/2
    off:  (r - a_k) + dx + v (tau_off - turn_off_time) + d - s/2

r the reference offset entered, a_k the rank's distance behind the pin as described, d the deliberate
overlap, v the speed there, s the seed spacing in the row: the first seed lies half of it behind where seed
begins to flow on average, the last seed half of it ahead of where it ends. Unknown are dx (what the offset
has too much), both times tau (they hold all of it: command, machine, fall of the seed, position delay and
half an update period), and if asked for how much farther a rank stands behind the foremost one than
described (less by that), and how far the ground is displaced along the heading (opposite on the way back).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats, to_plan
from overlapsim.control.response import offset_for
from overlapsim.scenario.rows import row_layout
from overlapsim.scenario.scenario import Scenario

DX, ON, OFF, DRIFT = "offset_error_m", "on_latency_s", "off_latency_s", "drift_m"
"""Names of the unknowns, as results bear them."""

BETWEEN = "rank_distance_error_m."
"""Begins the name of the unknown for a rank behind the foremost one; the rank's name follows."""

ORIGINS = ("line", "headland row", "flag")
"""From what a dig is measured."""


@dataclass(frozen=True)
class Dig:
    """One row, dug where its seed starts or stops.

    Attributes
    ----------
    end : {"on", "off"}
        A start or a stop.
    rank : str
        The row's rank.
    direction : {"out", "back"}
        With the plan's heading, or against it.
    speed : float
        Ground speed there, m/s.
    past : float
        First or last seed beyond what it is measured from, along the way of travel, metres, positive =
        farther.
    origin : {"line", "headland row", "flag"}
        What it is measured from; a flag stands on the line.
    row : int
        Number within the rank from the left, from 1; 0 = not said.
    line : int
        Line in the sheet.
    """

    end: str
    rank: str
    direction: str
    speed: float
    past: float
    origin: str = "line"
    row: int = 0
    line: int = 0


def half_strip(scenario: Scenario) -> float:
    """How far the line lies beyond the last headland row.

    Parameters
    ----------
    scenario : Scenario
        Rows of its setup.

    Returns
    -------
    float
        Half a row spacing, metres: what the outermost row's strip reaches outward.
    """
    layout = row_layout(scenario)
    return float(layout.right_edge[-1] - layout.right[-1])


@dataclass(frozen=True)
class DigModel:
    """What digs of one scenario should show, as a straight sum of unknowns.

    Attributes
    ----------
    scenario : Scenario
        Settings as they were entered when the digs were made.
    seed_spacing : float
        In the row, metres.
    heading : float
        Of passes driven out, rad clockwise from north: for a drift that the scenario states.
    ranks_too : bool
        Whether the distances between ranks are unknown too.
    drift_too : bool
        Whether a displacement along the heading is unknown too.
    """

    scenario: Scenario
    seed_spacing: float
    heading: float = 0.0
    ranks_too: bool = False
    drift_too: bool = False

    @property
    def rear_ranks(self) -> tuple[str, ...]:
        """Working ranks behind the foremost one."""
        return row_layout(self.scenario).working_ranks[1:]

    @property
    def unknowns(self) -> tuple[str, ...]:
        """Names of the unknowns, in order: metres, seconds, seconds, metres..."""
        between = tuple(BETWEEN + rank for rank in self.rear_ranks) if self.ranks_too else ()
        return (DX, ON, OFF, *between, *((DRIFT,) if self.drift_too else ()))

    def design(self, digs: Sequence[Dig]) -> Floats:
        """How the unknowns add up in each dig.

        Parameters
        ----------
        digs : sequence of Dig
            Any digs of this machine.

        Returns
        -------
        ndarray, shape (n, p)
            Metres per unit of each unknown.
        """
        names = self.unknowns
        rows = np.zeros((len(digs), len(names)))
        speed, off, back = _speeds(digs), _offs(digs), _backs(digs)
        rows[:, 0] = 1.0
        rows[:, 1] = np.where(off, 0.0, speed)
        rows[:, 2] = np.where(off, speed, 0.0)
        rank = np.array([dig.rank for dig in digs], dtype=object)
        for i, name in enumerate(names):
            if name.startswith(BETWEEN):
                rows[:, i] = np.where(rank == name.removeprefix(BETWEEN), -1.0, 0.0)
            elif name == DRIFT:
                rows[:, i] = np.where(back, -1.0, 1.0)
        return rows

    def described(self, digs: Sequence[Dig]) -> Floats:
        """What digs would show beyond the line if all unknowns were zero.

        Parameters
        ----------
        digs : sequence of Dig
            Any digs of this machine.

        Returns
        -------
        ndarray, shape (n,)
            Metres beyond the line, positive = farther along the way.
        """
        switching = self.scenario.switching
        layout = row_layout(self.scenario)
        ahead = {
            name: offset_for(self.scenario, name) - layout.behind_pin_of(name)
            for name in layout.working_ranks
        }
        off = _offs(digs)
        time = np.where(off, switching.turn_off_time, switching.turn_on_time)
        wanted = np.array([self._wanted(dig) for dig in digs])
        # Everything lands at minus drift from where it is believed.
        drift = -float(to_plan(np.array(self.scenario.controller.drift), self.heading)[1])
        return (
            np.array([ahead[dig.rank] for dig in digs])
            - _speeds(digs) * time
            + np.where(off, wanted, -wanted)
            + np.where(off, -1.0, 1.0) * self.seed_spacing / 2
            + np.where(_backs(digs), -drift, drift)
        )

    def past_line(self, digs: Sequence[Dig]) -> Floats:
        """Where seed was found, reckoned from the line.

        Parameters
        ----------
        digs : sequence of Dig
            Measured.

        Returns
        -------
        ndarray, shape (n,)
            Metres beyond the line, positive = farther along the way. From a headland row the wanted
            distance is half a row spacing: plus at starts, minus at stops.
        """
        half = half_strip(self.scenario)
        wanted = {("on", "headland row"): half, ("off", "headland row"): -half}
        return np.array([dig.past - wanted.get((dig.end, dig.origin), 0.0) for dig in digs])

    def _wanted(self, dig: Dig) -> float:
        """Deliberate overlap at the kind of edge that was dug at, metres."""
        overlap, plan = self.scenario.switching.deliberate_overlap, self.scenario.plan
        planted = plan.headland_laps > 0 and plan.headland_order == "first"
        return overlap.planted if planted or dig.origin == "headland row" else overlap.boundary


def _speeds(digs: Sequence[Dig]) -> Floats:
    return np.array([dig.speed for dig in digs], dtype=float)


def _offs(digs: Sequence[Dig]) -> Floats:
    return np.array([dig.end == "off" for dig in digs], dtype=bool)


def _backs(digs: Sequence[Dig]) -> Floats:
    return np.array([dig.direction == "back" for dig in digs], dtype=bool)


def lag(scenario: Scenario) -> float:
    """Part of an estimated latency that is the controller's: its position delay and half an update period.

    Parameters
    ----------
    scenario : Scenario
        With its controller.

    Returns
    -------
    float
        Seconds.
    """
    return scenario.controller.position_delay + scenario.controller.update_period / 2
