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
    group = _groups(ends.leg[order], ends.off[order], ends.way[order], layout.working_width)
    order = order[np.lexsort((ends.row[order], group))]
    leg, row, off = ends.leg[order], ends.row[order], ends.off[order]
    first = np.flatnonzero(np.diff(group, prepend=-1))
    size = np.diff(first, append=len(group))
    spot = corner.place(places(run, leg, row, ends.way[order]))
    middle = np.round(np.add.reduceat(spot, first) / size[:, None]).astype(int)
    kinds = np.bincount(group * len(EDGE_KINDS) + ends.kind[order], minlength=len(first) * len(EDGE_KINDS))
    kind = kinds.reshape(len(first), -1).argmax(axis=1)
    # Rows between those that start or stop there are told as rows that meet no edge.
    wide = row[first + size - 1] - row[first] + 1
    bounds = np.append(0, np.cumsum(wide))
    error = np.full(bounds[-1], np.nan)
    error[(bounds[:-1] - row[first])[group] + row] = np.round(ends.error[order] * 1000)
    known = np.where(np.isfinite(error), error, 0.0).astype(int).astype(object)
    known[~np.isfinite(error)] = None
    told = [
        [*numbers, known_there.tolist()]
        for numbers, known_there in zip(
            np.column_stack([middle, leg[first], off[first], kind, row[first]]).tolist(),
            np.split(known, bounds[1:-1]), strict=True,
        )
    ]  # fmt: skip
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
