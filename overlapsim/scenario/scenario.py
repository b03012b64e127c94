"""The Scenario: everything one simulation needs, frozen, validated, in SI, with no files in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ConfigDict

from overlapsim.basics.errors import ScenarioError
from overlapsim.scenario.field import Field
from overlapsim.scenario.ground_table import field_inputs
from overlapsim.scenario.keys import kind_of
from overlapsim.scenario.machine import Machine
from overlapsim.scenario.planning import headland_notes
from overlapsim.scenario.seed import Seed
from overlapsim.scenario.settings import Plan, Speed, Tune, Weights
from overlapsim.scenario.switching import Controller, Response, Switching
from overlapsim.scenario.uncertain import Spread, spreads_text
from overlapsim.scenario.value import Value

__all__ = ["Scenario"]


class Scenario(BaseModel):
    """One machine on one field with one set of settings.

    Made by `from_dict` or by `overlapsim.load_scenario`; changed copies by `with_`.

    Attributes
    ----------
    title : str
        Printed on reports.
    name : str
        Short name, fit for a folder.
    about : dict of str
        Customer, farm, by, date, notes.
    units : {"us", "metric"}
        How the settings were written, so how results are said.
    machine : Machine
        Ranks and setups, and the setup that works.
    field : Field
        Plantable ground, m.
    plan : Plan
        Heading and headland.
    speed : Speed
        Ground speeds.
    switching : Switching
        What is entered in the section controller.
    controller : Controller
        What the section controller is like.
    response : Response
        What the machine really does, rank by rank.
    seed : Seed
        What is planted, and how far apart in the row.
    weights : Weights
        What the errors count.
    value : Value
        What lost ground costs, in the user's own figures.
    tune : Tune
        What counts as just as good.
    basis : dict of str
        Where a number comes from, by dotted key.
    assumed : tuple of str
        Dotted keys of what was assumed, not measured.
    sweep : dict of tuple
        Values laid side by side, by dotted key; quantities in SI.
    uncertain : dict of Spread
        How far quantities may be off, by dotted key; SI.

    Examples
    --------
    >>> scenario = Scenario.from_dict({
    ...     "machine": {"ranks": {"front": {"rows": 8, "spacing": "30 in", "behind_pin": "84 in"}}},
    ...     "speed": {"working": "5 mph"},
    ...     "switching": {"reference_offset": "84 in", "turn_on_time": "0.4 s", "turn_off_time": "0.25 s"},
    ... })
    >>> scenario.switching.reference_offset, scenario.assumed
    (2.1336, ('response.on_latency', 'response.off_latency'))
    >>> scenario.with_({"speed.working": "6 mph"}).speed.at_on
    2.68224
    """

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    title: str
    name: str
    about: dict[str, str]
    units: str
    machine: Machine
    field: Field
    plan: Plan
    speed: Speed
    switching: Switching
    controller: Controller
    response: Response
    seed: Seed
    weights: Weights
    value: Value
    tune: Tune
    basis: dict[str, str]
    assumed: tuple[str, ...]
    sweep: dict[str, tuple[Any, ...]]
    uncertain: dict[str, Spread]

    @classmethod
    def from_dict(cls, data: Mapping[str, Any], *, field: Field | None = None, name: str = "") -> Scenario:
        """Make a scenario of a dictionary with the keys of a scenario file.

        Parameters
        ----------
        data : dict
            Quantities as text with a unit; the machine's keys inline.
        field : Field, optional
            The field, instead of a ``field`` table.
        name : str
            Short name; default: made of the title.

        Returns
        -------
        Scenario
            Validated.

        Raises
        ------
        ScenarioError
            With one fault per line for everything that is wrong.
        """
        from overlapsim.scenario.resolve import resolve

        scenario, faults = resolve(data, field=field, name=name)
        if faults or scenario is None:
            raise ScenarioError(faults)
        return scenario

    def with_(self, changes: Mapping[str, Any]) -> Scenario:
        """Make a copy with some keys set.

        Setting ``speed.working`` scales ``at_on`` and ``at_off`` with it; setting a rank's ``behind_front``
        clears its ``behind_pin`` and the other way round; an assumed latency stays as it is when the times
        change. A new ``machine.setup`` is entered in the controller as well, where the old one was. What a
        scenario file overrides for a setup (``[switching.narrow]`` and the like) was settled when the file
        was read and does not follow: set those keys too, or read the file with the other setup.

        Parameters
        ----------
        changes : dict
            By dotted key; text with a unit, or numbers in SI. ``field`` takes a `Field`.

        Returns
        -------
        Scenario
            The copy, validated.

        Raises
        ------
        ScenarioError
            If a key does not exist or a value does not fit.
        """
        from overlapsim.scenario.change import changed

        return changed(self, changes)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is unusual, but no fault."""
        said = []
        if self.field.textbook:
            said.append(
                "No field is given: a textbook field of 80 acres stands in, 1320 ft east by 2640 ft north."
            )
        said += self.field.notes
        said += headland_notes(self)
        if self.plan.line is not None and self.plan.line.off_straight:
            off = f"{1000 * self.plan.line.off_straight:.0f} mm"
            said.append(f"The guidance line lies up to {off} off straight: passes are straight.")
        idle = [
            row for row in self.machine.rows_off if row.rsplit(" ", 1)[0] not in self.machine.working_ranks
        ]
        if idle:
            said.append(
                f"Rows off that do not work in row setup {self.machine.setup} anyway: {', '.join(idle)}."
            )
        return tuple(said)

    def to_inputs(self) -> dict[str, Any]:
        """Write everything resolved, enough to run it again.

        Returns
        -------
        dict
            JSON-able; every quantity as text in SI with its unit. `from_dict` makes an equal scenario of it,
            unless the field has more than 20,000 points: then it names the field's source only.
        """
        machine = self.machine.to_text()
        machine["ranks"] = {name: _rank_text(rank.to_text()) for name, rank in self.machine.ranks.items()}
        machine["setups"] = {name: setup.to_text() for name, setup in self.machine.setups.items()}
        if self.machine.changeover:
            machine["changeover"] = [step.to_text() for step in self.machine.changeover]
        sweep = {
            key: [kind_of(key, self.machine).write(value) for value in values]
            for key, values in self.sweep.items()
        }
        tables = ("plan", "speed", "switching", "controller", "response", "weights", "tune")
        return {
            "title": self.title,
            "name": self.name,
            "units": self.units,
            "about": dict(self.about),
            "machine": machine,
            "field": field_inputs(self.field),
            **{name: getattr(self, name).to_text() for name in tables},
            # What is not said is not written.
            **({"seed": seed} if (seed := self.seed.to_text()) else {}),
            **({"value": self.value.to_text()} if self.value.said else {}),
            "basis": dict(self.basis),
            "assumed": list(self.assumed),
            "sweep": sweep,
            **({"uncertain": spreads_text(self)} if self.uncertain else {}),
        }


def _rank_text(written: dict[str, Any]) -> dict[str, Any]:
    """Write a rank's place the way it was given."""
    if "behind_front" in written:
        del written["behind_pin"]
    return written
