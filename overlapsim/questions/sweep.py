"""Settings and conditions side by side, read from the ledger."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from overlapsim.basics.errors import ScenarioError
from overlapsim.questions.moves import moves_of
from overlapsim.questions.readings import areas_at
from overlapsim.questions.search import Best, Offset, Span, best_offset
from overlapsim.questions.swept import OFFSET, as_column, cases_of, columns_of
from overlapsim.scenario.scenario import Scenario

PER_SEARCH = 20
"""Offsets whose row ends are read in the time of one search (measured and rounded)."""


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
    return cases * (2.0 + len(scenario.sweep.get(OFFSET, (0,))) / PER_SEARCH)


def sweep(
    scenario: Scenario, span: Span, progress: Callable[[], None] = lambda: None, found: Best | None = None
) -> Sweep:
    """Read the areas of every swept combination.

    Parameters
    ----------
    scenario : Scenario
        With its ``[sweep]``; without one the default range of offsets in entry steps.
    span : tuple of float
        Range of offsets of the search, metres behind the hitch pin.
    progress : callable
        Called after every combination of conditions.
    found : Best, optional
        The search of this very scenario: taken over where no conditions are swept.

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
        best.append(found.offset if found and not values else best_offset(one))
        offsets = list(scenario.sweep.get(OFFSET, ())) or _default_offsets(one, span)
        read = areas_at(one, offsets, found.ledgers.get("") if found and not values else None)
        for place, areas in zip(columns_of(OFFSET, offsets, one), read, strict=True):
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
