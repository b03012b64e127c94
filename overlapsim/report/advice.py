"""What a specialist is told: the number, what it does, what stays, what moves it, what digging shows."""

from __future__ import annotations

from typing import Any

from overlapsim.basics.units import format_length, format_number
from overlapsim.report.already import already_as_good
from overlapsim.report.phrases import and_words, rank_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import behind_what, measured_from, offset_words, times_entered, typed
from overlapsim.report.words import Words
from overlapsim.scenario.rows import RowLayout


def part(label: str, lines: list[str], tone: str = "", *, inset: bool = False) -> dict[str, Any]:
    """Make a part of a report that consists of text.

    Parameters
    ----------
    label : str
        Stands in the margin.
    lines : list of str
        Sentences.
    tone : {"", "strong", "warn", "quiet"}
        How it is set.
    inset : bool
        Whether text without a label keeps the margin of the part before it.

    Returns
    -------
    dict
        The part.
    """
    return {"label": label, "lines": lines, "tone": tone, "inset": inset or bool(label)}


def offset_of(run: Any) -> Any:
    """Tell the reference offset of a run.

    Parameters
    ----------
    run : Simulation
        Any simulation.

    Returns
    -------
    float or dict of float
        Behind the hitch pin, metres; by rank where there is one per rank.
    """
    return run.scenario.switching.reference_offset


def type_in(result: Any, words: Words) -> list[dict[str, Any]]:
    """Say what to type in: the number first, then what it does to the longest gap, then what it saves.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    words : Words
        Units.

    Returns
    -------
    list of dict
        Two parts: the number, and what belongs to it.
    """
    scenario, new, now = result.scenario, result.recommended, result.as_set
    wanted, entered = (offset_words(scenario, offset_of(run), words) for run in (new, now))
    value = typed(scenario, offset_of(new))
    many = "s" if isinstance(value, dict) else ""
    now_words = "as entered now" if wanted == entered else f"now {entered}"
    headline = f"reference offset{many} {wanted} {behind_what(scenario)}  ({now_words})"
    if isinstance(value, dict):
        ways = [f"{rank} {' = '.join(words.ways(one))}" for rank, one in value.items()]
    else:
        ways = [f"= {' = '.join(words.ways(value)[1:])}"]
    gap = f"longest gap in a row {words.short(new.areas['longest_gap_m'])}"
    if wanted != entered:
        gap += f", now {words.short(now.areas['longest_gap_m'])}"
    lines = [*ways, gap, as_good_words(result, words), f"{times_entered(scenario)}: left as they are"]
    label = "LEAVE IT" if wanted == entered else "TYPE IN"
    return [part(label, [headline], "strong"), part("", lines, inset=True)]


def as_good_words(result: Any, words: Words) -> str:
    """Tell the stretch of offsets that is just as good, and whether anything is saved.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    words : Words
        Units.

    Returns
    -------
    str
        One sentence.
    """
    scenario, stretch = result.scenario, result.as_good_m
    stretches = stretch if isinstance(stretch, dict) else {"": stretch}
    said, alone, more = [], True, measured_from(scenario)
    entered = offset_of(result.as_set)
    for rank, (low, high) in stretches.items():
        first, last = words.inside(low + more, high + more)
        alone &= first == last
        ends = first if first == last else f"{first} to {last}"
        said.append(f"{rank} {ends} {words.short_unit}".strip())
    tape = format_length(scenario.tune.as_good, "ft-in") if words.us else words.short(scenario.tune.as_good)
    good = f"{and_words(said)} {'are' if len(said) > 1 else 'is'} just as good in area"
    if alone:
        good = "no other number is as good in area"
    good += f", give or take {tape} of tape"
    now = offset_words(scenario, entered, words)
    if now == offset_words(scenario, offset_of(result.recommended), words):
        return f"{good}; nothing to gain"
    gain = result.as_set.areas["longest_gap_m"] - result.recommended.areas["longest_gap_m"]
    seen = words.short_size / 20  # half of the last digit that is printed
    if already_as_good(result):
        gap = "the longest gap grows" if gain < -seen else "no gap gets shorter"
        gap = "only the longest gap gets shorter" if gain > seen else gap
        return f"{good}; {now} lies in it: no ground is saved, {gap}"
    return f"{good}; {saving_words(result, words)}{', but the longest gap grows' if gain < -seen else ''}"


def saving_words(result: Any, words: Words) -> str:
    """Say what is saved by typing in what is recommended.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    words : Words
        Units.

    Returns
    -------
    str
        Without a full stop; a saving below one per cent is called what it is.
    """
    before = result.as_set.areas["combined_m2"]
    saved = before - result.recommended.areas["combined_m2"]
    share = saved / before * 100 if before else 0.0
    ground = error_words(saved, result, words)
    if not ground.split()[0].strip("-0."):
        return "no ground is saved"
    much = "saves" if share >= 1 else "saves next to nothing,"
    return f"{much} {ground}, {plain(share, 0 if share >= 10 else 1)} % of what is lost now"


def error_words(square_metres: float, result: Any, words: Words) -> str:
    """Write a combined error.

    Parameters
    ----------
    square_metres : float
        Combined error, m².
    result : TuneResult
        Tells the unit of its table, and whether skip, overlap and off-field weigh the same.
    words : Words
        Units.

    Returns
    -------
    str
        As in ``"3,383 sq ft"``.
    """
    runs = [result.as_set, result.recommended, result.floor, *result.alternatives.values()]
    unit, size, digits = words.area_scale(max(run.areas["combined_m2"] for run in runs))
    weights = result.scenario.weights
    alike = (weights.skip, weights.overlap, weights.off_field) == (1.0, 1.0, 1.0)
    return f"{format_number(square_metres / size, digits)} {unit}{'' if alike else ' (weighted)'}"


def digging_table(found: list[dict[str, Any]], at: str, words: Words, layout: RowLayout) -> dict[str, Any]:
    """Say where a digger should find the first and the last seed of each rank.

    Parameters
    ----------
    found : list of dict
        ``rank``, ``on_m`` and ``off_m``: signed distances beyond the line, metres, positive = farther along.
    at : str
        The offset that is entered then.
    words : Words
        Units.
    layout : RowLayout
        Tells how many ranks work.

    Returns
    -------
    dict
        A table part.
    """
    alone = len(layout.working_ranks) == 1
    rows = [
        {
            "label": "every row" if alone else f"{rank_words(dig['rank'])}",
            "cells": [words.late(dig["on_m"], "on"), words.late(dig["off_m"], "off")],
            "strong": False,
        }
        for dig in found
    ]
    heads = [{"head": ["starts"], "unit": ""}, {"head": ["stops"], "unit": ""}]
    title = f"DIGGING SHOULD SHOW at {at} (square ends)"
    return {"label": "", "title": title, "columns": heads, "rows": rows, "left": True}


def what_stays(result: Any, words: Words, layout: RowLayout) -> dict[str, Any]:
    """Say what stays on the ground whatever one enters.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    words : Words
        Units.
    layout : RowLayout
        Tells how far the ranks stand apart.

    Returns
    -------
    dict
        One part.
    """
    one = min(result.best.areas["combined_m2"], result.alternatives["times_matched"].areas["combined_m2"])
    least, stays = (error_words(x, result, words) for x in (result.floor.areas["combined_m2"], one))
    apart = float(layout.behind_pin.max() - layout.behind_pin.min())
    if len(layout.working_ranks) == 1 or apart == 0.0:
        return part("STAYS", [f"{least} at the best, whatever is typed in"])
    if isinstance(offset_of(result.recommended), dict):
        return part("STAYS", [f"{least} at the best, whatever is typed in"])
    one_number = f"{stays} with one number for ranks {words.short(apart)} apart, whatever is typed in"
    return part("STAYS", [f"{one_number}; {least} with one per rank and times matched"])


def moves(sensitivity: dict[str, Any], words: Words) -> list[str]:
    """Say how far the best offset moves with what may be wrong or change.

    Parameters
    ----------
    sensitivity : dict
        ``m_per_s_of_on_latency``, ``m_per_s_of_off_latency``, ``m_per_m_per_s`` and, by rank,
        ``m_per_m_of_behind_pin``; each of them by rank where the scenario has one offset per rank.
    words : Words
        Units.

    Returns
    -------
    list of str
        One sentence.
    """
    own = sensitivity["m_per_m_of_behind_pin"]
    if any(isinstance(value, dict) for value in own.values()):
        # One offset per rank: each rank's number moves with its own tape only.
        texts = {
            rank: _moved({key: _own(value, rank) for key, value in sensitivity.items()}, words)
            for rank in own
        }
        if len(set(texts.values())) == 1:
            return [f"each rank's number goes {next(iter(texts.values()))}"]
        return [f"{rank_words(rank)}: its number goes {text}" for rank, text in texts.items()]
    return [f"the best number goes {_moved(sensitivity, words)}"]


def _own(value: Any, rank: str) -> Any:
    one = value[rank] if isinstance(value, dict) else value
    return {rank: one[rank]} if isinstance(one, dict) else one


def _moved(sensitivity: dict[str, Any], words: Words) -> str:
    def way(metres: float) -> str:
        number = words.short_number(metres)
        if number == "0":
            return f"0 {words.short_unit}"
        return f"{'down' if number.startswith('-') else 'up'} {number.lstrip('-')} {words.short_unit}"

    by_rank = {rank: way(v * words.short_size) for rank, v in sensitivity["m_per_m_of_behind_pin"].items()}
    tape, said = "inch" if words.us else "cm", []
    if len(set(by_rank.values())) == 1:
        where = " on any rank" if len(by_rank) > 1 else ""
        said.append(f"{next(iter(by_rank.values()))} per {tape} of tape{where}")
    else:
        said.append(f"per {tape} of tape " + ", ".join(f"{v} ({rank_words(r)})" for r, v in by_rank.items()))
    keys = (("m_per_s_of_on_latency", "starts"), ("m_per_s_of_off_latency", "stops"))
    late = [f"{way(sensitivity[key] * 0.1)} at {name}" for key, name in keys]
    said.append(f"per 0.1 s more latency {', '.join(late)}")
    faster = way(sensitivity["m_per_m_per_s"] * words.speed_step)
    said.append(f"{faster} per {words.speed_unit} faster")
    return "; ".join(said)
