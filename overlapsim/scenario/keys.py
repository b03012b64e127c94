"""Dotted keys: which table and which kind of value a key such as ``switching.reference_offset`` names."""

from __future__ import annotations

from overlapsim.basics.units import AMOUNT
from overlapsim.scenario.kinds import Kind, Slip
from overlapsim.scenario.machine import Machine, Rank, Setup
from overlapsim.scenario.plain import Count, Number
from overlapsim.scenario.quantities import Measure, PerName
from overlapsim.scenario.seed import Seed
from overlapsim.scenario.settings import Plan, Speed, Tune, Weights
from overlapsim.scenario.slips import hint, listed
from overlapsim.scenario.switching import (
    Controller,
    DeliberateOverlap,
    Fractions,
    Response,
    SwitchFractions,
    Switching,
)
from overlapsim.scenario.tables import Table, kinds
from overlapsim.scenario.value import Value

__all__ = ["OVERRIDDEN", "RESERVED", "TABLES", "column_name", "dimension_of", "kind_of"]

TABLES: dict[str, type[Table]] = {
    "machine": Machine,
    "plan": Plan,
    "speed": Speed,
    "switching": Switching,
    "controller": Controller,
    "response": Response,
    "seed": Seed,
    "weights": Weights,
    "value": Value,
    "tune": Tune,
}
"""Tables whose keys can be set one by one."""

OVERRIDDEN = ("speed", "switching", "response", "seed", "weights")
"""Tables that one row setup may override, key by key."""

RESERVED = ("tractor", "track")
"""Tables that are kept free."""

_COLUMN_UNITS = {
    "length": "m",
    "time": "s",
    "speed": "m_per_s",
    "angle": "rad",
    "rate": "hz",
    "area": "m2",
    AMOUNT: "per_m2",
}


def kind_of(key: str, machine: Machine) -> Kind:
    """Find the kind of value that a dotted key names.

    Parameters
    ----------
    key : str
        As in ``machine.ranks.rear.behind_pin``.
    machine : Machine
        Whose ranks and setups may stand in keys.

    Returns
    -------
    Kind
        How its values are read and written.

    Raises
    ------
    Slip
        If there is no such key; it names the nearest one.
    """
    head, *rest = key.split(".")
    if head not in TABLES:
        raise Slip("no such key", hint(head, TABLES))
    if head == "machine" and rest[:1] in (["ranks"], ["setups"]):
        names = machine.ranks if rest[0] == "ranks" else machine.setups
        if len(rest) != 3 or rest[1] not in names:
            raise Slip(
                "no such key",
                f"Write {head}.{rest[0]}.{next(iter(names))}.…; this machine has: {listed(names)}.",
            )
        return _last(kinds(Rank if rest[0] == "ranks" else Setup), rest[2:], machine)
    if not rest:
        raise Slip("is a table, not a key", f"Name a key in it: {listed(TABLES[head].model_fields)}.")
    return _last(kinds(TABLES[head]), rest, machine)


def _last(known: dict[str, Kind], rest: list[str], machine: Machine) -> Kind:
    """Find the kind of the last one or two names of a key."""
    if rest[0] not in known:
        raise Slip("no such key", hint(rest[0], known))
    kind = known[rest[0]]
    if len(rest) == 1:
        return kind
    inner: dict[str, Kind] = {}
    if isinstance(kind, PerName):
        inner = dict.fromkeys(machine.ranks, kind.each)
    elif rest[0] == "deliberate_overlap":
        inner = kinds(DeliberateOverlap)
    elif rest[0] == "switch_fraction":
        inner = kinds(SwitchFractions)
    if len(rest) > 2 or rest[1] not in inner:
        raise Slip("no such key", hint(rest[1], inner) if inner else f"{rest[0]} has no keys in it.")
    return inner[rest[1]]


def dimension_of(kind: Kind) -> str | None:
    """Tell what a kind measures.

    Parameters
    ----------
    kind : Kind
        From `kind_of`.

    Returns
    -------
    str or None
        As in `overlapsim.basics.units`, ``"number"`` for plain numbers, None for anything else.
    """
    if isinstance(kind, PerName):
        return kind.each.dimension
    if isinstance(kind, Measure):
        return kind.dimension
    return "number" if isinstance(kind, Number | Count | Fractions) else None


def column_name(key: str, machine: Machine) -> str:
    """Name a column of a table after a dotted key: points become ``_``, the SI unit stands at the end.

    Parameters
    ----------
    key : str
        Dotted key.
    machine : Machine
        Whose ranks and setups may stand in keys.

    Returns
    -------
    str
        As in ``switching_reference_offset_m``.
    """
    kind = kind_of(key, machine)
    if isinstance(kind, PerName):
        kind = kind.each
    unit = _COLUMN_UNITS.get(kind.dimension, "") if isinstance(kind, Measure) else ""
    return "_".join(part for part in (key.replace(".", "_"), unit) if part)
