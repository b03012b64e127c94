"""The reference offset with the least combined error, what is equal to it and what is as good."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from overlapsim.control.ledger import Ledger, build_ledger
from overlapsim.control.response import late_by
from overlapsim.control.run import Simulation, simulate
from overlapsim.questions.targets import row_end_cost, row_targets
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

AT_END = 1e-6
"""Metres from an end of the range that count as the end."""

POLISH = (-0.02, -0.01, 0.01, 0.02)
"""Metres beside the ledger's best at which full simulations are made (headland laps)."""

SETTLED = 1e-9
"""Metres: ranks' offsets that move less no longer move."""

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
    run : Simulation or None
        The full simulation there; None where each rank has its own.
    """

    offset: Offset
    equal: Span | dict[str, Span]
    as_good: Span | dict[str, Span]
    bracketed: bool
    ledgers: dict[str, Ledger] = field(repr=False)
    run: Simulation | None = field(default=None, repr=False)


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


def best_offset(scenario: Scenario, alike: Simulation | None = None) -> Offset:
    """Search the reference offset with the least combined error, and nothing else about it.

    Parameters
    ----------
    scenario : Scenario
        Everything but the offset as it stands; with an offset per rank each of them is searched.
    alike : Simulation, optional
        With headland laps: a run of this drive under conditions not too different, which saves one.

    Returns
    -------
    float or dict of str to float
        Metres behind the hitch pin; by rank where the scenario has one per rank.
    """
    held = scenario.switching.reference_offset
    if not isinstance(held, dict):
        return _read(scenario, None, alike)[0].offset
    ranks = row_layout(scenario).working_ranks
    offsets = {name: held[name] for name in ranks}
    for _ in range(SWEEPS):
        before = dict(offsets)
        for name in ranks:
            offsets[name] = _read(with_offset(scenario, offsets), name, alike)[0].offset
        # Without ground that passes or laps share the ranks' ground is apart: the first round is final.
        if all(abs(offsets[n] - before[n]) < SETTLED for n in ranks):
            break
    return offsets


def least_read(scenario: Scenario) -> tuple[float, Ledger]:
    """Search one offset for all ranks without headland laps, and nothing else about it.

    Parameters
    ----------
    scenario : Scenario
        Everything but the offset as it stands.

    Returns
    -------
    offset : float
        Metres behind the hitch pin.
    ledger : Ledger
        What it was read from.
    """
    read, ledger = _read(scenario, None, None)
    return read.offset, ledger


def find_best(scenario: Scenario, known: Simulation | None = None) -> Best:
    """Search the reference offset with the least combined error, what equals it and what is as good.

    Parameters
    ----------
    scenario : Scenario
        Everything but the offset as it stands; with an offset per rank each of them is searched.
    known : Simulation, optional
        A run of this very scenario, which saves one with headland laps.

    Returns
    -------
    Best
        Without headland laps exact but for rounding; with them polished by full simulations.
    """
    if not isinstance(scenario.switching.reference_offset, dict):
        return _search(scenario, None, known)
    offsets = best_offset(scenario, known)
    assert isinstance(offsets, dict)
    found: dict[str, Best] = {}
    for name in offsets:
        found[name] = _search(with_offset(scenario, offsets), name, known)
        offsets[name] = float(found[name].offset)  # type: ignore[arg-type]
    return Best(
        offset=offsets,
        equal={n: b.equal for n, b in found.items()},  # type: ignore[misc]
        as_good={n: b.as_good for n, b in found.items()},  # type: ignore[misc]
        bracketed=all(b.bracketed for b in found.values()),
        ledgers={n: b.ledgers[n] for n, b in found.items()},
    )


@dataclass(frozen=True)
class _Reading:
    """What a ledger says: the least, its stretch, and its value."""

    offset: float
    equal: Span
    least: float
    inside: bool


def _read(
    scenario: Scenario, rank: str | None, known: Simulation | None, span: Span | None = None
) -> tuple[_Reading, Ledger]:
    """Read the least of one ledger, on a wider range while it lies at an end of it."""
    ranks = None if rank is None else frozenset({rank})
    targets = row_targets(scenario, ranks)
    low, high = span or search_span([scenario], ranks)
    for widened in range(WIDER + 1):
        ledger = build_ledger(scenario, low, high, ranks, known)
        least = ledger.combined.least()
        level = least + max(EQUAL_SHARE * abs(least), EQUAL_GROUND * scenario.field.plantable_m2)
        equal = ledger.combined.below(level)
        best = targets.best_of([min(max(targets.middle, a), b) for a, b in equal])
        own = next((a, b) for a, b in equal if a <= best <= b)
        inside = bool(low + AT_END < own[0] and own[1] < high - AT_END)
        if inside or widened == WIDER:
            break
        low, high = _wider((low, high))
    return _Reading(best, own, least, inside), ledger


def _fits(known: Simulation | None, scenario: Scenario, rank: str | None, span: Span) -> bool:
    """Whether a run's offset lies on a ledger's range, the other ranks' offsets being those that are held."""
    if known is None:
        return False
    offset, held = known.scenario.switching.reference_offset, scenario.switching.reference_offset
    if isinstance(offset, dict) and isinstance(held, dict) and rank is not None:
        others = all(offset[n] == held[n] for n in held if n != rank)
        return others and span[0] < offset[rank] < span[1]
    return not isinstance(offset, dict) and rank is None and span[0] < offset < span[1]


def _wider(span: Span) -> Span:
    by = (span[1] - span[0]) / 2
    return span[0] - by, span[1] + by


def _search(scenario: Scenario, rank: str | None, known: Simulation | None) -> Best:
    """Search the one offset, or one rank's own with the others held."""
    ranks = None if rank is None else frozenset({rank})
    reach = scenario.tune.as_good
    span = search_span([scenario], ranks)
    for widened in range(WIDER + 1):
        read, ledger = _read(scenario, rank, known if _fits(known, scenario, rank, span) else None, span)
        low, high = float(ledger.curve.knot[0]), float(ledger.curve.knot[-1])
        best, own, run = _polished(scenario, rank, read, (low, high))
        level = read.least + row_end_cost(run, ranks) * reach
        wide = next(((a, b) for a, b in ledger.combined.below(level) if a <= best <= b), own)
        at_end = wide[0] <= low + AT_END or wide[1] >= high - AT_END
        if not at_end or not read.inside or widened == WIDER:
            break
        span = _wider((low, high))
    shrunk = (wide[0] + reach, wide[1] - reach)
    as_good = (min(shrunk[0], best), max(shrunk[1], best)) if shrunk[0] <= shrunk[1] else (best, best)
    return Best(best, own, as_good, read.inside, {rank or "": ledger}, run)


def _polished(
    scenario: Scenario, rank: str | None, read: _Reading, span: Span
) -> tuple[float, Span, Simulation]:
    """With headland laps, where the ledger is not exact, the lowest of full simulations beside its best."""

    def run(offset: float) -> Simulation:
        return simulate(
            with_offset(scenario, offset if rank is None else {**_all_offsets(scenario), rank: offset})
        )

    best, own, at_best = read.offset, read.equal, run(read.offset)
    if not scenario.plan.headland_laps:
        return best, own, at_best
    for beside in POLISH:
        place = read.offset + beside
        if span[0] < place < span[1]:
            other = run(place)
            if other.areas["combined_m2"] < at_best.areas["combined_m2"] * (1 - EQUAL_SHARE):
                best, at_best = place, other
    return best, own if own[0] <= best <= own[1] else (best, best), at_best


def _all_offsets(scenario: Scenario) -> dict[str, float]:
    offset = scenario.switching.reference_offset
    assert isinstance(offset, dict)
    return dict(offset)
