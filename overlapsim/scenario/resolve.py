"""From the keys of a scenario file to a Scenario: overrides, defaults, and every fault at once."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from overlapsim.basics.errors import Fault
from overlapsim.basics.units import is_metric
from overlapsim.scenario.build import read_machine
from overlapsim.scenario.checks import check_controller, check_switching, check_weights
from overlapsim.scenario.field import Field
from overlapsim.scenario.ground_table import read_field_table
from overlapsim.scenario.keys import OVERRIDDEN, RESERVED, TABLES, kind_of
from overlapsim.scenario.kinds import FrozenDict, Slip
from overlapsim.scenario.machine import Machine
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.slips import hint, listed
from overlapsim.scenario.sweeps import read_sweep
from overlapsim.scenario.switching import Response, Switching
from overlapsim.scenario.tables import Path, fault, is_mended, read_table

__all__ = ["resolve"]

_TOP = ("title", "about", *TABLES, "field", "basis", "sweep", "name", "units", "assumed")
_NOT_YET = "is not available in this version"


def resolve(
    data: Any, *, field: Field | None = None, name: str = "", known: set[Path] | None = None
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
    known : set of tuple of str, optional
        Paths whose faults are known already: they are not looked at again.

    Returns
    -------
    tuple
        Scenario (mended where at fault; None where there is nothing to build on) and faults.
    """
    if not isinstance(data, Mapping):
        return None, [Fault("is not a scenario", "Hand over a dictionary with the keys of a scenario file.")]
    return _Resolver({str(key): value for key, value in data.items()}, known or set()).run(field, name)


class _Resolver:
    """Works through one scenario's tables, and gathers faults on the way."""

    def __init__(self, data: dict[str, Any], known: set[Path]) -> None:
        self.data = data
        self.faults: list[Fault] = []
        self.mended: set[Path] = set(known)
        self.index = {key: head for head, model in reversed(TABLES.items()) for key in model.model_fields}

    def run(self, field: Field | None, name: str) -> tuple[Scenario, list[Fault]]:
        """Read all tables in the order in which they lean on each other."""
        self.top_level()
        machine = self.machine()
        if field is None:
            field = read_field_table(self.data.get("field"), self.faults)
        if field is None:
            self.mended.add(("field",))
            field = Field.textbook_80()
        self.overrides_exist(machine)
        tables = {head: self.table(head, machine.setup) for head in ("plan", "speed", "weights", "tune")}
        switching = self.switching(machine)
        units = self.units()
        controller = self.controller(units)
        response, assumed = self.response(machine, switching)
        self.check(check_switching(switching, machine), ("switching",), machine=True)
        self.check(check_controller(controller, machine), ("controller", "measured_from"), machine=True)
        self.check(check_weights(tables["weights"]), ("weights",))
        title = self.text("title", "")
        basis = self.basis(machine)
        assumed += [key for key, words in basis.items() if words == "assumed" and key not in assumed]
        scenario = Scenario.model_construct(
            title=title,
            name=name or self.text("name", "") or _slug(title),
            about=self.about(),
            units=units,
            machine=machine,
            field=field,
            switching=switching,
            controller=controller,
            response=response,
            **tables,
            basis=FrozenDict(basis),
            assumed=self.assumed(assumed),
            sweep=FrozenDict(),
        )
        if "sweep" in self.data:
            faults = read_sweep(self.data["sweep"], scenario)
            scenario = scenario.model_copy(update={"sweep": faults[0]})
            self.faults += [one for one in faults[1] if not self.leans(one)]
        return scenario, _once(self.faults)

    def leans(self, one: Fault) -> bool:
        """Tell whether a fault of a sweep may come from something that was mended."""
        key = one.key.partition(".")[2].strip('"').split(".")
        return one.rule != "no such key" and is_mended(self.mended, (key[0],), ("machine",))

    def check(self, found: Any, *paths: Path, machine: bool = False) -> None:
        """Take the faults of a check, unless what it leans on was mended."""
        if machine and is_mended(self.mended, ("machine",)):
            return
        self.faults += [
            one for one in found if not is_mended(self.mended, tuple(one.key.split(".")), *paths[1:])
        ]

    def top_level(self) -> None:
        """Refuse tables that are unknown, or kept for later."""
        for key, value in self.data.items():
            shown = None if isinstance(value, Mapping) else value
            if key in RESERVED:
                self.faults.append(fault((key,), _NOT_YET, "Leave it out."))
            elif key not in _TOP:
                remedy = hint(key, _TOP[:-3])
                if not remedy.startswith("Did") and key in self.index:
                    remedy = f"It belongs in [{self.index[key]}]."
                self.faults.append(fault((key,), "no such key", remedy, shown))

    def text(self, key: str, default: str) -> str:
        """Read a text at the top."""
        value = self.data.get(key, default)
        if not isinstance(value, str):
            self.faults.append(fault((key,), "is not a text", "Write it in quotes.", value))
            return default
        return value

    def about(self) -> FrozenDict:
        """Read what is printed on reports."""
        raw = self.data.get("about", {})
        if not isinstance(raw, Mapping):
            self.faults.append(fault(("about",), "is not a table", "Write [about] and its keys below.", raw))
            return FrozenDict()
        for key, value in raw.items():
            if isinstance(value, Mapping | list):
                self.faults.append(fault(("about", str(key)), "is not a text", "Write it in quotes.", value))
        return FrozenDict({str(key): str(value) for key, value in raw.items()})

    def machine(self) -> Machine:
        """Read the machine, and see that setups do not bear the names of keys."""
        if "machine" not in self.data:
            self.faults.append(
                fault(("machine",), "is missing", 'Write [machine] and file = "machines/x.toml" below.')
            )
            self.mended.add(("machine",))
        raw = self.data.get("machine", {})
        if isinstance(raw, Mapping) and "file" in raw:
            rule = "files are read by load_scenario"
            remedy = "Load the scenario from its file, or write the machine's keys inline."
            self.faults.append(fault(("machine", "file"), rule, remedy, raw["file"]))
            self.mended.add(("machine",))
            raw = {key: value for key, value in raw.items() if key not in ("file", "setup", "rows_off")}
        read = read_machine(raw)
        if not is_mended(self.mended, ("machine",)):
            self.faults += read.faults
        self.mended |= read.mended
        taken = {key: head for head in OVERRIDDEN for key in TABLES[head].model_fields}
        for name in read.table.setups:
            if name in taken:
                self.faults.append(
                    fault(
                        ("machine", "setups", name),
                        f"is the name of a key in [{taken[name]}]",
                        "Give the row setup another name.",
                    )
                )
        return read.table

    def parts(self, head: str) -> tuple[dict[str, Any], dict[str, Any]]:
        """Part a table into its own keys and what row setups override."""
        raw = self.data.get(head, {})
        if not isinstance(raw, Mapping):
            self.faults.append(fault((head,), "is not a table", f"Write [{head}] and its keys below.", raw))
            self.mended.add((head,))
            return {}, {}
        fields = TABLES[head].model_fields
        own = {
            str(k): v
            for k, v in raw.items()
            if k in fields or head not in OVERRIDDEN or not isinstance(v, Mapping)
        }
        return own, {str(k): v for k, v in raw.items() if k not in own}

    def overrides_exist(self, machine: Machine) -> None:
        """See that overrides are for setups of this machine."""
        if is_mended(self.mended, ("machine", "setups")):
            return
        for head in OVERRIDDEN:
            for name in self.parts(head)[1]:
                if name not in machine.setups:
                    remedy = f"This machine has: {listed(machine.setups)}."
                    self.faults.append(fault((head, name), "no such row setup", remedy))

    def merged(self, head: str, setup: str) -> tuple[dict[str, Any], dict[str, Path]]:
        """Lay a setup's override over a table, and remember where each key stands."""
        own, others = self.parts(head)
        over = others.get(setup, {})
        return own | over, {key: (head, setup, key) if key in over else (head, key) for key in own | over}

    def table(self, head: str, setup: str) -> Any:
        """Read a table as it holds for a setup, and look through the overrides of the others too."""
        for other in self.parts(head)[1]:
            if other != setup:
                found, _ = self.one(head, other)
                mark = f"{head}.{other}."
                self.faults += [one for one in found.faults if one.key.startswith(mark)]
        read, values = self.one(head, setup)
        self.faults += read.faults
        self.mended |= {path for path in read.mended}
        if any(path[1] == setup for path in read.mended if len(path) > 2):
            self.mended |= {(path[0], *path[2:]) for path in read.mended if len(path) > 2}
        return read.table

    def one(self, head: str, setup: str) -> tuple[Any, dict[str, Any]]:
        """Read a table for one setup, with the defaults that lean on other keys."""
        values, sources = self.merged(head, setup)
        if head == "speed":
            for key in ("at_on", "at_off"):
                if key not in values:
                    values[key] = values.get("working", "5 mph")
                    sources[key] = sources.get("working", (head, "working"))
        if head == "switching":
            values.setdefault("entered_setup", setup)
        if head == "plan" and "exclusion_laps" in values:
            self.faults.append(
                fault(("plan", "exclusion_laps"), _NOT_YET, "Leave it out.", values.pop("exclusion_laps"))
            )
        return read_table(TABLES[head], values, (head,), sources=sources, elsewhere=self.index), values

    def switching(self, machine: Machine) -> Switching:
        """Read what is entered: for the setup that the controller thinks it drives."""
        values, sources = self.merged("switching", machine.setup)
        entered = values.get("entered_setup", machine.setup)
        if entered == machine.setup or entered not in machine.setups:
            return self.table("switching", machine.setup)  # type: ignore[no-any-return]
        read: Switching = self.table("switching", entered)
        return read.model_copy(update={"entered_setup": entered})

    def units(self) -> str:
        """Tell in which units people wrote: by the reference offset, else by the speed."""
        stated = self.data.get("units")
        if stated in ("us", "metric"):
            return str(stated)
        if stated is not None:
            self.faults.append(
                fault(("units",), "is not one of the choices", 'Write "us" or "metric".', stated)
            )
        offset = self.parts("switching")[0].get("reference_offset")
        if isinstance(offset, Mapping):
            offset = next(iter(offset.values()), None)
        for value in (offset, self.parts("speed")[0].get("working")):
            if isinstance(value, str) and re.search(r"\d\s*\D", value):
                return "metric" if is_metric(value) else "us"
        return "us"

    def controller(self, units: str) -> Any:
        """Read the controller; its steps are metric where people are."""
        raw = self.data.get("controller", {})
        if units == "metric" and isinstance(raw, Mapping) and "units" not in self.data:
            self.data["controller"] = {"offset_step": "1 cm", **raw}
        return self.table("controller", "")

    def response(self, machine: Machine, switching: Switching) -> tuple[Response, list[str]]:
        """Read the latencies of every rank; what is absent is the time entered, and assumed."""
        own, others = self.parts("response")
        assumed: list[str] = []
        for setup, over in {"": {}, **others}.items():
            values, sources = self.merged("response", setup)
            for key, time in (
                ("on_latency", switching.turn_on_time),
                ("off_latency", switching.turn_off_time),
            ):
                used = setup == machine.setup or (not setup and machine.setup not in others)
                missing = self.fill(values, sources, key, time, machine)
                if used:
                    assumed += missing
                    if missing and time < 0 and not is_mended(self.mended, ("switching",)):
                        rule = "is missing, and the time entered is negative: no machine answers before it is asked"
                        self.faults.append(fault(("response", key), rule, f'Write {key} = "0.30 s".'))
            read = read_table(Response, values, ("response",), sources=sources, elsewhere=self.index)
            self.faults += read.faults
            self.mended |= read.mended
            if setup == machine.setup or not setup:
                found = read.table
        return self.by_rank(found, machine), assumed

    def fill(
        self, values: dict[str, Any], sources: dict[str, Path], key: str, time: float, machine: Machine
    ) -> list[str]:
        """Fill in the time entered where a latency is absent, and say for which keys."""
        text = f"{max(time, 0.0)!r} s"
        if key not in values:
            values[key] = text
            return [f"response.{key}"]
        if not isinstance(values[key], Mapping) or is_mended(self.mended, ("machine", "ranks")):
            return []
        for name in values[key]:
            if name not in machine.ranks:
                self.faults.append(
                    fault((*sources[key], str(name)), "no such rank", hint(str(name), machine.ranks))
                )
        lacking = [name for name in machine.ranks if name not in values[key]]
        values[key] = {
            **{n: v for n, v in values[key].items() if n in machine.ranks},
            **dict.fromkeys(lacking, text),
        }
        return [f"response.{key}.{name}" for name in lacking]

    def by_rank(self, found: Response, machine: Machine) -> Response:
        """Lay latencies out by rank."""
        latencies = {}
        for key in ("on_latency", "off_latency"):
            value: Any = getattr(found, key)
            one = value if isinstance(value, Mapping) else dict.fromkeys(machine.ranks, value)
            latencies[key] = FrozenDict({name: one.get(name, 0.0) for name in machine.ranks})
        return found.model_copy(update=latencies)

    def basis(self, machine: Machine) -> dict[str, str]:
        """Read where numbers come from; keys must exist."""
        raw = self.data.get("basis", {})
        if not isinstance(raw, Mapping):
            self.faults.append(fault(("basis",), "is not a table", "Write [basis] and its keys below.", raw))
            return {}
        found = {}
        for key, words in _flat(raw).items():
            if not isinstance(words, str):
                remedy = 'Write where it comes from, as in "taped".'
                self.faults.append(fault(("basis", key), "is not a text", remedy, words))
                continue
            found[key] = words
            try:
                kind_of(key, machine)
            except Slip as slip:
                if not is_mended(self.mended, ("machine",)):
                    self.faults.append(fault(("basis", key), slip.rule, slip.remedy, words))
        return found

    def assumed(self, found: list[str]) -> tuple[str, ...]:
        """Join what was assumed here with what an earlier run wrote down."""
        stated = self.data.get("assumed", [])
        if not isinstance(stated, list | tuple) or not all(isinstance(key, str) for key in stated):
            self.faults.append(fault(("assumed",), "is not a list of keys", "Leave it out.", stated))
            stated = []
        return tuple(dict.fromkeys([*stated, *found]))


def _flat(raw: Mapping[str, Any], before: str = "") -> dict[str, Any]:
    """Join nested keys, as they come about where a dotted key has no quotes."""
    flat: dict[str, Any] = {}
    for key, value in raw.items():
        if isinstance(value, Mapping):
            flat |= _flat(value, f"{before}{key}.")
        else:
            flat[f"{before}{key}"] = value
    return flat


def _slug(title: str) -> str:
    """Make a short name, fit for a folder, of a title."""
    return "-".join(re.findall(r"[\w]+", title.lower()))[:60] or "scenario"


def _once(faults: list[Fault]) -> list[Fault]:
    """Drop what is said twice."""
    return list(dict.fromkeys(faults))
