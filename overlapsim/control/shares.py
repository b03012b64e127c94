"""Conditions of sections that look at boundary and planted ground apart: each share must reach its own."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.drive.laps import outer_less
from overlapsim.ground.crossings import HAIRLINE, ROUNDING, Stretches, needed_width, stretches
from overlapsim.ground.edges import PLANTED, Edges
from overlapsim.ground.profile import Profile
from overlapsim.scenario.switching import SwitchFractions


def on_stretches(
    seen: Callable[[Edges], Profile],
    ground: Edges,
    field: Edges,
    width: Floats,
    fraction: float | SwitchFractions,
    tolerance: float,
) -> Stretches:
    """Find where sections' conditions hold along a way.

    Parameters
    ----------
    seen : callable
        Makes the profile of some ground in the sections' bands.
    ground : Edges
        Ground to be planted.
    field : Edges
        All plantable ground, in the same frame; asked only where shares are told apart.
    width : ndarray, shape (b,)
        Width of each section, metres.
    fraction : float or SwitchFractions
        Switch fraction, or one for each kind of edge.
    tolerance : float
        Edge tolerance, metres.

    Returns
    -------
    Stretches
        Band by band.

    Notes
    -----
    With p the length of the line on plantable ground and g that on ground to be planted, the share inside the
    boundary is p / W and the share not yet planted 1 - (p - g) / W. Each must reach its fraction, and some
    ground to be planted (more than the edge tolerance) must lie under the line at all.
    """
    if not isinstance(fraction, SwitchFractions):
        return stretches(seen(ground), needed_width(width, fraction, tolerance))
    inside = stretches(seen(field), needed_width(width, fraction.boundary, tolerance))
    some = stretches(seen(ground), needed_width(width, 0.0, tolerance))
    most = width - needed_width(width, fraction.planted, tolerance)
    # Held just to the limit is not too much.
    held = stretches(seen(outer_less(field, ground)), most + 2 * HAIRLINE)
    return _together(inside, some, held, len(width))


def _together(inside: Stretches, some: Stretches, held: Stretches, bands: int) -> Stretches:
    """Where two conditions hold and a third does not, with the edge that decides at every end."""
    found: list[tuple[int, float, float, int, int]] = []
    for band in range(bands):
        events: list[tuple[float, int, int, int]] = []
        for number, one, sense in ((0, inside, 1), (1, some, 1), (2, held, -1)):
            own: Ints = np.flatnonzero(one.band == band)
            for i in own:
                kinds = (PLANTED, PLANTED) if number == 2 else (int(one.low_kind[i]), int(one.high_kind[i]))
                events.append((float(one.low[i]), sense, number, kinds[0]))
                events.append((float(one.high[i]), -sense, number, kinds[1]))
        holds, begun = 0, None
        # At one and the same place "off" goes before "on": two pieces that touch are joined below.
        for place, change, _, kind in sorted(events):
            before, holds = holds, holds + change
            if before < 2 <= holds:
                begun = (place, kind)
            elif holds < 2 <= before and begun is not None:
                last = found[-1] if found and found[-1][0] == band else None
                if last is not None and begun[0] - last[2] <= ROUNDING:
                    found[-1] = (band, last[1], place, last[3], kind)
                else:
                    found.append((band, begun[0], place, begun[1], kind))
    found = [one for one in found if one[2] - one[1] > ROUNDING]
    columns = list(zip(*found, strict=True)) or [()] * 5
    ints, floats = np.dtype(np.int64), np.dtype(float)
    return Stretches(
        *(np.array(c, dtype=t) for c, t in zip(columns, (ints, floats, floats, ints, ints), strict=True))
    )
