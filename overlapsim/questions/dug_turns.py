"""Turns at the ends of the field at which one digs: the rows that stop there, and those that start again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from overlapsim.questions.digs import Dig
from overlapsim.scenario.rows import row_layout
from overlapsim.scenario.scenario import Scenario

DRIVE_MIN, DIG_MIN = 2.0, 1.0
"""Minutes to drive a pass into a turn and out of it, and to dig one row end (this program's choice)."""

GOLDEN = 0.618034
"""Share of the rows by which digs move on from turn to turn: never the same rows twice in a row (no unit)."""


@dataclass(frozen=True)
class Turn:
    """One turn at which one digs.

    Attributes
    ----------
    where : {"far", "near"}
        At the end to which passes driven out run, or at the other one.
    speed : float
        At which the machine runs in and out, m/s.
    rows : int
        Rows of each rank that are dug, stops and starts.
    """

    where: str
    speed: float
    rows: int

    @property
    def ends(self) -> tuple[tuple[str, str], tuple[str, str]]:
        """What is dug, with its direction: at the far end stops on the way out, starts on the way back."""
        return (("off", "out"), ("on", "back")) if self.where == "far" else (("off", "back"), ("on", "out"))


def digs_at(scenario: Scenario, turns: Sequence[Turn]) -> list[Dig]:
    """List the digs of some turns.

    Parameters
    ----------
    scenario : Scenario
        Rows, and whether a headland row is there to measure from.
    turns : sequence of Turn
        In driving order.

    Returns
    -------
    list of Dig
        In the order in which one digs, without what was found; rows that are off are left out.
    """
    layout, plan = row_layout(scenario), scenario.plan
    planted = plan.headland_laps > 0 and plan.headland_order == "first"
    origin = "headland row" if planted else "flag"
    numbers = {
        rank: [int(number) for number in layout.number[(layout.rank == rank) & ~layout.off]]
        for rank in layout.working_ranks
    }
    digs: list[Dig] = []
    for i, turn in enumerate(turns):
        for end, way in turn.ends:
            for rank, rows in numbers.items():
                for row in _spread_over(rows, turn.rows, (0.5 + i * GOLDEN) % 1.0):
                    digs.append(Dig(end, rank, way, turn.speed, 0.0, origin, row, len(digs) + 1))
    return digs


def _spread_over(rows: list[int], count: int, shift: float) -> list[int]:
    """Choose rows evenly over a rank, moved on by a share of their distance."""
    some = min(count, len(rows))
    return [rows[int((i + shift) / some * len(rows))] for i in range(some)]


def minutes_for(scenario: Scenario, turns: Sequence[Turn]) -> float:
    """Tell how long some turns take.

    Parameters
    ----------
    scenario : Scenario
        Its ranks.
    turns : sequence of Turn
        Planned.

    Returns
    -------
    float
        Minutes, in that unit.
    """
    return DRIVE_MIN * len(turns) + DIG_MIN * len(digs_at(scenario, turns))
