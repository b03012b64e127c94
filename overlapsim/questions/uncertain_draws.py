"""Draws of what may be off: seeded, each quantity with chance of its own, and the scenarios they make."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from zlib import crc32

import numpy as np

from overlapsim.basics.errors import Fault, ScenarioError
from overlapsim.basics.frames import Floats
from overlapsim.scenario.kinds import FrozenDict
from overlapsim.scenario.uncertain import Spread, measure_of, values_of

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

OFFSET = "switching.reference_offset"
"""The quantity that is entered: what acts is as far off as a draw says."""

DRIFT = "controller.drift"

SPEED_SHARE = 0.05
"""Spread of the speed that is assumed where nothing is stated, a share of it (common practice, no source)."""

LATENCY_SHARE = 0.25
"""Most of a latency that is assumed as its spread: normal draws then stay above zero."""


def assumed_spreads(scenario: Scenario) -> FrozenDict:
    """Take spreads where none is stated, from what the scenario says of itself.

    Parameters
    ----------
    scenario : Scenario
        As it stands.

    Returns
    -------
    dict of Spread
        For every working rank a tape's error (``tune.as_good``), for both latencies a step of the times
        that can be typed in, but no more than a share of :data:`LATENCY_SHARE` of them; for the speed a
        share of :data:`SPEED_SHARE`. All are assumptions.
    """
    found: dict[str, Spread] = {}
    for name in scenario.machine.working_ranks:
        written = "behind_pin" if scenario.machine.ranks[name].behind_front is None else "behind_front"
        found[f"machine.ranks.{name}.{written}"] = Spread((scenario.tune.as_good,))
    for name in ("on_latency", "off_latency"):
        least = min(values_of(f"response.{name}", scenario))
        found[f"response.{name}"] = Spread((min(scenario.controller.time_step, LATENCY_SHARE * least),))
    found["speed.working"] = Spread((SPEED_SHARE * scenario.speed.working,))
    return FrozenDict({key: spread for key, spread in found.items() if any(spread.sizes)})


@dataclass(frozen=True)
class Draws:
    """What was drawn.

    Attributes
    ----------
    scenario : Scenario
        As it stands, with its spreads.
    off_by : dict of ndarray
        By dotted key how far each draw is off, SI: shape (n,), of a drift (n, 2).
    count : int
        Number of draws.
    """

    scenario: Scenario
    off_by: dict[str, Floats]
    count: int

    @property
    def offset(self) -> Floats:
        """How much farther behind the pin the entered offset acts in each draw, metres."""
        return self.off_by.get(OFFSET, np.zeros(self.count))

    def changes(self, draw: int) -> dict[str, Any]:
        """Say what one draw sets.

        Parameters
        ----------
        draw : int
            Its number, from 0.

        Returns
        -------
        dict
            Values by dotted key, SI, for `Scenario.with_`; how far the entered offset acts elsewhere is no
            part of it.
        """
        return {
            key: shifted(key, self.scenario, off_by[draw])
            for key, off_by in self.off_by.items()
            if key != OFFSET
        }


def scenarios_of(draws: Draws) -> list[Scenario]:
    """Make the scenario of every draw.

    Parameters
    ----------
    draws : Draws
        What was drawn.

    Returns
    -------
    list of Scenario
        In their order; the reference offset is the one that is entered.

    Raises
    ------
    ScenarioError
        Where spreads that go one by one do not go together, as where ranks change places.
    """
    try:
        return [draws.scenario.with_(draws.changes(number)) for number in range(draws.count)]
    except ScenarioError as error:
        remedy = 'Write smaller spreads, or shape = "even".'
        faults = [
            Fault(f"makes a machine that none is: {one.key} = {one.value}  {one.rule}", remedy, "uncertain")
            for one in error.faults
        ]
        raise ScenarioError(faults) from None


def shifted(key: str, scenario: Scenario, by: Any) -> Any:
    """Move a quantity.

    Parameters
    ----------
    key : str
        Dotted key that a spread can have.
    scenario : Scenario
        As it stands.
    by : float or ndarray
        By how much, SI; of a drift both parts.

    Returns
    -------
    float, tuple or dict
        For `Scenario.with_`, SI; never beyond what the quantity can be.
    """
    values, measure = values_of(key, scenario), measure_of(key, scenario)
    moved = [float(v) for v in np.clip(np.array(values) + by, measure.low, measure.high)]
    if key == DRIFT:
        return tuple(moved)
    if len(key.split(".")) == 2 and key.startswith("response."):
        return dict(zip(getattr(scenario.response, key.split(".")[1]), moved, strict=True))
    return moved[0]


def drawn(scenario: Scenario, count: int, seed: int) -> Draws:
    """Draw.

    Parameters
    ----------
    scenario : Scenario
        With its spreads.
    count : int
        How many draws.
    seed : int
        Chance, 0 or more: the same seed draws the same, and a further spread leaves the others' draws as
        they are. Of more draws the first ones are the same.

    Returns
    -------
    Draws
        Normal ones that fall beyond what a quantity can be are taken from what is left of the normal.
    """
    off_by: dict[str, Floats] = {}
    for key, spread in scenario.uncertain.items():
        values, measure = values_of(key, scenario), measure_of(key, scenario)
        parts = []
        for number, size in enumerate(spread.sizes):
            chance = np.random.SeedSequence(seed, spawn_key=(crc32(key.encode()), number))
            share = np.random.default_rng(chance).random(count)
            own = values[number : number + 1] if len(spread.sizes) > 1 else values
            room = (max(measure.low - v for v in own), min(measure.high - v for v in own))
            parts.append(_placed(share, size, spread.shape, room))
        off_by[key] = parts[0] if len(parts) == 1 else np.stack(parts, axis=1)
    return Draws(scenario, off_by, count)


def _placed(share: Floats, size: float, shape: str, room: tuple[float, float]) -> Floats:
    """Turn shares from 0 to 1 into places within `room`, of a spread round zero."""
    # Every search would wait for scipy: only where something is drawn.
    from scipy.special import ndtr, ndtri

    if size == 0.0:
        return np.zeros(len(share))
    if shape == "even":
        return np.clip((2.0 * share - 1.0) * size, *room)
    low, high = ndtr(room[0] / size), ndtr(room[1] / size)
    # A share of exactly 0 has no place on the normal.
    return size * ndtri(np.clip(low + share * (high - low), np.finfo(float).tiny, 1.0 - 2.0**-53))
