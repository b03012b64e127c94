"""What tuning one scenario brought out."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from importlib import import_module
from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.control import result
from overlapsim.control.by_field import told_by_field
from overlapsim.control.run import Simulation
from overlapsim.control.second_count import largest_difference
from overlapsim.ground.layers import Layer
from overlapsim.questions.search import Best, Span
from overlapsim.questions.sweep import Sweep
from overlapsim.questions.times import Joint
from overlapsim.scenario.keys import column_name
from overlapsim.scenario.scenario import Scenario

if TYPE_CHECKING:
    from overlapsim.questions.asked_besides import Also
    from overlapsim.questions.uncertain_result import Uncertain


@dataclass(frozen=True)
class Curve:
    """Areas over the reference offset, for pictures.

    Attributes
    ----------
    offset_m : ndarray, shape (n,)
        Metres behind the hitch pin, rising.
    skip_m2, overlap_m2, off_field_m2, combined_m2 : ndarray, shape (n,)
        Areas, m²; `combined_m2` is weighted.
    """

    offset_m: Floats
    skip_m2: Floats
    overlap_m2: Floats
    off_field_m2: Floats
    combined_m2: Floats


@dataclass(frozen=True)
class TuneResult:
    """The outcome of tuning one scenario.

    Attributes
    ----------
    scenario : Scenario
        As set.
    as_set, best, recommended, floor : Simulation
        Full simulations as set, at the least, at what to type in, and at what no setting goes below.
    alternatives : dict of str to Simulation
        Full simulations of the settings that people think of, by key.
    found : Best
        The search behind `best`.
    ledger_relative_difference : float
        Largest difference between ledger and full simulation, as a share of the combined error.
    digging : list of dict
        What digging should show at `recommended`, rank by rank.
    sensitivity : dict
        How far the best moves with latencies, speed and the tape.
    curve : Curve
        Areas over one offset that serves all ranks, also where the scenario has one per rank.
    sweep : Sweep
        The table of combinations and the best offset for each condition.
    as_typed : str
        `recommended` in the form in which it is typed; by rank where there is one per rank.
    joint : Joint or None
        The search over both times as well, where there was one; `found` is then that at the best times, and
        `curve` is read at the times that are typed in.
    uncertain : Uncertain or None
        What draws of everything that may be off came to, where there were any.
    also : Also or None
        Answers to other questions about the same scenario, where :func:`~overlapsim.together` has put some
        beside it.

    Examples
    --------
    Two ranks one metre apart, times matched: midway keeps the longest gap shortest.

    >>> from overlapsim import Scenario, tune
    >>> done = tune(Scenario.from_dict({
    ...     "machine": {"ranks": {
    ...         "front": {"rows": 4, "spacing": "30 in", "behind_pin": "2 m"},
    ...         "rear": {"rows": 4, "spacing": "30 in", "behind_pin": "3 m", "right": "-15 in"}},
    ...         "setups": {"both": {"ranks": ["front", "rear"], "hitch_shift": "7.5 in"}}},
    ...     "field": {"rectangle": ["30.48 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s"},
    ... }))
    >>> [round(float(end), 4) for end in done.as_good_m], done.as_typed
    ([2.0, 3.0], '2.500 m')
    """

    scenario: Scenario
    as_set: Simulation
    best: Simulation
    recommended: Simulation
    floor: Simulation
    alternatives: dict[str, Simulation]
    found: Best
    ledger_relative_difference: float
    digging: list[dict[str, Any]]
    sensitivity: dict[str, Any]
    curve: Curve
    sweep: Sweep
    as_typed: str
    joint: Joint | None = None
    uncertain: Uncertain | None = None
    also: Also | None = None

    @property
    def equal_m(self) -> Span | dict[str, Span]:
        """Stretch of offsets equal to the best but for rounding, metres."""
        return self.found.equal

    @property
    def as_good_m(self) -> Span | dict[str, Span]:
        """Stretch of offsets that is as good for a tape, metres."""
        return self.found.as_good

    @property
    def bracketed(self) -> bool:
        """Whether the best lies within the range that was searched."""
        return self.found.bracketed

    @property
    def sweep_table(self) -> dict[str, np.ndarray]:
        """Columns of the table of combinations."""
        return self.sweep.columns

    @property
    def layers(self) -> dict[str, Layer]:
        """Map layers of the scenario as set."""
        return self.as_set.layers

    @property
    def row_ends(self) -> Layer:
        """Row ends of the scenario as set."""
        return self.as_set.row_ends

    @cached_property
    def largest_witness_difference(self) -> float:
        """Largest relative difference of the second witness over the runs that it looks at."""
        others = [self.floor, *self.alternatives.values()]
        return largest_difference(to_count_again([self.as_set, self.best, self.recommended], others))

    def to_dict(self) -> dict[str, Any]:
        """All results as plain data.

        Returns
        -------
        dict
            What `result.json` holds, SI units, JSON types only.
        """
        return {
            **result.header("tune", self.scenario),
            **result.body(self.as_set),
            **told_by_field(self.as_set),
            "best": point(self.best),
            "equal_m": _listed(self.equal_m),
            "as_good_m": _listed(self.as_good_m),
            "bracketed": self.bracketed,
            **(self.joint.to_dict() if self.joint else {}),
            "ledger_relative_difference": self.ledger_relative_difference,
            "recommended": {
                **point(self.recommended),
                "as_typed": self.as_typed,
                **({"as_good_m": _listed(self.joint.typed_found.as_good)} if self.joint else {}),
                **told_by_field(self.recommended),
            },
            "alternatives": [{"key": key, **point(run)} for key, run in self.alternatives.items()],
            "floor": point(self.floor),
            "digging_should_show": self.digging,
            "sensitivity": {**self.sensitivity, **self._moved_over_sweep()},
            "conditions": self.sweep.conditions,
            **({"uncertain": self.uncertain.to_dict()} if self.uncertain else {}),
            "witness": {
                "largest_relative_difference": self.largest_witness_difference,
            },
            **({"also": self.also.to_dict()} if self.also else {}),
        }

    def _moved_over_sweep(self) -> dict[str, Any]:
        """How far the best moves over what was swept, by name of the column."""
        moves = {column_name(key, self.scenario.machine): m for key, m in self.sweep.moves.items()}
        return {"swept": moves} if moves else {}

    def _repr_html_(self) -> str:
        """The first screen of its page, with its table, for notebooks."""
        return str(import_module("overlapsim.report.page.notebook").shown(self))

    def _repr_png_(self) -> bytes:
        """Picture of the row ends, for notebooks."""
        return bytes(import_module("overlapsim.report.pictures").picture("row-ends.png", self))


def point(run: Simulation) -> dict[str, Any]:
    """Settings and areas of one run.

    Parameters
    ----------
    run : Simulation
        The run.

    Returns
    -------
    dict
        `reference_offset_m` (by rank where there is one per rank), both times, and the areas.
    """
    switching = run.scenario.switching
    offset = switching.reference_offset
    return {
        "reference_offset_m": dict(offset) if isinstance(offset, dict) else offset,
        "turn_on_time_s": switching.turn_on_time,
        "turn_off_time_s": switching.turn_off_time,
        **run.areas,
    }


def _listed(stretch: Span | dict[str, Span]) -> Any:
    return {k: list(v) for k, v in stretch.items()} if isinstance(stretch, dict) else list(stretch)


def to_count_again(shown: list[Simulation], others: list[Simulation]) -> list[Simulation]:
    """Say which runs the second witness looks at.

    Parameters
    ----------
    shown : list of Simulation
        Runs whose settings are entered or to be typed in.
    others : list of Simulation
        Runs that they are compared with, on the same field.

    Returns
    -------
    list of Simulation
        All where laps are driven; without laps areas are plain sums, nothing is overlaid: `shown` will do.
    """
    return [*shown, *others] if shown[0].lap_count else shown
