"""A slow section controller that goes along every pass in small steps and reads the rules literally.

Written to disagree: no code of the package, no overlay library, no closed form. For every pass it slides
each section's reference line forward by `STEP`, measures at each step how much of the line lies on ground
to be planted (the line cut by the field's edges, even and odd crossings), notes where the condition for
"on" comes true and where it fails, and pins that place by halving the step until `RESOLUTION` is left. A
piece shorter than a step is not missed: just before and just after each corner of the field, and each
place where an edge meets the section's side, the line is measured as well.

Commands, ticks, drops, latencies and the places where the seed lands then follow one at a time. Where two
readings lie closer together than `DOUBT` (a line that just touches the switch fraction, two commands at
the same place, a command on a tick), rounding would decide: the case is marked doubtful and says nothing.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

import numpy as np

from tests.reference.case import Case, Row, rotated

STEP = 0.10  # m of way
RESOLUTION = 1e-10  # m: what is left of a step after the halving
BESIDE = 1e-7  # m: how far before and after a corner the line is measured
DOUBT = 1e-6  # m, s and m of line


@dataclass(frozen=True)
class Event:
    """A start or stop of seed: ground place (right of, along the heading; m) on the row's own line."""

    leg: int
    rank: str
    row: int
    kind: str
    right: float
    along: float


@dataclass
class Outcome:
    """What the ground got: events, strips (right0, right1, along0, along1; m) and what was doubtful."""

    events: list[Event] = field(default_factory=list)
    strips: list[tuple[float, float, float, float]] = field(default_factory=list)
    lines: list[float] = field(default_factory=list)
    width: float = 0.0
    doubtful: list[str] = field(default_factory=list)


class Ground:
    """Plantable ground as a bag of edges in the frame (right, along)."""

    def __init__(self, case: Case) -> None:
        rings = [rotated(ring, case.heading_deg) for ring in (case.shell, *case.holes)]
        edges = [(*a, *b) for ring in rings for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
        self.u0, self.v0, self.u1, self.v1 = np.array(edges).T
        self.steps = np.arange(self.v0.min() - 1.0, self.v0.max() + 1.0 + STEP, STEP)
        self.at_steps = self.line(self.steps)

    def line(self, along: np.ndarray) -> np.ndarray:
        """Where the cross lines at `along` (n) meet edges: (n, even) places, sorted, infinite where none."""
        along = along[:, None]
        meets = (np.minimum(self.v0, self.v1) <= along) & (along < np.maximum(self.v0, self.v1))
        with np.errstate(divide="ignore", invalid="ignore"):
            place = self.u0 + (along - self.v0) / (self.v1 - self.v0) * (self.u1 - self.u0)
        place = np.sort(np.where(meets, place, np.inf), axis=1)
        return np.pad(place, ((0, 0), (0, place.shape[1] % 2)), constant_values=np.inf)

    @staticmethod
    def covered(line: np.ndarray, left: np.ndarray | float, right: np.ndarray | float) -> np.ndarray:
        """Length of each cross line on the ground between `left` and `right` (m)."""
        clipped = np.clip(line, np.reshape(left, (-1, 1)), np.reshape(right, (-1, 1)))
        return np.sum(clipped[:, 1::2] - clipped[:, 0::2], axis=1)

    def meets_side(self, side: float) -> np.ndarray:
        """Places along the heading where edges meet the line `side` (m right of the origin)."""
        found = (np.minimum(self.u0, self.u1) < side) & (side < np.maximum(self.u0, self.u1))
        u0, v0, u1, v1 = self.u0[found], self.v0[found], self.u1[found], self.v1[found]
        return v0 + (side - u0) / (u1 - u0) * (v1 - v0)

    def reach(self, left: float, right: float) -> tuple[float, float] | None:
        """First and last place along the heading that the ground has between two sides."""
        inside = (self.u0 >= left) & (self.u0 <= right)
        places = np.concatenate([self.v0[inside], self.meets_side(left), self.meets_side(right)])
        return (float(places.min()), float(places.max())) if len(places) else None


def true_on(case: Case, covered: np.ndarray, width: float | np.ndarray) -> np.ndarray:
    """Whether the condition for "on" holds: f >= q, with less than the edge tolerance as none or all."""
    covered = np.where(covered < case.tolerance, 0.0, covered)
    covered = np.where(width - covered < case.tolerance, width, covered)
    # Passes alone meet no planted ground but at their sides: of two shares the boundary's decides.
    q = case.q if case.q_boundary is None else case.q_boundary
    if q == 0:
        return covered > 0
    if q == 1:
        return covered >= width
    return covered >= q * width


def threshold(case: Case, width: float) -> float:
    """The covered length at which the condition changes (m)."""
    q = case.q if case.q_boundary is None else case.q_boundary
    return min(max(q * width, case.tolerance), width - case.tolerance)


def crossings(case: Case, ground: Ground, left: float, right: float, outcome: Outcome) -> list[float]:
    """Places along the heading, upward, where the condition of a line from `left` to `right` changes."""
    width = right - left
    corners = np.concatenate([ground.v0, ground.meets_side(left), ground.meets_side(right)])
    beside = np.concatenate([corners - BESIDE, corners + BESIDE])
    at_corners = ground.covered(ground.line(beside), left, right)
    if np.any(np.abs(at_corners - threshold(case, width)) < DOUBT):
        outcome.doubtful.append("a line that just touches the switch fraction")
    places = np.concatenate([ground.steps, beside])
    covered = np.concatenate([ground.covered(ground.at_steps, left, right), at_corners])
    order = np.argsort(places)
    places, state = places[order], true_on(case, covered[order], width)
    changes = np.flatnonzero(state[1:] != state[:-1])
    before, after, was = places[changes], places[changes + 1], state[changes]
    while len(before) and np.max(after - before) > RESOLUTION:
        middle = (before + after) / 2
        same = true_on(case, ground.covered(ground.line(middle), left, right), width) == was
        before, after = np.where(same, middle, before), np.where(same, after, middle)
    return [float(place) for place in (before + after) / 2]


def drop(events: list[tuple[str, float]], outcome: Outcome) -> list[tuple[str, float]]:
    """In one pass: an event that is not after the last one kept takes both away."""
    kept: list[tuple[str, float]] = []
    for event in events:
        if kept and abs(event[1] - kept[-1][1]) < DOUBT:
            outcome.doubtful.append("two events at one place")
        if kept and event[1] <= kept[-1][1]:
            kept.pop()
        else:
            kept.append(event)
    return kept


def next_tick(clock: float, leg: int, period: float, outcome: Outcome) -> float:
    """The first tick not before `clock`, both in seconds since the leg's start."""
    phase = math.fmod(0.618034 * (leg - 1), 1.0)
    tick = 0
    while (phase + tick) * period < clock:
        tick += 1
    instants = [(phase + n) * period for n in (tick - 1, tick)]
    if min(abs(instant - clock) for instant in instants) < DOUBT * period:
        outcome.doubtful.append("a command on a tick")
    return instants[1]


def section_of(row: Row, real: list[Row], believed: list[Row], groups: list[int], outcome: Outcome) -> int:
    """The believed section at the same place in the width as a row of the real setup."""
    place = row.right - (real[0].left_edge + real[-1].right_edge) / 2
    middle = (believed[0].left_edge + believed[-1].right_edge) / 2
    sides = [believed[end - 1].right_edge - middle for end in np.cumsum(groups)]
    if min(abs(place - side) for side in sides[:-1] or [math.inf]) < DOUBT:
        outcome.doubtful.append("a row on the line between two sections")
    return next((index for index, side in enumerate(sides) if place < side), len(groups) - 1)


def drive(case: Case) -> Outcome:
    """Every pass of a case, one after another."""
    outcome = Outcome()
    ground = Ground(case)
    real, believed, groups = case.rows_of(case.setup), case.rows_of(case.believed), case.groups()
    middle = (believed[0].left_edge + believed[-1].right_edge) / 2
    width = outcome.width = believed[-1].right_edge - believed[0].left_edge
    ends = np.cumsum([0, *groups])
    sides = [
        (believed[first].left_edge - middle, believed[after - 1].right_edge - middle)
        for first, after in itertools.pairwise(ends)
    ]
    leftmost, rightmost = float(ground.u0.min()), float(ground.u0.max())
    offsets = list(case.offset.values()) if isinstance(case.offset, dict) else [case.offset]
    slowest = max(
        case.t_on, case.t_off, *case.lat_on.values(), *case.lat_off.values(), case.delay + case.period
    )
    margin = (
        max(*offsets, *(row.behind for row in real))
        + max(case.v_on, case.v_off) * slowest
        + max(case.v_on, case.v_off) * case.least_on
        + case.overlap
        + 1.0
    )
    leg = 0
    for number in range(math.ceil((rightmost - leftmost - 0.001) / width)):
        line = leftmost + (number + 0.5) * width
        reach = ground.reach(line - width / 2, line + width / 2)
        if reach is None:
            continue
        leg += 1
        outcome.lines.append(line)
        way = 1 if leg % 2 else -1
        start = min(way * reach[0], way * reach[1]) - margin
        pieces = [
            crossings(case, ground, *sorted((line + way * left, line + way * right)), outcome)
            for left, right in sides
        ]
        for row in real:
            if (row.rank, row.number) in case.rows_off:
                continue
            section = section_of(row, real, believed, groups, outcome)
            commands = command(case, pieces[section], way, start, leg, case.offset_of(row.rank), outcome)
            lay(case, row, commands, way, line, leg, outcome)
    return outcome


def command(
    case: Case, places: list[float], way: int, start: float, leg: int, offset: float, outcome: Outcome
) -> list[tuple[str, float]]:
    """The commands of one section on one leg: kind, and the pin's place along its way (m)."""
    events = []
    for index, place in enumerate(sorted(way * place for place in places)):
        kind = "off" if index % 2 else "on"
        if kind == "on":
            speed = case.v_on
            pin = place + offset - speed * case.t_on - case.overlap
        else:
            speed = case.v_off
            pin = place + offset - speed * case.t_off + case.overlap
        clock = (pin - start) / speed + case.delay
        if case.period:
            clock = next_tick(clock, leg, case.period, outcome)
        events.append((kind, start + speed * clock))
    return wait(case, drop(events, outcome), start, leg, outcome)


def wait(
    case: Case, events: list[tuple[str, float]], start: float, leg: int, outcome: Outcome
) -> list[tuple[str, float]]:
    """Go along the leg with a switch that may not be turned again too soon after it was turned.

    What it wants is the state that the events ask for; as soon as that differs from its own and the minimum
    time is over (at the working speed, the larger of the two), it is turned, on ticks at the next one.
    """
    if not (case.least_on or case.least_off):
        return events
    pace, given, state, since = max(case.v_on, case.v_off), [], "off", -math.inf
    for number, (wanted, place) in enumerate(events):
        after = events[number + 1][1] if number + 1 < len(events) else math.inf
        if wanted == state:
            continue
        free = since + pace * (case.least_on if state == "on" else case.least_off)
        at = place
        if free > place:
            at = free
            if case.period:
                speed = case.v_on if wanted == "on" else case.v_off
                clock = next_tick((free - start) / speed, leg, case.period, outcome)
                at = start + speed * clock
        if min(abs(free - place), abs(at - after)) < DOUBT:
            outcome.doubtful.append("a minimum time that is just over")
        if at < after:
            given.append((wanted, at))
            state, since = wanted, at
    return given


def lay(
    case: Case, row: Row, commands: list[tuple[str, float]], way: int, line: float, leg: int, outcome: Outcome
) -> None:
    """Let one row answer its commands: seed starts and stops at the row's own place, minus the drift."""
    events = []
    for kind, pin in commands:
        late = case.v_on * case.lat_on[row.rank] if kind == "on" else case.v_off * case.lat_off[row.rank]
        events.append((kind, pin + late - row.behind))
    if len(events) > 2 and any(b[1] <= a[1] for a, b in itertools.pairwise(events)):
        late_pairs = [i for i in range(1, len(events)) if events[i][1] <= events[i - 1][1]]
        if len(late_pairs) > 1:
            outcome.doubtful.append("several pairs of one row lost at once")
    events = drop(events, outcome)
    ((drift_right, drift_along),) = rotated((case.drift,), case.heading_deg)
    sides = sorted(
        line + way * (side - case.lateral) - drift_right for side in (row.left_edge, row.right_edge)
    )
    centre = line + way * (row.right - case.lateral) - drift_right
    places = [way * place - drift_along for _, place in events]
    for (kind, _), place in zip(events, places, strict=True):
        outcome.events.append(Event(leg, row.rank, row.number, kind, centre, place))
    for begin, end in zip(places[::2], places[1::2], strict=True):
        outcome.strips.append((sides[0], sides[1], min(begin, end), max(begin, end)))
