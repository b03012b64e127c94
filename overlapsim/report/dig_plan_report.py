"""A plan of digs in words: cautions first, where to dig, how sure it makes, what digs should show now."""

from __future__ import annotations

from typing import Any

from overlapsim.questions.digs import OFF, ON, half_strip
from overlapsim.report.advice import part
from overlapsim.report.dig_sheet import speed_number
from overlapsim.report.dig_tables import name_words
from overlapsim.report.phrases import and_words, rank_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import (
    CAUTION,
    entered_words,
    heading_lines,
    machine_words,
)
from overlapsim.report.sources import sources
from overlapsim.report.words import Words, choose
from overlapsim.scenario.rows import row_layout

MOST_TURNS = 16
"""Turns that are printed one by one; a screenful. All of them stand in the sheet."""

ENDS = {
    "far": "the end that passes driven out run to: what stops on the way out and starts on the way back",
    "near": "the other end: what stops on the way back and starts on the way out",
}
"""What is dug where."""


def plan_report(plan: Any, units: str | None = None) -> dict[str, Any]:
    """Say where to dig and what it will tell.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    dict
        Title and parts.
    """
    scenario = plan.scenario
    words, layout = choose(units, scenario), row_layout(scenario)
    assumed = [*scenario.assumed, *(["seed spacing"] if plan.spacing_assumed else [])]
    parts = [
        part("FIRST", [CAUTION], "warn"),
        part("", [*heading_lines(scenario), machine_words(scenario, layout, words)]),
        part("ENTERED", [f"{entered_words(scenario, words)}: leave it as it is while you drive and dig"]),
        part("DIG", [plan_words(plan, words)], "strong"),
        turns_table(plan, words),
        part(
            "", [f"{end} = {said}." for end, said in ENDS.items() if any(t.where == end for t in plan.turns)]
        ),
        predicted_table(plan, words),
        *_sure(plan, words),
        *_fewer(plan),
        shows_table(plan, words),
        part("MEASURE", how_to_measure(plan, words)),
        part("FROM", [sources(scenario.basis, assumed)]),
        part(
            "SHEET",
            ["fill in sheet.csv (or report.html, printed), then: overlapsim correct sheet.csv SCENARIO"],
        ),
    ]
    return {"title": scenario.title, "parts": [one for one in parts if one.get("lines", True)]}


def plan_words(plan: Any, words: Words) -> str:
    """Say in a sentence how much is dug.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.
    words : Words
        Units.

    Returns
    -------
    str
        As in ``"16 row ends at 2 turns, 3 and 7 mph, about 20 minutes"``.
    """
    speeds = sorted({turn.speed for turn in plan.turns})
    how_fast = and_words([speed_number(speed, words) for speed in speeds])
    turns = f"{len(plan.turns)} turn{'' if len(plan.turns) == 1 else 's'}"
    long = f"about {plan.minutes:.0f} minutes"
    return f"{len(plan.digs)} row ends at {turns}, {how_fast} {words.speed_unit}, {long}"


def turns_table(plan: Any, words: Words) -> dict[str, Any]:
    """Write the turns in driving order.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.
    words : Words
        Units.

    Returns
    -------
    dict
        A table part.
    """
    rows = []
    done = 0
    size = len(plan.digs) // len(plan.turns)
    for number, turn in enumerate(plan.turns[:MOST_TURNS], 1):
        own = plan.digs[done : done + size]
        done += size
        cells = [turn.where, speed_number(turn.speed, words), f"{own[0].line}-{own[-1].line}", _rows_of(own)]
        rows.append({"label": f"turn {number}", "cells": cells, "strong": False})
    heads = [(["end"], ""), (["speed"], words.speed_unit), (["digs"], ""), (["rows, stops and starts"], "")]
    more = len(plan.turns) - MOST_TURNS
    title = "WHERE" if more <= 0 else f"WHERE (and {more} turns more: see the sheet)"
    columns = [{"head": head, "unit": unit} for head, unit in heads]
    return {"label": "", "title": title, "columns": columns, "rows": rows, "left": True}


def _rows_of(digs: Any) -> str:
    """Rows by rank, as in ``front 3 11, rear 4 12``."""
    by_rank: dict[str, list[int]] = {}
    for dig in digs:
        by_rank.setdefault(dig.rank, []).append(dig.row)
    return ", ".join(
        f"{rank} {' '.join(str(n) for n in sorted(set(rows)))}" for rank, rows in by_rank.items()
    )


def predicted_table(plan: Any, words: Words) -> dict[str, Any]:
    """Write how surely each unknown will be known.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.
    words : Words
        Units.

    Returns
    -------
    dict
        A table part.
    """
    rows = []
    for name, error in plan.standard_errors.items():

        def write(value: float, name: str = name) -> str:
            return f"{plain(value, 3)} s" if name in (ON, OFF) else words.short(value)

        cells = ["", "cannot be told"] if error is None else [write(error), write(plan.reach(name))]
        wanted = write(plan.unknowns_wanted[name])
        rows.append({"label": name_words(name), "cells": [*cells, wanted], "strong": False})
    columns = [{"head": head, "unit": ""} for head in (["standard", "error"], ["95 %", "within"], ["wanted"])]
    return {"label": "", "title": "IT WILL TELL", "columns": columns, "rows": rows}


def _sure(plan: Any, words: Words) -> list[dict[str, Any]]:
    tape = "not used"
    if plan.tape_error is not None:
        tape = f"trusted to {words.short(plan.tape_error)}, so that one speed settles both times"
    lines = [f"one dig scatters by {words.short(plan.scatter)}; tape {tape}"]
    parts = [part("", lines, inset=True)]
    if plan.not_separable:
        names = and_words([name_words(name) for name in plan.not_separable])
        ways = "; or ".join(" and ".join(way) for way in plan.settled_by)
        parts.append(
            part("NOT TOLD", [f"{names}: only sums of them. What would tell them apart: {ways}."], "warn")
        )
    elif not plan.is_enough:
        parts.append(
            part("NOT ENOUGH", ["Less sure than wanted: take more time, or a wider range of speeds."], "warn")
        )
    return parts


def _fewer(plan: Any) -> list[dict[str, Any]]:
    lines = [
        f"{one['with']}: {and_words([name_words(n) for n in one['not_told']])}" for one in plan.with_fewer
    ]
    return [part("NOT TOLD", ["What could not be told with less:", *lines])] if lines else []


def shows_table(plan: Any, words: Words) -> dict[str, Any]:
    """Write what digs should show now, rank by rank and speed by speed.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.
    words : Words
        Units.

    Returns
    -------
    dict
        A table part.
    """
    found: dict[tuple[str, float], dict[str, float]] = {}
    for dig, shown in zip(plan.digs, plan.should_show, strict=True):
        found.setdefault((dig.rank, dig.speed), {})[dig.end] = shown
    ranks = row_layout(plan.scenario).working_ranks
    order = sorted(found, key=lambda one: (ranks.index(one[0]), one[1]))
    rows = [
        {
            "label": f"{rank_words(rank)}, {words.speed(speed)}",
            "cells": [_signed(found[rank, speed].get(end), words) for end in ("on", "off")],
            "strong": False,
        }
        for rank, speed in order
    ]
    columns = [{"head": head, "unit": words.short_unit} for head in (["starts"], ["stops"])]
    title = f"DIGS SHOULD SHOW NOW, from the {plan.digs[0].origin}"
    return {"label": "", "title": title, "columns": columns, "rows": rows}


def _signed(metres: float | None, words: Words) -> str:
    if metres is None:
        return ""
    number = words.short_number(metres)
    return number if number.startswith("-") or number == "0" else f"+{number}"


def how_to_measure(plan: Any, words: Words) -> list[str]:
    """Say how digs are measured.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.
    words : Words
        Units.

    Returns
    -------
    list of str
        Sentences, in the order in which things are done.
    """
    half, seed = words.short(half_strip(plan.scenario)), words.short(plan.model.seed_spacing / 2)
    if plan.digs[0].origin == "headland row":
        place = (
            f"The line is invisible in the dirt: measure from the last headland row. Perfect is {half} past "
            "it at starts and as much before it at stops: half a row spacing."
        )
    else:
        place = (
            "The line is invisible in the dirt: set a flag on it before the pass, beside the machine's way, "
            "and measure square from it."
        )
    return [
        "Choose ends that lie square to the passes; on a slanted end rows stop one after the other.",
        "Drive each pass at a steady speed through the switching; write the speed down as it was.",
        place,
        "Starts: dig along the row to the first seed. Stops: to the last seed.",
        "Farther along the way of travel is plus, less far is minus, at starts and at stops.",
        f"Measure to the seed itself: half a seed spacing ({seed}) is reckoned in.",
        "Leave out, and do not write as nought, what is plugged, locked up or not found.",
    ]
