"""What is odd about an answer though it may be so: said once, and taken if it stands.

Limits of what is usual are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from overlapsim.basics.units import FOOT, INCH, MPH, exact, format_length
from overlapsim.files.asked_answers import Answers, length_text

__all__ = ["doubt"]

_CLOSE_RANK_ROWS = 18 * INCH
_USUAL_SPACING = (10 * INCH, 40 * INCH)
_USUAL_BEHIND = (2 * FOOT, 20 * FOOT)
_USUAL_APART = (8 * INCH, 6 * FOOT)
_USUAL_SPEED = (2 * MPH, 12 * MPH)
_LONG_TIME = 1.5
_SAME = 1e-6  # a micrometre: two lengths that were typed alike


def doubt(key: str, answers: Answers) -> str:
    """Say what is odd about an answer.

    Parameters
    ----------
    key : str
        Its question.
    answers : Answers
        With it and those before it.

    Returns
    -------
    str
        A sentence; empty where nothing is.
    """
    check = _CHECKS.get(key)
    return check(answers) if check and answers.has(key) else ""


def _say(metres: float, answers: Answers) -> str:
    return format_length(metres, "ft-in") if answers.us else format_length(metres, "cm")


def _rows(answers: Answers) -> str:
    return f"{answers.rows} rows on one rank are many. All ranks together?" if answers.rows > 48 else ""


def _spacing(answers: Answers) -> str:
    spacing = answers.length("spacing")
    if answers.rear_rows and spacing < _CLOSE_RANK_ROWS:
        return (
            f"Rows of one rank {_say(spacing, answers)} apart, with a second rank between them? "
            f"Both together then make {_say(spacing / 2, answers)}."
        )
    low, high = _USUAL_SPACING
    return "" if low <= spacing <= high else f"Rows {_say(spacing, answers)} apart are unusual."


def _front(answers: Answers) -> str:
    low, high = _USUAL_BEHIND
    if answers.text("hitch") == "mounted":
        low = 0.0
    at = answers.length("front")
    if low <= at <= high:
        return ""
    return f"Seed {_say(at, answers)} behind the pin is unusual. Taped from the hitch pin?"


def _rear(answers: Answers) -> str:
    apart = answers.length("rear") - answers.length("front")
    low, high = _USUAL_APART
    if low <= apart <= high:
        return ""
    return f"The ranks would stand {_say(apart, answers)} apart, which is unusual. Both from the pin?"


def _hitch_shift(answers: Answers) -> str:
    shift, wanted = answers.length("hitch-shift"), answers.centring
    if abs(shift - wanted) < _SAME:
        return ""
    right = length_text(wanted, answers.us)
    if wanted and abs(shift + wanted) < _SAME:
        return f"That is away from the extra row's side: {right} would centre the rows. The other way?"
    off = _say(abs(shift - wanted), answers)
    return f"The rows' middle then runs {off} off the pin: {right} would centre it."


def _lateral(answers: Answers) -> str:
    left = answers.off_centre - answers.length("lateral-offset")
    if abs(left) < _SAME:
        return ""
    side = "right" if left > 0 else "left"
    wanted = length_text(answers.off_centre, answers.us)
    return (
        f"The rows' middle still runs {_say(abs(left), answers)} to the {side} of the line: joints between "
        f"passes come out too wide and too narrow in turn. {wanted} would centre it."
    )


def _speed(answers: Answers) -> str:
    speed = float(exact(answers.text("speed"), "speed"))
    low, high = _USUAL_SPEED
    return "" if low <= speed <= high else f"{answers.text('speed')} is unusual for planting."


def _entered(answers: Answers) -> str:
    at, front = answers.length("entered"), answers.length("front")
    rear = answers.length("rear") if answers.has("rear") else front
    if front - 2 * FOOT <= at <= rear + 2 * FOOT:
        return ""
    return (
        f"{_say(at, answers)} lies far from where seed meets the ground "
        f"({_say(front, answers)}{f' and {_say(rear, answers)}' if rear != front else ''}). From the pin?"
    )


def _long(key: str, answers: Answers) -> str:
    seconds = float(exact(answers.text(key), "time"))
    return "" if 0 <= seconds <= _LONG_TIME else f"{answers.text(key)} is unusual."


_CHECKS: dict[str, Callable[[Answers], str]] = {
    "rows": _rows,
    "spacing": _spacing,
    "front": _front,
    "rear": _rear,
    "hitch-shift": _hitch_shift,
    "lateral-offset": _lateral,
    "speed": _speed,
    "entered": _entered,
    **{key: partial(_long, key) for key in ("on-time", "off-time", "on-latency", "off-latency")},
}
