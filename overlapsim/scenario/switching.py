"""What is entered in the section controller, what it is like, and what the machine really does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from overlapsim.basics.units import INCH, MPH
from overlapsim.scenario.kinds import Kind, Slip
from overlapsim.scenario.machine import MOST_ROWS
from overlapsim.scenario.plain import Choice, Count, Number, Text
from overlapsim.scenario.quantities import Measure, Pair, PerName
from overlapsim.scenario.tables import Table, kinds, read_table

__all__ = ["Controller", "DeliberateOverlap", "Fractions", "Response", "SwitchFractions", "Switching"]

# Limits beyond which no machine goes, wide of what planters do on purpose (common practice: times and
# latencies below 1 s, less than 20 ft from the pin to the rearmost seed).
# Times matched to a latency, a position delay and half of a slow update are longer than anybody types.
_ON_TIME = Measure("time", -3.0, 3.0, likely=(0.02, 1.0), searched=10.0, example="0.40 s")
_OFF_TIME = Measure("time", -3.0, 3.0, likely=(0.02, 1.0), searched=10.0, example="0.25 s")
_LATENCY = Measure("time", 0.0, 3.0, likely=(0.02, 1.0), example="0.45 s")
# A search may look far beyond the ranks on both sides; nobody types that in.
_OFFSET = Measure("length", -5.0, 10.0, likely=(0.3, 6.0), searched=60.0, example="101.5 in")
_FRACTION = Number(0.0, 1.0, example=0.5)
_OVERLAP = Measure("length", 0.0, 10.0, likely=(0.0, 2.0), example="6 in")


class DeliberateOverlap(Table):
    """How much sooner rows are switched on, and later off, on purpose.

    Attributes
    ----------
    planted : float
        At edges of planted ground, m.
    boundary : float
        At the boundary and at exclusions, m.
    """

    planted: Annotated[float, _OVERLAP] = 0.0
    boundary: Annotated[float, _OVERLAP] = 0.0


@dataclass(frozen=True)
class _Deliberate(Kind):
    """One length for both kinds of edges, or a table."""

    def _read(self, value: Any, si: bool) -> DeliberateOverlap:
        """Read the deliberate overlap."""
        if isinstance(value, DeliberateOverlap):
            return value
        if isinstance(value, Mapping):
            read = read_table(DeliberateOverlap, value, (), si=si)
            if read.faults:
                Slip.several([Slip(f.rule, f.remedy, (f.key,), f.value) for f in read.faults])
            return read.table
        both = _OVERLAP.read(value, si)
        return DeliberateOverlap(planted=f"{both!r} m", boundary=f"{both!r} m")

    def _write(self, value: DeliberateOverlap) -> dict[str, Any]:
        """Write the deliberate overlap; see `Kind.write`."""
        return value.to_text()

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        by_edge = {name: kind.schema() for name, kind in kinds(DeliberateOverlap).items()}
        table = {"type": "object", "properties": by_edge, "additionalProperties": False}
        return {"anyOf": [_OVERLAP.schema(), table]}


class SwitchFractions(Table):
    """Shares of a section's width, each of which must be reached for the section to be on.

    Attributes
    ----------
    boundary : float
        Inside the boundary and outside of exclusions.
    planted : float
        Not yet held as planted, nor other legs' ground to plant.
    """

    boundary: Annotated[float, _FRACTION] = 0.5
    planted: Annotated[float, _FRACTION] = 0.5


@dataclass(frozen=True)
class Fractions(Kind):
    """One share for all that is to be planted, or a table by kind of edge."""

    def _read(self, value: Any, si: bool) -> float | SwitchFractions:
        """Read the switch fraction."""
        if isinstance(value, SwitchFractions):
            return value
        if isinstance(value, Mapping):
            read = read_table(SwitchFractions, value, (), si=si)
            if read.faults:
                Slip.several([Slip(f.rule, f.remedy, (f.key,), f.value) for f in read.faults])
            return read.table
        return float(_FRACTION.read(value, si))

    def _write(self, value: float | SwitchFractions) -> Any:
        """Write the switch fraction; see `Kind.write`."""
        return value.to_text() if isinstance(value, SwitchFractions) else value

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        by_edge = {name: kind.schema() for name, kind in kinds(SwitchFractions).items()}
        table = {"type": "object", "properties": by_edge, "additionalProperties": False}
        return {"anyOf": [_FRACTION.schema(), table]}


@dataclass(frozen=True)
class _Sections(Kind):
    """Equal groups, a list of row counts, or each row for itself."""

    def _read(self, value: Any, si: bool) -> int | tuple[int, ...] | str:
        """Read the sections."""
        if value == "each-row" and isinstance(value, str):
            return "each-row"
        if isinstance(value, list | tuple):
            if not value:
                raise Slip("is an empty list", 'Write row counts, as in [8, 8], or "each-row".')
            count = Count(1, MOST_ROWS, example=8)
            return tuple(count.read(part, si) for part in value)
        if isinstance(value, bool) or not isinstance(value, int):
            raise Slip("is neither a number nor a list", 'Write 16, or [8, 8], or "each-row".')
        return Count(1, MOST_ROWS, example=16).read(value, si)

    def _write(self, value: int | tuple[int, ...] | str) -> Any:
        """Write the sections; see `Kind.write`."""
        return list(value) if isinstance(value, tuple) else value

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        count = Count(1, MOST_ROWS).schema()
        return {"anyOf": [count, {"type": "array", "items": count, "minItems": 1}, {"enum": ["each-row"]}]}


class Switching(Table):
    """What is entered in the section controller.

    Attributes
    ----------
    reference_offset : float or dict of float
        Behind the hitch pin, m; one for all ranks, or one per rank.
    turn_on_time, turn_off_time : float
        How far ahead a section is switched, s.
    switch_fraction : float or SwitchFractions
        Share of a section's width that must lie on ground to be planted; or the share inside the boundary
        and the share not yet held as planted, each of which must be reached.
    sections : int, tuple of int, or "each-row"
        Equal groups, row counts from the left, or every row for itself.
    lateral_offset : float
        Typed into guidance: the tractor is steered so much to the left of the planned line, m.
    deliberate_overlap : DeliberateOverlap
        In m, by kind of edge.
    entered_setup : str
        The row setup that the controller thinks it drives.
    """

    reference_offset: Annotated[float | dict[str, float], PerName(_OFFSET, example="101.5 in")]
    turn_on_time: Annotated[float, _ON_TIME]
    turn_off_time: Annotated[float, _OFF_TIME]
    switch_fraction: Annotated[float | SwitchFractions, Fractions(example=0.5)] = 0.5
    sections: Annotated[int | tuple[int, ...] | str, _Sections(example=16)] = "each-row"
    lateral_offset: Annotated[float, Measure("length", -2.0, 2.0, likely=(0.0, 0.6), example="0 in")] = 0.0
    deliberate_overlap: Annotated[DeliberateOverlap, _Deliberate(example="0 in")] = DeliberateOverlap()
    entered_setup: Annotated[str, Text(example="wide")]


_LEAST = Measure("time", 0.0, 10.0, likely=(0.1, 3.0), example="0.5 s", optional=True)


class Controller(Table):
    """What the section controller is like.

    Attributes
    ----------
    update_rate : float or None
        Hz; None = continuous.
    position_delay : float
        How old the position is that the controller sees, s.
    edge_tolerance : float
        Length of the reference line that counts as none, m.
    drift : tuple of float
        What the receiver reads too far east and north during the passes, m.
    offset_step : float
        Step in which a reference offset can be typed in, m.
    time_step : float
        Step in which a time can be typed in, s.
    measured_from : {"hitch pin", "rear axle"}
        From where the reference offset is typed in.
    minimum_on_time, minimum_off_time : float or None
        How long a section stays on, and off, at the least once it was told to within a leg, at the working
        speed, s; None = no such limit.
    minimum_speed : float or None
        Speed below which all sections are off, m/s. Speeds are known where sections switch and along the
        pass only, so a scenario that comes to lie below it there is refused; None = no such limit.
    """

    update_rate: Annotated[
        float | None,
        Measure("rate", 0.2, 1000.0, likely=(1.0, 100.0), example="10 Hz", words=(("continuous", None),)),
    ] = None
    position_delay: Annotated[float, _LATENCY] = 0.0
    edge_tolerance: Annotated[float, Measure("length", 0.0, 0.5, likely=(0.001, 0.1), example="1 in")] = INCH
    drift: Annotated[
        tuple[float, float],
        Pair(Measure("length", -10.0, 10.0, likely=(0.0, 1.0), example="2 in"), example=("0 in", "2 in")),
    ] = (0.0, 0.0)
    offset_step: Annotated[float, Measure("length", 0.001, 0.5, likely=(0.001, 0.1), example="0.5 in")] = (
        INCH / 2
    )
    time_step: Annotated[float, Measure("time", 0.001, 1.0, likely=(0.001, 0.5), example="0.05 s")] = 0.05
    measured_from: Annotated[str, Choice(("hitch pin", "rear axle"), example="hitch pin")] = "hitch pin"
    minimum_on_time: Annotated[float | None, _LEAST] = None
    minimum_off_time: Annotated[float | None, _LEAST] = None
    minimum_speed: Annotated[
        float | None,
        Measure("speed", 0.0, 20 * MPH, likely=(0.2, 2.0), example="1 mph", optional=True),
    ] = None

    @property
    def update_period(self) -> float:
        """Time between two updates, s; 0.0 = continuous."""
        return 0.0 if self.update_rate is None else 1.0 / self.update_rate


class Response(Table):
    """What the machine really does, for every rank of it.

    Attributes
    ----------
    on_latency : dict of float
        From the on command until seed reaches the ground, s, by rank.
    off_latency : dict of float
        From the off command until the last seed reaches the ground, s, by rank.
    """

    on_latency: Annotated[dict[str, float], PerName(_LATENCY, example="0.45 s")]
    off_latency: Annotated[
        dict[str, float], PerName(Measure("time", 0.0, 3.0, likely=(0.02, 1.0)), example="0.30 s")
    ]
