"""All draws at once: read from the ground that they share, exactly."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from overlapsim.basics.frames import Bools, Floats
from overlapsim.control.curve import Curve
from overlapsim.control.ends_apart import Group, end_curves, thresholds
from overlapsim.questions.search import with_offset
from overlapsim.questions.uncertain_draws import Draws
from overlapsim.questions.uncertain_readers import Extra, Lateness, Reader
from overlapsim.scenario.scenario import Scenario

ROOM = 0.35
"""Metres of error beyond the draws' own for which curves are worked out: where the best is looked for when
one quantity changes by an inch or a tenth of a second, and some more."""

ROOM_S = 0.2
"""The same in seconds, times the speed."""

ALIKE = 1e-12
"""Metres: draws whose drift across the passes differs by less have the same columns."""


@dataclass(frozen=True)
class Apart(Reader):
    """Reads curves that all draws share: exact, and at once for all of them.

    Attributes
    ----------
    span : tuple of float
        Range of the offsets, metres behind the hitch pin.
    """

    span: tuple[float, float] = (0.0, 0.0)

    @cached_property
    def _reach(self) -> tuple[float, float]:
        """Range of the errors of row ends, metres."""
        aside = self.draws.offset[:, None, None] + self.known.late
        fastest = max(max(one.speed.at_on, one.speed.at_off) for one in self.scenarios)
        more = float(np.abs(self.known.along).max()) + ROOM + ROOM_S * fastest
        return float(aside.min()) + self.span[0] - more, float(aside.max()) + self.span[1] + more

    @cached_property
    def _states(self) -> Floats:
        """Which pairs of commands are dropped, as numbers: shape (n, ranks, 2)."""
        apart = self.known.late[:, :, 0] - self.known.late[:, :, 1]
        lead = np.repeat(self.known.lead[:, None], apart.shape[1], axis=1)
        both = np.stack([lead, apart], axis=2)
        cuts = thresholds(self.draws.scenario, float(np.abs(both).max()))
        return np.searchsorted(cuts, both)

    @cached_property
    def curves(self) -> list[dict[tuple[int, int], dict[Group, Curve]]]:
        """Curves of each rank, by what is dropped; empty where ends do not add up."""
        found: list[dict[tuple[int, int], dict[Group, Curve]]] = [{} for _ in self.known.ranks]
        middle = with_offset(self.draws.scenario, sum(self.span) / 2).switching.reference_offset
        for draw, scenario in enumerate(self.scenarios):
            states = [tuple(int(v) for v in one) for one in self._states[draw]]
            if all(state in own for state, own in zip(states, found, strict=True)):
                continue
            every = end_curves(with_offset(scenario, middle), *self._reach)
            if every is None:
                return []
            for rank, state, own in zip(self.known.ranks, states, found, strict=True):
                own.setdefault(state, {g: c for g, c in every.items() if g[0] == rank})  # type: ignore[arg-type]
        return found

    def _areas(self, offsets: Floats, extra: Extra) -> Floats:
        """Read areas. Which commands are dropped stays as it is without `extra`."""
        planted = self._read(offsets, extra, np.eye(2))
        skip = self.draws.scenario.field.plantable_m2 - planted[..., 0]
        return np.stack([skip, np.zeros_like(skip), planted[..., 1] - planted[..., 0]], axis=2)

    def _combined(self, offsets: Floats, extra: Extra) -> Floats:
        """Read one curve instead of two."""
        weights = self.draws.scenario.weights
        weigh = np.array([[-weights.skip - weights.off_field], [weights.off_field]])
        part = self._read(offsets, extra, weigh)[..., 0]
        return weights.skip * self.draws.scenario.field.plantable_m2 + part

    def _read(self, offsets: Floats, extra: Extra, weigh: Floats) -> Floats:
        """Add up curves, each as `weigh` says: shape (n, m, quantities)."""
        total = np.zeros((self.draws.count, len(offsets), weigh.shape[1]))
        for number, (rank, by_state) in enumerate(zip(self.known.ranks, self.curves, strict=True)):
            for state, groups in by_state.items():
                own = np.flatnonzero((self._states[:, number] == state).all(axis=1))
                for (_, off, way), curve in groups.items():
                    late = self.known.late[:, number, int(off)] + self.draws.offset - way * self.known.along
                    late = (late + extra.get((rank, off), 0.0))[own]
                    place = (late[:, None] + offsets[None, :]).ravel()
                    one = Curve(curve.knot, curve.value @ weigh, curve.slope @ weigh, curve.bend @ weigh)
                    total[own] += one.at(place).reshape(len(own), len(offsets), -1)
        return total


def stands_apart(scenario: Scenario) -> bool:
    """Tell whether starts and stops may be read each for itself, as far as settings say.

    Parameters
    ----------
    scenario : Scenario
        Settings.

    Returns
    -------
    bool
        Not with headland laps (their ends meet over the same ground), nor on update ticks (where ends stand
        hangs together with the offset), nor with minimum times (a start moves the stop behind it), nor with
        a drift across the passes that may differ.
    """
    controller = scenario.controller
    lasting = controller.minimum_on_time or controller.minimum_off_time
    return not (scenario.plan.headland_laps or controller.update_period or lasting)


def shared_reader(
    draws: Draws, scenarios: list[Scenario], known: Lateness, span: tuple[float, float]
) -> Apart | None:
    """Make a reader of shared curves.

    Parameters
    ----------
    draws : Draws
        What was drawn.
    scenarios : list of Scenario
        What each draw makes of the scenario.
    known : Lateness
        How far their row ends are off.
    span : tuple of float
        Range of offsets, metres behind the hitch pin.

    Returns
    -------
    Apart or None
        None where starts and stops do not add up each for itself.
    """
    same: Bools = np.abs(known.across - known.across[0]) <= ALIKE
    if not stands_apart(draws.scenario) or not same.all():
        return None
    reader = Apart(draws, scenarios, known, span)
    return reader if reader.curves else None
