"""How surely things are known: the ``[uncertain]`` table, a spread for each quantity that may be off."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

from overlapsim.basics.errors import Fault
from overlapsim.basics.units import INCH, KMH, MPH, si_text
from overlapsim.scenario.keys import kind_of
from overlapsim.scenario.kinds import FrozenDict, Kind, Slip
from overlapsim.scenario.quantities import Measure, Pair, PerName
from overlapsim.scenario.slips import hint, listed, shown
from overlapsim.scenario.sweeps import flat
from overlapsim.scenario.tables import Path, dotted, fault, is_mended

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

__all__ = [
    "SEED",
    "SHAPES",
    "SHOWN",
    "Spread",
    "check_spreads",
    "measure_of",
    "read_uncertain",
    "spreads_text",
    "values_of",
]  # fmt: skip

SHAPES = ("normal", "even")
"""One standard deviation to either side, or anywhere within the spread to either side alike."""

SEED = 1
"""Chance, unless another seed is given."""
SHOWN = '"response.on_latency" = "0.05 s"'
"""How a line of the table is written, for a remedy."""

RARE = 1e-3
"""Share of draws that may fall beyond what a quantity can be, and are drawn again."""

_EXAMPLES = {"length": "1/2 in", "time": "0.05 s", "speed": "0.2 mph"}
_STEPS = {"length": ("in", INCH, 0.01), "time": ("s", 1.0, 0.001), "speed": ("mph", MPH, 0.01)}
_METRIC_STEPS = {"length": ("cm", 0.01, 0.1), "time": ("s", 1.0, 0.001), "speed": ("km/h", KMH, 0.01)}
"""Unit, its size in SI, and the step in which limits are told."""

_KEYS = (
    "response.on_latency", "response.off_latency", "speed.working", "speed.at_on", "speed.at_off",
    "switching.reference_offset", "controller.position_delay", "controller.drift",
)  # fmt: skip


@dataclass(frozen=True)
class Spread:
    """How far a quantity may be off.

    Attributes
    ----------
    sizes : tuple of float
        SI; one number, of a drift two: east and north.
    shape : {"normal", "even"}
        One standard deviation, or the farthest that it can be off, every place within alike.
    """

    sizes: tuple[float, ...]
    shape: str = "normal"

    @property
    def reach(self) -> float:
        """Farthest that draws go, in times the spread (no unit): but for a share of :data:`RARE`."""
        return 1.0 if self.shape == "even" else -NormalDist().inv_cdf(RARE)


def read_uncertain(raw: Any, scenario: Scenario, mended: set[Path]) -> tuple[FrozenDict, list[Fault]]:
    """Read the spreads.

    Parameters
    ----------
    raw : dict
        A quantity, or a table with spread and shape, by dotted key.
    scenario : Scenario
        Whose quantities they are.
    mended : set of tuple of str
        Paths of the scenario that were filled in after a fault: what leans on them is not looked at.

    Returns
    -------
    tuple
        `Spread` by dotted key, and faults.
    """
    path: Path = ("uncertain",)
    if not isinstance(raw, Mapping):
        remedy = f"Write [uncertain] and below it {SHOWN}."
        return FrozenDict(), [fault(path, "is not a table", remedy, raw)]
    found: dict[str, Spread] = {}
    faults: list[Fault] = []
    for key, value in flat(raw, stop=frozenset({"spread", "shape"})).items():
        try:
            found[key] = _spread(key, value, scenario)
        except Slip as slip:
            if is_mended(mended, ("machine",)) and key.startswith(("machine.", "response.")):
                continue
            text = slip.value or ("" if isinstance(value, Mapping) else shown(value))
            faults.append(Fault(slip.rule, slip.remedy, dotted((*path, key, *slip.at)), text))
    spreads = FrozenDict(found)
    checked = scenario.model_copy(update={"uncertain": spreads})
    faults += [one for one in check_spreads(checked) if not is_mended(mended, tuple(one.key.split(".")[1:2]))]
    return spreads, faults


def _spread(key: str, value: Any, scenario: Scenario) -> Spread:
    """Read one spread."""
    kind = _known(key, scenario)
    shape = "normal"
    if isinstance(value, Mapping):
        if odd := sorted(set(value) - {"spread", "shape"}):
            raise Slip("no such key", hint(odd[0], ("spread", "shape")), at=(odd[0],))
        shape = value.get("shape", shape)
        if shape not in SHAPES:
            remedy = 'Write "normal" (one standard deviation) or "even" (anywhere within).'
            raise Slip("is not one of the choices", remedy, ("shape",), shown(shape))
        if "spread" not in value:
            raise Slip("lacks spread", 'Write {spread = "1/2 in", shape = "even"}.')
        value = value["spread"]
    if isinstance(kind, Pair):
        parts = value if isinstance(value, list | tuple) else (value, value)
        if len(parts) != 2:
            raise Slip("is not a pair of quantities (east, north)", 'Write "2 in", or ["1 in", "2 in"].')
        return Spread(tuple(_size(kind.each, part) for part in parts), shape)
    assert isinstance(kind, Measure)
    return Spread((_size(kind, value),), shape)


def _size(kind: Measure, value: Any) -> float:
    """Read how far a quantity may be off: as it is written itself, from nothing up."""
    most = max(abs(kind.low), abs(kind.high))
    own = replace(kind, low=0.0, high=most, likely=None, words=(), example=_EXAMPLES[kind.dimension])
    return float(own.read(value, False))


def _known(key: str, scenario: Scenario) -> Kind:
    """Find the kind of a quantity that may be off."""
    machine = scenario.machine
    head, *rest = key.split(".")
    whole = ".".join((head, *rest[:1]))
    ranks = [f"machine.ranks.{rank}.behind_pin" for rank in machine.working_ranks]
    known = whole in _KEYS or (whole == "machine.ranks" and rest[-1] in ("behind_pin", "behind_front"))
    if key in ("switching.turn_on_time", "switching.turn_off_time"):
        latency = "on" if "on_time" in key else "off"
        remedy = f"How late the machine answers may be off: write response.{latency}_latency."
        raise Slip("is typed in and so is known", remedy)
    if not known:
        near = hint(key, (*_KEYS, *ranks))
        others = f"A spread is read of {listed((*_KEYS, *ranks))}."
        raise Slip("has no spread that is read", near if near.startswith("Did") else others)
    kind = kind_of(key, machine)
    if isinstance(kind, PerName):
        kind = kind.each
    if head == "machine":
        written = "behind_pin" if machine.ranks[rest[1]].behind_front is None else "behind_front"
        if rest[-1] != written:
            remedy = f"Write machine.ranks.{rest[1]}.{written}, as in the machine."
            raise Slip("is not how this rank is written", remedy)
    return kind


def check_spreads(scenario: Scenario) -> Iterator[Fault]:
    """See that no spread carries a quantity to where no machine is, and that none is stated twice.

    Parameters
    ----------
    scenario : Scenario
        With its spreads.

    Yields
    ------
    Fault
        Keyed below ``uncertain``.
    """
    for key, spread in scenario.uncertain.items():
        path: Path = ("uncertain", key)
        doubled = [other for other in scenario.uncertain if other.startswith(f"{key}.")]
        if doubled:
            remedy = f"Leave this one out, or {doubled[0]}."
            yield fault(path, "is stated for all ranks and for one of them", remedy)
        measure = measure_of(key, scenario)
        for size, value in zip(itertools.cycle(spread.sizes), values_of(key, scenario), strict=False):
            room = min(value - measure.low, measure.high - value)
            if spread.reach * size > room + 1e-12:
                negative = value - spread.reach * size < 0.0 <= measure.low
                how = "turns negative" if negative else "goes beyond what machines have"
                often = "" if spread.shape == "even" else " in more than 1 of 1,000 draws"
                told = partial(_told, measure=measure, units=scenario.units)
                yield fault(
                    path,
                    f"is too much: {told(value)} then {how}{often}",
                    f'Write at most "{told(max(room, 0.0) / spread.reach)}"'
                    + ("." if spread.shape == "even" else ', or shape = "even".'),
                    told(size),
                )
                break


def values_of(key: str, scenario: Scenario) -> tuple[float, ...]:
    """Read what a spread is round.

    Parameters
    ----------
    key : str
        Dotted key that a spread can have.
    scenario : Scenario
        As it stands.

    Returns
    -------
    tuple of float
        SI; the two of a drift, one per rank where a latency or an offset is stated for all, else one.
    """
    head, *rest = key.split(".")
    if head == "machine":
        return (float(getattr(scenario.machine.ranks[rest[1]], rest[2])),)
    value = getattr(getattr(scenario, head), rest[0])
    if isinstance(value, Mapping):
        return (value[rest[1]],) if len(rest) > 1 else tuple(value.values())
    return value if isinstance(value, tuple) else (value,)


def measure_of(key: str, scenario: Scenario) -> Measure:
    """Find what a spread is measured in.

    Parameters
    ----------
    key : str
        Dotted key that a spread can have.
    scenario : Scenario
        Whose ranks may stand in it.

    Returns
    -------
    Measure
        The kind of one of its numbers.
    """
    kind = _known(key, scenario)
    measure = kind.each if isinstance(kind, Pair) else kind
    assert isinstance(measure, Measure)
    return measure


def _told(value: float, measure: Measure, units: str) -> str:
    """Write a quantity in the reader's units, rounded down."""
    unit, size, step = (_STEPS if units == "us" else _METRIC_STEPS)[measure.dimension]
    return f"{math.floor(value / size / step + 1e-6) * step:.10g} {unit}"


def spreads_text(scenario: Scenario) -> dict[str, Any]:
    """Write the table so that reading it gives an equal one.

    Parameters
    ----------
    scenario : Scenario
        With its spreads.

    Returns
    -------
    dict
        Quantities as text in SI with their unit, by dotted key.
    """
    told: dict[str, Any] = {}
    for key, spread in scenario.uncertain.items():
        written: Any = [si_text(size, measure_of(key, scenario).dimension) for size in spread.sizes]
        written = written if len(written) > 1 else written[0]
        told[key] = written if spread.shape == "normal" else {"spread": written, "shape": spread.shape}
    return told
