"""Changed copies of a scenario, cheap enough for thousands of cases: only touched tables are read again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from overlapsim.basics.errors import Fault, ScenarioError
from overlapsim.scenario.build import read_machine
from overlapsim.scenario.checks import check_controller, check_speeds, check_switching, check_weights
from overlapsim.scenario.field import Field
from overlapsim.scenario.keys import TABLES, kind_of
from overlapsim.scenario.kinds import Slip
from overlapsim.scenario.machine import Machine
from overlapsim.scenario.planning import settle_plan
from overlapsim.scenario.seed import Seed, seed_raw, spaced
from overlapsim.scenario.slips import hint
from overlapsim.scenario.switching import SwitchFractions
from overlapsim.scenario.tables import Table, fault, read_table
from overlapsim.scenario.value import check_value

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

__all__ = ["changed"]


def changed(scenario: Scenario, changes: Mapping[str, Any]) -> Scenario:
    """Make a copy with some keys set; see `Scenario.with_`.

    Parameters
    ----------
    scenario : Scenario
        Where to start from.
    changes : dict
        By dotted key; text with a unit, or numbers in SI.

    Returns
    -------
    Scenario
        The copy, validated.

    Raises
    ------
    ScenarioError
        If a key does not exist or a value does not fit.
    """
    update: dict[str, Any] = {}
    faults: list[Fault] = []
    tables: dict[str, dict[str, Any]] = {}
    # The working speed scales the others, so it goes first and an explicit at_on wins.
    for key, value in sorted(changes.items(), key=lambda item: item[0] != "speed.working"):
        if key == "field":
            if not isinstance(value, Field):
                faults.append(fault((key,), "is not a Field", "Hand over a Field."))
            update["field"] = value
            continue
        try:
            _set(scenario, tables, key, value)
        except Slip as slip:
            near = hint(key, _all_keys(scenario)) if slip.remedy.startswith("Known") else ""
            remedy = near if near.startswith("Did") else slip.remedy
            faults.append(fault((*key.split("."), *slip.at), slip.rule, remedy, value))
    if not faults:
        faults += _read(scenario, tables, update, "switching.entered_setup" in changes)
    if faults:
        raise ScenarioError(faults)
    if "response" in tables:
        update["assumed"] = _still_assumed(scenario, changes)
    made = scenario.model_copy(update=update)
    plan = made.plan
    if plan.line is plan.through is plan.headland_width is plan.headland is None:
        return made
    plan, faults = settle_plan(made, {})
    if faults:
        raise ScenarioError(faults)
    return made.model_copy(update={"plan": plan})


def _all_keys(scenario: Scenario) -> list[str]:
    """List dotted keys, for hints."""
    keys = [f"{name}.{key}" for name, model in TABLES.items() for key in model.model_fields]
    machine = scenario.machine
    keys += [
        f"machine.ranks.{name}.{key}"
        for name, rank in machine.ranks.items()
        for key in type(rank).model_fields
    ]
    keys += [
        f"machine.setups.{name}.{key}"
        for name, one in machine.setups.items()
        for key in type(one).model_fields
    ]
    return keys


def _set(scenario: Scenario, tables: dict[str, dict[str, Any]], key: str, value: Any) -> None:
    """Put one value into the raw form of its table."""
    kind = kind_of(key, scenario.machine)
    head, *rest = key.split(".")
    if head not in tables:
        table = getattr(scenario, head)
        if isinstance(table, Machine):
            tables[head] = _machine_raw(table)
        else:
            tables[head] = seed_raw(table) if isinstance(table, Seed) else dict(table)
    place = tables[head]
    for i, name in enumerate(rest[:-1]):
        inner = place[name]
        if isinstance(inner, Table):
            inner = dict(inner)
        elif not isinstance(inner, Mapping):
            # One figure for all becomes one per rank, or per kind of edge, before one of them is set.
            each = SwitchFractions.model_fields if name == "switch_fraction" else scenario.machine.ranks
            inner = dict.fromkeys(each, inner)
        elif i == len(rest) - 2:
            inner = dict(inner)
        place[name] = inner
        place = inner
    last = rest[-1]
    if head == "speed" and last == "working":
        new = kind.read(value, True)
        for other in ("at_on", "at_off"):
            same = place[other] == place["working"]
            place[other] = new if same else place[other] * (new / place["working"])
    if head == "response" and len(rest) == 1:
        value = _per_rank(scenario.machine, place[last], value)
    if last in ("behind_pin", "behind_front"):
        place.pop("behind_front" if last == "behind_pin" else "behind_pin", None)
    if last in ("spacing", "population") and head == "seed":
        place.pop("spacing" if last == "population" else "population", None)
    if head == "plan":
        _give_way(place, last, kind.read(value, True))
    place[last] = value


def _give_way(plan: dict[str, Any], key: str, value: Any) -> None:
    """Take back what a new heading, number of laps, line or place contradicts."""
    if key == "heading" and value != plan["heading"]:
        plan["line"] = None
    elif key == "headland_laps" and value != plan["headland_laps"]:
        plan["headland_width"] = plan["headland"] = None
    elif key in ("headland_width", "headland") and value is not None:
        plan["headland" if key == "headland_width" else "headland_width"] = None
    elif key in ("line", "through") and value is not None:
        plan["through" if key == "line" else "line"] = None


def _per_rank(machine: Machine, old: Mapping[str, float], value: Any) -> dict[str, Any]:
    """Lay a latency out by rank; ranks that are not named keep theirs."""
    if not isinstance(value, Mapping):
        return dict.fromkeys(machine.ranks, value)
    for name in value:
        if name not in machine.ranks:
            raise Slip("no such rank", hint(name, machine.ranks))
    return {**old, **value}


def _machine_raw(machine: Machine) -> dict[str, Any]:
    """Write a machine as its keys, with numbers in SI."""
    raw = dict(machine)
    raw["ranks"] = {}
    for name, rank in machine.ranks.items():
        raw["ranks"][name] = dict(rank)
        del raw["ranks"][name]["behind_pin" if rank.behind_front is not None else "behind_front"]
    raw["changeover"] = [dict(step) for step in machine.changeover]
    raw["setups"] = {name: dict(setup) for name, setup in machine.setups.items()}
    return raw


def _read(
    scenario: Scenario, tables: dict[str, dict[str, Any]], update: dict[str, Any], entered: bool
) -> list[Fault]:
    """Read the touched tables again, and check what leans on them."""
    faults: list[Fault] = []
    old = scenario.machine
    if "machine" in tables:
        read = read_machine(tables["machine"], si=True)
        faults += read.faults
        update["machine"] = read.table
        follows = not entered and scenario.switching.entered_setup == old.setup
        if read.table.setup != old.setup and follows:
            tables.setdefault("switching", dict(scenario.switching))["entered_setup"] = read.table.setup
    for name, raw in tables.items():
        if name != "machine":
            one = read_table(TABLES[name], raw, (name,), si=True)
            faults += one.faults
            update[name] = one.table
    if faults:
        return faults
    machine = update.get("machine", old)
    if "machine" in tables or "seed" in tables:
        update["seed"] = spaced(update.get("seed", scenario.seed), machine)
    if "machine" in tables or "switching" in tables:
        faults += check_switching(update.get("switching", scenario.switching), machine)
    controller = update.get("controller", scenario.controller)
    if "machine" in tables or "controller" in tables:
        faults += check_controller(controller, machine)
    if "speed" in tables or "controller" in tables:
        faults += check_speeds(update.get("speed", scenario.speed), controller)
    if "weights" in tables:
        faults += check_weights(update["weights"])
    if "value" in tables:
        faults += check_value(update["value"])
    return faults


def _still_assumed(scenario: Scenario, changes: Mapping[str, Any]) -> tuple[str, ...]:
    """Take the latencies that were set off the list of what is assumed."""
    still: list[str] = []
    for key in scenario.assumed:
        part = [other for other in changes if other.startswith(f"{key}.")]
        if key.startswith("response.") and part:
            still += [f"{key}.{name}" for name in scenario.machine.ranks if f"{key}.{name}" not in changes]
        elif not any(key == other or key.startswith(f"{other}.") for other in changes):
            still.append(key)
    return tuple(still)
