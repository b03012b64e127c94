"""Width and running area of ground in bands, as exact piecewise functions of the place along the way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.ground.edges import Edges, Ramps, ramps, spread


def bisect(sorted_groups: Floats, first: Ints, last: Ints, value: Floats) -> Ints:
    """Find how many entries of a sorted group are at most a value, many groups at once.

    Keys that join group and place into one number lose digits of the place; this does not.

    Parameters
    ----------
    sorted_groups : ndarray, shape (k,)
        Groups one after another, each sorted.
    first, last : ndarray of int, shape (q,)
        The slice of each question's group.
    value : ndarray, shape (q,)
        What to look for.

    Returns
    -------
    ndarray of int, shape (q,)
        Index of the first entry greater than the value (the slice's end if there is none).

    Examples
    --------
    >>> bisect(np.array([0.0, 5.0, 1.0, 2.0]), np.array([2]), np.array([4]), np.array([1.5]))
    array([3])
    """
    # Ever shorter steps on from before the first entry, as long as what is reached is at most the value.
    found, step = first - 1, 1 << int((last - first).max(initial=0)).bit_length()
    while step := step // 2:
        ahead = found + step
        held = ahead < last
        held &= sorted_groups[np.where(held, ahead, 0)] <= value
        found = np.where(held, ahead, found)
    return found + 1


@dataclass(frozen=True)
class Profile:
    """Width and running area of some ground in bands across the plan.

    Between knots the width is linear and the running area quadratic; at a knot the width may jump.

    Attributes
    ----------
    bounds : ndarray of int, shape (b + 1,)
        Band `i` has the knots ``bounds[i] .. bounds[i + 1] - 1``.
    knot : ndarray, shape (k,)
        Places along the plan, metres, rising within a band.
    width, slope : ndarray, shape (k,)
        Width just after the knot, metres, and its change per metre up to the next knot.
    area : ndarray, shape (k,)
        Ground of the band before the knot, m².
    ramps : Ramps
        What the profile was made of.
    """

    bounds: Ints
    knot: Floats
    width: Floats
    slope: Floats
    area: Floats
    ramps: Ramps

    @property
    def bands(self) -> int:
        """Number of bands."""
        return len(self.bounds) - 1

    def total(self) -> Floats:
        """Add up the ground of each band.

        Returns
        -------
        ndarray, shape (b,)
            m².
        """
        has = self.bounds[1:] > self.bounds[:-1]
        result = np.zeros(self.bands)
        result[has] = self.area[self.bounds[1:][has] - 1]
        return result

    def piece(self, band: Ints, place: Floats) -> Ints:
        """Find the knot at or before a place.

        Parameters
        ----------
        band : ndarray of int, shape (q,)
            Bands.
        place : ndarray, shape (q,)
            Places along the plan, metres.

        Returns
        -------
        ndarray of int, shape (q,)
            Index of the knot, one less than the band's first where the place is before it.
        """
        return bisect(self.knot, self.bounds[band], self.bounds[band + 1], place) - 1

    def area_before(self, band: Ints, place: Floats) -> Floats:
        """Ground of bands before places along the plan.

        Parameters
        ----------
        band : ndarray of int, shape (q,)
            Bands.
        place : ndarray, shape (q,)
            Places along the plan, metres.

        Returns
        -------
        ndarray, shape (q,)
            Areas, m².
        """
        area, _, _ = self.at(band, place)
        return area

    def at(self, band: Ints, place: Floats) -> tuple[Floats, Floats, Floats]:
        """Running area, width and the width's slope at places along the plan.

        Parameters
        ----------
        band : ndarray of int, shape (q,)
            Bands.
        place : ndarray, shape (q,)
            Places along the plan, metres.

        Returns
        -------
        area, width, slope : ndarray, shape (q,)
            m² before the place, metres at (just after) it, metres per metre.
        """
        return self.on_piece(self.piece(band, place), band, place)

    def on_piece(self, k: Ints, band: Ints, place: Floats) -> tuple[Floats, Floats, Floats]:
        """Running area, width and the width's slope at places whose pieces are known.

        Parameters
        ----------
        k : ndarray of int, shape (q,)
            What `piece` tells of them.
        band : ndarray of int, shape (q,)
            Bands.
        place : ndarray, shape (q,)
            Places along the plan, metres.

        Returns
        -------
        area, width, slope : ndarray, shape (q,)
            m² before the place, metres at (just after) it, metres per metre.
        """
        if not len(self.knot):
            zero = np.zeros(len(place))
            return zero, zero.copy(), zero.copy()
        inside = k >= self.bounds[band]
        k = np.where(inside, k, 0)
        step = place - self.knot[k]
        area = self.area[k] + step * (self.width[k] + step * self.slope[k] / 2)
        width = self.width[k] + step * self.slope[k]
        return tuple(np.where(inside, v, 0.0) for v in (area, width, self.slope[k]))  # type: ignore[return-value]


def profile(edges: Edges, left: Floats, right: Floats) -> Profile:
    """Work out width and running area of ground in bands.

    Parameters
    ----------
    edges : Edges
        Ground, in the plan frame.
    left, right : ndarray, shape (b,)
        Borders of the bands across, metres, sorted, not overlapping.

    Returns
    -------
    Profile
        Exact but for rounding and :data:`~overlapsim.ground.edges.JUMP`.

    Examples
    --------
    A field 10 m wide and 100 m long, seen by two bands of 3 m, one of them half outside:

    >>> import shapely
    >>> from overlapsim.ground.edges import edges_of
    >>> field = edges_of([shapely.box(0, 0, 10, 100)])
    >>> profile(field, np.array([2.0, 8.5]), np.array([5.0, 11.5])).total()
    array([300., 150.])
    """
    return profile_of(ramps(edges, left, right), len(left))


def profile_of(
    found: Ramps,
    bands: int,
    start: tuple[float | Floats, Floats] | None = None,
    end: float | Floats | None = None,
) -> Profile:
    """Add up ramps band by band.

    Parameters
    ----------
    found : Ramps
        What single edges do.
    bands : int
        Number of bands.
    start : tuple of float or ndarray, and ndarray, shape (b,), optional
        Where ways begin, metres, and the width that is on ground there, metres; by default the
        bands begin off the ground.
    end : float or ndarray, shape (b,), optional
        Where ways end, metres: behind it nothing counts as ground.

    Returns
    -------
    Profile
        Exact but for rounding.
    """
    jump = found.high == found.low
    ramp = np.flatnonzero(~jump)
    # Happenings: a ramp begins; a ramp is complete or the width jumps. Each is a knot.
    band = [found.band[ramp], found.band]
    place = [found.low[ramp], found.high]
    gain = [np.zeros(len(ramp)), found.change]
    every = np.arange(bands)
    if start is not None:
        band.append(every)
        place.append(np.full(bands, start[0]))
        gain.append(start[1])
    if end is not None:
        band.append(every)
        place.append(np.full(bands, end))
        gain.append(np.zeros(bands))
    of, at_place, gained = np.concatenate(band), np.concatenate(place), np.concatenate(gain)
    order = np.lexsort((at_place, of))
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    of, at_place, gained = of[order], at_place[order], gained[order]
    bounds = np.searchsorted(of, np.arange(bands + 1))
    # Open ramps are summed knot by knot: running sums of steep slopes would leave their rounding behind.
    owner, at = spread(rank[: len(ramp)], rank[len(ramp) : len(ramp) + len(found.band)][ramp])
    owner = ramp[owner]
    rate = found.change[owner] / (found.high[owner] - found.low[owner])
    slope = np.bincount(at, rate, minlength=len(of))
    width = _running(gained, bounds) + np.bincount(
        at, rate * (at_place[at] - found.low[owner]), minlength=len(of)
    )
    filled = bounds[1:] > bounds[:-1]
    last = bounds[1:][filled] - 1
    width[last], slope[last] = 0.0, 0.0
    step = np.diff(at_place, append=np.nan)
    step[last] = 0.0
    ground = np.append(0.0, step * (width + slope * step / 2))[:-1]
    ground[bounds[:-1][filled]] = 0.0
    return Profile(bounds, at_place, width, slope, _running(ground, bounds), found)


def _running(values: Floats, bounds: Ints) -> Floats:
    """Running sums that start anew in every group."""
    total = np.cumsum(values)
    before = np.append(0.0, total)[bounds[:-1]]
    return total - np.repeat(before, np.diff(bounds))


def group(keys: Ints, count: int) -> tuple[Ints, Ints]:
    """Order items by a key and say where each key's items lie.

    Parameters
    ----------
    keys : ndarray of int, shape (n,)
        Key of each item, ``0 .. count - 1``.
    count : int
        Number of keys.

    Returns
    -------
    order : ndarray of int, shape (n,)
        Items in the order of their keys, otherwise as they were.
    bounds : ndarray of int, shape (count + 1,)
        Items of key `k` are ``order[bounds[k] : bounds[k + 1]]``.
    """
    order = np.argsort(keys, kind="stable")
    return order, np.searchsorted(keys[order], np.arange(count + 1))

