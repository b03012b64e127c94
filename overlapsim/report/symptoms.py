"""What one sees at pass ends, what it means and what cures it: a table to read digs by.

Each line holds in the model that everything else here is reckoned with; the suite checks that it does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from overlapsim.questions.digs import DRIFT, DX, OFF, ON
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout


@dataclass(frozen=True)
class Symptom:
    """One line of the table.

    Attributes
    ----------
    key : str
        Short name.
    seen : str
        What one sees.
    means : str
        What it comes from, and the cure.
    """

    key: str
    seen: str
    means: str


SYMPTOMS = (
    Symptom(
        "offset", "starts and stops late alike, at any speed",
        "reference offset too big (early alike: too small); type in less by as much",
    ),
    Symptom("turn_on", "starts the later, the faster one drives", "turn-on time too short"),
    Symptom("turn_off", "stops the farther over, the faster one drives", "turn-off time too short"),
    Symptom(
        "stagger", "front-rank rows late and rear-rank rows early by as much, starts and stops alike",
        "stagger: the reference lies midway; no single number cures it",
    ),
    Symptom(
        "recentring", "joints between passes too wide and too narrow in turn",
        "the machine runs off its line: hitch shift or lateral offset, not the reference offset",
    ),
    Symptom(
        "position", "late on the way out and early on the way back, or the other way round",
        "the position is off along the way; no reference offset cures it",
    ),
)  # fmt: skip
"""Symptoms in the order in which one looks for them."""


def shown_by(result: Any, words: Words) -> dict[str, str]:
    """Say which symptoms a set of digs shows, and how much of them.

    Parameters
    ----------
    result : CorrectResult
        Finished estimates.
    words : Words
        Units.

    Returns
    -------
    dict of str to str
        By key of the symptom, as in ``"2.1 in too big"``; only what digs show beyond chance (95 %).
    """
    scenario, found = result.scenario, result.estimates
    switching, shown = scenario.switching, {}
    offset = found[DX]
    if _beyond(offset, 0.0):
        shown["offset"] = (
            f"{words.short(abs(offset['value']))} too {'big' if offset['value'] > 0 else 'small'}"
        )
    for key, name, time in (
        ("turn_on", ON, switching.turn_on_time),
        ("turn_off", OFF, switching.turn_off_time),
    ):
        if _beyond(found[name], time):
            less = found[name]["value"] - time
            shown[key] = f"{abs(less):.2f} s too {'short' if less > 0 else 'long'}"
    layout, place = row_layout(scenario), switching.reference_offset
    front, rear = (layout.behind_pin_of(layout.working_ranks[i]) for i in (0, -1))
    if not isinstance(place, dict) and front < place < rear:
        shown["stagger"] = f"ranks {words.short(rear - front)} apart, one number between them"
    drift = found.get(DRIFT)
    if drift and _beyond(drift, 0.0):
        way = "late on the way out" if drift["value"] > 0 else "late on the way back"
        shown["position"] = f"{words.short(abs(drift['value']))} {way}"
    return shown


def _beyond(one: dict[str, Any], value: float) -> bool:
    """Whether an interval keeps clear of a value."""
    return one["value"] is not None and not one["low"] <= value <= one["high"]
