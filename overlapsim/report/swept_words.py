"""What was laid side by side, in words: how many, and how far the best number moves."""

from __future__ import annotations

from typing import Any

from overlapsim.basics.units import format_time
from overlapsim.report.advice import part
from overlapsim.report.phrases import rank_words
from overlapsim.report.rounding import plain
from overlapsim.report.times_words import TENTH_S
from overlapsim.report.words import Words


def swept_parts(result: Any, words: Words) -> list[dict[str, Any]]:
    """Say what a sweep came to.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    words : Words
        Units.

    Returns
    -------
    list of dict
        One part; none where no conditions were swept.
    """
    sweep = getattr(result, "sweep", None)
    if sweep is None or len(sweep.conditions) < 2:
        return []
    rows = len(next(iter(sweep.columns.values())))
    lines = [f"{len(sweep.conditions):,} combinations of conditions, {rows:,} rows in sweep.csv"]
    for key, moved in sweep.moves.items():
        line = _line(key, moved, words)
        if line:
            lines.append(line)
    return [part("SWEPT", lines)]


def _line(key: str, moved: dict[str, Any], words: Words) -> str:
    """Say how far the best number moves with one swept key; nothing for keys that are no time or speed."""
    table, _, name = key.partition(".")
    name, _, rank = name.partition(".")
    if table == "speed":
        step, per = words.speed_step, f"{words.speed_unit} faster"
    elif name in ("on_latency", "off_latency", "turn_on_time", "turn_off_time", "position_delay"):
        step, per = TENTH_S, f"{plain(TENTH_S)} s more"
    else:
        return ""
    what = {"working": "speed", "at_on": "speed at starts", "at_off": "speed at stops"}.get(name)
    what = what or name.replace("turn_", "turn-").replace("_", " ")
    if rank:
        what += f" of the {rank_words(rank)}"
    first, last = (
        words.speed(moved[end]) if table == "speed" else format_time(moved[end]) for end in ("from", "to")
    )
    mean, least, largest = (moved[key] for key in ("mean", "least", "largest"))
    if isinstance(mean, dict):
        said = ", ".join(f"{_way(mean[r] * step, words)} ({rank_words(r)})" for r in mean)
    else:
        said = _way(mean * step, words)
        ends_said = [_way(slope * step, words) for slope in (least, largest)]
        if len({said, *ends_said}) > 1:
            said += f" on average ({ends_said[0]} to {ends_said[1]})"
    return f"{what} {first} to {last}: the best number goes {said} per {per}"


def _way(metres: float, words: Words) -> str:
    """Write a signed move as up or down."""
    number = words.short_number(metres)
    if number == "0":
        return f"0 {words.short_unit}"
    return f"{'down' if number.startswith('-') else 'up'} {number.lstrip('-')} {words.short_unit}"
