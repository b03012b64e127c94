"""Lost ground in money, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from overlapsim.basics.units import format_number
from overlapsim.report.advice import part
from overlapsim.report.origin_words import NAMES
from overlapsim.report.words import Words
from overlapsim.scenario.scenario import Scenario

WHOLE_MONEY = 100.0
"""Amounts from which on nobody wants the cents, in any currency."""

_PARTS = (
    ("money_lost_stand", "lost stand"),
    ("money_seed", "seed"),
    ("money_double_planting", "double planting"),
)


def money_words(amount: float, scenario: Scenario) -> str:
    """Write an amount of money.

    Parameters
    ----------
    amount : float
        In the scenario's currency, no unit.
    scenario : Scenario
        With its ``[value]``.

    Returns
    -------
    str
        As in ``"1,234 EUR"`` or ``"12.30 EUR"``.
    """
    return f"{format_number(amount, 0 if abs(amount) >= WHOLE_MONEY else 2)} {scenario.value.currency}"


def split_words(areas: Mapping[str, Any], scenario: Scenario) -> str:
    """Write what lost ground costs, and its parts.

    Parameters
    ----------
    areas : dict
        Areas of a run, with money among them.
    scenario : Scenario
        With its ``[value]``.

    Returns
    -------
    str
        One sentence without a full stop.
    """
    parts = [f"{name} {money_words(areas[key], scenario)}" for key, name in _PARTS if areas[key]]
    said = money_words(areas["money"], scenario)
    return f"{said}: {', '.join(parts)}" if len(parts) > 1 else said


def basis_words(scenario: Scenario, words: Words) -> str:
    """Say on what an amount of money rests.

    Parameters
    ----------
    scenario : Scenario
        With its ``[value]``.
    words : Words
        Units.

    Returns
    -------
    str
        One sentence.
    """
    value = scenario.value
    amounts = {"lost stand": value.lost_stand, "seed": value.seed, "double planting": value.double_planting}
    said = [
        f"{name} {money_words(amount * words.land_size, scenario)}/{words.land_unit}"
        for name, amount in amounts.items()
        if amount is not None
    ]
    free = f"; gaps in the row shorter than {words.short(value.free_gap)} are free" if value.free_gap else ""
    return f"Amounts as stated in [value]: {', '.join(said)}{free}."


def money_parts(result: Any, words: Words) -> list[dict[str, Any]]:
    """Say in money what a result says in ground.

    Parameters
    ----------
    result : Simulation, TuneResult, CausesResult, PatternsResult or CorrectResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    list of dict
        One part; none where the scenario states no amounts, or nothing was simulated.
    """
    scenario = result.scenario
    if not scenario.value.given or getattr(result, "before", scenario) is None:
        return []
    return [part("MONEY", [*_lines(result), basis_words(scenario, words)])]


def _lines(result: Any) -> list[str]:
    scenario = result.scenario
    if hasattr(result, "patterns"):
        now = result.now
        least = min(result.patterns, key=lambda one: round(one["best"]["money"], 2))
        best = f"{money_words(least['best']['money'], scenario)} with {least['key']} at its best"
        return [
            f"now {split_words(now['as_set'], scenario)}",
            f"{money_words(now['best']['money'], scenario)} with today's way at its best; cheapest {best}",
        ]
    run = getattr(result, "as_set", getattr(result, "before", result))
    new = getattr(result, "after", getattr(result, "recommended", None))
    lines = [f"now {split_words(run.areas, scenario)}"]
    if hasattr(result, "lines"):
        parts = [
            f"{NAMES[key]} {money_words(line['money'], scenario)}"
            for key, line in result.lines.items()
            if round(line["money"], 2)
        ]
        lines += [f"of that {', '.join(parts)}"] if parts else []
    if new is not None and new is not run:
        saved = run.areas["money"] - new.areas["money"]
        how = f"{money_words(abs(saved), scenario)} {'less' if saved > 0 else 'more'}"
        how = f"{how} than now" if round(saved, 2) else "as much as now"
        lines.append(f"as typed in {split_words(new.areas, scenario)}; {how}")
    return lines
