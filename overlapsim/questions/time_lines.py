"""Pairs of times laid out along one line: all that a search over offset and times needs to try.

At one speed for starts and one for stops all that happens depends on two numbers, `x = r - v_on t_on` and
`y = r - v_off t_off` (r the reference offset, t the times entered): where starts and where stops land. A
search over r alone moves both together, so pairs of times differ only in `y - x`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from overlapsim.control.ledger import Ledger, build_ledger
from overlapsim.questions.options import matched_times
from overlapsim.questions.search import Best, Span, find_best, search_span
from overlapsim.scenario.keys import kind_of
from overlapsim.scenario.quantities import Measure
from overlapsim.scenario.scenario import Scenario

AT_HAND = 12
"""Ledgers that are kept to be read again: as many spots of a box as are looked at together, and some."""

ON_TIME, OFF_TIME = "switching.turn_on_time", "switching.turn_off_time"


class TimeLines:
    """Searches over the offset, one for each difference between where stops and where starts land.

    Attributes
    ----------
    matched : tuple of float
        Turn-on and turn-off time that match what the machine takes, seconds.
    limits : tuple of float
        Shortest and longest time that can be typed in, seconds.
    speeds : tuple of float
        At starts and at stops, m/s.

    Parameters
    ----------
    scenario : Scenario
        All but offset and times as it stands.
    progress : callable
        Called before every search.

    Notes
    -----
    `apart` is how much farther along the way stops are wanted than starts, metres, measured from times that
    match: 0 for times that match or that are both as much too long (at one speed).
    """

    def __init__(self, scenario: Scenario, progress: Callable[[], None] = lambda: None) -> None:
        self.scenario, self.progress = scenario, progress
        speed, own = scenario.speed, scenario.switching
        self.speeds = (speed.at_on, speed.at_off)
        matched = matched_times(scenario).switching
        self.matched = (matched.turn_on_time, matched.turn_off_time)
        kind = kind_of(ON_TIME, scenario.machine)
        longest = kind.high if isinstance(kind, Measure) else 0.0
        entered = (own.turn_on_time, own.turn_off_time)
        # Nobody types a time below zero, but one that is entered so already may stay.
        self.limits = (min(0.0, *entered), max(longest, *entered))
        self._least: dict[float, float] = {}
        self._read: dict[float, Ledger] = {}

    def apart_of(self, times: tuple[float, float]) -> float:
        """Tell on which line a pair of times lies.

        Parameters
        ----------
        times : tuple of float
            Turn-on and turn-off time, seconds.

        Returns
        -------
        float
            `apart`, metres.
        """
        on, off = (v * (t - m) for v, t, m in zip(self.speeds, times, self.matched, strict=True))
        return on - off

    @property
    def range(self) -> Span:
        """Smallest and largest `apart` within the limits of the times, metres."""
        low, high = self.limits
        return self.apart_of((low, high)), self.apart_of((high, low))

    def into_limits(self, times: tuple[float, float]) -> tuple[tuple[float, float], float]:
        """Shift both times alike, as far as needed, into what can be typed in.

        Parameters
        ----------
        times : tuple of float
            Turn-on and turn-off time, seconds.

        Returns
        -------
        times : tuple of float
            Turn-on and turn-off time, seconds.
        shift : float
            By how much more offset the same ground is planted then, metres.
        """
        low, high = self.limits
        least = max(v * (low - t) for v, t in zip(self.speeds, times, strict=True))
        most = min(v * (high - t) for v, t in zip(self.speeds, times, strict=True))
        shift = max(least, min(most, 0.0))
        on, off = (min(max(t + shift / v, low), high) for v, t in zip(self.speeds, times, strict=True))
        return (on, off), shift

    def times_at(self, apart: float) -> tuple[float, float]:
        """Choose the pair of times of a line: as near to what matches as can be.

        Parameters
        ----------
        apart : float
            Which line, metres.

        Returns
        -------
        tuple of float
            Turn-on and turn-off time, seconds.
        """
        (on, off), (v_on, v_off) = self.matched, self.speeds
        return self.into_limits((on + apart / 2 / v_on, off - apart / 2 / v_off))[0]

    def at(self, apart: float) -> Scenario:
        """Put the times of a line into the scenario.

        Parameters
        ----------
        apart : float
            Which line, metres.

        Returns
        -------
        Scenario
            A new one.
        """
        return with_times(self.scenario, self.times_at(apart))

    def least(self, apart: float) -> float:
        """Search the best offset on a line, once.

        Parameters
        ----------
        apart : float
            Which line, metres.

        Returns
        -------
        float
            Its combined error, m².
        """
        if apart not in self._least:
            self.progress()
            if isinstance(self.scenario.switching.reference_offset, dict):
                self._least[apart] = least_of(find_best(self.at(apart)))
            else:
                self._least[apart] = self.ledger(apart).combined.least()
        return self._least[apart]

    def ledger(self, apart: float) -> Ledger:
        """Read a line; the last few stay at hand.

        Parameters
        ----------
        apart : float
            Which line, metres.

        Returns
        -------
        Ledger
            Areas over the one offset, twice as far to both sides where the least lay at an end.
        """
        if apart not in self._read:
            if len(self._read) >= AT_HAND:
                del self._read[next(iter(self._read))]
            one = self.at(apart)
            low, high = search_span([one])
            ledger = build_ledger(one, low, high)
            curve = ledger.combined
            at_ends = curve.at(np.array([low, high]))[:, 0]
            if at_ends.min() <= curve.least():
                ledger = build_ledger(one, 2 * low - high, 2 * high - low)
            self._read[apart] = ledger
        return self._read[apart]

    def offset_at(self, x: float, apart: float) -> float:
        """Turn where starts land into the offset on a line.

        Parameters
        ----------
        x : float
            `r - v_on t_on`, metres.
        apart : float
            Which line, metres.

        Returns
        -------
        float
            Metres behind the hitch pin.
        """
        return x + self.speeds[0] * self.times_at(apart)[0]

    @property
    def curve(self) -> tuple[list[float], list[float]]:
        """All lines that were searched, rising, metres, and the least combined error on each, m²."""
        places = sorted(self._least)
        return places, [self._least[p] for p in places]


def with_times(scenario: Scenario, times: tuple[float, float]) -> Scenario:
    """The same scenario with other times.

    Parameters
    ----------
    scenario : Scenario
        Any scenario.
    times : tuple of float
        Turn-on and turn-off time, seconds.

    Returns
    -------
    Scenario
        A new one.
    """
    return scenario.with_({ON_TIME: times[0], OFF_TIME: times[1]})


def least_of(found: Best) -> float:
    """Least combined error that a search found.

    Parameters
    ----------
    found : Best
        Outcome of a search.

    Returns
    -------
    float
        m².
    """
    # Where each rank has its own offset, the last one was searched with the others where they ended.
    return list(found.ledgers.values())[-1].combined.least()
