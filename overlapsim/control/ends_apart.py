"""What each rank's starts and stops add to the ground, each for itself: areas at any errors of row ends.

On straight passes that do not lie over one another the planted ground is, strip by strip, the running area
at its stop less that at its start. So areas are sums of curves, one for the starts and one for the stops of
each rank, over how far these are off; every draw of latencies, speeds, tapes and offset only reads them at
other places. The ground behind them is worked out once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from overlapsim.basics.frames import Floats, to_plan
from overlapsim.control.curve import Curve, summed
from overlapsim.control.readings import Change, Ends, reading
from overlapsim.control.response import late_by, offset_for
from overlapsim.control.strips import strips_of
from overlapsim.control.switched import sow_drive, switch_drive
from overlapsim.drive.plan import plan_drive
from overlapsim.ground.columns import Strips, columns_of
from overlapsim.ground.edges import PLANTED, Edges
from overlapsim.ground.profile import profile
from overlapsim.scenario.rows import row_layout

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

Group = tuple[str, bool, int]
"""Rank, whether its stops (else its starts), and how the passes are driven: 1 with the heading, else -1."""


@dataclass(frozen=True)
class Errors:
    """How far a scenario's row ends are off on a square edge, without deliberate overlap.

    Attributes
    ----------
    late : dict of str to tuple
        By rank: metres at starts and at stops, positive = late, at a reference offset of 0 m.
    along, across : float
        Drift along the heading of the first pass and to the right of it, metres.
    lead : float
        By how much commands "on" come later than commands "off" for their edges' sake, metres.
    """

    late: dict[str, tuple[float, float]]
    along: float
    across: float
    lead: float


def errors_of(scenario: Scenario, heading: float) -> Errors:
    """Say how far row ends are off.

    Parameters
    ----------
    scenario : Scenario
        Conditions and times.
    heading : float
        Of the first pass, rad clockwise from north.

    Returns
    -------
    Errors
        For all working ranks.
    """
    layout, switching, speed = row_layout(scenario), scenario.switching, scenario.speed
    delay = scenario.controller.position_delay
    late = {}
    for rank in layout.working_ranks:
        on, off = late_by(scenario, rank)
        late[rank] = (on - layout.behind_pin_of(rank), off - layout.behind_pin_of(rank))
    across, along = to_plan(np.array(scenario.controller.drift), heading)
    lead = speed.at_on * (delay - switching.turn_on_time) - speed.at_off * (delay - switching.turn_off_time)
    return Errors(late, float(along), float(across), float(lead))


def thresholds(scenario: Scenario, widest: float) -> Floats:
    """List the differences of lateness at which some gap or piece becomes too short to switch for.

    Parameters
    ----------
    scenario : Scenario
        Field and settings.
    widest : float
        Only those up to so many metres.

    Returns
    -------
    ndarray, shape (n,)
        Starts less stops, metres, rising: between neighbours the same pairs of commands are dropped.
    """
    drive = plan_drive(scenario)
    chains, wanted = switch_drive(scenario, drive).chains, scenario.switching.deliberate_overlap
    on = chains.on - np.where(chains.on_kind == PLANTED, wanted.planted, wanted.boundary)
    off = chains.off + np.where(chains.off_kind == PLANTED, wanted.planted, wanted.boundary)
    chain = np.repeat(np.arange(len(chains.leg)), np.diff(chains.bounds))
    found = [np.empty(0)]
    longest = int(np.diff(chains.bounds).max(initial=0))
    for apart in range(1 - longest, longest):
        first = np.arange(max(0, -apart), len(on) - max(0, apart))
        first = first[chain[first] == chain[first + apart]]
        found.append(off[first + apart] - on[first])
    every = np.unique(np.concatenate(found))
    return every[np.abs(every) <= widest]


def end_curves(scenario: Scenario, low: float, high: float) -> dict[Group, Curve] | None:
    """Work out what rows' starts and stops add to the ground, over how far they are off.

    Parameters
    ----------
    scenario : Scenario
        With continuous updates, one reference offset and no headland laps.
    low, high : float
        Range of the errors of row ends, metres, as :class:`Errors` counts them.

    Returns
    -------
    dict of Curve, or None
        For each group: planted ground inside the plantable one, and all planted ground, m²; summed over all
        groups they are the areas of the field, as long as the same pairs of commands are dropped. None
        where passes lie over one another: there ends do not add up.
    """
    drive = plan_drive(scenario)
    sowing = sow_drive(scenario, drive, switch_drive(scenario, drive))
    strips = strips_of(scenario, drive, sowing)
    direction = np.array([leg.direction for leg in drive.legs])[sowing.leg]
    parts = np.array([leg.part for leg in drive.legs])[sowing.leg]
    rank = drive.layout.rank[sowing.row]
    errors = errors_of(scenario, drive.heading)
    changes: dict[Group, list[Change]] = {}
    for number, ground in enumerate(drive.plantable):
        for name, late in errors.late.items():
            for way in (1, -1):
                own = (parts == number) & (rank == name) & (direction == way)
                one = strips.take(own)
                if not len(one.left):
                    continue
                for off in (False, True):
                    at = late[off] + offset_for(scenario, name) - way * errors.along
                    changes.setdefault((name, off, way), []).extend(
                        _changes(ground, one, off == (way > 0), way, (low - at, high - at))
                    )
        if _over_one_another(strips, parts == number):
            return None
    curves = {}
    for group, found in changes.items():
        name, off, way = group
        place, value, slope, bend = (np.concatenate(v) for v in zip(*found, strict=True))
        at = errors.late[name][off] + offset_for(scenario, name) - way * errors.along
        curves[group] = summed(place + at, value, slope, bend, low, high)
    return curves


def _over_one_another(strips: Strips, own: np.ndarray) -> bool:
    """Whether strips of several passes lie side by side over the same ground."""
    lanes = columns_of(strips.left[own], strips.right[own], strips.leg[own]).lanes
    return bool((lanes > 1).any())


def _changes(ground: Edges, strips: Strips, upper: bool, way: int, span: tuple[float, float]) -> list[Change]:
    """What moving one end of strips changes: the upper or the lower one along the plan.

    `span` is how far ends move along the way of travel, from where they are, metres.
    """
    columns = columns_of(strips.left, strips.right, strips.leg)
    strip, column = columns.under(strips.left, strips.right)
    place = (strips.high if upper else strips.low)[strip]
    sign = np.ones(len(strip)) if upper else -np.ones(len(strip))
    low, high = (np.full(len(strip), end) for end in span)
    drift = np.full(len(strip), float(way))
    middle = place + drift * (low + high) / 2
    ends = Ends(column, middle, middle, drift, low, high)
    inside = reading(
        profile(ground, columns.left, columns.right), column, middle, ends, sign, np.array([1.0, 0.0])
    )
    # All of a strip counts as planted: its end's place along the plan times its width.
    weight = sign * (columns.right - columns.left)[column]
    value, slope, bend = (np.zeros((1, 2)) for _ in range(3))
    value[0, 1] = (weight * (place + way * span[0])).sum()
    slope[0, 1] = (weight * way).sum()
    return [*inside, (np.array([span[0]]), value, slope, bend)]
