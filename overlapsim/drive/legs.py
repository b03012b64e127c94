"""What is driven: legs in order, each with its own ground to plant, its true and its believed way."""

from __future__ import annotations

from dataclasses import dataclass

from overlapsim.basics.frames import Floats
from overlapsim.drive.zones import Zones
from overlapsim.ground.edges import Edges
from overlapsim.ground.rails import Rails
from overlapsim.scenario.rows import RowLayout


@dataclass(frozen=True)
class Leg:
    """One stretch driven with the machine down.

    Attributes
    ----------
    number : int
        Place in the drive, from 1.
    part : int
        Index of the part of the field that it plants.
    kind : str
        ``"pass"`` or ``"lap"``.
    closed : bool
        Whether it has neither start nor end.
    direction : int
        1 where it runs with the plan's heading, -1 where it runs against it; 1 on laps.
    across : float
        The planned line of a pass in the plan frame, metres; nan on laps.
    first, last : float
        Where ground begins and ends over its full swath, on its own way, metres. On a lap the ends of
        its track, less what an open one has to spare.
    start, end : float
        Where the hitch pin starts and ends, on its own way, metres.
    believed, true : ndarray, shape (k, 2)
        Ways of the hitch pin in the ground frame as the controller sees it and as it is, metres.
    lap : int
        Index of the lap within the part, 0 = outermost; -1 on passes.
    track : Rails or None
        Planned way of a lap, ground frame.
    """

    number: int
    part: int
    kind: str
    closed: bool
    direction: int
    across: float
    first: float
    last: float
    start: float
    end: float
    believed: Floats
    true: Floats
    lap: int = -1
    track: Rails | None = None


@dataclass(frozen=True)
class Drive:
    """The legs of one field in driving order.

    Attributes
    ----------
    heading : float
        Heading of the plan frame, radians clockwise from north.
    width : float
        Distance between passes: the believed working width, metres.
    layout : RowLayout
        Rows and sections.
    legs : tuple of Leg
        In driving order.
    ground : tuple of Edges
        Ground that passes may plant in each part (the interior where the headland comes last), plan
        frame, interior on the left; what earlier legs hold as planted is not yet taken off.
    plantable, interior : tuple of Edges
        All plantable ground of each part, and what the headland leaves of it, plan frame.
    zones : tuple of Zones
        Headland and interior of each part, ground frame.
    margin : float
        What legs run beyond the ground besides the deepest of rows and reference offsets, metres.
    """

    heading: float
    width: float
    layout: RowLayout
    legs: tuple[Leg, ...]
    ground: tuple[Edges, ...]
    plantable: tuple[Edges, ...]
    interior: tuple[Edges, ...]
    zones: tuple[Zones, ...]
    margin: float

    @property
    def lap_count(self) -> int:
        """Number of headland laps driven."""
        return max((len(z.laps) for z in self.zones), default=0)

    @property
    def unreached_m2(self) -> float:
        """Headland that no lap reaches, m²."""
        return sum(z.unreached_m2 for z in self.zones)
