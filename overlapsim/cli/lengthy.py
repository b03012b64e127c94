"""What will take long, said before it begins."""

from __future__ import annotations

from collections.abc import Callable

from overlapsim.cli.saying import say

LONG_S = 10.0
"""Seconds from which on one wants to know beforehand (common practice, no source)."""

_UNITS = ((90 * 60.0, 3600.0, "hours"), (90.0, 60.0, "minutes"), (0.0, 1.0, "seconds"))


def foretold(name: str, quiet: bool) -> Callable[[str, float], None]:
    """Make what tells beforehand that something will take long.

    Parameters
    ----------
    name : str
        What is being worked on.
    quiet : bool
        Tell nothing at all.

    Returns
    -------
    callable
        Takes what is about to be done and the seconds that it will take.
    """

    def before(what: str, seconds: float) -> None:
        if not quiet and seconds >= LONG_S:
            say(f"{name}: {what} will take about {duration(seconds)}. Ctrl-C stops it and writes nothing.")

    return before


def duration(seconds: float) -> str:
    """Write a duration as one says it beforehand.

    Parameters
    ----------
    seconds : float
        How long, seconds.

    Returns
    -------
    str
        To one digit below ten, else to two.

    Examples
    --------
    >>> duration(34.2), duration(100), duration(1380), duration(7000)
    ('34 seconds', '1.7 minutes', '23 minutes', '1.9 hours')
    """
    size, unit = next((size, unit) for least, size, unit in _UNITS if seconds >= least)
    number = seconds / size
    return f"{number:.2g} {unit}" if number < 9.95 and unit != "seconds" else f"{number:.0f} {unit}"
