"""Skip and overlap that ranks standing apart bring about, at the best offset and at the one entered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.control.ledger import Ledger, build_ledger
from overlapsim.control.run import simulate
from overlapsim.questions.breakdown import APART
from overlapsim.questions.faultless import (
    at_own_places,
    planting_places,
    without_latency,
    without_updates,
)
from overlapsim.questions.search import find_best, least_read, search_span, with_offset
from overlapsim.questions.study_columns import STAGGER
from overlapsim.questions.study_design import Factor
from overlapsim.questions.study_reading import read_ledger
from overlapsim.questions.swept import OFFSET
from overlapsim.scenario.scenario import Scenario

STEADY = 2.0
"""Working speed, m/s, at which stagger is worked out: without latencies and times it bears on nothing."""

_NO_MATTER = ("speed.", "response.", "value.", "seed.", "tune.")
_NO_MATTER_ALONE = (
    OFFSET, "switching.turn_on_time", "switching.turn_off_time", "controller.update_rate",
    "controller.position_delay", "controller.drift", "controller.offset_step", "controller.time_step",
)  # fmt: skip


def matched_key(base: str, row: Sequence[float | int], factors: Sequence[Factor]) -> tuple[Any, ...]:
    """Gather what stagger depends on.

    Parameters
    ----------
    base : str
        Name of the base scenario.
    row : sequence of float or int
        For each factor the place in its values, or the value, SI.
    factors : sequence of Factor
        Of the study.

    Returns
    -------
    tuple
        Equal for cases that differ in speeds, latencies, times, updates and offset only.
    """
    matters = [
        value
        for one, value in zip(factors, row, strict=True)
        if not one.key.startswith(_NO_MATTER) and one.key not in _NO_MATTER_ALONE
    ]
    return (base, *matters)


@dataclass(frozen=True)
class Stagger:
    """What one reference offset for ranks that stand apart adds, times matched.

    Attributes
    ----------
    matched : Scenario
        Without latencies, times, updates and drift.
    apart : bool
        Whether one number has to serve ranks that stand apart.
    """

    matched: Scenario
    apart: bool

    @classmethod
    def of(cls, scenario: Scenario) -> Stagger:
        """Take the imperfections of timing away.

        Parameters
        ----------
        scenario : Scenario
            With the heading as driven.

        Returns
        -------
        Stagger
            Nothing is worked out yet.
        """
        speed = {"speed.working": STEADY, "speed.at_on": STEADY, "speed.at_off": STEADY}
        prompt = without_latency(without_updates(scenario)).with_(speed)
        places = planting_places(scenario)
        own = isinstance(scenario.switching.reference_offset, dict)
        return cls(prompt, bool(not own and places[-1] - places[0] >= APART))

    @cached_property
    def places(self) -> Floats:
        """How far behind the hitch pin rows drop seed, metres, rising."""
        return planting_places(self.matched)

    @cached_property
    def at_best(self) -> dict[str, float]:
        """What stagger adds at the best offset, m², by the names of areas."""
        if not self.apart:
            return dict.fromkeys(STAGGER, 0.0)
        if self.matched.plan.headland_laps:
            run = find_best(self._midway).run
            assert run is not None
            return _less(run.areas, simulate(at_own_places(self.matched)).areas)
        offset, ledger = self._least
        one = read_ledger(self.matched, np.array([offset]), ledger)[0] - self._own(np.zeros(1))[0]
        return dict(zip(STAGGER, one.tolist(), strict=False))

    def as_set(self, offsets: Sequence[Any] | Floats) -> dict[str, Floats]:
        """Say what stagger adds at offsets as entered.

        Parameters
        ----------
        offsets : sequence of float
            Metres behind the hitch pin.

        Returns
        -------
        dict of str to ndarray, shape (n,)
            By the names of areas, m². Ahead of all ranks or behind, the offsets of the ranks' own that it is
            held against are shifted alike by as much.
        """
        if not self.apart:
            return {name: np.zeros(len(offsets)) for name in STAGGER}
        entered = np.asarray(offsets, dtype=float)
        shift = entered - np.clip(entered, self.places[0], self.places[-1])
        if self.matched.plan.headland_laps:
            pairs = [
                _less(
                    simulate(with_offset(self.matched, float(r))).areas,
                    simulate(at_own_places(self.matched, float(s))).areas,
                )
                for r, s in zip(entered, shift, strict=True)
            ]
            return {name: np.array([pair[name] for pair in pairs]) for name in STAGGER}
        more = read_ledger(self.matched, entered, self._least[1]) - self._own(shift)
        return {name: more[:, i] for i, name in enumerate(STAGGER)}

    @property
    def _midway(self) -> Scenario:
        """Where searches begin, whatever is entered: midway between the ranks."""
        return with_offset(self.matched, float(self.places[0] + self.places[-1]) / 2)

    @cached_property
    def _least(self) -> tuple[float, Ledger]:
        """Without headland laps the best offset, metres, and the ledger that it was read from."""
        return least_read(self._midway)

    def _own(self, shift: Floats) -> Floats:
        """Areas with offsets of the ranks' own, all shifted alike, as `read_ledger` has them."""
        return read_ledger(self._abreast, self.places[0] + shift, self._ledger)

    @cached_property
    def _ledger(self) -> Ledger:
        """Of the machine with all ranks abreast."""
        return build_ledger(self._abreast, *search_span([self._abreast]))

    @cached_property
    def _abreast(self) -> Scenario:
        """The machine with all ranks abreast.

        Without headland laps ranks with offsets of their own, all wrong by the same length, leave the ground
        that ranks abreast leave with one offset wrong by that length.
        """
        machine = self.matched.machine
        first = float(self.places[0])
        ranks = {
            name: rank.model_copy(update={"behind_pin": first, "behind_front": None})
            for name, rank in machine.ranks.items()
        }
        # Copied, not read: such a machine need not exist.
        return self.matched.model_copy(update={"machine": machine.model_copy(update={"ranks": ranks})})


def _less(one: dict[str, float], own: dict[str, float]) -> dict[str, float]:
    return {name: one[name] - own[name] for name in STAGGER}
