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
    _, when, *amounts = swept(ground, band, place, ends, sign)
    value, slope, bend = (amount[:, None] * share[None, :] for amount in amounts)
    return [(when, value, slope, bend)]


def swept(
    ground: Profile, band: Ints, place: Floats, ends: Ends, sign: Floats
) -> tuple[Ints, Floats, Floats, Floats, Floats]:
    """Changes by a running area that is read at moving places, with whose they are.

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

    Returns
    -------
    owner : ndarray of int, shape (m,)
        Which place makes each change.
    when : ndarray, shape (m,)
        At which setting, metres.
    value, slope, bend : ndarray, shape (m,)
        By how much the area, its first and its second derivative change, m², m²/m and m²/m².
    """
    at_first = place + ends.drift * (ends.first - ends.middle)
    at_last = place + ends.drift * (ends.last - ends.middle)
    on_first, on_last = ground.piece(band, at_first), ground.piece(band, at_last)
    begin = ground.on_piece(on_first, band, at_first)
    finish = ground.on_piece(on_last, band, at_last)
    # Knots that a place comes over; one that moves backwards reads the piece on its left there.
    moves = np.flatnonzero(ends.drift)
    low, high = np.minimum(on_first, on_last)[moves], np.maximum(on_first, on_last)[moves]
    owner, knot = spread(low + 1, high + 1)
    owner = moves[owner]
    before = knot - 1
    inside = before >= ground.bounds[band[owner]]
    step = np.where(inside, ground.knot[knot] - ground.knot[before], 0.0)
    was_width = np.where(inside, ground.width[before] + step * ground.slope[before], 0.0)
    was_slope = np.where(inside, ground.slope[before], 0.0)
    turn = ends.drift[owner]
    every = np.arange(len(place))
    whose = np.concatenate([every, every, owner])
    when = np.concatenate([
        ends.first, ends.last, ends.middle[owner] + (ground.knot[knot] - place[owner]) / turn,
    ])  # fmt: skip
    by = np.concatenate([sign, -sign, sign[owner]])
    move = ends.drift[whose]
    area = np.concatenate([begin[0], finish[0], np.zeros(len(owner))])
    width = np.concatenate([begin[1], finish[1], np.sign(turn) * (ground.width[knot] - was_width)])
    slope = np.concatenate([begin[2], finish[2], np.sign(turn) * (ground.slope[knot] - was_slope)])
    return whose, when, area * by, width * move * by, slope * move**2 * by
