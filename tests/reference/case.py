"""One small case for the slow reference, in SI, and the same case as a scenario's text.

A case is written down once, as numbers rounded to what its text can carry (`as_dict` prints every number
with the digits that read back as the same double), so the reference and the package are given the same
thing and neither reads it with the other's code.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Rank:
    """A rank of row units: count, spacing (m), behind the pin (m), its middle right of the centreline (m)."""

    rows: int
    spacing: float
    behind: float
    right: float


@dataclass(frozen=True)
class Setup:
    """Which ranks work, how far the hitch is moved to the right (m), and a stated working width (m)."""

    ranks: tuple[str, ...]
    shift: float = 0.0
    width: float | None = None


@dataclass(frozen=True)
class Row:
    """A row: its rank and number from the left, metres behind and right of the pin, its strip's two edges."""

    rank: str
    number: int
    behind: float
    right: float
    left_edge: float
    right_edge: float


@dataclass(frozen=True)
class Case:
    """Everything that decides one simulation. Metres, seconds, m/s; heading in degrees."""

    ranks: dict[str, Rank]
    setups: dict[str, Setup]
    setup: str
    shell: tuple[tuple[float, float], ...]
    holes: tuple[tuple[tuple[float, float], ...], ...] = ()
    entered: str | None = None
    rows_off: tuple[tuple[str, int], ...] = ()
    heading_deg: float = 0.0
    laps: int = 0
    order: str = "first"
    v_on: float = 2.0
    v_off: float = 2.0
    offset: float | dict[str, float] = 2.0
    t_on: float = 0.4
    t_off: float = 0.3
    q: float = 0.5
    q_boundary: float | None = None  # with it shares are told apart, and q is that of planted ground
    least_on: float = 0.0
    least_off: float = 0.0
    sections: int | tuple[int, ...] | str = "each-row"
    lateral: float = 0.0
    overlap: float = 0.0
    period: float = 0.0
    delay: float = 0.0
    tolerance: float = 0.0254
    drift: tuple[float, float] = (0.0, 0.0)
    lat_on: dict[str, float] = field(default_factory=dict)
    lat_off: dict[str, float] = field(default_factory=dict)

    @property
    def believed(self) -> str:
        """The setup that the controller thinks it drives."""
        return self.entered or self.setup

    def offset_of(self, rank: str) -> float:
        """The reference offset that holds for a rank (m behind the pin)."""
        return self.offset[rank] if isinstance(self.offset, dict) else self.offset

    def rows_of(self, name: str) -> list[Row]:
        """The rows of a setup from left to right, with the edges of their strips (m right of the pin).

        A strip reaches half-way to each neighbour; an outermost one reaches outward by half the distance to
        its one neighbour; a lone row has its rank's spacing; a stated working width is made up by the two
        outer strips in equal parts.
        """
        setup = self.setups[name]
        found = []
        for rank_name in setup.ranks:
            rank = self.ranks[rank_name]
            for k in range(rank.rows):
                place = rank.right + (k - (rank.rows - 1) / 2) * rank.spacing + setup.shift
                found.append((place, rank_name, k + 1, rank.behind))
        found.sort()
        places = [place for place, *_ in found]
        if len(places) == 1:
            half = self.ranks[found[0][1]].spacing / 2
            edges = [places[0] - half, places[0] + half]
        else:
            inner = [(a + b) / 2 for a, b in itertools.pairwise(places)]
            edges = [
                places[0] - (places[1] - places[0]) / 2,
                *inner,
                places[-1] + (places[-1] - places[-2]) / 2,
            ]
        if setup.width is not None:
            more = (setup.width - (edges[-1] - edges[0])) / 2
            edges[0] -= more
            edges[-1] += more
        return [
            Row(rank_name, number, behind, place, edges[i], edges[i + 1])
            for i, (place, rank_name, number, behind) in enumerate(found)
        ]

    def groups(self) -> list[int]:
        """How many neighbouring rows of the believed setup each section holds, from left to right."""
        count = sum(self.ranks[name].rows for name in self.setups[self.believed].ranks)
        if self.sections == "each-row":
            return [1] * count
        if isinstance(self.sections, int):
            return [count // self.sections] * self.sections
        assert not isinstance(self.sections, str)
        return list(self.sections)

    def as_dict(self) -> dict[str, Any]:
        """The same case as a scenario's tables, every quantity as text."""

        def text(value: float, unit: str) -> str:
            return f"{value:.15f} {unit}"

        def by_rank(value: float | dict[str, float], unit: str) -> str | dict[str, str]:
            if isinstance(value, dict):
                return {name: text(each, unit) for name, each in value.items()}
            return text(value, unit)

        setups: dict[str, Any] = {}
        for name, setup in self.setups.items():
            setups[name] = {"ranks": list(setup.ranks), "hitch_shift": text(setup.shift, "m")}
            if setup.width is not None:
                setups[name]["working_width"] = text(setup.width, "m")
        switching: dict[str, Any] = {
            "reference_offset": by_rank(self.offset, "m"),
            "turn_on_time": text(self.t_on, "s"),
            "turn_off_time": text(self.t_off, "s"),
            "switch_fraction": self.q
            if self.q_boundary is None
            else {"boundary": self.q_boundary, "planted": self.q},
            "sections": list(self.sections) if isinstance(self.sections, tuple) else self.sections,
            "lateral_offset": text(self.lateral, "m"),
            "deliberate_overlap": text(self.overlap, "m"),
        }
        if self.entered:
            switching["entered_setup"] = self.entered
        rate = "continuous" if self.period == 0 else f"{1 / self.period!r} Hz"
        return {
            "title": "a random small field",
            "machine": {
                "hitch": "drawn",
                "title": "random",
                "ranks": {
                    name: {
                        "rows": rank.rows,
                        "spacing": text(rank.spacing, "m"),
                        "behind_pin": text(rank.behind, "m"),
                        "right": text(rank.right, "m"),
                    }
                    for name, rank in self.ranks.items()
                },
                "setups": setups,
                "setup": self.setup,
                "rows_off": [f"{rank} {number}" for rank, number in self.rows_off],
            },
            "field": {
                "polygon": [list(point) for point in self.shell],
                "exclusions": [[list(point) for point in hole] for hole in self.holes],
            },
            "plan": {
                "heading": text(self.heading_deg, "deg"),
                "headland_laps": self.laps,
                "headland_order": self.order,
            },
            "speed": {
                "working": text(max(self.v_on, self.v_off), "m/s"),
                "at_on": text(self.v_on, "m/s"),
                "at_off": text(self.v_off, "m/s"),
            },
            "switching": switching,
            "controller": {
                "update_rate": rate,
                "position_delay": text(self.delay, "s"),
                "edge_tolerance": text(self.tolerance, "m"),
                **({"minimum_on_time": text(self.least_on, "s")} if self.least_on else {}),
                **({"minimum_off_time": text(self.least_off, "s")} if self.least_off else {}),
                "drift": [text(self.drift[0], "m"), text(self.drift[1], "m")],
            },
            "response": {
                "on_latency": by_rank(self.lat_on, "s"),
                "off_latency": by_rank(self.lat_off, "s"),
            },
        }


def rotated(points: tuple[tuple[float, float], ...], heading_deg: float) -> list[tuple[float, float]]:
    """Ground points as (right of, along) the heading: right = x cos - y sin, along = x sin + y cos."""
    sine, cosine = math.sin(math.radians(heading_deg)), math.cos(math.radians(heading_deg))
    return [(x * cosine - y * sine, x * sine + y * cosine) for x, y in points]
