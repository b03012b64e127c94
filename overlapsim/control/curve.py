"""Piecewise quadratic functions of one setting, with jumps: sums, values, least values and level sets."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from overlapsim.basics.frames import Floats

FROM_JUMP = 1e-6
"""Metres kept from a jump: on the jump itself rounding decides which side is read."""


SPECK = 1e-9
"""Pieces shorter than this lie between changes that belong together and were pulled apart by rounding:
their half-done values mean nothing, and are passed over."""


@dataclass(frozen=True)
class Curve:
    """Several quantities as piecewise quadratics over one setting.

    Attributes
    ----------
    knot : ndarray, shape (n + 1,)
        Borders of the pieces, rising, in units of the setting.
    value, slope, bend : ndarray, shape (n, q)
        At the start of each piece: value, first and second derivative of each quantity.
    """

    knot: Floats
    value: Floats
    slope: Floats
    bend: Floats

    def at(self, place: Floats) -> Floats:
        """Read all quantities.

        Parameters
        ----------
        place : ndarray, shape (m,)
            Settings, within the first and the last knot.

        Returns
        -------
        ndarray, shape (m, q)
            Quantities; at a jump the piece that begins there.
        """
        k = np.clip(np.searchsorted(self.knot, place, side="right") - 1, 0, len(self.value) - 1)
        step = (place - self.knot[k])[:, None]
        return self.value[k] + step * (self.slope[k] + step * self.bend[k] / 2)

    def combined(self, weights: Floats) -> Curve:
        """Weigh the quantities into one.

        Parameters
        ----------
        weights : ndarray, shape (q,)
            Weight of each quantity.

        Returns
        -------
        Curve
            Of a single quantity.
        """
        weigh = np.asarray(weights)[:, None]
        return Curve(self.knot, self.value @ weigh, self.slope @ weigh, self.bend @ weigh)

    def least(self) -> float:
        """Least value of the first quantity, found exactly.

        Returns
        -------
        float
            The least value, in any unit, the quantity's; of both sides at jumps.
        """
        value, slope, bend, step = self._first()
        end = value + step * (slope + step * bend / 2)
        with np.errstate(divide="ignore", invalid="ignore"):
            turn = np.where(bend > 0, -slope / bend, -1.0)
        bottom = np.where((turn > 0) & (turn < step), value + turn * slope / 2, np.inf)
        real = step > SPECK
        return float(min(value[real].min(), end[real].min(), bottom[real].min()))

    def below(self, level: float) -> list[tuple[float, float]]:
        """Stretches on which the first quantity is at most a level.

        Parameters
        ----------
        level : float
            The level, in any unit, the quantity's.

        Returns
        -------
        list of (float, float)
            Closed stretches, rising; kept :data:`FROM_JUMP` away from jumps beyond which the level is
            exceeded.
        """
        value, slope, bend, step = self._first()
        found: list[tuple[float, float]] = []
        end = value + step * (slope + step * bend / 2)
        # Only pieces that can dip to the level at all are solved one by one.
        with np.errstate(divide="ignore", invalid="ignore"):
            turn = np.where(bend > 0, -slope / bend, -1.0)
        bottom = np.where((turn > 0) & (turn < step), value + turn * slope / 2, np.inf)
        dips = np.minimum(np.minimum(value, end), bottom) <= level
        for k in np.flatnonzero(dips & (step > SPECK)):
            for a, b in _dips(value[k] - level, slope[k], bend[k], step[k]):
                found.append((float(self.knot[k] + a), float(self.knot[k] + b)))
        merged: list[tuple[float, float]] = []
        for a, b in found:
            if merged and a <= merged[-1][1] + 10 * SPECK:
                merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
            else:
                merged.append((a, b))
        return [self._off_jumps(a, b, level) for a, b in merged]

    def _first(self) -> tuple[Floats, Floats, Floats, Floats]:
        return self.value[:, 0], self.slope[:, 0], self.bend[:, 0], np.diff(self.knot)

    def _off_jumps(self, a: float, b: float, level: float) -> tuple[float, float]:
        """Move the ends of a stretch inwards where the value leaps over the level right beside them."""
        beside = np.array([a - FROM_JUMP, b + FROM_JUMP])
        height = self.at(np.clip(beside, self.knot[0], self.knot[-1]))[:, 0] - level
        room = (b - a) / 2
        steep = np.abs(self.slope[:, 0]).max(initial=0.0) * 2 * FROM_JUMP
        inner_a = a + min(FROM_JUMP, room) if height[0] > steep and a > self.knot[0] else a
        inner_b = b - min(FROM_JUMP, room) if height[1] > steep and b < self.knot[-1] else b
        return inner_a, inner_b


def _dips(value: float, slope: float, bend: float, step: float) -> list[tuple[float, float]]:
    """Parts of ``0 .. step`` on which ``value + slope x + bend x²/2`` is at most zero."""
    if bend == 0.0:
        roots = [] if slope == 0.0 else [-value / slope]
    else:
        inner = slope * slope - 2 * bend * value
        if inner < 0.0:
            roots = []
        else:
            # The stable pair: no difference of nearly equal numbers.
            q = -(slope + np.copysign(np.sqrt(inner), slope))
            roots = [q / bend, 2 * value / q if q else 0.0]
    cuts = sorted({0.0, step, *(float(x) for x in roots if 0.0 < x < step)})
    parts: list[tuple[float, float]] = []
    for a, b in pairwise(cuts):
        middle = (a + b) / 2
        if value + middle * (slope + middle * bend / 2) <= 0.0:
            parts.append((a, b))
    return parts


def summed(place: Floats, value: Floats, slope: Floats, bend: Floats, low: float, high: float) -> Curve:
    """Add up changes into a curve.

    Parameters
    ----------
    place : ndarray, shape (n,)
        Where each change happens.
    value, slope, bend : ndarray, shape (n, q)
        Jump of each quantity, of its first and of its second derivative.
    low, high : float
        Range of the curve, in any unit, the setting's; changes at or before `low` make its start, those
        from `high` on are left out.

    Returns
    -------
    Curve
        Over ``low .. high``.
    """
    order = np.argsort(place, kind="stable")
    place, value, slope, bend = (part.take(order, axis=0) for part in (place, value, slope, bend))
    first, last = np.searchsorted(place, low, side="right"), np.searchsorted(place, high, side="left")

    def with_start(changes: Floats) -> Floats:
        return np.concatenate([changes[:first].sum(axis=0, keepdims=True), changes[first:last]])

    value, slope, bend = with_start(value), with_start(slope), with_start(bend)
    knot = np.concatenate([[low], place[first:last], [high]])
    step = np.diff(knot)[:-1, None]
    bend = np.cumsum(bend, axis=0)
    slope[1:] += bend[:-1] * step
    slope = np.cumsum(slope, axis=0)
    value[1:] += step * (slope[:-1] + step * bend[:-1] / 2)
    return Curve(knot, np.cumsum(value, axis=0), slope, bend)
