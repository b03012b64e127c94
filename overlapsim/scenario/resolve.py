"""From the keys of a scenario file to a Scenario: overrides, defaults, and every fault at once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from overlapsim.basics.errors import Fault
from overlapsim.basics.units import is_metric
from overlapsim.scenario.build import read_machine
from overlapsim.scenario.checks import check_controller, check_speeds, check_switching, check_weights
from overlapsim.scenario.field import Field
from overlapsim.scenario.ground_table import read_field_table
from overlapsim.scenario.keys import OVERRIDDEN, RESERVED, TABLES, kind_of
from overlapsim.scenario.kinds import FrozenDict, Slip
from overlapsim.scenario.latencies import read_response
from overlapsim.scenario.machine import Machine
from overlapsim.scenario.overrides import NOT_YET, Layers
from overlapsim.scenario.planning import settle_plan
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.seed import Seed, spaced
from overlapsim.scenario.slips import hint
from overlapsim.scenario.sweeps import flat, read_sweep
from overlapsim.scenario.switching import Switching
from overlapsim.scenario.tables import Path, is_lost, is_mended
from overlapsim.scenario.uncertain import read_uncertain
from overlapsim.scenario.value import check_value

__all__ = ["resolve"]

_TOP = ("title", "about", *TABLES, "field", "basis", "sweep", "uncertain")
_WRITTEN = ("name", "units", "assumed")
"""Keys that results carry, so that a run can be repeated from them."""


def resolve(
    data: Any, *, field: Field | None = None, name: str = "", lost: Iterable[Path] = ()
) -> tuple[Scenario | None, list[Fault]]:
    """Make a scenario of a dictionary, and list everything that is wrong with it.

    Parameters
    ----------
    data : dict
        Keys of a scenario file, the machine's inline.
    field : Field, optional
        The field, read elsewhere.
    name : str
        Short name of the scenario.
    lost : iterable of tuple of str
        Paths whose faults are known already: what leans on them is not looked at.

    Returns
    -------
    tuple
        Scenario (mended where at fault; None where there is nothing to build on) and faults.
    """
    if not isinstance(data, Mapping):
        return None, [Fault("is not a scenario", "Hand over a dictionary with the keys of a scenario file.")]
    layers = Layers({str(key): value for key, value in data.items()}, set(lost))
    scenario = _planned(layers, _build(layers, field, name))
    if "uncertain" in layers.data:
        spreads, faults = read_uncertain(layers.data["uncertain"], scenario, layers.mended)
        scenario = scenario.model_copy(update={"uncertain": spreads})
        layers.faults += faults
    if "sweep" in layers.data:
        sweep, faults = read_sweep(layers.data["sweep"], scenario, layers.mended)
        scenario = scenario.model_copy(update={"sweep": sweep})
        layers.faults += faults
    return scenario, list(dict.fromkeys(layers.faults))


def _build(layers: Layers, field: Field | None, name: str) -> Scenario:
    """Read all tables in the order in which they lean on each other."""
    _check_top(layers)
    machine = _machine(layers)
    if field is None:
        field = read_field_table(layers.data.get("field"), layers.faults)
    layers.overrides_exist(machine)
    heads = ("plan", "speed", "weights", "value", "tune")
    tables = {head: layers.table(head, machine.setup) for head in heads}
    switching = _switching(layers, machine)
    units = _units(layers)
    controller = _controller(layers, units)
    response, assumed = read_response(layers, machine, switching)
    if not is_mended(layers.mended, ("machine",)):
        _check(layers, check_switching(switching, machine))
        _check(layers, check_controller(controller, machine))
    if not is_mended(layers.mended, ("speed",), ("controller", "minimum_speed")):
        _check(layers, check_speeds(tables["speed"], controller))
    _check(layers, check_weights(tables["weights"]))
    _check(layers, check_value(tables["value"]))
    seed: Seed = layers.table("seed", machine.setup)
    title, basis = _text(layers, "title"), _basis(layers, machine)
    assumed += [key for key, words in basis.items() if words == "assumed"]
    return Scenario.model_construct(
        title=title,
        name=name or _text(layers, "name") or "-".join(re.findall(r"\w+", title.lower()))[:60] or "scenario",
        about=_about(layers),
        units=units,
        machine=machine,
        # Something to look for further faults with; nothing is run on it.
        field=field or Field.textbook_80(),
        switching=switching,
        controller=controller,
        response=response,
        seed=spaced(seed, machine),
        **tables,
        basis=basis,
        assumed=_assumed(layers, assumed),
        sweep=FrozenDict(),
        uncertain=FrozenDict(),
    )


def _planned(layers: Layers, scenario: Scenario) -> Scenario:
    """Settle the plan, which leans on machine and field."""
    if is_mended(layers.mended, ("machine",), ("switching", "entered_setup")):
        return scenario
    plan, faults = settle_plan(scenario, layers.mapping("plan"))
    _check(layers, faults)
    return scenario.model_copy(update={"plan": plan})


def _check(layers: Layers, found: Iterable[Fault]) -> None:
    """Take the faults of a check, unless what it leans on was mended."""
    layers.faults += [one for one in found if not is_mended(layers.mended, tuple(one.key.split(".")))]


def _check_top(layers: Layers) -> None:
    """Refuse tables that are unknown, or kept for later."""
    for key, value in layers.data.items():
        if key in RESERVED:
            layers.note((key,), NOT_YET, "Leave it out.")
        elif key not in _TOP and key not in _WRITTEN:
            home = layers.homes.get(key)
            remedy = f"It belongs in [{home}]." if home else hint(key, _TOP)
            layers.note((key,), "no such key", remedy, None if isinstance(value, Mapping) else value)


def _text(layers: Layers, key: str) -> str:
    """Read a text at the top."""
    value = layers.data.get(key, "")
    if isinstance(value, str):
        return value
    layers.note((key,), "is not a text", "Write it in quotes.", value)
    return ""


def _about(layers: Layers) -> FrozenDict:
    """Read what is printed on reports; dates and numbers are texts there."""
    raw = layers.mapping("about")
    for key, value in raw.items():
        if isinstance(value, Mapping | list):
            layers.note(("about", str(key)), "is not a text", "Write it in quotes.", value)
    return FrozenDict({str(key): str(value) for key, value in raw.items()})


def _machine(layers: Layers) -> Machine:
    """Read the machine, and see that setups do not bear the names of keys."""
    top: Path = ("machine",)
    raw = layers.data.get("machine", {})
    if "machine" not in layers.data:
        layers.note(top, "is missing", "Write [machine] and file = 'machines/x.toml' below.")
        layers.mended.add(top)
    if isinstance(raw, Mapping) and "file" in raw:
        remedy = "Load the scenario from its file, or write the machine's keys inline."
        layers.note((*top, "file"), "files are read by load_scenario", remedy, raw["file"])
        layers.mended.add(top)
    read = read_machine(raw)
    if not is_lost(layers.mended, top):
        layers.faults += read.faults
    layers.mended |= read.mended
    taken = {key: head for head in OVERRIDDEN for key in TABLES[head].model_fields}
    for name in read.table.setups:
        if name in taken:
            rule = f"is the name of a key in [{taken[name]}]"
            layers.note((*top, "setups", name), rule, "Give the row setup another name.")
    return read.table


def _switching(layers: Layers, machine: Machine) -> Switching:
    """Read what is entered: for the setup that the controller thinks it drives."""
    entered = layers.merged("switching", machine.setup)[0].get("entered_setup", machine.setup)
    known = isinstance(entered, str) and entered in machine.setups
    read: Switching = layers.table("switching", entered if known else machine.setup)
    return read.model_copy(update={"entered_setup": entered}) if known else read


def _units(layers: Layers) -> str:
    """Tell in which units people wrote: by the reference offset, else by the speed."""
    stated = layers.data.get("units")
    if stated in ("us", "metric"):
        return str(stated)
    if stated is not None:
        layers.note(("units",), "is not one of the choices", 'Write "us" or "metric".', stated)
    own, others = layers.parts("switching")
    written = [part.get("reference_offset") for part in (own, *others.values())]
    written = [next(iter(one.values()), None) if isinstance(one, Mapping) else one for one in written]
    for value in (*written, layers.parts("speed")[0].get("working")):
        if isinstance(value, str) and re.search(r"\d\s*[^\d\s.]", value):
            return "metric" if is_metric(value) else "us"
    return "us"


def _controller(layers: Layers, units: str) -> Any:
    """Read the controller; its steps are metric where people are."""
    raw = layers.mapping("controller")
    if units == "metric" and "offset_step" not in raw:
        layers.data["controller"] = {**raw, "offset_step": "1 cm"}
    return layers.table("controller", "")


def _basis(layers: Layers, machine: Machine) -> FrozenDict:
    """Read where numbers come from; their keys must exist."""
    found = {}
    for key, words in flat(layers.mapping("basis")).items():
        if not isinstance(words, str):
            layers.note(("basis", key), "is not a text", 'Write where it comes from, as in "taped".', words)
            continue
        found[key] = words
        try:
            kind_of(key, machine)
        except Slip as slip:
            if not is_lost(layers.mended, ("machine", "ranks")):
                layers.note(("basis", key), slip.rule, slip.remedy, words)
    return FrozenDict(found)


def _assumed(layers: Layers, found: list[str]) -> tuple[str, ...]:
    """Join what is assumed here with what an earlier run wrote down."""
    stated = layers.data.get("assumed", [])
    if not isinstance(stated, list | tuple) or not all(isinstance(key, str) for key in stated):
        layers.note(("assumed",), "is not a list of keys", "Leave it out.", stated)
        stated = []
    return tuple(dict.fromkeys([*stated, *found]))
