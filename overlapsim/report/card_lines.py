"""The table of a settings card: what is typed in, set and looked at, side by side for each row setup."""

from __future__ import annotations

import math
import string
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from overlapsim.questions.offset import typed as as_typed
from overlapsim.questions.setup_facts import Fact, facts_of
from overlapsim.questions.tuned import Tuned
from overlapsim.report.changeover_words import name_of, value_of
from overlapsim.report.phrases import rank_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import behind_what, measured_from, typed
from overlapsim.report.words import Words
from overlapsim.scenario.machine import Machine
from overlapsim.scenario.scenario import Scenario

_ELSEWHERE = ("off_centre",)
"""Stands among the notes of the card where it is something."""

_NOTHING = ("deliberate_overlap_planted", "deliberate_overlap_boundary")
"""Left out where they are nothing in every row setup."""

_STRONG = ("turn_on_time", "turn_off_time")
_SEEN = 5e-4  # half a millimetre
_MILLIMETRES = 1000


@dataclass(frozen=True)
class Row:
    """One line of a table.

    Attributes
    ----------
    key : str
        As in results where there is such a thing there.
    name : str
        As people say it.
    cells : tuple of str
        One for each row setup.
    strong : bool
        Whether it is what one looks for first.
    """

    key: str
    name: str
    cells: tuple[str, ...]
    strong: bool = False


def entry_words(scenario: Scenario) -> str:
    """Say from where the controller measures and in which steps it takes numbers.

    Parameters
    ----------
    scenario : Scenario
        With its controller.

    Returns
    -------
    str
        A sentence without a full stop.
    """
    step, time = scenario.controller.offset_step, scenario.controller.time_step
    own = Words(scenario.units)
    size, unit = (own.short_size, own.short_unit) if own.us else (1.0, "m")
    return (
        f"reference offset {behind_what(scenario)}, in steps of {plain(step / size, 3)} {unit}; times in "
        f"steps of {plain(time, 3)} s"
    )


def enter_rows(columns: Sequence[Tuned], words: Words) -> tuple[Row, ...]:
    """List what is typed in, in the controller's own unit; the reader's stands behind it in brackets.

    Parameters
    ----------
    columns : sequence of Tuned
        Row setups.
    words : Words
        The reader's units.

    Returns
    -------
    tuple of Row
        Reference offsets first, in the form of ``as_typed`` in results.
    """
    rows = _offset_rows(columns, words)
    if all(isinstance(one.scenario.switching.reference_offset, float) for one in columns):
        rows.insert(1, Row("ways", "the same", tuple(_ways(one.scenario, words) for one in columns)))
    facts = _fact_rows(columns, words, "enter")
    return (*rows, *(row for row in facts if row.strong), *(row for row in facts if not row.strong))


def machine_rows(columns: Sequence[Tuned], words: Words) -> tuple[Row, ...]:
    """List what is set on the machine.

    Parameters
    ----------
    columns : sequence of Tuned
        Row setups.
    words : Words
        The reader's units.

    Returns
    -------
    tuple of Row
        Ranks first.
    """
    return _fact_rows(columns, words, "machine")


def check_rows(columns: Sequence[Tuned], words: Words) -> tuple[Row, ...]:
    """List what the settings hold for.

    Parameters
    ----------
    columns : sequence of Tuned
        Row setups.
    words : Words
        The reader's units.

    Returns
    -------
    tuple of Row
        Speed and latencies among them.
    """
    return _fact_rows(columns, words, "check")


def _fact_rows(columns: Sequence[Tuned], words: Words, kind: str) -> tuple[Row, ...]:
    """Turn what is known of each row setup into lines; what is said of none of them is left out."""
    told = [facts_of(one.scenario, one.scenario.switching.reference_offset, one.found) for one in columns]
    setups = [one.scenario.machine.setup for one in columns]
    rows = []
    for facts in zip(*told, strict=True):
        key = facts[0].key
        if facts[0].kind != kind or key == "reference_offset" or _unsaid(facts, told, setups):
            continue
        cells = tuple(_cell(fact, one.scenario, words) for fact, one in zip(facts, columns, strict=True))
        rows.append(Row(key, name_of(key), cells, key in _STRONG))
    return tuple(rows)


def _unsaid(facts: Sequence[Fact], told: Sequence[list[Fact]], setups: Sequence[str]) -> bool:
    """Whether a line would say nothing, or what stands on the card anyhow."""
    key, values = facts[0].key, [fact.value for fact in facts]
    if key in _ELSEWHERE:
        return True
    if key == "entered_setup":
        return values == setups
    if key == "pass_distance":
        widths = [next(fact.value for fact in one if fact.key == "working_width") for one in told]
        return all(abs(value - width) < _SEEN for value, width in zip(values, widths, strict=True))
    nothing = key in _NOTHING and all(abs(value) < _SEEN for value in values)
    return nothing or all(value is None for value in values)


def _cell(fact: Fact, scenario: Scenario, words: Words) -> str:
    own = value_of(fact.key, fact.value, scenario, Words(scenario.units))
    other = value_of(fact.key, fact.value, scenario, words)
    return own if other == own else f"{own} ({other})"


def by_rank(value: Any) -> dict[str, Any]:
    """Lay out what may be one figure or one for each rank.

    Parameters
    ----------
    value : Any
        A figure or pair in any unit, or a dictionary of them by rank.

    Returns
    -------
    dict
        By rank; under the empty name where there is one for all.
    """
    return value if isinstance(value, dict) else {"": value}


def _ways(scenario: Scenario, words: Words) -> str:
    """The same number in the other forms in which it may be asked for."""
    unit = ["in" if scenario.units == "us" else "m"]
    at = typed(scenario, scenario.switching.reference_offset)
    return "; ".join(
        " = ".join(way for way in words.ways(metres) if way.split()[1:] != unit)
        for metres in by_rank(at).values()
    )


def lettered(machine: Machine, rank: str) -> str:
    """Name a rank with the letter that it has in the drawing.

    Parameters
    ----------
    machine : Machine
        With all its ranks.
    rank : str
        One of them.

    Returns
    -------
    str
        As in ``"A front rank"``; letters from the foremost rank back.
    """
    order = sorted(machine.ranks, key=lambda name: (machine.ranks[name].behind_pin, name))
    return f"{string.ascii_uppercase[order.index(rank)]} {rank_words(rank)}"


def _offset_rows(columns: Sequence[Tuned], words: Words) -> list[Row]:
    """What is typed in and what is just as good: once, or for each rank where there is one for each."""
    offsets = [by_rank(one.scenario.switching.reference_offset) for one in columns]
    good = [by_rank(one.found.as_good) for one in columns]
    rows = []
    for rank in dict.fromkeys(rank for own in offsets for rank in own):
        of_what = f"{lettered(columns[0].scenario.machine, rank)}: " if rank else ""
        typed_in = [
            as_typed(one.scenario, own[rank]) if rank in own else "-"
            for one, own in zip(columns, offsets, strict=True)
        ]
        stretches = [
            _as_good(one.scenario, own[rank], words) if rank in own else "-"
            for one, own in zip(columns, good, strict=True)
        ]
        rows += [
            Row("reference_offset", of_what + name_of("reference_offset"), tuple(typed_in), True),
            Row("as_good", "just as good in area", tuple(stretches)),
        ]
    return rows


def _as_good(scenario: Scenario, stretch: tuple[float, float], words: Words) -> str:
    low, high = (end + measured_from(scenario) for end in stretch)
    own, other = (_stretch(low, high, units) for units in (scenario.units, words.units))
    return own if own == other else f"{own} ({other})"


def _stretch(low: float, high: float, units: str) -> str:
    """Write both ends rounded inward; metres as they are typed in."""
    if units == "us":
        first, last = Words(units).inside(low, high)
        unit = "in"
    else:
        # A thousandth of a millimetre: what rounding in the last bits can move an end that stands on one.
        ends = math.ceil(low * _MILLIMETRES - 1e-3), math.floor(high * _MILLIMETRES + 1e-3)
        if ends[0] > ends[1]:
            ends = (round(low * _MILLIMETRES), round(high * _MILLIMETRES))
        first, last = (f"{end / _MILLIMETRES:.3f}" for end in ends)
        unit = "m"
    return f"{first} {unit}" if first == last else f"{first} to {last} {unit}"
