"""Ground of laps over a range of offsets, worked out once for all settings that move ends within it."""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Floats, to_plan
from overlapsim.control.lap_reach import (
    always_planted,
    contested_ground,
    lap_quads,
    passes_core_near,
    row_borders,
)
from overlapsim.control.reach import Moved, Spans, core_and_windows, lie_within, near_ends, ring_lengths
from overlapsim.control.switched import what_decides
from overlapsim.drive.laps import outer_less
from overlapsim.drive.legs import Drive
from overlapsim.ground.contested import Contested
from overlapsim.ground.edges import Edges, edges_of
from overlapsim.ground.folds import drawn_areas, with_windows
from overlapsim.ground.overlay import common, polygons_of
from overlapsim.ground.poses import folds
from overlapsim.ground.profile import Profile
from overlapsim.ground.rails import Rails
from overlapsim.ground.way_areas import Slices, all_areas_on, areas_on, slices_of

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

BESIDE = 0.05
"""Metres by which pieces of ways reach beyond the windows that they hold."""

ROOM = 0.35
"""Metres by which windows are wider than asked for: 0.1 s of latency is 0.22 m at 5 mph."""

KEPT = 4
"""Grounds that are kept for other settings."""


Profiles = tuple[Profile, Profile, Profile]


@dataclass(frozen=True)
class PartGround:
    """Ground of the laps of one part of the field.

    Attributes
    ----------
    free : Edges
        Plantable ground that no lap plants at every offset, plan frame.
    slices : Slices
        Pieces of laps' ways that hold all windows.
    at_starts, at_stops : tuple of Profile
        Running areas of every row on them: ground that nothing plants at every offset, plantable ground,
        all ground. They differ where a strip runs back over its own ground.
    shared : Contested
        Points in several windows.
    """

    free: Edges
    slices: Slices
    at_starts: Profiles
    at_stops: Profiles
    shared: Contested


@dataclass(frozen=True)
class LapGround:
    """Ground of all laps.

    Attributes
    ----------
    key : hashable
        What it depends on besides the windows; None where it serves one setting only.
    cores, windows : tuple of Spans
        Of laps and of passes.
    rings : ndarray, shape (l,)
        Length of each closed leg, 0 for others, metres.
    parts : tuple of PartGround
        Part by part.
    """

    key: Hashable
    cores: tuple[Spans, Spans]
    windows: tuple[Spans, Spans]
    rings: Floats
    parts: tuple[PartGround, ...]


_KEPT: deque[LapGround] = deque(maxlen=KEPT)


def forget() -> None:
    """Drop all ground that is kept: what is worked out then depends on no other setting's windows."""
    _KEPT.clear()


def lap_ground(scenario: Scenario, drive: Drive, laps: Moved, passes: Moved, always: Spans) -> LapGround:
    """Work out the ground on which ends of laps move, or find it among those kept.

    Parameters
    ----------
    scenario : Scenario
        All but the offset as it stands.
    drive : Drive
        Legs.
    laps, passes : Moved
        Stretches of seed for all offsets of the range.
    always : Spans
        Rows that are on all the way round closed legs.

    Returns
    -------
    LapGround
        Its windows hold all that move.
    """
    layout, rows = drive.layout, len(drive.layout.off)
    key = what_decides(scenario, drive)
    if key is not None:
        borders = np.concatenate([*row_borders(drive), layout.off]).tobytes()
        key = key, borders, scenario.controller.drift
        asked = core_and_windows(drive, laps, always), core_and_windows(drive, passes)
        for one in _KEPT:
            if one.key == key and all(
                lie_within(held, core, rows) and lie_within(windows, wide, rows)
                for held, wide, (core, windows) in zip(one.cores, one.windows, asked, strict=True)
            ):
                return one
    found = _built(scenario, drive, (laps, passes, always), key)
    if key is not None:
        _KEPT.append(found)
    return found


def _built(scenario: Scenario, drive: Drive, rows: tuple[Moved, Moved, Spans], key: Hashable) -> LapGround:
    laps, passes, always = rows
    room = 0.0 if key is None else ROOM
    core, windows = core_and_windows(drive, laps, always, room)
    pass_core, pass_windows = core_and_windows(drive, passes, None, room)
    rings = ring_lengths(drive)
    part = np.array([leg.part for leg in drive.legs])
    aside = to_plan(np.array(scenario.controller.drift), drive.heading)
    left, right = row_borders(drive)
    tracks: list[Rails] = [one.track for one in drive.legs]  # type: ignore[misc]
    parts = []
    for number, field in enumerate(scenario.field.parts):
        always_on, own, held, beside = (
            s.take(part[s.leg] == number) for s in (core, windows, pass_core, pass_windows)
        )
        planted = always_planted(drive, always_on)
        taken = edges_of(polygons_of(common(planted, field)))
        quads = lap_quads(drive, own)
        near = passes_core_near(drive, held, aside, quads, planted, field)
        whole = edges_of([field])
        open_ = outer_less(outer_less(whole, taken), edges_of(polygons_of(near)))
        slices = slices_of(tracks, *near_ends(own, BESIDE, rings))
        profiles = (
            areas_on(slices, open_, left, right),
            areas_on(slices, whole, left, right),
            all_areas_on(slices, left, right),
        )
        both = _with_folds(slices, tracks, own, profiles, [field, planted, near], row_borders(drive))
        shared = contested_ground(drive, quads, beside, aside, (planted, near), field)
        free = outer_less(drive.plantable[number], taken.in_plan(drive.heading))
        parts.append(PartGround(free, slices, *both, shared))
    return LapGround(key, (core, pass_core), (windows, pass_windows), rings, tuple(parts))


def _with_folds(
    slices: Slices, tracks: list[Rails], windows: Spans, profiles: Profiles, grounds: list[BaseGeometry],
    borders: tuple[Floats, Floats],
) -> tuple[Profiles, Profiles]:  # fmt: skip
    """Running areas for starts and for stops: measured in windows where a strip runs back."""
    left, right = borders
    bands, places, areas = [], [], []
    for leg in np.unique(windows.leg):
        own = windows.take(windows.leg == leg)
        for i in np.flatnonzero(folds(tracks[leg], left[own.row], right[own.row], own.low, own.high)):
            span, row = (float(own.low[i]), float(own.high[i])), own.row[i]
            piece = slices.find(np.array([leg]), np.array([span[0]]))[0]
            place, found = drawn_areas(tracks[leg], left[row], right[row], span, grounds)
            bands.append(piece * len(left) + row)
            places.append(place)
            areas.append(found)

    def measured(end: int) -> Profiles:
        one, two, three = (
            with_windows(profile, np.array(bands, dtype=np.int64), places, [a[k][end] for a in areas])
            for k, profile in enumerate(profiles)
        )
        return one, two, three

    return measured(0), measured(1)
