"""One full simulation: drive, crossings, commands, response, strips, account. This is the truth."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints, to_plan
from overlapsim.control import result
from overlapsim.control.commands import Chains, chains_of, commands, starts_of, update_phase
from overlapsim.control.response import Sowing, SquareEnds, offset_for, sow, square_ends
from overlapsim.control.row_ends import RowEnds, row_ends
from overlapsim.drive.legs import Drive
from overlapsim.drive.passes import largest_offset, plan_drive
from overlapsim.ground.columns import Account, Strips, account, common_borders
from overlapsim.ground.joints import Joints, joints
from overlapsim.ground.layers import Layer
from overlapsim.ground.shapes import Shapes, shapes
from overlapsim.ground.witness import Witness, witness
from overlapsim.scenario.rows import RowLayout
from overlapsim.scenario.scenario import Scenario


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
    legs_of : ndarray of int, shape (n,)
        Index of the leg of each stretch, from 0.
    strips : Strips
        The same stretches as rectangles, plan frame.
    accounts : tuple of Account
        Areas, part by part.
    square_ends : SquareEnds
        Errors on a square edge, row by row.
    ends : RowEnds
        Errors of every start and stop in this field.
    """

    scenario: Scenario
    drive: Drive
    sowing: Sowing
    legs_of: Ints
    strips: Strips
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

    @cached_property
    def areas(self) -> dict[str, float]:
        """Areas and row-end figures of this run, SI, by the names that results bear."""
        return result.areas_of(self)

    @cached_property
    def joints(self) -> Joints:
        """What lies between neighbouring passes, away from their ends."""
        found = [joints(a, g) for a, g in zip(self.accounts, self.drive.ground, strict=True)]
        return Joints(sum(j.skip_m2 for j in found), sum(j.overlap_m2 for j in found))

    @cached_property
    def shapes(self) -> tuple[Shapes, ...]:
        """Polygons of the account, part by part, ground frame."""
        parts = np.array([leg.part for leg in self.drive.legs])
        found = []
        for number, (one, field) in enumerate(zip(self.accounts, self.scenario.field.parts, strict=True)):
            own = _pick(self.strips, parts[self.strips.leg] == number)
            found.append(shapes(one, own, field, self.drive.heading))
        return tuple(found)

    @cached_property
    def witness(self) -> Witness:
        """A second count on scan lines, from the raw strips and without an overlay engine."""
        parts = np.array([leg.part for leg in self.drive.legs])[self.legs_of]
        found = [
            witness([field], self.raw_strips()[parts == number], drawn, self.drive.heading)
            for number, (field, drawn) in enumerate(
                zip(self.scenario.field.parts, self.shapes, strict=True)
            )
        ]
        return max(found, key=lambda w: w.largest_relative_difference)

    def raw_strips(self) -> Floats:
        """Corners of every strip, straight from the legs' true poses.

        Returns
        -------
        ndarray, shape (n, 4, 2)
            Anticlockwise, ground frame, metres.
        """
        legs = self.drive.legs
        begin = np.array([leg.true[0] for leg in legs])[self.legs_of]
        end = np.array([leg.true[-1] for leg in legs])[self.legs_of]
        first = np.array([leg.start for leg in legs])[self.legs_of]
        forward = (end - begin) / np.hypot(*(end - begin).T)[:, None]
        right = np.stack([forward[:, 1], -forward[:, 0]], axis=1)
        # The true pin runs on the machine's own line: from it the middle of the width lies m0 + s right.
        layout, row = self.layout, self.sowing.row
        middle = layout.middle + self.scenario.switching.lateral_offset
        left_edge, right_edge = middle + layout.left_edge[row], middle + layout.right_edge[row]

        def corner(way: Floats, across: Floats) -> Floats:
            return begin + (way - first)[:, None] * forward + across[:, None] * right

        on, off = self.sowing.on, self.sowing.off
        return np.stack(
            [
                corner(on, left_edge),
                corner(on, right_edge),
                corner(off, right_edge),
                corner(off, left_edge),
            ],
            axis=1,
        )

    @property
    def row_ends(self) -> Layer:
        """Starts and stops of rows as a layer of points."""
        return result.row_end_layer(self)

    @cached_property
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
        return {**result.header("simulate", self.scenario), **result.body(self)}

    def _repr_png_(self) -> bytes:
        """Picture of the row ends, for notebooks."""
        from importlib import import_module

        return bytes(import_module("overlapsim.report.pictures").row_ends_png(self))


def _pick(strips: Strips, chosen: np.ndarray) -> Strips:
    return Strips(**{name: values[chosen] for name, values in vars(strips).items()})


def strips_of(
    scenario: Scenario, drive: Drive, legs: Ints, row: Ints, on: Floats, off: Floats
) -> Strips:
    """Place stretches of seed on the plan as they truly lie.

    Parameters
    ----------
    scenario : Scenario
        For its drift.
    drive : Drive
        Legs and rows.
    legs, row : ndarray of int, shape (n,)
        Index of leg and row of each stretch.
    on, off : ndarray, shape (n,)
        Ends on the leg's believed way, metres.

    Returns
    -------
    Strips
        Plan frame.
    """
    across = to_plan(np.array(scenario.controller.drift), drive.heading)
    way = np.array([leg.direction for leg in drive.legs])[legs]
    line = np.array([leg.across for leg in drive.legs])[legs] - across[0]
    layout = drive.layout
    one, other = common_borders(
        line + way * (layout.middle + layout.left_edge[row]),
        line + way * (layout.middle + layout.right_edge[row]),
    )
    begin, end = way * on - across[1], way * off - across[1]
    return Strips(
        left=np.minimum(one, other), right=np.maximum(one, other),
        low=np.minimum(begin, end), high=np.maximum(begin, end), leg=legs, row=row,
    )  # fmt: skip


def clocks(scenario: Scenario, drive: Drive, chains: Chains) -> tuple[Floats, Floats, Floats]:
    """Reference offset, start of the leg and phase of the update clock for every chain.

    Parameters
    ----------
    scenario : Scenario
        With its reference offset.
    drive : Drive
        Legs.
    chains : Chains
        Crossings.

    Returns
    -------
    reference, start, phase : ndarray, shape (c,)
        Metres behind the pin, metres on the leg's way, periods.
    """
    ranks = np.unique(chains.rank)
    known = {str(name): offset_for(scenario, str(name)) for name in ranks}
    reference = np.array([known[str(name)] for name in chains.rank])
    deepest = max(float(drive.layout.behind_pin.max()), largest_offset(scenario))
    start = starts_of(drive, chains.leg, np.full(len(chains.leg), deepest))
    return reference, start, update_phase(chains.leg)


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
    chains = chains_of(scenario, drive)
    reference, start, phase = clocks(scenario, drive, chains)
    sowing = sow(scenario, drive.layout, chains, commands(scenario, chains, reference, start, phase))
    legs = chains.leg[sowing.chain]
    strips = strips_of(scenario, drive, legs, sowing.row, sowing.on, sowing.off)
    parts = np.array([leg.part for leg in drive.legs])
    accounts = tuple(
        account(_pick(strips, parts[strips.leg] == number), ground, float(shapely.area(field)))
        for number, (ground, field) in enumerate(zip(drive.ground, scenario.field.parts, strict=True))
    )
    drift = to_plan(np.array(scenario.controller.drift), drive.heading)
    return Simulation(
        scenario=scenario, drive=drive, sowing=sowing, legs_of=legs, strips=strips, accounts=accounts,
        square_ends=square_ends(scenario), ends=row_ends(drive, sowing, legs, drift),
    )  # fmt: skip


