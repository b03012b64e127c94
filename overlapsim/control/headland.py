"""The controller on headland laps: leg after leg, each on the ground that earlier ones left to plant."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Bools
from overlapsim.control.chains import Chains
from overlapsim.control.commands import Commands, commands, update_phase
from overlapsim.control.lap_crossings import lap_stretches, over_the_seam
from overlapsim.control.shares import on_stretches
from overlapsim.drive.laps import band_edges, outer_less
from overlapsim.drive.legs import Drive, Leg
from overlapsim.drive.zones import PATH_ERROR
from overlapsim.ground.cover import cover_of
from overlapsim.ground.crossings import Stretches
from overlapsim.ground.edges import Edges, edges_of
from overlapsim.ground.overlay import GRID, common, polygonal, polygons_of, united
from overlapsim.ground.profile import Profile
from overlapsim.ground.rails import Rails

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

NEAR = 0.5
"""Metres beside a leg's swath up to which planted ground is cut out for it: more than any rounding."""

REACHED = 1.02
"""What a reach is drawn larger by, since chords of 22.5 degrees stay 1.9 % inside their arc (no unit)."""


@dataclass(frozen=True)
class LapRun:
    """What the controller did on one leg of a lap.

    Attributes
    ----------
    leg : Leg
        The leg.
    ground : Edges
        Ground to be planted by it, ground frame.
    chains : Chains
        Stretches of ground section by section; those of a closed leg may reach over its seam.
    always : ndarray of bool, shape (s,)
        Sections that are on all the way round a closed leg, without any command.
    given : Commands
        Commands of the chains.
    record : shapely.Geometry
        Ground that the controller holds as planted by it, ground frame.
    """

    leg: Leg
    ground: Edges
    chains: Chains
    always: Bools
    given: Commands
    record: BaseGeometry


def drive_laps(
    scenario: Scenario, drive: Drive, legs: list[Leg], held: BaseGeometry, deepest: float
) -> tuple[list[LapRun], list[shapely.Polygon]]:
    """Drive the laps of one part of the field in their order.

    Parameters
    ----------
    scenario : Scenario
        Settings.
    drive : Drive
        Zones and rows.
    legs : list of Leg
        Legs of laps of this part, in driving order.
    held : shapely.Geometry
        Ground held as planted before, ground frame.
    deepest : float
        The larger of the rearmost row's distance and the largest reference offset, metres.

    Returns
    -------
    runs : list of LapRun
        One for each leg.
    records : list of shapely.Polygon
        Ground held as planted afterwards; the polygons may overlap.
    """
    runs: list[LapRun] = []
    records = polygons_of(held)
    for number in dict.fromkeys(leg.lap for leg in legs):
        lap = drive.zones[legs[0].part].laps[number]
        edges, band = band_edges(lap), shapely.union_all(lap.outer)
        if lap.inner:
            band = band.difference(shapely.union_all(lap.inner))
        # Along a whole lap earlier ground laps over by the path's own error: that is no ground held.
        # A piece that is kept (below) is as deep as area over length, and so lies deeper than half of that.
        deep = band.buffer(-PATH_ERROR / 2, quad_segs=1)
        shapely.prepare(deep)
        meet = [record for record in records if shapely.intersects(deep, record)]
        before = [p for record in meet for p in polygons_of(common(record, band))]
        planted = [p for p in before if p.area > 2 * PATH_ERROR * p.length / 2]
        for leg in [leg for leg in legs if leg.lap == number]:
            assert leg.track is not None
            taken = _near(planted, leg.track, drive.width)
            taken = taken if taken.is_empty else common(taken, band)
            run = _run(scenario, drive, leg, edges, taken, band, deepest)
            runs.append(run)
            planted += polygons_of(run.record)
            records += polygons_of(run.record)
    return runs, records


def _near(planted: list[shapely.Polygon], track: Rails, width: float) -> BaseGeometry:
    """Planted ground that lies under a leg's swath, and a little beyond it."""
    # No spot of the swath lies farther from the way than its cross lines reach.
    reach = width / 2 * float(np.hypot(*track.cross.T).max())
    below = shapely.LineString(track.place).buffer(REACHED * reach + NEAR, quad_segs=4)
    pieces = np.array(planted, dtype=object)
    near = pieces[shapely.STRtree(pieces).query(below, predicate="intersects")] if planted else pieces
    return united(shapely.intersection(near, below, grid_size=GRID)) if len(near) else shapely.Polygon()


def _run(
    scenario: Scenario,
    drive: Drive,
    leg: Leg,
    edges: Edges,
    taken: BaseGeometry,
    band: BaseGeometry,
    deepest: float,
) -> LapRun:
    """Find crossings and give commands on one leg."""
    track, borders = leg.track, drive.layout.section_edges
    assert track is not None
    ground = outer_less(edges, edges_of(polygons_of(taken)))
    field = edges_of([scenario.field.parts[leg.part]])
    fraction, tolerance = scenario.switching.switch_fraction, scenario.controller.edge_tolerance

    def conditions(seen: Callable[[Edges], Profile], own: Edges) -> Stretches:
        return on_stretches(seen, own, field, np.diff(borders), fraction, tolerance)

    def area() -> BaseGeometry:
        return polygonal(band.difference(taken, grid_size=GRID))

    found = lap_stretches(track, ground, area, borders, conditions)
    sections = len(borders) - 1
    always = np.zeros(sections, dtype=bool)
    if track.closed:
        found, always = over_the_seam(found, track.length, sections)
    chains = Chains(
        leg=np.full(sections, leg.number - 1), section=np.arange(sections),
        rank=np.full(sections, "", dtype=drive.layout.rank.dtype),
        bounds=np.searchsorted(found.band, np.arange(sections + 1)),
        on=found.low, off=found.high, on_kind=found.low_kind, off_kind=found.high_kind,
    ).by_rank(scenario, drive.layout)  # fmt: skip
    start = np.full(len(chains.leg), leg.first - drive.margin - deepest)
    given = commands(scenario, chains, chains.references(scenario), start, update_phase(chains.leg))
    held = _record(scenario, drive, track, chains, always, given)
    return LapRun(leg, ground, chains, always, given, held)


def _record(
    scenario: Scenario, drive: Drive, track: Rails, chains: Chains, always: Bools, given: Commands
) -> BaseGeometry:
    """Ground under the reference lines between command + time, at believed positions."""
    switching, speed = scenario.switching, scenario.speed
    delay, borders = scenario.controller.position_delay, drive.layout.section_edges
    chain = np.repeat(np.arange(len(chains.leg)), np.diff(given.bounds))
    reference = chains.references(scenario)[chain]
    low = given.on - reference + speed.at_on * (switching.turn_on_time - delay)
    high = given.off - reference + speed.at_off * (switching.turn_off_time - delay)
    section = chains.section[chain]
    whole, half = np.flatnonzero(always), np.full(int(always.sum()), track.length / 2)
    section = np.concatenate([section, whole, whole])
    low, high = np.concatenate([low, 0 * half, half]), np.concatenate([high, half, 2 * half])
    real = high > low
    section = section[real]
    if not len(section):
        return shapely.Polygon()
    return cover_of(track, borders[section], borders[section + 1], low[real], high[real])
