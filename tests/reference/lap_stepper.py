"""The slow section controller on headland laps: leg after leg in small steps, on what earlier legs left.

As `stepper.py`, but along bent ways, with a record: a section's reference line is carried forward by `STEP`,
spots on it are asked one by one whether they are deep enough in the field for this leg (`lap_ways.py`) and
whether an earlier leg holds them as planted (found by their place along and aside of that leg), and the place
where the condition changes is pinned by halving the step.

Error of a place. The covered part of a line is counted on `SPOTS` spots, each standing for its share w /
SPOTS of the width w, so it is known to half of that: a border at an angle t to square-on is seen within w
tan(t) / (2 SPOTS) of way, a square one within `RESOLUTION`. Nothing else is stepped: pieces shorter than
`STEP` would be missed, and the cases have none. On arcs the package may leave the true curve by 2 cm (path)
and 1 mm (borders); legs without one are exact.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np

from tests.reference.case import Case, Row
from tests.reference.lap_ways import Field, Way, lap_ways, pass_ways
from tests.reference.stepper import Event, Outcome, drop

STEP, RESOLUTION = 0.25, 1e-6  # m of way
COARSE, SPOTS = 16, 400  # spots on a line: while stepping, and where a place is pinned


@dataclass
class Leg:
    """What one leg was told: its way, the borders of its sections, and what it holds as planted of each."""

    way: Way
    borders: np.ndarray
    held: list[list[tuple[float, float]]] = field(default_factory=list)

    def holds(self, spots: np.ndarray) -> np.ndarray:
        """Whether spots (m, 2) are held as planted by this leg."""
        along, aside = self.way.find(spots, float(np.abs(self.borders).max()))
        held = np.zeros(len(spots), dtype=bool)
        section = np.searchsorted(self.borders, aside) - 1
        for number, stretches in enumerate(self.held):
            for low, high in stretches:
                held |= (section == number) & (low < along) & (along < high)
        return held


@dataclass(frozen=True)
class Strip:
    """A row's stretch on a leg: offsets of its sides from the way and its two ends along it (m)."""

    way: Way
    left: float
    right: float
    begin: float
    end: float


class Driver:
    """Drives one case."""

    def __init__(self, case: Case) -> None:
        self.case, self.field = case, Field(case)
        self.rows, self.outcome = case.rows_of(case.setup), Outcome()
        ends = np.cumsum([0, *case.groups()])
        middle = (self.rows[0].left_edge + self.rows[-1].right_edge) / 2
        edges = np.array([row.left_edge for row in self.rows] + [self.rows[-1].right_edge]) - middle
        self.borders, self.width = edges[ends], float(edges[-1] - edges[0])
        self.section = np.repeat(np.arange(len(ends) - 1), case.groups())
        self.legs: list[Leg] = []
        self.strips: list[Strip] = []

    def drive(self) -> Driver:
        """Laps and passes in their order; reference offset, times and latencies in the end."""
        laps, w = self.case.laps, self.width
        first = self.case.order == "first"
        order = range(1, laps + 1) if first else range(laps, 0, -1)
        bands = [(way, (j - 1) * w, j * w) for j in order for way in lap_ways(self.field, j, w)]
        passes = [(way, 0.0 if first else laps * w, np.inf) for way in pass_ways(self.field, laps, w)]
        for way, low, high in [*bands, *passes] if first else [*passes, *bands]:
            self.one_leg(way, low, high)
        return self

    def on(
        self, way: Way, section: int, places: np.ndarray, deep: tuple[float, float], spots: int
    ) -> np.ndarray:
        """Whether the condition holds where a section's line is at places (n) along a way."""
        left, right = self.borders[section], self.borders[section + 1]
        aside = left + (right - left) * (np.arange(spots) + 0.5) / spots
        line = way.at(np.repeat(places[:, None], spots, axis=1), np.repeat(aside[None], len(places), axis=0))
        depth = self.field.depth(line)
        wanted = (deep[0] < depth) & (depth < deep[1])
        for leg in self.legs:
            ask = np.flatnonzero(wanted.ravel())
            if len(ask):
                wanted.flat[ask[leg.holds(line.reshape(-1, 2)[ask])]] = False
        return wanted.mean(axis=1) >= self.case.q

    def one_leg(self, way: Way, low: float, high: float) -> None:
        """Step along one leg, give its commands, write its record and lay its rows."""
        case, leg = self.case, Leg(way, self.borders)
        length = float(way.places[-1])
        steps = np.append(np.arange(0, length, STEP), length)
        for section in range(len(self.borders) - 1):
            state = self.on(way, section, steps, (low, high), COARSE)
            if way.closed:
                if not state.all():
                    self.outcome.doubtful.append("a closed leg that is switched")
                leg.held.append([(-1.0, length + 1.0)])
                for row, own in zip(self.rows, self.section, strict=True):
                    if own == section:
                        self.strips.append(Strip(way, row.left_edge, row.right_edge, 0.0, length))
                continue
            # Off before the leg, on at once where the condition holds at its start, off at its end.
            change = np.flatnonzero(state[1:] != state[:-1])
            before, after, was = steps[change], steps[change + 1], state[change]
            # Where few spots saw the change a step too soon or too late, go back or on to where it is.
            for _ in range(int(2.0 / STEP)):
                early = self.on(way, section, before, (low, high), SPOTS) != was
                late = self.on(way, section, after, (low, high), SPOTS) == was
                before, after = before - STEP * early, after + STEP * late
                if not (early | late).any():
                    break
            while len(before) and np.max(after - before) > RESOLUTION:
                middle = (before + after) / 2
                same = self.on(way, section, middle, (low, high), SPOTS) == was
                before, after = np.where(same, middle, before), np.where(same, after, middle)
            places = [*([0.0] if state[0] else []), *(before + after) / 2, *([length] if state[-1] else [])]
            commands = drop([
                (kind, place + case.offset - speed * time)
                for place, (kind, speed, time) in zip(places, itertools.cycle(
                    [("on", case.v_on, case.t_on), ("off", case.v_off, case.t_off)]))
            ], self.outcome)  # fmt: skip
            ahead = {"on": case.v_on * case.t_on, "off": case.v_off * case.t_off}
            line = [pin - case.offset + ahead[kind] for kind, pin in commands]
            leg.held.append([(a, b) for a, b in zip(line[::2], line[1::2], strict=True) if b > a])
            for row, own in zip(self.rows, self.section, strict=True):
                if own == section:
                    self.lay(way, row, commands)
        self.legs.append(leg)

    def lay(self, way: Way, row: Row, commands: list[tuple[str, float]]) -> None:
        """Let one row answer its commands."""
        case = self.case
        late = {"on": case.v_on * case.lat_on[row.rank], "off": case.v_off * case.lat_off[row.rank]}
        events = drop([(kind, pin + late[kind] - row.behind) for kind, pin in commands], self.outcome)
        for kind, place in events:
            right, along = way.at(np.array([place]), np.array([row.right]))[0]
            self.outcome.events.append(Event(len(self.legs) + 1, row.rank, row.number, kind, right, along))
        places = [place for _, place in events]
        for begin, end in zip(places[::2], places[1::2], strict=True):
            self.strips.append(Strip(way, row.left_edge, row.right_edge, begin, end))


def quads(strips: list[Strip]) -> np.ndarray:
    """What strips cover, cut at the vertices of their ways: corners (n, 4, 2)."""
    found = []
    for strip in strips:
        inner = strip.way.places[1:-1]
        ways = np.array([strip.begin, *inner[(strip.begin < inner) & (inner < strip.end)], strip.end])
        left, right = (strip.way.at(ways, np.full(len(ways), aside)) for aside in (strip.left, strip.right))
        found.append(np.stack([left[:-1], right[:-1], right[1:], left[1:]], axis=1))
    return np.concatenate(found)


def scan(field: Field, laid: np.ndarray, spacing: float) -> tuple[dict[str, float], float]:
    """Areas from lines at a slant, m², and how wrong the largest of them may be.

    Along a line every length is exact; across, the middle of each line stands for its `spacing`. Lengths are
    linear from line to line but where a line passes a corner: there, by how much the slope changes times
    spacing² / 8 at the most. Second differences add up all changes of slope, times the spacing.
    """
    turn = 0.7390851  # rad: no edge of the cases lies along the lines
    ahead, aside = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    a, b = ((points @ aside, points @ ahead) for points in (field.start, field.start + field.side))
    corners = np.stack([laid @ aside, laid @ ahead], axis=-1)
    following = np.roll(corners, -1, axis=1)
    everything = np.concatenate([a[0], corners[..., 0].ravel()])
    lines = np.arange(everything.min(), everything.max(), spacing) + spacing / 2
    lengths = np.zeros((len(lines) + 4, 4))
    low, high = corners[..., 0].min(axis=1), corners[..., 0].max(axis=1)
    for number, line in enumerate(lines):
        cut = (a[0] <= line) != (b[0] <= line)
        bounds = a[1][cut] + (line - a[0][cut]) / (b[0][cut] - a[0][cut]) * (b[1][cut] - a[1][cut])
        own = (low < line) & (line < high)
        one, two = corners[own], following[own]
        with np.errstate(divide="ignore", invalid="ignore"):
            share = (line - one[..., 0]) / (two[..., 0] - one[..., 0])
            meet = one[..., 1] + share * (two[..., 1] - one[..., 1])
        meet = np.where((one[..., 0] <= line) != (two[..., 0] <= line), meet, np.nan)
        begin, end = np.nanmin(meet, axis=1), np.nanmax(meet, axis=1)
        place = np.concatenate([bounds, begin, end])
        order = np.argsort(place)
        inside = np.cumsum(np.repeat([1, 0], [len(bounds), 2 * len(begin)])[order]) % 2 == 1
        change = np.repeat([0, 1, -1], [len(bounds), len(begin), len(end)])
        times = np.cumsum(change[order])
        step = np.append(np.diff(place[order]), 0.0)
        lengths[number + 2] = [
            (end - begin).sum(), step[inside & (times == 0)].sum(),
            (step * np.maximum(times - 1, 0))[inside].sum(), (step * times)[~inside].sum(),
        ]  # fmt: skip
    wrong = spacing / 8 * np.abs(np.diff(lengths, 2, axis=0)).sum(axis=0)
    total = lengths.sum(axis=0) * spacing
    names = ("planted_m2", "skip_m2", "overlap_m2", "off_field_m2")
    return dict(zip(names, map(float, total), strict=True)), float(wrong[1:].max())
