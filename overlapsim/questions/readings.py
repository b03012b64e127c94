"""Areas and row-end figures at many reference offsets of one scenario, read from the ledger."""

from __future__ import annotations

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.commands import commands, starts_of, update_phase
from overlapsim.control.lap_ledger import RESOLVED
from overlapsim.control.ledger import Ledger, build_ledger
from overlapsim.control.money import free_ground, money_from
from overlapsim.control.response import sow
from overlapsim.control.row_ends import row_ends
from overlapsim.control.run import simulate
from overlapsim.control.strips import on_laps
from overlapsim.control.switched import Switched, sow_drive, switch_drive
from overlapsim.drive.legs import Drive
from overlapsim.drive.plan import plan_drive
from overlapsim.questions.search import Offset, search_span
from overlapsim.questions.swept import OFFSET
from overlapsim.questions.targets import row_targets
from overlapsim.scenario.scenario import Scenario

AT_ONCE = 24
"""Offsets whose row ends are worked out together: enough to be fast, few enough for little memory."""

BEYOND = 5 * RESOLVED
"""Metres by which the ledger reaches beyond the outermost offsets that are read: at its very ends contested
ground is not told."""


def areas_at(
    scenario: Scenario, offsets: list[Offset], ledger: Ledger | None = None
) -> list[dict[str, float]]:
    """Areas and row-end figures at many reference offsets of one scenario.

    Parameters
    ----------
    scenario : Scenario
        Conditions.
    offsets : list of float
        Metres behind the hitch pin.
    ledger : Ledger, optional
        One of this very scenario; by default, or where it does not reach so far, one is built.

    Returns
    -------
    list of dict of str to float
        The same keys as the areas of a full simulation.
    """
    if any(isinstance(offset, dict) for offset in offsets):
        return [simulate(scenario.with_({OFFSET: offset})).areas for offset in offsets]
    if isinstance(scenario.switching.reference_offset, dict):
        scenario = scenario.with_({OFFSET: offsets[0]})
    values = np.array(offsets, dtype=float)
    low, high = search_span([scenario])
    low, high = min(low, values.min() - BEYOND), max(high, values.max() + BEYOND)
    if ledger is None or not ledger.curve.knot[0] <= low < high <= ledger.curve.knot[-1]:
        ledger = build_ledger(scenario, low, high)
    read, planted = ledger.curve.at(values), ledger.planted.at(values)[:, 0]
    combined = ledger.combined.at(values)[:, 0]
    targets = row_targets(scenario)
    half = len(targets.target) // 2
    missing, double, free = _row_figures(scenario, values)
    value = scenario.value
    paid = money_from(value, read[:, 0], read[:, 1], read[:, 2], free) if value.given else {}
    return [
        {
            "skip_m2": float(read[i, 0]),
            "overlap_m2": float(read[i, 1]),
            "off_field_m2": float(read[i, 2]),
            "combined_m2": float(combined[i]),
            "planted_m2": float(planted[i]),
            "worst_row_error_m": targets.worst(r),
            "longest_gap_m": max(
                0.0, float((r - targets.target[:half]).max()), float((targets.target[half:] - r).max())
            ),
            "missing_row_m": float(missing[i]),
            "double_planted_row_m": float(double[i]),
            **{key: float(amount[i]) for key, amount in paid.items()},
        }
        for i, r in enumerate(values)
    ]


def _row_figures(scenario: Scenario, offsets: Floats) -> tuple[Floats, Floats, Floats]:
    """Metres of row missing and double-planted, and m² in free gaps, summed over row ends at each offset."""
    drive = plan_drive(scenario)
    switched = switch_drive(scenario, drive)
    missing, double, free = _on_laps(scenario, drive, switched, offsets)
    chains, deepest = switched.chains, float(drive.layout.behind_pin.max())
    every: Ints = np.arange(len(chains.leg))
    for first in range(0, len(offsets), AT_ONCE):
        some = offsets[first : first + AT_ONCE]
        virtual = chains.take(np.tile(every, len(some)))
        reference = np.repeat(some, len(every))
        start = starts_of(drive, virtual.leg, np.maximum(deepest, reference))
        given = commands(scenario, virtual, reference, start, update_phase(virtual.leg))
        sowing = sow(scenario, drive.layout, virtual, given)
        ends = row_ends(scenario, drive, switched, sowing)
        signed = np.where(ends.off, -ends.error, ends.error)
        case = np.tile(sowing.chain, 2) // max(len(every), 1)
        known = np.isfinite(signed)
        gap, width = signed[known], drive.layout.width[ends.row[known]]
        nothing = np.where((gap > 0.0) & (gap < scenario.value.free_gap), gap * width, 0.0)
        sums = (missing, np.maximum(gap, 0.0)), (double, np.maximum(-gap, 0.0)), (free, nothing)
        for total, part in sums:
            total[first : first + AT_ONCE] += np.bincount(case[known], part, minlength=len(some))
    return missing, double, free


def _on_laps(
    scenario: Scenario, drive: Drive, switched: Switched, offsets: Floats
) -> tuple[Floats, Floats, Floats]:
    """The same on laps, read once: every row end moves along its way as far as the offset does."""
    missing, double, free = (np.zeros(len(offsets)) for _ in range(3))
    if not switched.laps:
        return missing, double, free
    held = scenario.switching.reference_offset
    assert not isinstance(held, dict)
    sowing = sow_drive(scenario, drive, switched)
    ends = row_ends(scenario, drive, switched, sowing.take(on_laps(drive, sowing)))
    width = drive.layout.width[ends.row]
    for i, offset in enumerate(offsets):
        error = ends.error + (offset - held)
        near = np.abs(error) <= drive.width
        signed = np.where(ends.off, -error, error)[near]
        missing[i], double[i] = np.maximum(signed, 0.0).sum(), np.maximum(-signed, 0.0).sum()
        free[i] = free_ground(signed, width[near], scenario.value.free_gap, np.zeros(1))[0]
    return missing, double, free
