"""What changes between row setups, and what may be forgotten, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from overlapsim.basics.units import format_amount, format_time
from overlapsim.report.phrases import and_words, rank_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import measured_from
from overlapsim.report.words import Words
from overlapsim.scenario.scenario import Scenario

KINDS = {"enter": "ENTER", "machine": "ON THE MACHINE", "check": "CHECK"}
"""How the three kinds of changes are headed."""

_NAMES = {
    "working_ranks": "ranks that work",
    "rows_working": "rows that work",
    "hitch_shift": "hitch shift",
    "crop": "crop",
    "plate": "seed plate",
    "entered_setup": "row setup",
    "row_spacing": "row spacing",
    "working_width": "working width",
    "pass_distance": "distance between passes",
    "lateral_offset": "lateral offset",
    "reference_offset": "reference offset",
    "rows_per_section": "rows per section",
    "switch_fraction": "switch fraction",
    "turn_on_time": "turn-on time",
    "turn_off_time": "turn-off time",
    "deliberate_overlap_planted": "overlap wanted at planted ground",
    "deliberate_overlap_boundary": "overlap wanted at the boundary",
    "population": "population",
    "seed_spacing": "seed spacing in the row",
    "seeds_per_second_and_row": "seeds per second and row",
    "working_speed": "working speed",
    "on_latency": "on latency",
    "off_latency": "off latency",
    "off_centre": "middle of the rows off the line",
}
_LONG = ("working_width", "pass_distance")
_SIDEWAYS = {
    "hitch_shift": ("left", "right"),
    "lateral_offset": ("right", "left"),
    "off_centre": ("left", "right"),
}


def name_of(key: str) -> str:
    """Name an item.

    Parameters
    ----------
    key : str
        As in results.

    Returns
    -------
    str
        As people say it.
    """
    return _NAMES[key]


def value_of(key: str, value: Any, scenario: Scenario, words: Words) -> str:
    """Write an item's value.

    Parameters
    ----------
    key : str
        As in results.
    value : Any
        SI.
    scenario : Scenario
        Tells from where its controller measures.
    words : Words
        Units.

    Returns
    -------
    str
        With its unit; ``"not said"`` for what is not.
    """
    if value is None:
        return "not said"
    if isinstance(value, Mapping):
        texts = {rank: value_of(key, one, scenario, words) for rank, one in value.items()}
        if len(set(texts.values())) == 1:
            return next(iter(texts.values()))
        return ", ".join(f"{rank} {text}" for rank, text in texts.items())
    if key == "rows_per_section":
        return sections_words(value)
    if isinstance(value, list):
        return and_words([str(one) for one in value])
    return _number(key, value, scenario, words)


def _number(key: str, value: Any, scenario: Scenario, words: Words) -> str:
    if key == "reference_offset":
        return words.short(value + measured_from(scenario))
    if key in _LONG:
        return words.long(value)
    if key in _SIDEWAYS:
        side = _SIDEWAYS[key][value > 0]
        number = words.short(abs(value))
        return number if number.startswith("0 ") else f"{number} to the {side}"
    if key in ("turn_on_time", "turn_off_time", "on_latency", "off_latency"):
        return format_time(value)
    if key == "population":
        return format_amount(value, "us" if words.us else "metric")
    if key == "working_speed":
        return words.speed(value)
    if key in ("row_spacing", "seed_spacing") or key.startswith("deliberate"):
        return words.short(value)
    if key == "seeds_per_second_and_row":
        return plain(value)
    return plain(value, 2) if isinstance(value, float) else str(value)


def sections_words(counts: list[int]) -> str:
    """Write the rows of each section.

    Parameters
    ----------
    counts : list of int
        From the left.

    Returns
    -------
    str
        As in ``"16 x 2"`` or ``"4, 8, 4"``.

    Examples
    --------
    >>> sections_words([2] * 16), sections_words([4, 8, 4])
    ('16 x 2', '4, 8, 4')
    """
    if len(set(counts)) == 1:
        return f"{len(counts)} x {counts[0]}"
    return ", ".join(str(count) for count in counts)


def change_words(change: Mapping[str, Any], old: Scenario, new: Scenario, words: Words) -> tuple[str, str]:
    """Write both values of a change.

    Parameters
    ----------
    change : dict
        One of a result's.
    old, new : Scenario
        The two row setups.
    words : Words
        Units.

    Returns
    -------
    str, str
        Old and new.
    """
    key = change["key"]
    return value_of(key, change["from"], old, words), value_of(key, change["to"], new, words)


def forgotten_words(one: Mapping[str, Any]) -> str:
    """Name a forgotten step.

    Parameters
    ----------
    one : dict
        One of a result's.

    Returns
    -------
    str
        As it reads in a table.
    """
    rank = rank_words(one["rank"]) if "rank" in one else ""
    return {
        "reference_offset_left": "old reference offset left",
        "recentring_left": "re-centring left out",
        "recentring_twice": "re-centring done twice",
        "entered_setup_left": "old rows and sections entered",
        "rank_left_up": f"{rank} left up",
        "row_locked_up": f"one row locked up, {rank}",
        "times_left": "old times left",
    }[str(one["key"])]


def unpriced_words(key: str) -> str:
    """Name a step that has no price.

    Parameters
    ----------
    key : str
        Its key, with the rank behind a colon.

    Returns
    -------
    str
        As in ``"rear rank left down"``.
    """
    name, _, rank = key.partition(":")
    if name == "rank_left_down":
        return f"{rank_words(rank)} left down"
    return forgotten_words({"key": name, **({"rank": rank} if rank else {})})
