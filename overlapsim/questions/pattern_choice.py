"""Ways to drive a field held against each other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from overlapsim.basics.errors import BalanceError
from overlapsim.basics.frames import Bools, Floats
from overlapsim.control import result
from overlapsim.questions.cases import Store, run_cases
from overlapsim.questions.pattern_cases import LAPS, Pattern, hashes, lay_out
from overlapsim.questions.pattern_run import run_pattern
from overlapsim.questions.search import EQUAL_GROUND, EQUAL_SHARE
from overlapsim.scenario.scenario import Scenario

Progress = Callable[[int, int, str], None]
"""Called with what is done, what there is to do, and what is being done."""

SAME_LENGTH = 0.01
"""Metres: drives that differ by less are equally long (a lap's path is known to 2 cm)."""


@dataclass(frozen=True)
class PatternsResult:
    """Ways to drive one field, each with today's reference offset and with its own best.

    Attributes
    ----------
    scenario : Scenario
        As it is driven today.
    patterns : tuple of dict
        What results tell of each pattern, SI: today's first. `working_m` is the length driven with the
        machine down; `unbeaten` tells that no other pattern loses less ground, at its best, and is shorter.
    cases : tuple of Pattern
        How to drive each.
    failed : dict of str to str
        Patterns without a result, by key, and why: faults of this program.

    Examples
    --------
    >>> from overlapsim import Scenario, patterns
    >>> done = patterns(Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "1 m", "behind_pin": "2 m"}}},
    ...     "field": {"rectangle": ["80 m", "200 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2.5 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... }), [0.0], laps=[0])
    >>> done.now["best"]["reference_offset_m"]
    2.0
    """

    scenario: Scenario
    patterns: tuple[dict[str, Any], ...]
    cases: tuple[Pattern, ...]
    failed: dict[str, str]

    @property
    def now(self) -> dict[str, Any]:
        """The pattern that is driven today."""
        return self.patterns[0]

    @property
    def largest_witness_difference(self) -> float:
        """Largest relative difference of the second witness over all runs reported, without unit."""
        return max(float(one["witness"]["largest_relative_difference"]) for one in self.patterns)

    @property
    def table(self) -> dict[str, np.ndarray]:
        """Columns of the table of patterns, a row each; changes are against today's way as set, m²."""
        before = self.now["as_set"]["combined_m2"]
        rows = []
        for one in self.patterns:
            row = {key: value for key, value in one.items() if not isinstance(value, dict)}
            offset = one["best"]["reference_offset_m"]
            for rank, value in offset.items() if isinstance(offset, dict) else [("", offset)]:
                row[f"best_reference_offset{f'_{rank}' if rank else ''}_m"] = value
            for setting in ("as_set", "best"):
                areas = {k: v for k, v in one[setting].items() if k != "reference_offset_m"}
                row |= {f"{setting}_change_m2": areas["combined_m2"] - before}
                row |= {f"{setting}_{key}": value for key, value in areas.items()}
            rows.append(row)
        return {name: np.array([row[name] for row in rows]) for name in rows[0]}

    def to_dict(self) -> dict[str, Any]:
        """All results as plain data.

        Returns
        -------
        dict
            What `result.json` holds, SI units, JSON types only.
        """
        return {
            **result.header("patterns", self.scenario),
            "plantable_m2": self.scenario.field.plantable_m2,
            "patterns": list(self.patterns),
            "failed": [{"key": key, "error": error} for key, error in self.failed.items()],
            "witness": {"largest_relative_difference": self.largest_witness_difference},
        }

    def _repr_html_(self) -> str:
        """The first screen of its page, with its table, for notebooks."""
        from importlib import import_module

        return str(import_module("overlapsim.report.page.notebook").shown(self))

    def _repr_png_(self) -> bytes:
        """Picture of the maps side by side, for notebooks."""
        from importlib import import_module

        return bytes(import_module("overlapsim.report.pictures").picture("maps.png", self))


def patterns(
    scenario: Scenario,
    headings: Sequence[float | str] = (),
    headings_step: float | str | None = None,
    *,
    laps: Sequence[int] = LAPS,
    workers: int = 1,
    store: Store | None = None,
    progress: Progress | None = None,
) -> PatternsResult:
    """Compare ways to drive a field: headland laps, their order, headings.

    Parameters
    ----------
    scenario : Scenario
        As it is driven today.
    headings : sequence of float or str
        Headings to try besides today's, radians or text with a unit; ``"auto"`` = along the long side.
        Without any, and without a step: the long side, and square to today's.
    headings_step : float or str, optional
        Step of a sweep of headings from 0 to below 180 degrees, radians or text with a unit.
    laps : sequence of int
        Numbers of headland laps to try, each driven before and after the passes.
    workers : int
        Processes that work side by side; more than 1 only from a script that stands under
        ``if __name__ == "__main__"``. The result is the same to the last bit.
    store : Store, optional
        Where finished patterns are kept, so that a run that was broken off goes on.
    progress : callable, optional
        Called with patterns done, patterns in all and what is being done.

    Returns
    -------
    PatternsResult
        Full simulations, each confirmed by the second witness. A pattern for whose laps the field has no
        room is left out: it is the same as the one with fewer. One whose areas do not balance is named as
        failed.

    Raises
    ------
    InputError
        A heading, a step or a number of laps that cannot be read.
    BalanceError
        Where areas of today's way do not balance: a fault of this program, no result.

    Examples
    --------
    Eight rows of 1 m, ranks and times matched, on 80 m by 200 m: ten passes of 200 m either way up, or two
    dozen and one across.

    >>> from overlapsim import Scenario, patterns
    >>> done = patterns(Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "1 m", "behind_pin": "2 m"}}},
    ...     "field": {"rectangle": ["80 m", "200 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... }), ["90 deg"], laps=[0])
    >>> [(one["key"], one["pass_count"], round(one["working_m"])) for one in done.patterns]
    [('now', 10, 2000), ('0-laps-90-deg', 25, 2000)]
    """
    cases = lay_out(scenario, headings, headings_step, laps)
    keys = hashes(scenario, cases)
    told = run_cases(run_pattern, scenario, cases, keys, store, workers, progress, "patterns")
    # What was kept by an earlier run bears the key that it had then.
    told = [{**one, "key": case.key} for one, case in zip(told, cases, strict=True)]
    failed = {one["key"]: one["error"] for one in told if "error" in one}
    if cases[0].key in failed:
        raise BalanceError(failed[cases[0].key])
    sound = [i for i, one in enumerate(told) if "error" not in one]
    room = [i for i in sound if i == 0 or told[i]["lap_count"] == told[i]["headland_laps"]]
    kept = [told[i] for i in room]
    error = np.array([one["best"]["combined_m2"] for one in kept])
    length = np.array([one["working_m"] for one in kept])
    ground = max(EQUAL_SHARE * float(error.min()), EQUAL_GROUND * scenario.field.plantable_m2)
    marks = unbeaten(error / ground, length / SAME_LENGTH)
    told = [{**one, "unbeaten": bool(mark)} for one, mark in zip(kept, marks, strict=True)]
    return PatternsResult(scenario, tuple(told), tuple(cases[i] for i in room), failed)


def unbeaten(first: Floats, second: Floats) -> Bools:
    """Tell which of many have no other that is better in one thing and no worse in the other.

    Parameters
    ----------
    first, second : ndarray, shape (n,)
        Two things of which less is better, in steps that count as equal: rounded to whole ones. No unit.

    Returns
    -------
    ndarray of bool, shape (n,)
        Those that are left to choose from; equals stand or fall together.

    References
    ----------
    Pareto, V. (1906), Manuale di economia politica, Milano (from memory).

    Examples
    --------
    >>> unbeaten(np.array([1.0, 2.0, 3.0, 2.0]), np.array([9.0, 5.0, 7.0, 5.0]))
    array([ True,  True, False,  True])
    """
    a, b = np.rint(first), np.rint(second)
    no_worse = (a[:, None] <= a) & (b[:, None] <= b)
    better = (a[:, None] < a) | (b[:, None] < b)
    return np.asarray(~(no_worse & better).any(axis=0))
