"""The best offset and the as-good stretch of many curves at once, each read at the same offsets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from overlapsim.basics.frames import Floats, Ints


@dataclass(frozen=True)
class Stretches:
    """What each of many curves says.

    Attributes
    ----------
    best : ndarray, shape (n,)
        Offset with the least combined error, metres behind the hitch pin; where a whole stretch has it, the
        place in it with the smallest worst row.
    least : ndarray, shape (n,)
        Combined error there, m².
    low, high : ndarray, shape (n,)
        The as-good stretch, metres behind the hitch pin; `best` where nothing is left of it.
    """

    best: Floats
    least: Floats
    low: Floats
    high: Floats


def stretches(
    offsets: Floats, values: Floats, middle: Floats, alike: Floats, more: float, tape: float
) -> Stretches:
    """Find best offsets and as-good stretches.

    Parameters
    ----------
    offsets : ndarray, shape (m,)
        Metres behind the hitch pin, rising in even steps.
    values : ndarray, shape (n, m)
        Combined errors, m².
    middle : ndarray, shape (n,)
        Offset with the smallest worst row, metres behind the hitch pin.
    alike : ndarray, shape (n,)
        Combined errors closer than this to the least are equal, m².
    more : float
        What counts as just as good, m².
    tape : float
        The tape's error, metres: as-good stretches are so much shorter at both ends.

    Returns
    -------
    Stretches
        Between the offsets curves run evenly; where one has a single lowest place it is that of a parabola
        through three of them.

    Examples
    --------
    >>> at = np.linspace(0.0, 4.0, 5)
    >>> found = stretches(at, (at - 1.75)[None, :] ** 2, np.array([0.0]), np.array([0.0]), 1.0, 0.0)
    >>> found.best.round(6).tolist(), found.low.round(4).tolist()
    ([1.75], [0.8])
    """
    step, rows = offsets[1] - offsets[0], np.arange(len(values))
    lowest = values.argmin(axis=1)
    least = values[rows, lowest]
    first, last = _around(values <= (least + alike)[:, None], lowest)
    inner = np.clip(lowest, 1, len(offsets) - 2)
    before, here, after = (values[rows, inner + by] for by in (-1, 0, 1))
    bend = before - 2.0 * here + after
    with np.errstate(divide="ignore", invalid="ignore"):
        turn = np.where(bend > 0.0, np.clip((before - after) / (2.0 * bend), -1.0, 1.0), 0.0)
    single = offsets[inner] + turn * step
    best = np.where(first < last, np.clip(middle, offsets[first], offsets[last]), single)
    low, high = _ends(offsets, values, least + more, lowest)
    low, high = np.minimum(low + tape, best), np.maximum(high - tape, best)
    return Stretches(best, least, low, high)


def _ends(offsets: Floats, values: Floats, level: Floats, lowest: Ints) -> tuple[Floats, Floats]:
    """Where curves pass a level to both sides of their lowest place."""
    rows, step = np.arange(len(values)), offsets[1] - offsets[0]
    first, last = _around(values <= level[:, None], lowest)
    before, after = np.maximum(first - 1, 0), np.minimum(last + 1, len(offsets) - 1)

    def beyond(inside: Ints, outside: Ints) -> Floats:
        rise = values[rows, outside] - values[rows, inside]
        with np.errstate(divide="ignore", invalid="ignore"):
            share = (level - values[rows, inside]) / rise
        return np.where(inside == outside, 0.0, np.clip(share, 0.0, 1.0)) * step

    return offsets[first] - beyond(first, before), offsets[last] + beyond(last, after)


def _around(inside: np.ndarray, lowest: Ints) -> tuple[Ints, Ints]:
    """First and last place of the stretch of true ones that holds the lowest place."""
    rows, place = np.arange(len(inside)), np.arange(inside.shape[1])
    before = np.maximum.accumulate(np.where(inside, -1, place), axis=1)[rows, lowest]
    behind = np.where(inside, inside.shape[1], place)[:, ::-1]
    after = np.minimum.accumulate(behind, axis=1)[:, ::-1][rows, lowest]
    return before + 1, after - 1
