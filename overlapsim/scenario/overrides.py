"""Tables that row setups override: which value holds for which setup, and where it stands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from overlapsim.basics.errors import Fault
from overlapsim.scenario.keys import OVERRIDDEN, TABLES
from overlapsim.scenario.machine import Machine
from overlapsim.scenario.seed import laid_over
from overlapsim.scenario.slips import listed
from overlapsim.scenario.tables import Path, Read, fault, is_lost, read_table

__all__ = ["NOT_YET", "Layers"]

NOT_YET = "is not available in this version"


class Layers:
    """The tables of a scenario as written, with the faults found in them so far.

    Parameters
    ----------
    data : dict
        Keys of a scenario file.
    lost : set of tuple of str
        Paths whose faults are known already.

    Attributes
    ----------
    data : dict
        As handed over.
    faults : list of Fault
        What is wrong.
    mended : set of tuple of str
        Paths that were filled in after a fault.
    """

    def __init__(self, data: dict[str, Any], lost: set[Path]) -> None:
        self.data = data
        self.faults: list[Fault] = []
        self.mended: set[Path] = set(lost)
        self.homes = {key: head for head, model in reversed(TABLES.items()) for key in model.model_fields}

    def note(self, path: Path, rule: str, remedy: str = "", value: Any = None) -> None:
        """Note a fault.

        Parameters
        ----------
        path : tuple of str
            Where it stands.
        rule, remedy : str
            What is wrong, and what to do.
        value : Any
            The value as written; None = not shown.
        """
        self.faults.append(fault(path, rule, remedy, value))

    def mapping(self, head: str) -> Mapping[str, Any]:
        """Take a table, or note that it is none.

        Parameters
        ----------
        head : str
            Name of the table.

        Returns
        -------
        dict
            The table as written; empty where it is absent or no table.
        """
        raw = self.data.get(head, {})
        if isinstance(raw, Mapping):
            return raw
        if (head,) not in self.mended:
            self.note((head,), "is not a table", f"Write [{head}] and its keys below.", raw)
            self.mended.add((head,))
        return {}

    def parts(self, head: str) -> tuple[dict[str, Any], dict[str, Any]]:
        """Part a table into its own keys and what row setups override.

        Parameters
        ----------
        head : str
            Name of the table.

        Returns
        -------
        tuple of dict
            Own keys, and tables by row setup.
        """
        own: dict[str, Any] = {}
        others: dict[str, Any] = {}
        for key, value in self.mapping(head).items():
            inner = isinstance(value, Mapping) and key not in TABLES[head].model_fields and head in OVERRIDDEN
            (others if inner else own)[str(key)] = value
        return own, others

    def overrides_exist(self, machine: Machine) -> None:
        """See that overrides are for setups of this machine.

        Parameters
        ----------
        machine : Machine
            The machine.
        """
        if is_lost(self.mended, ("machine", "setups")):
            return
        for head in OVERRIDDEN:
            for name in self.parts(head)[1]:
                if name not in machine.setups:
                    self.note(
                        (head, name), "no such row setup", f"This machine has: {listed(machine.setups)}."
                    )

    def merged(self, head: str, setup: str) -> tuple[dict[str, Any], dict[str, Path]]:
        """Lay a setup's override over a table.

        Parameters
        ----------
        head : str
            Name of the table.
        setup : str
            Name of the row setup.

        Returns
        -------
        tuple of dict
            Values by key, and where each key stands.
        """
        own, others = self.parts(head)
        over = others.get(setup, {})
        places: dict[str, Path] = {key: (head, key) for key in own}
        places |= {key: (head, setup, key) for key in over}
        return laid_over(own, over) if head == "seed" else own | over, places

    def table(self, head: str, setup: str) -> Any:
        """Read a table as it holds for a setup, and look through the overrides of the others too.

        Parameters
        ----------
        head : str
            Name of the table.
        setup : str
            Name of the row setup.

        Returns
        -------
        Table
            Mended where it is at fault.
        """
        for other in self.parts(head)[1]:
            if other != setup:
                found = self._one(head, other).faults
                self.faults += [one for one in found if one.key.startswith(f"{head}.{other}.")]
        return self.take(self._one(head, setup), head, setup)

    def take(self, read: Read[Any], head: str, setup: str) -> Any:
        """Take what was read, with its faults.

        Parameters
        ----------
        read : Read
            A table for a row setup.
        head : str
            Name of the table.
        setup : str
            Name of the row setup.

        Returns
        -------
        Table
            The table.
        """
        self.faults += read.faults
        # What an override mends is mended in the table that comes of it.
        self.mended |= read.mended | {(head, *path[2:]) for path in read.mended if path[1:2] == (setup,)}
        return read.table

    def _one(self, head: str, setup: str) -> Read[Any]:
        """Read a table for one setup, with the defaults that lean on other keys."""
        values, places = self.merged(head, setup)
        if head == "speed":
            for key in ("at_on", "at_off"):
                if key not in values:
                    values[key] = values.get("working", "5 mph")
                    places[key] = places.get("working", (head, "working"))
        elif head == "switching":
            values.setdefault("entered_setup", setup)
        elif head == "seed" and {"spacing", "population"} <= set(values):
            rule = "says the same as population"
            self.note(places["spacing"], rule, "Keep one of the two.", values.pop("spacing"))
        return read_table(TABLES[head], values, (head,), sources=places, elsewhere=self.homes)
