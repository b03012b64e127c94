"""Many runs counted a second time, in threads: geometry and arrays let go of the interpreter meanwhile."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from overlapsim.control.run import Simulation

_MOST_THREADS = 4
"""More of them wait for one another, and each holds a run's polygons."""


@contextmanager
def counting_again(runs: Iterable[Simulation]) -> Iterator[None]:
    """Have the second witness look at runs while other work goes on.

    Parameters
    ----------
    runs : iterable of Simulation
        Runs on one field; those that planted the very same strips are counted once.

    Yields
    ------
    None
        At the end of the block all have been counted, and their witnesses say at once what they found.

    Raises
    ------
    BalanceError
        Where polygons do not hold what was planted.
    """
    threads = ThreadPoolExecutor(min(os.cpu_count() or 1, _MOST_THREADS))
    try:
        counts = [threads.submit(_difference, run) for run in _different(runs)]
        yield
        for count in counts:
            count.result()
    finally:
        threads.shutdown(cancel_futures=True)


def largest_difference(runs: Iterable[Simulation]) -> float:
    """Tell by how much the second witness differs at most.

    Parameters
    ----------
    runs : iterable of Simulation
        Runs on one field, counted again or not.

    Returns
    -------
    float
        Largest relative difference, no unit.

    Raises
    ------
    BalanceError
        Where polygons do not hold what was planted.
    """
    some = _different(runs)
    with counting_again(some):
        pass
    return max(map(_difference, some))


def _different(runs: Iterable[Simulation]) -> list[Simulation]:
    """The first of all runs that planted the very same strips."""
    found: dict[bytes, Simulation] = {}
    for run in runs:
        strip, corners = run.raw
        found.setdefault(strip.tobytes() + corners.tobytes(), run)
    return list(found.values())


def _difference(run: Simulation) -> float:
    return run.witness.largest_relative_difference
