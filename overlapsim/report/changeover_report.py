"""What a changeover tells: what to enter, what to do on the machine, what each forgotten step costs."""

from __future__ import annotations

from typing import Any

from overlapsim.basics.units import format_number
from overlapsim.questions.changeover_steps import is_common
from overlapsim.report.advice import part
from overlapsim.report.cautions import CHANGE_CAUTIONS
from overlapsim.report.changeover_words import (
    KINDS,
    change_words,
    forgotten_words,
    name_of,
    unpriced_words,
    value_of,
)
from overlapsim.report.money import basis_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import beware, field_words, heading_lines, measured_from
from overlapsim.report.sources import sources
from overlapsim.report.words import Words, choose

COMMON = "Steps without a star: common practice for any machine with a second rank. *: from the machine file."


def changeover_report(result: Any, units: str | None = None) -> dict[str, Any]:
    """Say what changes, what it costs to forget, and in what order it is done.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.
    units : {"us", "metric"}, optional
        Default: the new row setup's own.

    Returns
    -------
    dict
        Title and parts.
    """
    scenario, run = result.scenario, result.base
    words = choose(units, scenario)
    notes = beware(run, run.layout, words)
    worst = [way.largest_witness_difference for way in (result, result.way_back) if way]
    parts = [
        part("", [*heading_lines(scenario), field_words(scenario, run.drive.heading, words)]),
        part("FROM - TO", [f"row setup {setups_of(result)[0]} to {setups_of(result)[1]}"], "strong"),
        *changes_tables(result, words),
        part("AS GOOD", as_good_words(result, words)),
        part("STAYS", [stays_words(result, words)]),
        *forgotten_parts(result, words),
        *(forgotten_parts(result.way_back, words) if result.way_back else []),
        *([part("MONEY", [basis_words(scenario, words)])] if scenario.value.given else []),
        part("CAUTION", list(CHANGE_CAUTIONS), "warn"),
        *step_parts(result.steps, f"STEPS TO {setups_of(result)[1].upper()}"),
        *step_parts(result.steps_back, f"STEPS BACK TO {setups_of(result)[0].upper()}"),
        part("", [COMMON], "quiet"),
        *([part("BEWARE", notes, "warn")] if notes else []),
        part("FROM", [sources(scenario.basis, scenario.assumed)]),
        part("CHECKED", [f"Full simulations; areas balance; a second witness agrees to {max(worst):.0e}."]),
    ]
    return {"title": scenario.title, "parts": parts}


def setups_of(result: Any) -> tuple[str, str]:
    """Name both row setups.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.

    Returns
    -------
    str, str
        Old and new.
    """
    return result.old.scenario.machine.setup, result.scenario.machine.setup


def changes_tables(result: Any, words: Words) -> list[dict[str, Any]]:
    """Write what changes, a table for each kind.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    list of dict
        Table parts: old and new stand side by side, so that they serve the way back as well.
    """
    old, new = result.old.scenario, result.scenario
    columns = [{"head": [name], "unit": ""} for name in setups_of(result)]
    tables = []
    for kind, title in KINDS.items():
        rows = [
            {"label": name_of(one["key"]), "cells": list(change_words(one, old, new, words)), "strong": False}
            for one in result.facts[0]
            if one["kind"] == kind
        ]
        if rows:
            tables.append({"label": "", "title": title, "columns": columns, "rows": rows, "left": True})
    return tables


def as_good_words(result: Any, words: Words) -> list[str]:
    """Tell the stretches of reference offsets that are just as good.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    list of str
        A line for each row setup.
    """
    said = []
    for tuned in (result.old, result.new):
        stretch, more = tuned.found.as_good, measured_from(tuned.scenario)
        stretches = stretch if isinstance(stretch, dict) else {"": stretch}
        texts = []
        for rank, (low, high) in stretches.items():
            first, last = words.inside(low + more, high + more)
            ends = first if first == last else f"{first} to {last}"
            texts.append(f"{rank} {ends} {words.short_unit}".strip())
        open_ended = "" if tuned.found.bracketed else " (the least lies at the end of what was searched)"
        said.append(f"{tuned.scenario.machine.setup}: {', '.join(texts)}{open_ended}")
    return said


def stays_words(result: Any, words: Words) -> str:
    """Say what stays.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    str
        One sentence without a full stop; wishes and shifts of nothing are left out.
    """
    said = [
        f"{name_of(one['key'])} {value_of(one['key'], one['value'], result.scenario, words)}"
        for one in result.facts[1]
        if not (isinstance(one["value"], float) and abs(one["value"]) < 5e-4)
    ]
    return ", ".join(said) if said else "nothing that is known here"


def forgotten_parts(result: Any, words: Words) -> list[dict[str, Any]]:
    """Write what each forgotten step costs, dearest first.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    list of dict
        A table, and what is said below it.
    """
    scenario = result.scenario
    paid = scenario.value.given
    unit, size, digits = words.area_scale(
        max((abs(one["extra"]["combined_m2"]) for one in result.forgotten), default=0.0)
    )
    rows = []
    for one in result.forgotten:
        extra = one["extra"]
        double = extra["overlap_m2"] + extra["off_field_m2"]
        areas = (extra["skip_m2"], double, extra["combined_m2"])
        cells = [
            format_number(extra["unplanted_row_m"] / words.long_size),
            words.short_number(extra["longest_gap_m"]),
            *(format_number(area / size, digits) for area in areas),
            *([format_number(extra["money"], 0 if extra["money"] >= 100 else 2)] if paid else []),
        ]
        rows.append({"label": forgotten_words(one), "cells": cells, "strong": False})
    columns = [
        {"head": ["row", "missing"], "unit": words.long_unit},
        {"head": ["longest", "gap"], "unit": words.short_unit},
        {"head": ["skip"], "unit": unit},
        {"head": ["twice,", "off-field"], "unit": unit},
        {"head": ["all told"], "unit": unit},
        *([{"head": ["money"], "unit": str(scenario.value.currency)}] if paid else []),
    ]
    title = f"FORGOTTEN ON THE WAY TO {setups_of(result)[1].upper()}: more than as it should be"
    lines = [
        "Each by itself, on the whole field. Row missing: skipped ground, at this row setup's row spacing.",
        *(_noticed_words(one, words) for one in result.forgotten if "per_100_m" in one),
        *(f"No price: {unpriced_words(key)}; {why}." for key, why in result.unpriced.items()),
    ]
    tables = [{"label": "", "title": title, "columns": columns, "rows": rows}] if rows else []
    return [*tables, part("", lines)]


def _noticed_words(one: dict[str, Any], words: Words) -> str:
    after = one["noticed_after_m"]
    price = one["per_100_m"]
    said = f"One row ({one['row']}) that does not plant: "
    if price:
        lost = price["skip_m2"] * words.long_size
        unit, size, _ = words.area_scale(lost)
        every = f"every 100 {words.long_unit}"
        said += f"{plain(lost / size)} {unit} for {every} until noticed. "
    looked, heard, sooner = (
        f"{format_number(after[key] / words.long_size)} {words.long_unit}"
        for key in ("looked_at_pass_end", "monitored", "sooner")
    )
    seconds = plain(after["alarm_s"])
    said += (
        f"Looked for at the end of the first pass: after {looked}; with the row in the monitor after {heard} "
        f"({seconds} s without seed at the working speed, an assumption)"
    )
    return f"{said}, {sooner} sooner." if after["sooner"] > 0 else f"{said}."


def step_parts(steps: Any, title: str) -> list[dict[str, Any]]:
    """Write the steps in order, under their categories.

    Parameters
    ----------
    steps : list of Step
        In the order in which they are done.
    title : str
        What they lead to.

    Returns
    -------
    list of dict
        Text parts; a category that comes up again, because of what a step needs, is named again.
    """
    lines, before = [], ""
    for number, step in enumerate(steps, 1):
        if step.category != before:
            lines.append(f"{step.category}:")
        before = step.category
        lines.append(f"[ ] {number}. {step_words(step)}")
    return [part(title, lines)]


def step_words(step: Any) -> str:
    """Write one step.

    Parameters
    ----------
    step : Step
        Any.

    Returns
    -------
    str
        A star before the user's own, and what to look for.
    """
    own = "" if is_common(step) else "* "
    text = step.text if step.text.endswith((".", "!", "?")) else f"{step.text}."
    return f"{own}{text}{f' Look for: {step.look_for}.' if step.look_for else ''}"
