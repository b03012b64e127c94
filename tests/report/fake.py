"""A result made by hand: square ends on a rectangle, where every figure is a sum that fits on a line.

So the words and pictures can be checked without the program's own search: on a rectangle with ends square to
the way each row end costs its strip width times its error, and nothing else is lost.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from types import SimpleNamespace
from typing import Any

import numpy as np
import shapely

from overlapsim import Scenario
from overlapsim.scenario.rows import row_layout

MACHINE = {
    "ranks": {
        "front": {"rows": 16, "spacing": "30 in", "behind_pin": "84 in"},
        "rear": {"rows": 16, "spacing": "30 in", "behind_pin": "119 in", "right": "-15 in"},
    },
    "setups": {"wide": {"ranks": ["front"]}, "narrow": {"ranks": ["front", "rear"], "hitch_shift": "7.5 in"}},
    "axle_to_pin": "1.1 m",
}


def scenario_of(**changes: Any) -> Scenario:
    """The example machine on 400 x 800 m; keyword arguments replace tables, None takes one out."""
    data: dict[str, Any] = {
        "title": "Two ranks, square ends",
        "machine": {**MACHINE, "setup": "narrow"},
        "field": {"rectangle": ["400 m", "800 m"]},
        "speed": {"working": "5 mph"},
        "switching": {"reference_offset": "84 in", "turn_on_time": "0.40 s", "turn_off_time": "0.25 s"},
        "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
    }
    for key, value in changes.items():
        data[key] = value if key == "title" else {**data.get(key, {}), **(value or {})}
        if value is None:
            del data[key]
    return Scenario.from_dict(data)


@dataclass
class FakeRun:
    """One run, by hand."""

    scenario: Scenario

    @cached_property
    def square_ends(self) -> SimpleNamespace:
        s, layout = self.scenario, row_layout(self.scenario)
        lag = s.controller.position_delay + s.controller.update_period / 2
        offset, wanted = s.switching.reference_offset, s.switching.deliberate_overlap.boundary
        r = np.array([offset[name] if isinstance(offset, dict) else offset for name in layout.rank])
        on_latency = np.array([s.response.on_latency[name] for name in layout.rank])
        off_latency = np.array([s.response.off_latency[name] for name in layout.rank])
        on = r - layout.behind_pin + s.speed.at_on * (on_latency - s.switching.turn_on_time + lag) - wanted
        off = (
            r - layout.behind_pin + s.speed.at_off * (off_latency - s.switching.turn_off_time + lag) + wanted
        )
        return SimpleNamespace(layout=layout, on_m=on, off_m=off)

    @property
    def raw(self) -> tuple[np.ndarray, np.ndarray]:
        """What the second witness would count: one thing for each row."""
        ends = self.square_ends
        return np.arange(len(ends.on_m)), np.stack([ends.on_m, ends.off_m], axis=1)

    @cached_property
    def areas(self) -> dict[str, float]:
        ends, layout, n = self.square_ends, row_layout(self.scenario), self.pass_count
        late, early = np.maximum(ends.on_m, 0), np.maximum(-ends.on_m, 0)
        over, short = np.maximum(ends.off_m, 0), np.maximum(-ends.off_m, 0)
        work = ~layout.off
        skip = float(n * (layout.width * (late + short))[work].sum())
        off_field = float(n * (layout.width * (early + over))[work].sum())
        weights = self.scenario.weights
        return {
            "skip_m2": skip, "overlap_m2": 0.0, "off_field_m2": off_field,
            "combined_m2": weights.skip * skip + weights.off_field * off_field,
            "planted_m2": self.plantable_m2 - skip + off_field,
            "worst_row_error_m": float(np.abs([ends.on_m[work], ends.off_m[work]]).max()),
            "longest_gap_m": float(max(late[work].max(), short[work].max())),
            "missing_row_m": float(n * (late + short)[work].sum()),
            "double_planted_row_m": float(n * (early + over)[work].sum()),
        }  # fmt: skip

    pass_count: int = 33
    drive: Any = field(default_factory=lambda: SimpleNamespace(heading=0.0, unreached_m2=0.0, zones=()))
    lap_count: int = 0
    witness: Any = field(default_factory=lambda: SimpleNamespace(largest_relative_difference=3e-9))
    row_ends_summary: dict[str, float] = field(
        default_factory=lambda: {"median_m": 0.5, "p95_m": 0.9, "largest_m": 0.95}
    )

    @property
    def plantable_m2(self) -> float:
        return self.scenario.field.plantable_m2

    @property
    def by_place(self) -> dict[str, dict[str, float]]:
        nothing = {"skip_m2": 0.0, "overlap_m2": 0.0}
        return {
            "interior": {"skip_m2": self.areas["skip_m2"], "overlap_m2": 0.0},
            "headland": nothing, "joints": nothing,
        }  # fmt: skip

    @cached_property
    def layers(self) -> dict[str, Any]:
        boundary = np.array(self.scenario.field.parts, dtype=object)
        width = row_layout(self.scenario).working_width
        west, south, east, north = shapely.total_bounds(boundary)
        reach = min(west + 5 * width, east)
        lines = [
            shapely.LineString(
                [(west + (i + 0.5) * width, y) for y in ((south, north), (north, south))[i % 2]]
            )
            for i in range(self.pass_count)
        ]
        none, kind = np.empty(0, dtype=object), np.full(len(lines), "pass", dtype=object)

        def layer(geometry: Any, form: str, **columns: Any) -> SimpleNamespace:
            return SimpleNamespace(geometry=np.array(geometry, dtype=object), kind=form, columns=columns)

        return {
            "boundary": layer(boundary, "Polygon"),
            "passes": layer(lines, "LineString", leg=np.arange(len(lines)) + 1, kind=kind),
            "planted": layer(none, "Polygon"),
            "skip": layer([shapely.box(west, south, reach, south + 1)], "Polygon"),
            "overlap": layer(none, "Polygon"),
            "off_field": layer([shapely.box(west, north, reach, north + 1)], "Polygon"),
            "row_ends": layer(none, "Point"),
        }

    def to_dict(self) -> dict[str, Any]:
        return {
            "command": "simulate",
            "schema": 1,
            "title": self.scenario.title,
            "by_place": self.by_place,
            **self.areas,
        }


@dataclass
class FakeTune:
    """A finished search, by hand: the caller says what was found."""

    scenario: Scenario
    best_m: Any
    recommended_m: Any
    as_good_m: Any
    bracketed: bool = True
    largest_witness_difference: float = 3e-9
    sweep_table: dict[str, Any] = field(default_factory=dict)
    sensitivity: dict[str, Any] = field(
        default_factory=lambda: {
            "m_per_s_of_on_latency": -1.1176, "m_per_s_of_off_latency": -1.1176, "m_per_m_per_s": -0.05,
            "m_per_m_of_behind_pin": {"front": 0.5, "rear": 0.5},
        }
    )  # fmt: skip

    def at(self, offset: Any, on: float | None = None, off: float | None = None) -> FakeRun:
        changes: dict[str, Any] = {"switching.reference_offset": offset}
        if on is not None:
            changes |= {"switching.turn_on_time": on, "switching.turn_off_time": off}
        return FakeRun(self.scenario.with_(changes))

    def __post_init__(self) -> None:
        layout = row_layout(self.scenario)
        behind = {rank: layout.behind_pin_of(rank) for rank in layout.working_ranks}
        first, last = min(behind.values()), max(behind.values())
        response, switching = self.scenario.response, self.scenario.switching
        times = [
            float(np.average([latency[name] for name in layout.rank], weights=layout.width))
            for latency in (response.on_latency, response.off_latency)
        ]
        late = self.scenario.speed.working * (times[0] - switching.turn_on_time)
        self.as_set = FakeRun(self.scenario)
        self.best, self.recommended = self.at(self.best_m), self.at(self.recommended_m)
        self.alternatives = {
            "as_set": self.as_set,
            "foremost_rank": self.at(first),
            "midway": self.at((first + last) / 2),
            "rearmost_rank": self.at(last),
            "offset_per_rank": self.at({rank: a - late for rank, a in behind.items()}),
            "times_matched": self.at((first + last) / 2, *times),
        }
        self.floor = self.at(behind, *times)
        ends = self.recommended.square_ends
        self.digging = [
            {"rank": rank, "on_m": float(ends.on_m[i]), "off_m": float(ends.off_m[i])}
            for rank in layout.working_ranks
            for i in np.flatnonzero(layout.rank == rank)[:1]
        ]
        offsets = np.linspace(first - 1.0, last + 1.0, 81)
        runs = [self.at(float(r)).areas for r in offsets]
        self.curve = SimpleNamespace(
            offset_m=offsets,
            **{
                k: np.array([a[k] for a in runs])
                for k in ("skip_m2", "overlap_m2", "off_field_m2", "combined_m2")
            },
        )
        self.equal_m = self.as_good_m

    def to_dict(self) -> dict[str, Any]:
        return {**self.as_set.to_dict(), "command": "tune", "recommended": self.recommended.areas}


INCH = 0.0254


def example(**changes: Any) -> FakeTune:
    """The example machine: flat from 79.6 to 114.6 in, smallest worst row at 97.1 in."""
    return FakeTune(scenario_of(**changes), 2.4664, 97 * INCH, (79.6 * INCH, 114.6 * INCH))
