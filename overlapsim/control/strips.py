"""Strips of planted ground: where the stretches that rows sowed truly lie."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Floats, Ints, to_plan
from overlapsim.control.response import Sowing
from overlapsim.drive.legs import Drive
from overlapsim.ground.columns import Strips, common_borders
from overlapsim.ground.cover import cover_of, quads_of, strips_on
from overlapsim.ground.lap_cover import LapStrips

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario


def on_laps(drive: Drive, sowing: Sowing) -> np.ndarray:
    """Tell which stretches lie on headland laps.

    Parameters
    ----------
    drive : Drive
        Legs.
    sowing : Sowing
        Stretches.

    Returns
    -------
    ndarray of bool, shape (n,)
        True on laps.
    """
    return np.array([leg.kind == "lap" for leg in drive.legs], dtype=bool)[sowing.leg]


def strips_of(scenario: Scenario, drive: Drive, sowing: Sowing) -> Strips:
    """Place the stretches of passes on the plan.

    Parameters
    ----------
    scenario : Scenario
        For its drift.
    drive : Drive
        Legs and rows.
    sowing : Sowing
        Stretches of seed; those on laps are left out.

    Returns
    -------
    Strips
        Plan frame.
    """
    sowing = sowing.take(~on_laps(drive, sowing))
    legs, row, layout = sowing.leg, sowing.row, drive.layout
    across = to_plan(np.array(scenario.controller.drift), drive.heading)
    way = np.array([leg.direction for leg in drive.legs], dtype=np.int64)[legs]
    line = np.array([leg.across for leg in drive.legs], dtype=float)[legs] - across[0]
    one, other = common_borders(
        line + way * (layout.middle + layout.left_edge[row]),
        line + way * (layout.middle + layout.right_edge[row]),
    )
    begin, end = way * sowing.on - across[1], way * sowing.off - across[1]
    return Strips(
        left=np.minimum(one, other), right=np.maximum(one, other),
        low=np.minimum(begin, end), high=np.maximum(begin, end), leg=legs, row=row,
    )  # fmt: skip


def lap_strips_of(drive: Drive, sowing: Sowing) -> LapStrips:
    """Draw the stretches of headland laps.

    Parameters
    ----------
    drive : Drive
        Legs and rows.
    sowing : Sowing
        Stretches of seed; those on passes are left out.

    Returns
    -------
    LapStrips
        Ground frame.
    """
    sowing = sowing.take(on_laps(drive, sowing))
    layout = drive.layout
    polygon, together = (np.empty(len(sowing.leg), dtype=object) for _ in range(2))
    for leg in np.unique(sowing.leg):
        own, track = np.flatnonzero(sowing.leg == leg), drive.legs[leg].track
        row = sowing.row[own]
        assert track is not None
        left, right = layout.middle + layout.left_edge[row], layout.middle + layout.right_edge[row]
        on, off = sowing.on[own], sowing.off[own]
        polygon[own] = strips_on(track, left, right, on, off)
        together[own] = cover_of(track, left, right, on, off, polygon[own])
    return LapStrips(polygon, sowing.leg, sowing.row, together)


def raw_quads(scenario: Scenario, drive: Drive, sowing: Sowing) -> tuple[Ints, Floats]:
    """Corners of everything that was sown, straight from the legs' true poses.

    Parameters
    ----------
    scenario : Scenario
        For its lateral offset.
    drive : Drive
        Legs and rows.
    sowing : Sowing
        Stretches of seed.

    Returns
    -------
    stretch : ndarray of int, shape (m,)
        Index of the stretch of each quadrilateral.
    corner : ndarray, shape (m, 4, 2)
        Left and right at its start, right and left at its end, ground frame, metres.
    """
    layout, legs = drive.layout, drive.legs
    strip: list[Ints] = [np.empty(0, dtype=np.int64)]
    corners: list[Floats] = [np.empty((0, 4, 2))]
    straight = np.flatnonzero(~on_laps(drive, sowing))
    if len(straight):
        strip.append(straight)
        corners.append(_upright(scenario, drive, sowing.take(straight)))
    for leg in np.unique(sowing.leg[on_laps(drive, sowing)]):
        own, track = np.flatnonzero(sowing.leg == leg), legs[leg].track
        row = sowing.row[own]
        assert track is not None
        left, right = layout.middle + layout.left_edge[row], layout.middle + layout.right_edge[row]
        of, corner = quads_of(track, left, right, sowing.on[own], sowing.off[own])
        strip.append(own[of])
        corners.append(corner)
    return np.concatenate(strip), np.concatenate(corners)


def _upright(scenario: Scenario, drive: Drive, sowing: Sowing) -> Floats:
    """Corners of strips on passes, from the pin's true way."""
    legs, layout = drive.legs, drive.layout
    begin = np.array([legs[i].true[0] for i in sowing.leg])
    end = np.array([legs[i].true[-1] for i in sowing.leg])
    first = np.array([legs[i].start for i in sowing.leg])
    forward = (end - begin) / np.hypot(*(end - begin).T)[:, None]
    right = np.stack([forward[:, 1], -forward[:, 0]], axis=1)
    # The pin itself is steered aside; from it the middle of the width lies as much farther right.
    middle = layout.middle + scenario.switching.lateral_offset
    left_edge, right_edge = middle + layout.left_edge[sowing.row], middle + layout.right_edge[sowing.row]

    def corner(way: Floats, across: Floats) -> Floats:
        return begin + (way - first)[:, None] * forward + across[:, None] * right

    return np.stack(
        [
            corner(sowing.on, left_edge),
            corner(sowing.on, right_edge),
            corner(sowing.off, right_edge),
            corner(sowing.off, left_edge),
        ],
        axis=1,
    )
