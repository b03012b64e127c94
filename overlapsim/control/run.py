"""One full simulation: drive, crossings, commands, response, strips, account. This is the truth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints
from overlapsim.basics.lazy import lazy
from overlapsim.control import result
from overlapsim.control.by_field import told_by_field
from overlapsim.control.response import Sowing, SquareEnds, square_ends
from overlapsim.control.row_ends import RowEnds, row_ends
from overlapsim.control.strips import lap_strips_of, raw_quads, strips_of
from overlapsim.control.switched import sow_drive, switch_drive
from overlapsim.drive.legs import Drive
from overlapsim.drive.plan import plan_drive
from overlapsim.ground.areas import Account, account
from overlapsim.ground.columns import Strips
from overlapsim.ground.cover import points_in
from overlapsim.ground.joints import Joints, joints
from overlapsim.ground.lap_cover import LapStrips, lap_cover
from overlapsim.ground.layers import Layer
from overlapsim.ground.recount import recount
from overlapsim.ground.shapes import Shapes, planted_by_legs, shapes
from overlapsim.ground.witness import Witness, witness
from overlapsim.scenario.rows import RowLayout
from overlapsim.scenario.scenario import Scenario

SPECK = 1e-3
"""m²: quadrilaterals smaller than this are not looked for in the union; their points lie on its border."""


@dataclass(frozen=True)
class Simulation:
    """One run of a scenario over its field.

    Attributes
    ----------
    scenario : Scenario
        What was run.
    drive : Drive
        Legs in driving order.
    sowing : Sowing
        Stretches on which rows dropped seed, on the legs' own believed ways.
    strips : Strips
        Those on passes as rectangles, plan frame.
    lap_strips : LapStrips
        Those on headland laps as polygons, ground frame.
    accounts : tuple of Account
        Areas, part by part.
    square_ends : SquareEnds
        Errors on a square edge, row by row.
    ends : RowEnds
        Errors of every start and stop in this field.

    Examples
    --------
    One pass of eight rows over a square end, the reference 0.5 m too far behind: every row starts and
    stops 0.5 m late.

    >>> from overlapsim import Scenario, simulate
    >>> run = simulate(Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "2 m"}}},
    ...     "field": {"rectangle": ["6.096 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2.5 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... }))
    >>> run.pass_count, round(run.areas["longest_gap_m"], 6), round(run.areas["missing_row_m"], 6)
    (1, 0.5, 4.0)
    """

    scenario: Scenario
    drive: Drive
    sowing: Sowing
    strips: Strips
    lap_strips: LapStrips
    accounts: tuple[Account, ...]
    square_ends: SquareEnds
    ends: RowEnds

    @property
    def layout(self) -> RowLayout:
        """Rows and sections."""
        return self.drive.layout

    @property
    def plantable_m2(self) -> float:
        """Field less its exclusions, m²."""
        return sum(a.plantable_m2 for a in self.accounts)

    @property
    def working_width_m(self) -> float:
        """Width of the real row strips, metres."""
        return self.layout.working_width

    @property
    def pass_count(self) -> int:
        """Number of passes driven."""
        return sum(leg.kind == "pass" for leg in self.drive.legs)

    @property
    def lap_count(self) -> int:
        """Number of headland laps driven."""
        return self.drive.lap_count

    @lazy
    def areas(self) -> dict[str, float]:
        """Areas and row-end figures of this run, SI, by the names that results bear."""
        return result.areas_of(self)

    @lazy
    def raw(self) -> tuple[Ints, Floats]:
        """Every raw strip as quadrilaterals: the stretch of each, and its corners in the ground frame."""
        return raw_quads(self.scenario, self.drive, self.sowing)

    @lazy
    def joints(self) -> Joints:
        """What lies between neighbouring passes, away from their ends."""
        found = [joints(a, g) for a, g in zip(self.accounts, self.drive.interior, strict=True)]
        return Joints(sum(j.skip_m2 for j in found), sum(j.overlap_m2 for j in found))

    @lazy
    def shapes(self) -> tuple[Shapes, ...]:
        """Polygons of the account, part by part, ground frame."""
        strip, quads = self.raw
        leg = self.sowing.leg[strip]
        on_lap = np.flatnonzero(np.isin(leg, np.unique(self.lap_strips.leg)))
        on_lap = on_lap[shapely.area(shapely.polygons(quads[on_lap])) > SPECK]
        centre, leg = points_in(quads[on_lap]), leg[on_lap]
        found = []
        for number, field in enumerate(self.scenario.field.parts):
            straight, laps = self._strips_on(number)
            own = _parts(self.drive)[leg] == number
            found.append(
                shapes(
                    self.accounts[number], straight, field, self.drive.heading, laps, (centre[own], leg[own])
                )
            )
        return tuple(found)

    @lazy
    def planted(self) -> tuple[np.ndarray, Ints]:
        """What each leg planted, ground frame, and the index of the leg, from 0."""
        found = []
        for number, one in enumerate(self.accounts):
            straight, laps = self._strips_on(number)
            found.append(planted_by_legs(straight, one.columns, self.drive.heading, laps))
        ground, leg = zip(*found, strict=True)
        return np.concatenate(ground), np.concatenate(leg)

    def _strips_on(self, part: int) -> tuple[Strips, LapStrips]:
        """Strips of one part of the field: those on passes, those on laps."""
        parts = _parts(self.drive)
        straight = self.strips.take(parts[self.strips.leg] == part)
        return straight, self.lap_strips.take(parts[self.lap_strips.leg] == part)

    @lazy
    def witness(self) -> Witness:
        """A second count on scan lines, from the raw strips and without an overlay engine."""
        strip, quads = self.raw
        parts = _parts(self.drive)[self.sowing.leg][strip]
        found = [
            witness([field], quads[parts == number], strip[parts == number], drawn, self.drive.heading)
            for number, (field, drawn) in enumerate(zip(self.scenario.field.parts, self.shapes, strict=True))
        ]
        return max(found, key=lambda w: w.largest_relative_difference)

    @lazy
    def second_count(self) -> float:
        """Largest relative difference of a second count that draws polygons only where there are laps."""
        if self.drive.lap_count:
            return self.witness.largest_relative_difference
        strip, quads = self.raw
        parts = _parts(self.drive)[self.sowing.leg][strip]
        return max(
            recount(one, field, quads[parts == n], strip[parts == n], self.drive.heading)
            for n, (one, field) in enumerate(zip(self.accounts, self.scenario.field.parts, strict=True))
        )

    @property
    def row_ends(self) -> Layer:
        """Starts and stops of rows as a layer of points."""
        return result.row_end_layer(self)

    @lazy
    def layers(self) -> dict[str, Layer]:
        """All map layers, ground frame, by name."""
        return result.layers_of(self)

    @property
    def row_ends_summary(self) -> dict[str, float]:
        """Median, 95 % and largest distance of row ends from their edge, metres, without sign."""
        return result.row_end_summary(self.ends.error)

    def to_dict(self) -> dict[str, Any]:
        """All results as plain data.

        Returns
        -------
        dict
            What `result.json` holds, SI units, JSON types only.
        """
        return {**result.header("simulate", self.scenario), **result.body(self), **told_by_field(self)}

    def _repr_png_(self) -> bytes:
        """Picture of the row ends, for notebooks."""
        from importlib import import_module

        return bytes(import_module("overlapsim.report.pictures").picture("row-ends.png", self))

    def _repr_html_(self) -> str:
        """The first screen of its page, with its table, for notebooks."""
        from importlib import import_module

        return str(import_module("overlapsim.report.page.notebook").shown(self))


def _parts(drive: Drive) -> Ints:
    return np.array([leg.part for leg in drive.legs], dtype=np.int64)


def simulate(scenario: Scenario) -> Simulation:
    """Run a scenario once over its field, as it stands.

    Parameters
    ----------
    scenario : Scenario
        Field, machine, plan, settings and response.

    Returns
    -------
    Simulation
        Areas at once; polygons, witness and layers when they are asked for.

    Raises
    ------
    ScenarioError
        Where the scenario cannot be driven.
    BalanceError
        Where the areas do not balance: a fault of this program, no result.

    Examples
    --------
    >>> from overlapsim import Scenario, simulate
    >>> run = simulate(Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "2 m"}},
    ...                 "setups": {"all": {"ranks": ["bar"]}}},
    ...     "field": {"rectangle": ["60.96 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2.5 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... }))
    >>> round(run.areas["skip_m2"], 6), round(run.areas["off_field_m2"], 6)
    (30.48, 30.48)
    """
    drive = plan_drive(scenario)
    switched = switch_drive(scenario, drive)
    sowing = sow_drive(scenario, drive, switched)
    strips, laps = strips_of(scenario, drive, sowing), lap_strips_of(drive, sowing)
    parts = _parts(drive)
    accounts = []
    for number, (ground, field) in enumerate(zip(drive.plantable, scenario.field.parts, strict=True)):
        own = laps.take(parts[laps.leg] == number)
        cover = lap_cover(own, field, drive.heading) if len(own.polygon) else None
        straight = strips.take(parts[strips.leg] == number)
        accounts.append(account(straight, ground, float(shapely.area(field)), cover))
    return Simulation(
        scenario=scenario,
        drive=drive,
        sowing=sowing,
        strips=strips,
        lap_strips=laps,
        accounts=tuple(accounts),
        square_ends=square_ends(scenario),
        ends=row_ends(scenario, drive, switched, sowing),
    )
