"""Straight passes: parallel lines a working width apart, in alternating direction."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Floats, to_ground
from overlapsim.drive.legs import Leg
from overlapsim.ground.edges import Edges, ramps

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

SPARE_STRIP = 1e-3
"""Metres: a last strip of ground narrower than this gets no pass of its own."""

RUN_OUT = 1.0
"""Metres that a leg runs on after all that is reckoned has happened (a convention, no source)."""


def largest_offset(scenario: Scenario) -> float:
    """Largest reference offset entered, behind the hitch pin.

    Parameters
    ----------
    scenario : Scenario
        With one offset, or one per rank.

    Returns
    -------
    float
        Metres.
    """
    offset = scenario.switching.reference_offset
    return max(offset.values()) if isinstance(offset, dict) else offset


def run_out(scenario: Scenario) -> float:
    """How far a leg runs beyond the ground, besides the deepest of rows and reference offsets.

    Parameters
    ----------
    scenario : Scenario
        Speeds, times, latencies, delay, update period and deliberate overlap.

    Returns
    -------
    float
        Metres.
    """
    speed = max(scenario.speed.at_on, scenario.speed.at_off)
    controller, switching, response = scenario.controller, scenario.switching, scenario.response
    seconds = max(
        switching.turn_on_time,
        switching.turn_off_time,
        *response.on_latency.values(),
        *response.off_latency.values(),
        controller.position_delay + controller.update_period,
    )
    wanted = switching.deliberate_overlap
    # A section that has to stay on runs on behind the ground.
    longer = scenario.speed.working * (controller.minimum_on_time or 0.0)
    return speed * seconds + longer + max(wanted.planted, wanted.boundary) + RUN_OUT


def lay_passes(
    scenario: Scenario,
    width: float,
    heading: float,
    ground: Edges,
    interior: Edges,
    part: int,
    margin: float,
    before: int,
    guide: float | None = None,
) -> list[Leg]:
    """Lay parallel lines over the interior, from its leftmost point rightward or the other way.

    Parameters
    ----------
    scenario : Scenario
        For its start side, drift and lateral offset.
    width : float
        Distance between passes, metres.
    heading : float
        Of the first pass, radians clockwise from north.
    ground, interior : Edges
        Ground that passes may plant, over which they run from end to end, and ground that calls for a
        pass at all; plan frame, interior on the left.
    part : int
        Index of the part of the field.
    margin : float
        How far legs run beyond the ground, metres.
    before : int
        Number of legs driven before.
    guide : float, optional
        Where the middle of some pass, here or beside the field, has to lie across the plan, metres. By
        default the first pass lies flush with the interior's outermost point on the side of the start.

    Returns
    -------
    list of Leg
        In driving order, in alternating direction.
    """
    if not len(interior.kind):
        return []
    from_right = scenario.plan.start_side == "right"
    borders = _borders(interior, width, guide, from_right)
    count = len(borders) - 1
    under = ramps(ground, borders[:-1], borders[1:])
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, under.band, under.low)
    np.maximum.at(high, under.band, under.high)
    called = np.zeros(count, dtype=bool)
    called[ramps(interior, borders[:-1], borders[1:]).band] = True
    lines = np.flatnonzero(called & (high > low))
    if from_right:
        lines = lines[::-1]
    way = np.where(np.arange(len(lines)) % 2, -1, 1)
    across = (borders[lines] + borders[lines + 1]) / 2
    first = np.where(way > 0, low[lines], -high[lines])
    last = np.where(way > 0, high[lines], -low[lines])
    start, end = first - margin, last + margin

    def on_ground(x: Floats) -> Floats:
        along = np.stack([way * start, way * end], axis=1)
        return to_ground(np.stack([np.stack([x, x], axis=1), along], axis=-1), heading)

    believed = on_ground(across)
    true = on_ground(across - way * scenario.switching.lateral_offset) - np.array(scenario.controller.drift)
    return [
        Leg(
            number=before + i + 1,
            part=part,
            kind="pass",
            closed=False,
            direction=int(way[i]),
            across=float(across[i]),
            first=float(first[i]),
            last=float(last[i]),
            start=float(start[i]),
            end=float(end[i]),
            believed=believed[i],
            true=true[i],
        )
        for i in range(len(lines))
    ]


def _borders(interior: Edges, width: float, guide: float | None, from_right: bool) -> Floats:
    """Lay the borders between passes, rightward."""
    left, right = float(interior.start[:, 0].min()), float(interior.start[:, 0].max())
    if guide is not None:
        first = guide - width / 2
        left = first + width * math.floor((left + SPARE_STRIP - first) / width)
    count = max(1, math.ceil((right - left - SPARE_STRIP) / width))
    # Counted from the line itself, passes stay on it to rounding.
    if guide is None and from_right:
        return right - width * np.arange(count, -1, -1)
    return left + width * np.arange(count + 1)
