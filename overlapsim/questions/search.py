"""The reference offset with the least combined error, what is equal to it and what is as good."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from overlapsim.control.ledger import Ledger, build_ledger
from overlapsim.control.response import late_by, offset_for
from overlapsim.control.run import Simulation, simulate
from overlapsim.questions.targets import row_targets
from overlapsim.scenario.rows import row_layout
from overlapsim.scenario.scenario import Scenario

EQUAL_SHARE = 1e-6
"""Combined errors closer than this share of the least one are equal: digits that mean nothing."""

EQUAL_GROUND = 1e-9
"""The same as a share of the plantable area, for a least error near zero."""

BEYOND = 0.5
"""Metres by which the search goes beyond the offsets at which all rows are late or all early."""

WIDER = 4
"""How often the range is widened where the best or the as-good stretch reaches its end."""

SWEEPS = 4
"""How often each rank's own offset is searched again with the others held, at most."""

Offset = float | dict[str, float]
Span = tuple[float, float]


@dataclass(frozen=True)
class Best:
    """The outcome of one search.

    Attributes
    ----------
    offset : float or dict of str to float
        The least, metres behind the hitch pin; by rank where the scenario has one per rank.
    equal, as_good : tuple of float, or dict of str to tuple
        Stretch equal to it but for rounding, and stretch that is as good for a tape.
    bracketed : bool
        Whether the least lies within the range that was searched.
    ledgers : dict of str to Ledger
        What was read, by rank; under the empty name where one offset serves all.
    """

    offset: Offset
    equal: Span | dict[str, Span]
    as_good: Span | dict[str, Span]
    bracketed: bool
    ledgers: dict[str, Ledger] = field(repr=False)


def search_span(scenarios: Iterable[Scenario], ranks: frozenset[str] | None = None) -> Span:
    """Range of offsets beyond which all rows are late or all early at every end.

    Parameters
    ----------
    scenarios : iterable of Scenario
        All conditions that are laid side by side.
    ranks : frozenset of str, optional
        Only these ranks; by default all that work.

    Returns
    -------
    low, high : float
        Metres behind the hitch pin: from min(a) - max(c) - d to max(a) - min(c) + d, and
        :data:`BEYOND` more at both ends.
    """
    low, high = [], []
    for scenario in scenarios:
        layout = row_layout(scenario)
        chosen = [n for n in layout.working_ranks if ranks is None or n in ranks]
        behind = [layout.behind_pin_of(n) for n in chosen]
        late = [c for n in chosen for c in late_by(scenario, n)]
        wanted = max(vars(scenario.switching.deliberate_overlap).values())
        low.append(min(behind) - max(late) - wanted)
        high.append(max(behind) - min(late) + wanted)
    return min(low) - BEYOND, max(high) + BEYOND


def row_end_cost(run: Simulation, ranks: frozenset[str] | None = None) -> float:
    """What one metre costs if every row end of a run pays it.

    Parameters
    ----------
    run : Simulation
        A run.
    ranks : frozenset of str, optional
        Only row ends of these ranks.

    Returns
    -------
    float
        m² of combined error per metre.
    """
    weights = run.scenario.weights
    row = run.ends.row
    if ranks is not None:
        row = row[np.isin(run.layout.rank[row], sorted(ranks))]
    return float(run.layout.width[row].sum()) * (weights.skip + max(weights.overlap, weights.off_field)) / 2


def with_offset(scenario: Scenario, offset: Offset) -> Scenario:
    """The same scenario with another reference offset.

    Parameters
    ----------
    scenario : Scenario
        Any scenario.
    offset : float or dict of str to float
        Metres behind the hitch pin, for all or by rank.

    Returns
    -------
    Scenario
        A new one.
    """
    return scenario.with_({"switching.reference_offset": offset})


def find_best(scenario: Scenario) -> Best:
    """Search the reference offset with the least combined error.

    Parameters
    ----------
    scenario : Scenario
        Everything but the offset as it stands; with an offset per rank each of them is searched.

    Returns
    -------
    Best
        Without headland laps exact but for rounding.
    """
    if isinstance(scenario.switching.reference_offset, dict):
        return _best_by_rank(scenario)
    return _search(scenario, None)


def _best_by_rank(scenario: Scenario) -> Best:
    """Search one rank's offset after the other until nothing moves any more.

    Without passes that lie over one another the ranks' ground is apart, and the first sweep is final.
    """
    layout = row_layout(scenario)
    offsets = {name: offset_for(scenario, name) for name in layout.working_ranks}
    found: dict[str, Best] = {}
    for _ in range(SWEEPS):
        before = dict(offsets)
        for name in layout.working_ranks:
            found[name] = _search(with_offset(scenario, offsets), name)
            offsets[name] = float(found[name].offset)  # type: ignore[arg-type]
        if all(abs(offsets[n] - before[n]) < 1e-9 for n in offsets):
            break
    return Best(
        offset=offsets,
        equal={n: b.equal for n, b in found.items()},  # type: ignore[misc]
        as_good={n: b.as_good for n, b in found.items()},  # type: ignore[misc]
        bracketed=all(b.bracketed for b in found.values()),
        ledgers={n: b.ledgers[n] for n, b in found.items()},
    )


def _search(scenario: Scenario, rank: str | None) -> Best:
    """Search the one offset, or one rank's own with the others held."""
    ranks = None if rank is None else frozenset({rank})
    targets = row_targets(scenario, ranks)
    low, high = search_span([scenario], ranks)
    for widened in range(WIDER + 1):
        ledger = build_ledger(scenario, low, high, ranks)
        combined = ledger.combined
        least = combined.least()
        level = least + max(EQUAL_SHARE * abs(least), EQUAL_GROUND * scenario.field.plantable_m2)
        equal = combined.below(level)
        best = targets.best_of([min(max(targets.middle, a), b) for a, b in equal])
        own = next((a, b) for a, b in equal if a <= best <= b)
        offset = best if rank is None else {**_all_offsets(scenario), rank: best}
        cost = row_end_cost(simulate(with_offset(scenario, offset)), ranks)
        reach = scenario.tune.as_good
        wide = next(((a, b) for a, b in combined.below(least + cost * reach) if a <= best <= b), own)
        inside = bool(low + 1e-6 < own[0] and own[1] < high - 1e-6)
        if (inside and low + 1e-6 < wide[0] and wide[1] < high - 1e-6) or widened == WIDER:
            break
        low, high = low - (high - low) / 2, high + (high - low) / 2
    shrunk = (wide[0] + reach, wide[1] - reach)
    as_good = (min(shrunk[0], best), max(shrunk[1], best)) if shrunk[0] <= shrunk[1] else (best, best)
    return Best(best, own, as_good, inside, {rank or "": ledger})


def _all_offsets(scenario: Scenario) -> dict[str, float]:
    offset = scenario.switching.reference_offset
    assert isinstance(offset, dict)
    return dict(offset)
