"""The latencies of every rank: as stated, or taken as equal to the time entered, and then assumed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from overlapsim.scenario.kinds import FrozenDict
from overlapsim.scenario.machine import Machine
from overlapsim.scenario.overrides import Layers
from overlapsim.scenario.slips import hint
from overlapsim.scenario.switching import Response, Switching
from overlapsim.scenario.tables import is_lost, is_mended, read_table

__all__ = ["read_response"]


def read_response(layers: Layers, machine: Machine, switching: Switching) -> tuple[Response, list[str]]:
    """Read what the machine really does.

    Parameters
    ----------
    layers : Layers
        The scenario's tables.
    machine : Machine
        Whose ranks have latencies.
    switching : Switching
        The times entered.

    Returns
    -------
    tuple
        Latencies of every rank in s, and the dotted keys of those that are assumed.
    """
    for other in layers.parts("response")[1]:
        if other != machine.setup:
            aside = Layers(layers.data, layers.mended)
            _read(aside, other, machine, switching)
            layers.faults += [one for one in aside.faults if one.key.startswith(f"response.{other}.")]
    return _read(layers, machine.setup, machine, switching)


def _read(layers: Layers, setup: str, machine: Machine, switching: Switching) -> tuple[Response, list[str]]:
    """Read the latencies for one row setup."""
    values, places = layers.merged("response", setup)
    assumed: list[str] = []
    for key, time in (("on_latency", switching.turn_on_time), ("off_latency", switching.turn_off_time)):
        stated = values.get(key)
        if isinstance(stated, Mapping) and not is_lost(layers.mended, ("machine", "ranks")):
            for name in stated:
                if name not in machine.ranks:
                    layers.note((*places[key], str(name)), "no such rank", hint(str(name), machine.ranks))
            stated = {name: part for name, part in stated.items() if name in machine.ranks}
        missing = _missing(key, stated, machine)
        if missing and time < 0 and not is_mended(layers.mended, ("switching",)):
            rule = "is missing, and the time entered is negative: no machine answers before it is asked"
            layers.note(("response", key), rule, f'Write {key} = "0.30 s".')
        entered = f"{max(time, 0.0)!r} s"
        if stated is None:
            stated = entered
        elif isinstance(stated, Mapping):
            stated = {name: stated.get(name, entered) for name in [*machine.ranks, *stated]}
        values[key] = stated
        assumed += missing
    read = read_table(Response, values, ("response",), sources=places, elsewhere=layers.homes)
    found: Response = layers.take(read, "response", setup)
    by_rank = {key: _by_rank(getattr(found, key), machine) for key in ("on_latency", "off_latency")}
    return found.model_copy(update=by_rank), assumed


def _missing(key: str, stated: Any, machine: Machine) -> list[str]:
    """List the dotted keys that are not stated."""
    if stated is None:
        return [f"response.{key}"]
    if isinstance(stated, Mapping):
        return [f"response.{key}.{name}" for name in machine.ranks if name not in stated]
    return []


def _by_rank(value: Any, machine: Machine) -> FrozenDict:
    """Lay a latency out by rank."""
    one = value if isinstance(value, Mapping) else dict.fromkeys(machine.ranks, value)
    return FrozenDict({name: one.get(name, 0.0) for name in machine.ranks})
