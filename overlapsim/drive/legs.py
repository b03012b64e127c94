"""What is driven: legs in order, each with its own ground to plant, its true and its believed way."""

from __future__ import annotations

from dataclasses import dataclass

from overlapsim.basics.frames import Floats
from overlapsim.ground.edges import Edges
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
        ``"pass"`` (or, with headland laps, ``"lap"``).
    closed : bool
        Whether it has neither start nor end.
    direction : int
        1 where it runs with the plan's heading, -1 where it runs against it.
    across : float
        The planned line in the plan frame, metres.
    first, last : float
        Where plantable ground begins and ends over its full swath, on its own way, metres.
    start, end : float
        Where the hitch pin starts and ends, on its own way, metres.
    believed, true : ndarray, shape (k, 2)
        Ways of the hitch pin in the ground frame as the controller sees it and as it is, metres.
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
        Ground to be planted by the passes of each part, plan frame, interior on the left.
    lap_count : int
        Headland laps driven.
    unreached_m2 : float
        Headland that no lap reaches, m².
    margin : float
        What legs run beyond the ground besides the deepest of rows and reference offsets, metres.
    """

    heading: float
    width: float
    layout: RowLayout
    legs: tuple[Leg, ...]
    ground: tuple[Edges, ...]
    lap_count: int
    unreached_m2: float
    margin: float
