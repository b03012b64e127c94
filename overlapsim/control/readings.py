"""Ends of strips that move with a setting, and what they read from running areas on their way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.basics.records import Records
from overlapsim.ground.edges import spread
from overlapsim.ground.profile import Profile

Change = tuple[Floats, Floats, Floats, Floats]
"""Where quantities change, and by how much: value, slope and bend, shape (n,) and three times (n, q)."""


@dataclass(frozen=True)
class Ends(Records):
    """Ends of stretches of bands, each moving linearly over its own range of the setting.

    Attributes
    ----------
    band : ndarray of int, shape (n,)
        Band of a profile that the stretch lies on.
    low, high : ndarray, shape (n,)
        Its ends at the middle of the range, metres.
    drift : ndarray, shape (n,)
        Metres by which both ends move per metre of the setting.
    first, last : ndarray, shape (n,)
        The range of the setting, metres.
    """

    band: Ints
    low: Floats
    high: Floats
    drift: Floats
    first: Floats
    last: Floats

    @property
    def middle(self) -> Floats:
        """Middle of the range, metres."""
        return (self.first + self.last) / 2


def steps(place: Floats, size: Floats, share: Floats) -> Change:
    """Changes that are jumps.

    Parameters
    ----------
    place : ndarray, shape (n,)
        Where, metres.
    size : ndarray, shape (n,)
        How much, m².
    share : ndarray, shape (q,)
        How much of it each quantity takes, m²/m².

    Returns
    -------
    tuple of ndarray
        Changes.
    """
    value = size[:, None] * share[None, :]
    return place, value, np.zeros_like(value), np.zeros_like(value)


def moving(ground: Profile, ends: Ends, share: Floats) -> list[Change]:
    """Changes by stretches: the running area at the high end less that at the low end.

    Parameters
    ----------
    ground : Profile
        Running areas.
    ends : Ends
        The stretches.
    share : ndarray, shape (q,)
        How much of the area each quantity takes, m²/m².

    Returns
    -------
    list of tuple of ndarray
        Changes.
    """
    high = reading(ground, ends.band, ends.high, ends, np.ones(len(ends.band)), share)
    low = reading(ground, ends.band, ends.low, ends, -np.ones(len(ends.band)), share)
    return [*high, *low]


def reading(
    ground: Profile, band: Ints, place: Floats, ends: Ends, sign: Floats, share: Floats
) -> list[Change]:
    """Changes by a running area that is read at moving places.

    Parameters
    ----------
    ground : Profile
        Running areas.
    band : ndarray of int, shape (n,)
        Band that each place lies on.
    place : ndarray, shape (n,)
        Where it lies at the middle of its range of the setting, metres; it moves by `ends.drift`.
    ends : Ends
        Ranges and drifts.
    sign : ndarray, shape (n,)
        Factor of each reading, no unit.
    share : ndarray, shape (q,)
        How much of the area each quantity takes, m²/m².

    Returns
    -------
    list of tuple of ndarray
        Changes.
    """
    at_first = place + ends.drift * (ends.first - ends.middle)
    at_last = place + ends.drift * (ends.last - ends.middle)

    def change(when: Floats, area: Floats, width: Floats, slope: Floats, by: Floats, move: Floats) -> tuple:
        scale = by[:, None] * share[None, :]
        first, second = width * move, slope * move**2
        return when, area[:, None] * scale, first[:, None] * scale, second[:, None] * scale

    # An end that moves backwards reads the piece on its left where it starts on a knot.
    begin, finish = ground.at(band, at_first), ground.at(band, at_last)
    moves = ends.drift != 0
    low, high = np.minimum(at_first, at_last), np.maximum(at_first, at_last)
    first = ground.piece(band[moves], low[moves]) + 1
    last = ground.piece(band[moves], high[moves]) + 1
    owner, knot = spread(first, last)
    owner = np.flatnonzero(moves)[owner]
    before = knot - 1
    inside = before >= ground.bounds[band[owner]]
    step = np.where(inside, ground.knot[knot] - ground.knot[before], 0.0)
    was_width = np.where(inside, ground.width[before] + step * ground.slope[before], 0.0)
    was_slope = np.where(inside, ground.slope[before], 0.0)
    turn = ends.drift[owner]
    when = ends.middle[owner] + (ground.knot[knot] - place[owner]) / turn
    ahead = np.sign(turn)
    nothing = np.zeros(len(owner))
    return [
        change(ends.first, *begin, sign, ends.drift),
        change(ends.last, *finish, -sign, ends.drift),
        change(
            when, nothing, ahead * (ground.width[knot] - was_width), ahead * (ground.slope[knot] - was_slope),
            sign[owner], turn,
        ),
    ]  # fmt: skip
