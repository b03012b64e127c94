"""The controller over a whole drive: laps and passes in their order, each on what is left to plant."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Floats, to_ground
from overlapsim.control.chains import Chains, chains_of
from overlapsim.control.commands import commands, starts_of, update_phase
from overlapsim.control.headland import LapRun, drive_laps
from overlapsim.control.response import Sowing, joined, sow
from overlapsim.drive.laps import outer_less
from overlapsim.drive.legs import Drive
from overlapsim.drive.passes import largest_offset
from overlapsim.ground.edges import Edges, edges_of
from overlapsim.ground.overlay import common, polygons_of, united_apart
from overlapsim.ground.shapes import turned

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

KEPT = 3
"""Drives whose crossings are kept for other settings."""

_KEPT: OrderedDict[Hashable, Switched] = OrderedDict()

@dataclass(frozen=True)
class Switched:
    """Crossings and commands of a whole drive.

    Attributes
    ----------
    chains : Chains
        Of the passes.
    grounds : tuple of Edges
        Ground to be planted by the passes of each part, plan frame.
    laps : tuple of LapRun
        What the controller did on every leg of a lap.
    """

    chains: Chains
    grounds: tuple[Edges, ...]
    laps: tuple[LapRun, ...]


def deepest_of(scenario: Scenario, drive: Drive) -> float:
    """The larger of the rearmost row's distance and the largest reference offset.

    Parameters
    ----------
    scenario : Scenario
        With its reference offset.
    drive : Drive
        Rows.

    Returns
    -------
    float
        Metres behind the hitch pin.
    """
    return max(float(drive.layout.behind_pin.max()), largest_offset(scenario))


def switch_drive(scenario: Scenario, drive: Drive) -> Switched:
    """Drive all legs in their order, as the controller believes.

    Parameters
    ----------
    scenario : Scenario
        Settings.
    drive : Drive
        Legs.

    Returns
    -------
    Switched
        Each part of the field with a record of its own.

    Notes
    -----
    Crossings of straight passes depend on no reference offset, time, speed, latency or place of a rank;
    those of laps do not either with continuous updates, but for how far on and off are ahead of each
    other. They are kept, and another setting of the same machine only gives its commands anew.
    """
    key = what_decides(scenario, drive)
    if key in _KEPT:
        _KEPT.move_to_end(key)
        return _commanded(scenario, drive, _KEPT[key])
    found = _switch(scenario, drive)
    if key is not None:
        _KEPT[key] = found
        while len(_KEPT) > KEPT:
            _KEPT.popitem(last=False)
    return found


def forget() -> None:
    """Drop all crossings that are kept; only needed to measure what finding them costs."""
    _KEPT.clear()


def what_decides(scenario: Scenario, drive: Drive) -> Hashable:
    """Gather all that crossings depend on.

    Parameters
    ----------
    scenario : Scenario
        Settings.
    drive : Drive
        Legs.

    Returns
    -------
    hashable
        None with laps where commands wait for ticks.
    """
    switching, controller, plan = scenario.switching, scenario.controller, scenario.plan
    offset, speed = switching.reference_offset, scenario.speed
    on_passes = (
        scenario.field.parts, drive.heading, drive.width, plan.model_copy(update={"heading": 0.0}),
        drive.layout.section_edges.tobytes(), switching.switch_fraction, controller.edge_tolerance,
        drive.layout.working_ranks if isinstance(offset, dict) else None,
    )  # fmt: skip
    if not drive.lap_count:
        return on_passes
    if controller.update_period:
        return None
    ahead = speed.at_on * switching.turn_on_time - speed.at_off * switching.turn_off_time
    least = controller.minimum_on_time, controller.minimum_off_time
    # What minimum times put off moves with both times and speeds, not with their difference alone.
    times = switching.turn_on_time, switching.turn_off_time, controller.position_delay
    lasting = (least, times, tuple(dict(speed).values())) if any(least) else None
    return (*on_passes, tuple(vars(switching.deliberate_overlap).items()), round(ahead, 12), lasting)


def _commanded(scenario: Scenario, drive: Drive, like: Switched) -> Switched:
    """The same crossings with another setting's commands."""
    deepest = deepest_of(scenario, drive)
    runs = []
    for run in like.laps:
        leg = drive.legs[run.leg.number - 1]
        start = np.full(len(run.chains.leg), leg.first - drive.margin - deepest)
        references, phase = run.chains.references(scenario), update_phase(run.chains.leg)
        runs.append(replace(run, leg=leg, given=commands(scenario, run.chains, references, start, phase)))
    return replace(like, laps=tuple(runs))


def _switch(scenario: Scenario, drive: Drive) -> Switched:
    """Drive all legs in their order."""
    deepest = deepest_of(scenario, drive)
    first = scenario.plan.headland_order == "first"
    nothing = shapely.Polygon()
    grounds: list[Edges] = []
    runs: list[LapRun] = []
    by_part = [
        [leg for leg in drive.legs if leg.part == part and leg.kind == "lap"]
        for part in range(len(drive.ground))
    ]
    for part, legs in enumerate(by_part):
        ground = drive.ground[part]
        if first and legs:
            done, records = drive_laps(scenario, drive, legs, nothing, deepest)
            runs += done
            held = united_apart(np.array(records, dtype=object))
            taken = polygons_of(common(held, scenario.field.parts[part]))
            ground = outer_less(ground, edges_of(taken).in_plan(drive.heading))
        grounds.append(ground)
    chains = chains_of(scenario, drive, grounds)
    if not first and any(by_part):
        held_by = _held_by_passes(scenario, drive, chains, deepest)
        for part, legs in enumerate(by_part):
            done, _ = drive_laps(scenario, drive, legs, held_by[part], deepest)
            runs += done
    return Switched(chains, tuple(grounds), tuple(runs))


def _held_by_passes(
    scenario: Scenario, drive: Drive, chains: Chains, deepest: float
) -> list[BaseGeometry]:
    """Ground that the controller holds as planted after the passes, part by part, ground frame."""
    switching, speed = scenario.switching, scenario.speed
    delay, borders = scenario.controller.position_delay, drive.layout.section_edges
    start = starts_of(drive, chains.leg, np.full(len(chains.leg), deepest))
    reference = chains.references(scenario)
    given = commands(scenario, chains, reference, start, update_phase(chains.leg))
    chain = np.repeat(np.arange(len(chains.leg)), np.diff(given.bounds))
    low = given.on - reference[chain] + speed.at_on * (switching.turn_on_time - delay)
    high = given.off - reference[chain] + speed.at_off * (switching.turn_off_time - delay)
    legs = [drive.legs[i] for i in chains.leg[chain]]
    way: Floats = np.array([leg.direction for leg in legs], dtype=float)
    across = np.array([leg.across for leg in legs])
    section = chains.section[chain]
    one, other = across + way * borders[section], across + way * borders[section + 1]
    box = shapely.box(
        np.minimum(one, other), np.minimum(way * low, way * high),
        np.maximum(one, other), np.maximum(way * low, way * high),
    )  # fmt: skip
    part = np.array([leg.part for leg in legs])
    real = high > low
    # Upright boxes side by side: joined in the plan frame, where their borders agree.
    unions = [shapely.union_all(box[real & (part == p)], grid_size=1e-9) for p in range(len(drive.ground))]
    return list(turned(np.array(unions, dtype=object), to_ground, drive.heading))


def sow_drive(scenario: Scenario, drive: Drive, switched: Switched) -> Sowing:
    """Lay every row's stretches of seed over a whole drive.

    Parameters
    ----------
    scenario : Scenario
        Response and settings.
    drive : Drive
        Legs and rows.
    switched : Switched
        Crossings.

    Returns
    -------
    Sowing
        Passes first, then laps.
    """
    layout, chains = drive.layout, switched.chains
    start = starts_of(drive, chains.leg, np.full(len(chains.leg), deepest_of(scenario, drive)))
    given = commands(scenario, chains, chains.references(scenario), start, update_phase(chains.leg))
    parts = [sow(scenario, layout, chains, given)]
    for run in switched.laps:
        parts.append(sow(scenario, layout, run.chains, run.given))
        rows = np.flatnonzero(run.always[layout.section_of_row] & ~layout.off)
        if len(rows):
            assert run.leg.track is not None
            half = np.full(len(rows), run.leg.track.length / 2)
            for low in (0.0, 1.0):
                none = np.full(len(rows), -1)
                parts.append(
                    Sowing(
                        none, np.full(len(rows), run.leg.number - 1), rows, low * half, (low + 1) * half,
                        np.zeros(len(rows), dtype=np.int64), np.zeros(len(rows), dtype=np.int64),
                    )
                )  # fmt: skip
    return joined(parts)
