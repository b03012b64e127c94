"""Running areas of strips that run back over their own ground, drawn and measured at many places.

On the inner side of a tight bend a strip's edge goes backwards, and ground is swept twice that counts once.
What an end adds there is no product of width and way. So such a strip is drawn up to many places of its
window, and the areas of the drawings are the running areas, for stops from its start, for starts from its
end.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.frames import Floats, Ints
from overlapsim.ground.cover import strips_on
from overlapsim.ground.overlay import GRID, polygonal
from overlapsim.ground.profile import Profile
from overlapsim.ground.rails import Rails

STEP = 0.1
"""Metres of way between drawings: between them areas change evenly."""

BESIDE = 8.0
"""Metres of way that are drawn beside a window: its ground may lie under what is planted there."""


def drawn_areas(
    track: Rails, left: float, right: float, span: tuple[float, float], grounds: list[BaseGeometry]
) -> tuple[Floats, list[tuple[Floats, Floats]]]:
    """Draw a strip up to many places of a window and measure it.

    Parameters
    ----------
    track : Rails
        The way.
    left, right : float
        Borders of the strip, right of the way, metres.
    span : tuple of float
        The window on the way, metres.
    grounds : list of shapely.Geometry
        Ground to measure on, and grounds that are taken from it.

    Returns
    -------
    place : ndarray, shape (k,)
        Ways of the drawings, metres.
    areas : list of (ndarray, ndarray)
        On the first ground less the others, on the first ground and on all ground: running areas for
        starts and for stops, m².
    """
    low, high = span
    place = np.linspace(low, high, max(2, int(np.ceil((high - low) / STEP)) + 1))
    count = len(place)
    begin = np.concatenate([np.full(count, low - BESIDE), place])
    end = np.concatenate([place, np.full(count, high + BESIDE)])
    drawn = strips_on(track, np.full(2 * count, left), np.full(2 * count, right), begin, end)
    box = shapely.total_bounds(drawn)
    here = [shapely.clip_by_rect(ground, *box) for ground in grounds]
    free = here[0]
    for taken in here[1:]:
        free = polygonal(shapely.difference(free, taken, grid_size=GRID))
    found = []
    for ground in (free, here[0], None):
        on_it = drawn if ground is None else shapely.intersection(drawn, ground, grid_size=GRID)
        size = shapely.area(on_it)
        found.append((size[count] - size[count:], size[:count] - size[0]))
    return place, found


def with_windows(
    profile: Profile, bands: Ints, places: list[Floats], areas: list[Floats]
) -> Profile:
    """Put measured running areas in the place of reckoned ones.

    Parameters
    ----------
    profile : Profile
        Reckoned.
    bands : ndarray of int, shape (n,)
        Band of each window.
    places : list of ndarray, shape (k,)
        Ways, metres, window by window.
    areas : list of ndarray, shape (k,)
        Running areas there from the window's start, m².

    Returns
    -------
    Profile
        In these windows areas change evenly from place to place.
    """
    if not len(bands):
        return profile
    of = np.repeat(np.arange(profile.bands), np.diff(profile.bounds))
    keep = np.ones(len(of), dtype=bool)
    for band, place in zip(bands, places, strict=True):
        own = slice(profile.bounds[band], profile.bounds[band + 1])
        keep[own] &= (profile.knot[own] < place[0]) | (profile.knot[own] > place[-1])
    width = [np.append(np.diff(a) / np.diff(p), 0.0) for p, a in zip(places, areas, strict=True)]
    none = [np.zeros(len(p)) for p in places]
    band = np.concatenate([of[keep], np.repeat(bands, [len(p) for p in places])])
    knot, widths, slope, area = (
        np.concatenate([getattr(profile, name)[keep], *values])
        for name, values in (("knot", places), ("width", width), ("slope", none), ("area", areas))
    )
    order = np.lexsort((knot, band))
    bounds = np.searchsorted(band[order], np.arange(profile.bands + 1))
    return Profile(bounds, knot[order], widths[order], slope[order], area[order], profile.ramps)
