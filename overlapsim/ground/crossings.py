"""Where a section's reference line comes onto ground and leaves it: level sets, found exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Bools, Floats, Ints
from overlapsim.ground.edges import EDGE_KINDS, JUMP
from overlapsim.ground.profile import Profile, group, spread

HAIRLINE = 1e-9
"""Metres of covered width that rounding may take away: a line that is covered just to the level is on."""

ROUNDING = 2 * JUMP
"""Metres along the way: shorter ground, or a shorter gap, lies between two borders that are one but for
rounding, each of which may be off by half of :data:`~overlapsim.ground.edges.JUMP` and a little."""


@dataclass(frozen=True)
class Stretches:
    """Stretches of the plan on which enough of a band's cross line lies on the ground.

    Attributes
    ----------
    band : ndarray of int, shape (n,)
        Bands, rising; within a band the stretches rise along the plan.
    low, high : ndarray, shape (n,)
        Where the condition comes true and fails, along the plan, metres.
    low_kind, high_kind : ndarray of int, shape (n,)
        Kind of edge that had the larger share in the change at either end.
    """

    band: Ints
    low: Floats
    high: Floats
    low_kind: Ints
    high_kind: Ints


def needed_width(width: Floats, fraction: float, tolerance: float) -> Floats:
    """Width on the ground that makes a section's condition true.

    Parameters
    ----------
    width : ndarray, shape (b,)
        Width of each section, metres.
    fraction : float
        Switch fraction q, 0 to 1.
    tolerance : float
        Edge tolerance, metres: less than this counts as none, all but this as all.

    Returns
    -------
    ndarray, shape (b,)
        Metres. For a section narrower than twice the tolerance the tolerance is half of its width.

    Examples
    --------
    >>> float(needed_width(np.array([0.762]), 0.0, 0.0254)[0])
    0.0254
    >>> round(float(needed_width(np.array([0.762]), 1.0, 0.0254)[0]), 4)
    0.7366
    """
    edge = np.minimum(tolerance, width / 2)
    return np.clip(fraction * width, edge, width - edge)


def stretches(profile: Profile, level: Floats) -> Stretches:
    """Find where the width of ground reaches a level, band by band.

    Parameters
    ----------
    profile : Profile
        Ground in the bands.
    level : ndarray, shape (b,)
        Needed width, metres; zero means any width above :data:`HAIRLINE`.

    Returns
    -------
    Stretches
        Ends lie exactly on the piecewise linear width, jumps at square edges included.

    Examples
    --------
    >>> import shapely
    >>> from overlapsim.ground.edges import edges_of
    >>> from overlapsim.ground.profile import profile
    >>> wedge = edges_of([shapely.Polygon([(0, 0), (10, 10), (10, 50), (0, 50)])])
    >>> found = stretches(profile(wedge, np.array([0.0]), np.array([10.0])), np.array([5.0]))
    >>> found.low.round(6), found.high
    (array([5.]), array([50.]))
    """
    bounds, knot, width = profile.bounds, profile.knot, profile.width
    band = np.repeat(np.arange(profile.bands), np.diff(bounds))
    least = np.where(level > 0, level - HAIRLINE, HAIRLINE)[band]
    following = np.append(knot[1:], knot[-1:])
    end = width + profile.slope * (following - knot)
    last = bounds[1:][bounds[1:] > bounds[:-1]] - 1
    end[last] = 0.0
    before = np.append(0.0, end[:-1])
    before[bounds[:-1][bounds[1:] > bounds[:-1]]] = 0.0
    was, now, then = before >= least, width >= least, end >= least
    # Two chances for a change at every knot: the jump at it, and the slope behind it.
    with np.errstate(divide="ignore", invalid="ignore"):
        within = knot + (least - width) / profile.slope
    within = np.clip(np.where(now != then, within, knot), knot, following)
    place = np.stack([knot, within], axis=1).ravel()
    rises = np.stack([~was & now, ~now & then], axis=1).ravel()
    falls = np.stack([was & ~now, now & ~then], axis=1).ravel()
    of = np.repeat(band, 2)
    begin, end = _real(of[rises], place[rises], place[falls])
    of, low, high = of[rises][begin], place[rises][begin], place[falls][end]
    return Stretches(
        band=of,
        low=low,
        high=high,
        low_kind=_larger_share(profile, of, low, 1.0),
        high_kind=_larger_share(profile, of, high, -1.0),
    )


def _real(band: Ints, low: Floats, high: Floats) -> tuple[Ints, Ints]:
    """Index of the beginning and of the end of stretches, without gaps and pieces that are rounding."""
    fresh: Bools = np.ones(len(band), dtype=bool)
    fresh[1:] = (band[1:] != band[:-1]) | (low[1:] - high[:-1] > ROUNDING)
    begin = np.flatnonzero(fresh)
    end = np.append(begin[1:] - 1, len(band) - 1)[: len(begin)]
    real = high[end] - low[begin] > ROUNDING
    return begin[real], end[real]


def _larger_share(profile: Profile, band: Ints, place: Floats, sign: float) -> Ints:
    """Kind of edge with the larger share of the change of width at places, signs as given."""
    found = profile.ramps
    if not len(band) or not len(found.kind) or (found.kind == found.kind[0]).all():
        return np.full(len(band), found.kind[0] if len(found.kind) else 0, dtype=np.int64)
    order, bounds = group(found.band, profile.bands)
    event, ramp = spread(bounds[band], bounds[band + 1])
    ramp = order[ramp]
    near: Bools = (found.low[ramp] - HAIRLINE <= place[event]) & (place[event] <= found.high[ramp] + HAIRLINE)
    near &= found.change[ramp] * sign > 0
    event, ramp = event[near], ramp[near]
    length = found.high[ramp] - found.low[ramp]
    # A jump changes the width at once: it outweighs every slope, and jumps compare by their size.
    rate = np.abs(found.change[ramp]) / np.where(length > 0, length, HAIRLINE)
    share = np.zeros((len(band), len(EDGE_KINDS)))
    np.add.at(share, (event, found.kind[ramp]), rate)
    return np.argmax(share, axis=1)
