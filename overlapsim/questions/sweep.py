"""Settings and conditions side by side, read from the ledger."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from overlapsim.basics.errors import ScenarioError
from overlapsim.basics.frames import Floats, Ints
from overlapsim.control.chains import chains_of
from overlapsim.control.commands import commands, starts_of, update_phase
from overlapsim.control.ledger import build_ledger
from overlapsim.control.response import sow
from overlapsim.control.row_ends import row_ends
from overlapsim.control.switched import Switched
from overlapsim.drive.plan import plan_drive
from overlapsim.questions.moves import moves_of
from overlapsim.questions.sampled import sampled_ledger
from overlapsim.questions.search import Offset, Span, find_best, search_span
from overlapsim.questions.swept import OFFSET, as_column, cases_of, columns_of
from overlapsim.questions.targets import row_targets
from overlapsim.scenario.scenario import Scenario

AT_ONCE = 24
"""Offsets whose row ends are worked out together: enough to be fast, few enough for little memory."""

PER_SEARCH = 20
"""Offsets whose row ends are read in the time of one search without headland laps (measured and rounded)."""


@dataclass(frozen=True)
class Sweep:
    """What was laid side by side.

    Attributes
    ----------
    columns : dict of str to ndarray
        Columns of the table: swept quantities in SI, then areas; a row per combination.
    conditions : list of dict
        For every combination of what is swept besides the offset: its values and the best offset.
    cases : list of dict
        The same values by dotted key, SI.
    moves : dict of str to dict
        How far the best offset moves per unit of each swept number; see :func:`moves_of`.
    """

    columns: dict[str, np.ndarray]
    conditions: list[dict[str, Any]]
    cases: list[dict[str, Any]] = field(default_factory=list)
    moves: dict[str, dict[str, Any]] = field(default_factory=dict)


def searches_of(scenario: Scenario) -> float:
    """Reckon how long a sweep takes.

    Parameters
    ----------
    scenario : Scenario
        With its ``[sweep]``.

    Returns
    -------
    float
        In times of one search for the best reference offset (no unit): for each combination of conditions a
        search and a reading of the ledger. 0 where no conditions are swept.
    """
    cases = len(cases_of(scenario))
    if cases == 1:
        return 0.0
    rows = 0 if scenario.plan.headland_laps else len(scenario.sweep.get(OFFSET, ())) or 1
    return cases * (2.0 + rows / PER_SEARCH)


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
        A row per combination, in the order in which the sweep names its values, offsets fastest. Where other
        keys are swept and the offset is not, it stays as set.
    """
    swept = {key: values for key, values in scenario.sweep.items() if key != OFFSET}
    cells = {key: columns_of(key, values, scenario) for key, values in swept.items()}
    told = [{k: v for one in case for k, v in one.items()} for case in itertools.product(*cells.values())]
    cases = cases_of(scenario)
    # All are made before the first is searched: what does not go together is said at once.
    changed = [changed_to(scenario, case) for case in cases]
    rows: list[dict[str, Any]] = []
    best: list[Offset] = []
    for values, one in zip(told, changed, strict=True):
        best.append(find_best(one).offset)
        offsets = list(scenario.sweep.get(OFFSET, ())) or _default_offsets(one, span)
        for place, areas in zip(columns_of(OFFSET, offsets, one), areas_at(one, offsets), strict=True):
            rows.append({**values, **place, **areas})
        progress()
    columns = {name: as_column([row[name] for row in rows]) for name in (rows[0] if rows else {})}
    conditions = [
        {**values, "best_reference_offset_m": dict(one) if isinstance(one, dict) else one}
        for values, one in zip(told, best, strict=True)
    ]
    return Sweep(columns, conditions, cases, moves_of(swept, best))


def changed_to(scenario: Scenario, case: dict[str, Any]) -> Scenario:
    """Put one combination of swept values into a scenario.

    Parameters
    ----------
    scenario : Scenario
        As it stands.
    case : dict
        Values by dotted key, SI.

    Returns
    -------
    Scenario
        A new one.

    Raises
    ------
    ScenarioError
        Where values that go one by one do not go together; it names the combination.
    """
    try:
        return scenario.with_(case) if case else scenario
    except ScenarioError as error:
        together = ", ".join(f"{key} = {value}" for key, value in case.items())
        faults = [
            replace(one, key="sweep", rule=f"with {together} (SI): {one.key} {one.rule}")
            for one in error.faults
        ]
        raise ScenarioError(faults) from None


def _default_offsets(scenario: Scenario, span: Span) -> list[Offset]:
    """As set where something else is swept or each rank has its own, else the range of the search."""
    step, held = scenario.controller.offset_step, scenario.switching.reference_offset
    if scenario.sweep or isinstance(held, dict):
        return [held]
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
