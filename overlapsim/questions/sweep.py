"""Settings and conditions side by side, read from the ledger."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.chains import chains_of
from overlapsim.control.commands import commands, starts_of, update_phase
from overlapsim.control.ledger import build_ledger
from overlapsim.control.response import sow
from overlapsim.control.row_ends import row_ends
from overlapsim.control.switched import Switched
from overlapsim.drive.plan import plan_drive
from overlapsim.questions.sampled import sampled_ledger
from overlapsim.questions.search import Offset, Span, find_best, search_span
from overlapsim.questions.targets import row_targets
from overlapsim.scenario.keys import column_name
from overlapsim.scenario.scenario import Scenario

OFFSET = "switching.reference_offset"
"""The swept setting: its values are read from one ledger per combination of the others."""

AT_ONCE = 24
"""Offsets whose row ends are worked out together: enough to be fast, few enough for little memory."""


@dataclass(frozen=True)
class Sweep:
    """What was laid side by side.

    Attributes
    ----------
    columns : dict of str to ndarray
        Columns of the table: swept quantities in SI, then areas; a row per combination.
    conditions : list of dict
        For every combination of what is swept besides the offset: its values and the best offset.
    """

    columns: dict[str, np.ndarray]
    conditions: list[dict[str, Any]]


def sweep(scenario: Scenario, span: Span, progress: Callable[[], None] = lambda: None) -> Sweep:
    """Read the areas of every swept combination.

    Parameters
    ----------
    scenario : Scenario
        With its ``[sweep]``; without one the default range of offsets in entry steps.
    span : tuple of float
        Range of offsets of the search, metres behind the hitch pin.
    progress : callable
        Called after every combination of conditions.

    Returns
    -------
    Sweep
        A row per combination, in the order in which the sweep names its values, offsets fastest.
    """
    swept = dict(scenario.sweep)
    offsets: list[Offset] = list(swept.pop(OFFSET, ())) or _default_offsets(scenario, span)
    cases = list(itertools.product(*swept.values()))
    changed = [scenario.with_(dict(zip(swept, case, strict=True))) if case else scenario for case in cases]
    names = {key: column_name(key, scenario.machine) for key in swept}
    rows: list[dict[str, Any]] = []
    conditions: list[dict[str, Any]] = []
    for case, one in zip(cases, changed, strict=True):
        values = {names[key]: value for key, value in zip(swept, case, strict=True)}
        conditions.append({**values, "best_reference_offset_m": find_best(one).offset})
        for offset, areas in zip(offsets, areas_at(one, offsets), strict=True):
            rows.append({**values, column_name(OFFSET, scenario.machine): offset, **areas})
        progress()
    columns = {name: np.array([row[name] for row in rows]) for name in (rows[0] if rows else {})}
    return Sweep(columns, conditions)


def _default_offsets(scenario: Scenario, span: Span) -> list[Offset]:
    step = scenario.controller.offset_step
    if isinstance(scenario.switching.reference_offset, dict):
        return [scenario.switching.reference_offset]
    return [n * step for n in range(math.ceil(span[0] / step), math.floor(span[1] / step) + 1)]


def areas_at(scenario: Scenario, offsets: list[Offset]) -> list[dict[str, float]]:
    """Areas and row-end figures at many reference offsets of one scenario.

    Parameters
    ----------
    scenario : Scenario
        Conditions.
    offsets : list of float
        Metres behind the hitch pin.

    Returns
    -------
    list of dict of str to float
        The same keys as the areas of a full simulation.
    """
    if any(isinstance(offset, dict) for offset in offsets):
        from overlapsim.control.run import simulate

        return [simulate(scenario.with_({OFFSET: offset})).areas for offset in offsets]
    if isinstance(scenario.switching.reference_offset, dict):
        scenario = scenario.with_({OFFSET: offsets[0]})
    values = np.array(offsets, dtype=float)
    low, high = search_span([scenario])
    if scenario.plan.headland_laps:
        _, known = sampled_ledger(scenario, min(low, values.min()), max(high, values.max()))
        place = known.pop("offset_m")
        return [{name: float(np.interp(r, place, v)) for name, v in known.items()} for r in values]
    ledger = build_ledger(scenario, min(low, values.min() - 1e-3), max(high, values.max() + 1e-3))
    read, planted = ledger.curve.at(values), ledger.planted.at(values)[:, 0]
    combined = ledger.combined.at(values)[:, 0]
    targets = row_targets(scenario)
    half = len(targets.target) // 2
    missing, double = _row_figures(scenario, values)
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
        }
        for i, r in enumerate(values)
    ]


def _row_figures(scenario: Scenario, offsets: Floats) -> tuple[Floats, Floats]:
    """Metres of row missing and double-planted, summed over row ends, at each offset."""
    drive = plan_drive(scenario)
    chains = chains_of(scenario, drive, drive.ground)
    switched = Switched(chains, drive.ground, ())
    deepest = float(drive.layout.behind_pin.max())
    missing, double = np.zeros(len(offsets)), np.zeros(len(offsets))
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
        for total, part in ((missing, signed), (double, -signed)):
            total[first : first + AT_ONCE] = np.bincount(
                case[known], np.maximum(part[known], 0.0), minlength=len(some)
            )
    return missing, double
