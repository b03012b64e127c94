"""Areas of every draw at any reference offset, and draws that are worked out one by one."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from time import perf_counter
from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.control.ends_apart import errors_of
from overlapsim.control.ledger import build_ledger
from overlapsim.control.run import simulate
from overlapsim.questions.cases import run_cases
from overlapsim.questions.readings import BEYOND
from overlapsim.questions.search import with_offset
from overlapsim.questions.uncertain_draws import Draws
from overlapsim.scenario.scenario import Scenario

Progress = Callable[[int, int, str], None]
Before = Callable[[str, float], None]
Extra = Mapping[tuple[str, bool], Floats | float]
"""By rank, and whether stops: metres by which row ends come later still."""


@dataclass(frozen=True)
class Lateness:
    """How far each draw's row ends are off, at a reference offset of 0 m on a square edge.

    Attributes
    ----------
    ranks : tuple of str
        Working ranks.
    late : ndarray, shape (n, ranks, 2)
        At starts and stops, metres, positive = late.
    along, across : ndarray, shape (n,)
        Drift along the heading of the first pass and to the right of it, metres.
    lead : ndarray, shape (n,)
        By how much commands "on" come later than commands "off" for their edges' sake, metres.
    """

    ranks: tuple[str, ...]
    late: Floats
    along: Floats
    across: Floats
    lead: Floats


def lateness(scenarios: list[Scenario], heading: float) -> Lateness:
    """Gather how far row ends are off.

    Parameters
    ----------
    scenarios : list of Scenario
        A scenario per draw.
    heading : float
        Of the first pass, rad clockwise from north.

    Returns
    -------
    Lateness
        In the order of the scenarios.
    """
    found = [errors_of(scenario, heading) for scenario in scenarios]
    ranks = tuple(found[0].late)
    return Lateness(
        ranks,
        np.array([[one.late[rank] for rank in ranks] for one in found]),
        np.array([one.along for one in found]),
        np.array([one.across for one in found]),
        np.array([one.lead for one in found]),
    )


@dataclass(frozen=True)
class Reader(ABC):
    """Reads areas of all draws.

    Attributes
    ----------
    draws : Draws
        What was drawn.
    scenarios : list of Scenario
        What each draw makes of the scenario.
    known : Lateness
        How far their row ends are off.
    """

    draws: Draws
    scenarios: list[Scenario] = field(repr=False)
    known: Lateness = field(repr=False)

    def areas(self, offsets: Floats, extra: Extra | None = None) -> Floats:
        """Read areas.

        Parameters
        ----------
        offsets : ndarray, shape (m,)
            As entered, metres behind the hitch pin.
        extra : dict, optional
            By how much row ends come later still, metres.

        Returns
        -------
        ndarray, shape (n, m, 3)
            Skip, overlap and off-field area of each draw, m².
        """
        return self._areas(offsets, extra or {})

    def combined(self, offsets: Floats, extra: Extra | None = None) -> Floats:
        """Read combined errors.

        Parameters
        ----------
        offsets : ndarray, shape (m,)
            As entered, metres behind the hitch pin.
        extra : dict, optional
            By how much row ends come later still, metres.

        Returns
        -------
        ndarray, shape (n, m)
            m², weighted.
        """
        return self._combined(offsets, extra or {})

    @abstractmethod
    def _areas(self, offsets: Floats, extra: Extra) -> Floats:
        """Do the reading: what each kind of reader is there for."""

    def _combined(self, offsets: Floats, extra: Extra) -> Floats:
        weights = self.draws.scenario.weights
        return self._areas(offsets, extra) @ np.array([weights.skip, weights.overlap, weights.off_field])


@dataclass(frozen=True)
class Drawn(Reader):
    """Areas of every draw worked out for itself.

    Attributes
    ----------
    offsets : ndarray, shape (k,)
        Offsets at which they were worked out, metres behind the hitch pin, rising.
    table : ndarray, shape (n, k, 3)
        Skip, overlap and off-field area, m².
    """

    offsets: Floats = field(default_factory=lambda: np.zeros(1), repr=False)
    table: Floats = field(default_factory=lambda: np.zeros((1, 1, 3)), repr=False)

    def _areas(self, offsets: Floats, extra: Extra) -> Floats:
        """Read areas between offsets, evenly. There is nothing to read for `extra`."""
        assert not extra
        if len(self.offsets) == 1:
            return np.repeat(self.table, len(offsets), axis=1)
        after = np.clip(np.searchsorted(self.offsets, offsets), 1, len(self.offsets) - 1)
        low, high = self.offsets[after - 1], self.offsets[after]
        share = ((offsets - low) / (high - low))[None, :, None]
        return self.table[:, after - 1] * (1.0 - share) + self.table[:, after] * share


def drawn_reader(
    draws: Draws,
    scenarios: list[Scenario],
    known: Lateness,
    offsets: Floats,
    workers: int = 1,
    progress: Progress | None = None,
    before: Before | None = None,
) -> Drawn:
    """Work areas out draw by draw.

    Parameters
    ----------
    draws : Draws
        What was drawn.
    scenarios : list of Scenario
        What each draw makes of the scenario.
    known : Lateness
        How far their row ends are off.
    offsets : ndarray, shape (k,)
        At which, metres behind the hitch pin, rising.
    workers : int
        Processes that work side by side; the areas are the same.
    progress : callable, optional
        Called with draws done, draws in all and what is being done.
    before : callable, optional
        Called before they are worked out, with what that is and the seconds that it is likely to take.

    Returns
    -------
    Drawn
        From each draw's own ledger; with headland laps each goes through a full simulation of its own.
    """
    shared = (draws.scenario, offsets)
    cases = [(draws.changes(i), float(draws.offset[i])) for i in range(draws.count)]
    if before:
        areas_of_draw(shared, cases[0])  # what all draws share is found, and is not timed
        began = perf_counter()
        areas_of_draw(shared, cases[1])
        before(f"{draws.count:,} draws", (perf_counter() - began) * draws.count / workers)
    keys = [str(number) for number in range(draws.count)]
    found = run_cases(areas_of_draw, shared, cases, keys, None, workers, progress, "draws")
    table = np.array([one["areas_m2"] for one in found], dtype=float)
    return Drawn(draws, scenarios, known, offsets, table)


def areas_of_draw(shared: tuple[Scenario, Floats], case: tuple[dict[str, Any], float]) -> dict[str, Any]:
    """Work one draw out: a function of its arguments and of nothing else.

    Parameters
    ----------
    shared : tuple
        The scenario as it stands, and the offsets as entered, metres behind the hitch pin.
    case : tuple
        What the draw sets, and how much farther behind the pin the entered offset acts, metres.

    Returns
    -------
    dict
        `areas_m2`: skip, overlap and off-field area at each offset, lists.
    """
    (scenario, offsets), (changes, off_by) = shared, case
    one = scenario.with_(changes) if changes else scenario
    acting = offsets + off_by
    if len(acting) == 1:
        areas = simulate(with_offset(one, float(acting[0]))).areas
        return {"areas_m2": [[areas[key] for key in ("skip_m2", "overlap_m2", "off_field_m2")]]}
    middle = with_offset(one, float(acting[len(acting) // 2]))
    ledger = build_ledger(middle, float(acting[0]) - BEYOND, float(acting[-1]) + BEYOND)
    return {"areas_m2": ledger.curve.at(acting).tolist()}
