"""How far the best offset moves over what was swept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.questions.search import Offset


def moves_of(swept: Mapping[str, Sequence[Any]], best: Sequence[Offset]) -> dict[str, dict[str, Any]]:
    """Say how far the best offset moves per unit of each swept quantity.

    Parameters
    ----------
    swept : mapping of str to sequence
        Values of every swept key but the offset, SI; the last key runs fastest.
    best : sequence of float or dict of str to float
        Best offset of every combination, metres behind the hitch pin; by rank where there is one per rank.

    Returns
    -------
    dict of str to dict
        For every key with at least two different numbers: `from` and `to`, its smallest and largest value,
        SI, and metres per SI unit: `mean` from the smallest to the largest value, averaged over all else,
        `least` and `largest` between neighbouring values. By rank where there is an offset per rank.

    Examples
    --------
    A tenth of a second takes the best 0.2 m forward, then nothing:

    >>> moved = moves_of({"response.on_latency": (0.3, 0.4, 0.5)}, [2.5, 2.3, 2.3])
    >>> {name: round(value, 6) for name, value in moved["response.on_latency"].items()}
    {'from': 0.3, 'to': 0.5, 'mean': -1.0, 'least': -2.0, 'largest': 0.0}
    """
    found: dict[str, dict[str, Any]] = {}
    shape = tuple(len(values) for values in swept.values())
    for axis, (key, values) in enumerate(swept.items()):
        if not all(isinstance(v, int | float) and not isinstance(v, bool) for v in values):
            continue
        place, order = np.unique(np.array(values, dtype=float), return_index=True)
        if len(place) < 2:
            continue
        told: dict[str, Any] = {"from": float(place[0]), "to": float(place[-1])}
        by_rank: dict[str, dict[str, float]] = {}
        for rank in _common_ranks(best) or [""]:
            offsets = np.array([one[rank] if isinstance(one, dict) else one for one in best])
            grid = np.moveaxis(offsets.reshape(shape), axis, 0)[order].reshape(len(place), -1)
            by_rank[rank] = _slopes(place, grid)
        for name in ("mean", "least", "largest"):
            figures = {rank: one[name] for rank, one in by_rank.items()}
            told[name] = figures.get("", figures)
        found[key] = told
    return found


def _common_ranks(best: Sequence[Offset]) -> list[str]:
    """List the ranks that have an offset of their own in every combination."""
    first = best[0]
    return [n for n in first if all(n in b for b in best)] if isinstance(first, dict) else []  # type: ignore[operator]


def _slopes(place: Floats, grid: Floats) -> dict[str, float]:
    """Metres per unit: over the whole way on average, and the two extremes between neighbours."""
    slope = np.diff(grid, axis=0) / np.diff(place)[:, None]
    mean = float((grid[-1] - grid[0]).mean()) / float(place[-1] - place[0])
    return {"mean": mean, "least": float(slope.min()), "largest": float(slope.max())}
