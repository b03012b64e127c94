"""Which offset is best where things are not known to the last digit, and how sure one can be of it."""

from __future__ import annotations

import math

import numpy as np

from overlapsim.basics.errors import Fault, InputError, ScenarioError
from overlapsim.basics.frames import Floats
from overlapsim.basics.units import INCH
from overlapsim.control.run import Simulation, simulate
from overlapsim.questions.options import typed_shift
from overlapsim.questions.search import EQUAL_GROUND, EQUAL_SHARE, search_span, with_offset
from overlapsim.questions.targets import row_end_cost
from overlapsim.questions.uncertain_draws import Draws, assumed_spreads, drawn, scenarios_of
from overlapsim.questions.uncertain_points import not_known, point_at
from overlapsim.questions.uncertain_readers import Before, Progress, Reader, drawn_reader, lateness
from overlapsim.questions.uncertain_result import BAND, Uncertain
from overlapsim.questions.uncertain_shared import Apart, shared_reader
from overlapsim.questions.uncertain_stretches import stretches
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.uncertain import SEED, SHOWN, check_spreads

DRAWS = 2000
"""Draws where all of them share their ground."""

DRAWS_ANEW = 200
"""Draws where each of them has to be worked out for itself."""

MOST_DRAWS = 10_000
"""More draws take memory and tell nothing more."""


STEP = INCH / 4
"""Metres between the offsets at which curves of all draws are read."""

AGAIN = 200
"""How often draws are drawn anew from the draws, for the standard error (the bootstrap of Efron 1979)."""

ZOOMS, ZOOMED_AT = 3, 33
"""How often the best on average is looked at more closely, and at how many offsets."""

CURVE_STEPS = 2
"""Every so many steps the curve is told."""


def with_spreads(scenario: Scenario) -> tuple[Scenario, bool]:
    """See that draws can be made of a scenario, and take spreads where none is stated.

    Parameters
    ----------
    scenario : Scenario
        As it stands.

    Returns
    -------
    scenario : Scenario
        With spreads.
    assumed : bool
        Whether they are assumed.

    Raises
    ------
    ScenarioError
        Where a spread does not fit, or each rank has an offset of its own.
    """
    if isinstance(scenario.switching.reference_offset, dict):
        raise ScenarioError(
            Fault(
                "is one per rank: what is uncertain is searched for one offset that serves all",
                'Write one offset, as in "101.5 in", or leave --uncertain out.',
                "switching.reference_offset",
            )
        )
    assumed = not scenario.uncertain
    spread = scenario.model_copy(update={"uncertain": assumed_spreads(scenario)}) if assumed else scenario
    if not spread.uncertain:
        rule = "is missing, and nothing in the scenario says what could be off"
        raise ScenarioError(Fault(rule, f"Write [uncertain] and below it {SHOWN}.", "uncertain"))
    if faults := list(check_spreads(spread)):
        raise ScenarioError(faults)
    return spread, assumed


def check_draws(scenario: Scenario, draws: int | None, seed: int) -> None:
    """Refuse what cannot be drawn, before anything is searched.

    Parameters
    ----------
    scenario : Scenario
        As it stands.
    draws : int or None
        How many.
    seed : int
        Chance.

    Raises
    ------
    InputError
        Where the number of draws or the seed is none.
    ScenarioError
        Where a spread does not fit.
    """
    if draws is not None and not 2 <= draws <= MOST_DRAWS:
        raise InputError(Fault("is not from 2 to 10,000", f"Write {DRAWS}.", "draws", str(draws)))
    if seed < 0:
        raise InputError(Fault("is negative", "Write 0 or more.", "seed", str(seed)))
    with_spreads(scenario)


def look_at_draws(
    as_set: Simulation,
    recommended: Simulation,
    draws: int | None = None,
    seed: int = SEED,
    workers: int = 1,
    progress: Progress | None = None,
    before: Before | None = None,
) -> Uncertain:
    """Draw what may be off, and read every draw at all offsets.

    Parameters
    ----------
    as_set, recommended : Simulation
        Full simulations as set, and at the offset and times that are typed in.
    draws : int, optional
        How many; by default :data:`DRAWS`, or :data:`DRAWS_ANEW` where each is worked out for itself.
    seed : int
        Chance, 0 or more.
    workers : int
        Processes that work side by side where each draw is worked out for itself; the result is the same.
    progress : callable, optional
        Called with what is done, what there is to do, and what is being done.
    before : callable, optional
        Called before draws are worked out one by one, with the seconds that it is likely to take.

    Returns
    -------
    Uncertain
        The outcome.
    """
    scenario, assumed = with_spreads(recommended.scenario)
    tell = (lambda what: progress(0, 0, what)) if progress else (lambda what: None)
    tell("drawing")
    reader = _reader(scenario, draws, seed, recommended.drive.heading, workers, progress, before)
    tell("reading all draws")
    offsets = _offsets(reader.scenarios, reader.draws)
    curves, middle = reader.combined(offsets), _middle(reader, recommended)
    slack = np.maximum(EQUAL_SHARE * curves.min(axis=1), EQUAL_GROUND * scenario.field.plantable_m2)
    tape = scenario.tune.as_good
    more = row_end_cost(recommended) * tape
    found = stretches(offsets, curves, middle, slack, more, tape)
    mean, where = curves.mean(axis=0), float(middle.mean())
    alike = max(EQUAL_SHARE * float(mean.min()), EQUAL_GROUND * scenario.field.plantable_m2)
    on_average = stretches(offsets, mean[None], np.array([where]), np.array([alike]), more, tape)
    best = _closer(reader, float(on_average.best[0]))
    step = _on_step(scenario, reader, best)
    run = simulate(with_offset(scenario, step))
    today = reader if _same_times(as_set, recommended) else _today(as_set, reader, scenario, workers)
    points = (
        point_at("now", as_set, today, found),
        point_at("type_in", recommended, reader, found),
        point_at("on_average", run, reader, found),
    )
    low, high = np.quantile(curves, BAND, axis=0)
    return Uncertain(
        scenario, assumed, seed, reader.draws.count, isinstance(reader, Apart), best,
        _standard_error(offsets, curves, middle, alike, seed),
        (float(on_average.low[0]), float(on_average.high[0])), found, points,
        not_known(best, recommended, reader, tell),
        offsets[::CURVE_STEPS], mean[::CURVE_STEPS], low[::CURVE_STEPS], high[::CURVE_STEPS],
    )  # fmt: skip


def _reader(
    scenario: Scenario, draws: int | None, seed: int, heading: float, workers: int,
    progress: Progress | None, before: Before | None,
) -> Reader:  # fmt: skip
    """Read from shared ground where that is exact, else draw by draw."""

    def made(count: int) -> tuple[Draws, list[Scenario]]:
        own = drawn(scenario, count, seed)
        return own, scenarios_of(own)

    own, scenarios = made(draws or DRAWS)
    known = lateness(scenarios, heading)
    offsets = _offsets(scenarios, own)
    shared = shared_reader(own, scenarios, known, (float(offsets[0]), float(offsets[-1])))
    if shared:
        return shared
    if draws is None:
        own, scenarios = made(DRAWS_ANEW)
        known, offsets = lateness(scenarios, heading), _offsets(scenarios, own)
    return drawn_reader(own, scenarios, known, offsets, workers, progress, before)


def _offsets(scenarios: list[Scenario], draws: Draws) -> Floats:
    """Offsets at which all curves are read: as far as the search goes over all draws."""
    low, high = search_span(scenarios)
    low, high = low - float(draws.offset.max()), high - float(draws.offset.min())
    return low + STEP * np.arange(math.ceil((high - low) / STEP) + 1)


def _middle(reader: Reader, run: Simulation) -> Floats:
    """Offset with the smallest worst row in each draw, metres behind the hitch pin."""
    layout, wanted = run.layout, run.scenario.switching.deliberate_overlap.boundary
    working = [bool((~layout.off)[layout.rank == rank].any()) for rank in reader.known.ranks]
    use = working if any(working) else [True] * len(working)
    target = -reader.known.late[:, use] + np.array([wanted, -wanted])
    return (target.min(axis=(1, 2)) + target.max(axis=(1, 2))) / 2 - reader.draws.offset


def _closer(reader: Reader, best: float) -> float:
    """Look at the mean more closely around its lowest place, where it is read and not drawn."""
    if not isinstance(reader, Apart):
        return best
    reach = STEP
    for _ in range(ZOOMS):
        around = best + np.linspace(-reach, reach, ZOOMED_AT)
        mean = reader.combined(around).mean(axis=0)
        lowest = int(mean.argmin())
        # On a level stretch the place with the smallest worst row stands.
        if mean[ZOOMED_AT // 2] > mean[lowest] * (1.0 + EQUAL_SHARE):
            best = float(around[lowest])
        reach *= 2 / (ZOOMED_AT - 1)
    return best


def _on_step(scenario: Scenario, reader: Reader, best: float) -> float:
    """The cheaper of the two entry steps around an offset."""
    step, shift = scenario.controller.offset_step, typed_shift(scenario)
    numbers = (math.floor((best + shift) / step + 1e-9), math.ceil((best + shift) / step - 1e-9))
    around = np.array([number * step - shift for number in numbers])
    return float(around[int(reader.combined(around).mean(axis=0).argmin())])


def _standard_error(offsets: Floats, curves: Floats, middle: Floats, alike: float, seed: int) -> float:
    """Draw draws from the draws, over and over: how far the best on average then scatters, metres."""
    count = len(curves)
    source = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(AGAIN,)))
    share = source.multinomial(count, np.full(count, 1.0 / count), size=AGAIN) / count
    again = stretches(offsets, share @ curves, share @ middle, np.full(AGAIN, alike), 0.0, 0.0)
    return float(again.best.std(ddof=1))


def _same_times(one: Simulation, other: Simulation) -> bool:
    a, b = one.scenario.switching, other.scenario.switching
    return (a.turn_on_time, a.turn_off_time) == (b.turn_on_time, b.turn_off_time)


def _today(as_set: Simulation, reader: Reader, scenario: Scenario, workers: int) -> Reader:
    """Read the same draws with the times that are entered today."""
    entered = as_set.scenario.model_copy(update={"uncertain": scenario.uncertain})
    own = Draws(entered, reader.draws.off_by, reader.draws.count)
    scenarios = scenarios_of(own)
    known = lateness(scenarios, as_set.drive.heading)
    at = float(entered.switching.reference_offset)  # type: ignore[arg-type]
    shared = shared_reader(own, scenarios, known, (at, at)) if isinstance(reader, Apart) else None
    return shared or drawn_reader(own, scenarios, known, np.array([at]), workers)
