"""From what was dug up to what to type in: offset error and latencies, settings, and what they cost here."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from overlapsim.basics.errors import Fault, InputError
from overlapsim.basics.units import format_length
from overlapsim.control.run import Simulation, simulate
from overlapsim.drive.plan import plan_drive
from overlapsim.questions.corrected import CorrectResult
from overlapsim.questions.dig_trust import ASSUMED_SPACING, FINEST, READING, UNIFORM, spread_of, trusted_tape
from overlapsim.questions.digs import Dig, DigModel
from overlapsim.questions.found_machine import as_found, choice_of, predicted_at_ends, settings_for
from overlapsim.questions.least_squares import Fit, Known, least_squares
from overlapsim.questions.telling_apart import tape
from overlapsim.scenario.scenario import Scenario

Progress = Callable[[int, int, str], None]
"""Called with what is done, what there is to do, and what is being done."""

STEPS = 4


def correct(
    scenario: Scenario,
    digs: Sequence[Dig],
    progress: Progress | None = None,
    *,
    seed_spacing: float | None = None,
    tape_error: float | None = None,
    trust_tape: bool | None = None,
    rank_distance: bool = False,
    drift: bool = False,
) -> CorrectResult:
    """Tell from digs what is wrong with offset and times, and what to type in.

    Parameters
    ----------
    scenario : Scenario
        Machine as described and settings as they were entered when the digs were made; its latencies are not
        used.
    digs : sequence of Dig
        At least two.
    progress : callable, optional
        Called with steps done, steps in all and what is being done.
    seed_spacing : float, optional
        In the row, m. Default: the scenario's, or 6 in, marked as assumed.
    tape_error : float, optional
        Standard error of the taped distances, m. Default: the scenario's `tune.as_good`.
    trust_tape : bool, optional
        Whether taped distances count as data: the offset error is then nought, give or take the tape's error.
        Default: if a tape error is given, or the scenario's ``[basis]`` says that all working ranks are
        taped.
    rank_distance : bool
        Whether the distances between ranks are unknown too.
    drift : bool
        Whether a displacement along the heading is unknown too.

    Returns
    -------
    CorrectResult
        Estimates, settings, areas before and after.

    Raises
    ------
    InputError
        With less than two digs, digs of ranks that do not work, or digs that no machine would show.

    Notes
    -----
    What is recommended is searched on the machine as found: times on their steps, then the offset as `tune`
    does it, which among offsets as good in area takes the one with the shortest gap. It stays as entered
    where that is neither cheaper nor shorter.

    Examples
    --------
    Starts and stops 0.1 m late at any speed, seeds 0.1 m apart: the offset has 0.1 m too much.

    >>> from overlapsim import Scenario, correct
    >>> from overlapsim.questions.digs import Dig
    >>> scenario = Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "2 m"}}},
    ...     "field": {"rectangle": ["60.96 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s"},
    ... })
    >>> digs = [Dig("on", "bar", "out", v, 0.15) for v in (1.5, 2.5)]
    >>> digs += [Dig("off", "bar", "out", v, 0.05) for v in (1.5, 2.5)]
    >>> done = correct(scenario, digs, seed_spacing=0.1)
    >>> round(done.recommended["reference_offset_m"], 3)
    1.9
    """
    must_be_digs(scenario, digs)
    error = trusted_tape(scenario, tape_error, trust_tape)
    steps = _Steps(progress)
    steps.say("fitting")
    spacing = seed_spacing or scenario.seed.spacing
    heading = plan_drive(scenario).heading if drift or any(scenario.controller.drift) else 0.0
    model = DigModel(scenario, spacing or ASSUMED_SPACING, heading, rank_distance, drift)
    fit = fit_digs(model, digs, error)
    before = after = None
    warnings = _doubts(model, digs, error)
    value = choice_of(model, fit)
    if all(fit.is_known(row) for row in predicted_at_ends(model)):
        found = as_found(model, value)
        steps.say("simulating the machine as found")
        before = simulate(found)
        steps.say("searching the reference offset")
        after = _best_typed(found, value, before)
    done = CorrectResult(
        scenario, tuple(digs), model, fit, error, spacing is None, before, after, tuple(warnings)
    )
    steps.say("counting a second time")
    if before is not None:
        _ = done.largest_witness_difference
    return done


def fit_digs(model: DigModel, digs: Sequence[Dig], tape_error: float | None) -> Fit:
    """Fit the unknowns to digs and, where it is trusted, the tape.

    Parameters
    ----------
    model : DigModel
        What digs should show.
    digs : sequence of Dig
        At least one.
    tape_error : float or None
        Standard error of the taped distances, m; None = not trusted.

    Returns
    -------
    Fit
        In the order of `model.unknowns`; seed spacing alone makes one dig scatter by a twelfth root of it.
    """
    known = Known.nothing(len(model.unknowns)) if tape_error is None else tape(model, tape_error)
    fastest = max(dig.speed for dig in digs)
    return least_squares(
        model.design(digs),
        model.past_line(digs) - model.described(digs),
        known=known,
        least_sigma=max(UNIFORM * model.seed_spacing, FINEST),
        given_sigma=spread_of(model.scenario, model.seed_spacing, READING, fastest),
    )


def _best_typed(found: Scenario, value: dict[str, float], before: Simulation) -> Simulation:
    """Full simulation with the times that fit and the offset that then costs least, as they can be typed
    in."""
    from overlapsim.questions.options import recommend
    from overlapsim.questions.search import EQUAL_SHARE, find_best, with_offset

    times = {f"switching.{key}": one for key, one in settings_for(found, value).items() if one is not None}
    timed = found.with_(times)
    after = simulate(with_offset(timed, recommend(timed, find_best(timed))))
    # What can be typed in may be coarser than what is wrong: then nothing is changed.
    worse = [
        after.areas["combined_m2"] - before.areas["combined_m2"] > EQUAL_SHARE * before.areas["combined_m2"],
        after.areas["longest_gap_m"] >= before.areas["longest_gap_m"],
    ]
    return before if all(worse) else after


def _doubts(model: DigModel, digs: Sequence[Dig], tape_error: float | None) -> list[str]:
    """Say where tape and digs contradict each other."""
    if tape_error is None:
        return []
    alone = fit_digs(model, digs, None)
    row = np.eye(len(model.unknowns))[0]
    if not alone.is_known(row):
        return []
    value, error = alone.of(row)
    allowed = alone.quantile(0.99) * math.hypot(error, tape_error)
    if abs(value) <= allowed:
        return []
    style = "in" if model.scenario.units == "us" else "cm"
    said, reach, trusted = (format_length(x, style) for x in (value, alone.quantile() * error, tape_error))
    return [
        f"Tape and digs contradict each other: the digs alone put the offset error at {said}, give or take "
        f"{reach}, the tape at 0, give or take {trusted}. Tape again, or leave it out: --tape-error none."
    ]


def must_be_digs(scenario: Scenario, digs: Sequence[Dig]) -> None:
    """Refuse what is no set of digs behind this machine.

    Parameters
    ----------
    scenario : Scenario
        Whose machine was dug behind.
    digs : sequence of Dig
        What was measured.

    Raises
    ------
    InputError
        With less than two digs, or digs of ranks that do not work.
    """
    working = scenario.machine.working_ranks
    faults = [
        Fault(
            f"does not work in row setup {scenario.machine.setup}",
            f"Working: {', '.join(working)}.",
            "rank",
            name,
        )
        for name in sorted({dig.rank for dig in digs} - set(working))
    ]
    if len(digs) < 2:
        count = "no dig" if not digs else "one dig"
        faults.append(
            Fault(
                f"{count}: where a seed lies is chance, within one seed spacing",
                "Dig starts and stops, at least two of each.",
            )
        )
    if faults:
        raise InputError(faults)


class _Steps:
    """Tells how far it is."""

    def __init__(self, progress: Progress | None) -> None:
        self.progress, self.done = progress, 0

    def say(self, what: str) -> None:
        if self.progress:
            self.progress(self.done, STEPS, what)
        self.done += 1
