"""Row ends of a field gathered by pass end, as data for the map: what a tap on it tells."""

from __future__ import annotations

from typing import Any

import numpy as np

from overlapsim.basics.frames import Ints
from overlapsim.control.result import places
from overlapsim.ground.edges import EDGE_KINDS
from overlapsim.report.page.paths import Corner

MOST_ENDS = 15_000
"""Row ends that a page holds, at most; of a larger field none, and it says so."""


def ends_data(run: Any, corner: Corner) -> dict[str, Any] | None:
    """Gather row ends by pass end.

    Parameters
    ----------
    run : Simulation
        Finished simulation.
    corner : Corner
        Where the map begins.

    Returns
    -------
    dict or None
        ``rows``: rank and number of every row from the left; ``ranks``; ``legs``: name of every leg;
        ``ends``: for each place where neighbouring rows start or stop on one leg its middle on the drawing
        (two figures, cm), the leg's number from 0, 0 for starts and 1 for stops, the kind of edge, the first
        row, and each row's distance beyond the edge, mm, null where it meets none. None where there are too
        many.
    """
    ends, layout = run.ends, run.layout
    if not len(ends.leg) or len(ends.leg) > MOST_ENDS:
        return None
    order = np.lexsort((ends.row, ends.way, ends.off, ends.leg))
    leg, row, off, way = ends.leg[order], ends.row[order], ends.off[order], ends.way[order]
    group = _groups(leg, off, way, layout.working_width)
    spot = corner.place(places(run, leg, row, way))
    errors = np.round(ends.error[order] * 1000)
    kinds = ends.kind[order]
    told = []
    first = np.flatnonzero(np.r_[True, np.diff(group) > 0])
    for low, high in zip(first, np.r_[first[1:], len(group)], strict=True):
        own = np.arange(low, high)[np.argsort(row[low:high], kind="stable")]
        known: list[int | None] = [None] * int(row[own[-1]] - row[own[0]] + 1)
        for i in own:
            if np.isfinite(errors[i]):
                known[row[i] - row[own[0]]] = int(errors[i])
        x, y = np.round(spot[own].mean(axis=0)).astype(int).tolist()
        kind = int(np.bincount(kinds[own]).argmax())
        told.append([x, y, int(leg[low]), int(off[low]), kind, int(row[own[0]]), known])
    return {
        "rows": [[layout.working_ranks.index(str(r)), int(n)]
                 for r, n in zip(layout.rank, layout.number, strict=True)],
        "ranks": list(layout.working_ranks),
        "legs": leg_names(run),
        "edges": list(EDGE_KINDS),
        "ends": told,
    }  # fmt: skip


def _groups(leg: Ints, off: Any, way: Any, width: float) -> Ints:
    """Number the pass ends: row ends of one leg and kind that follow one another within a working width."""
    same = (np.diff(leg) == 0) & (off[1:] == off[:-1]) & (np.diff(way) <= width)
    numbers: Ints = np.cumsum(np.r_[0, ~same])
    return numbers


def leg_names(run: Any) -> list[str]:
    """Name the legs in driving order.

    Parameters
    ----------
    run : Simulation
        Finished simulation.

    Returns
    -------
    list of str
        As in ``"pass 12"`` or ``"lap 1"``.
    """
    names, passes = [], 0
    for leg in run.drive.legs:
        passes += leg.kind == "pass"
        names.append(f"pass {passes}" if leg.kind == "pass" else f"lap {leg.lap + 1}")
    return names
