"""The pass end alone as one page, for whoever has no Python: boxes, answer, sliders, a scenario to copy."""

from __future__ import annotations

from html import escape
from pathlib import Path

from overlapsim.files.asked_files import write_new
from overlapsim.report.page.frame import document
from overlapsim.report.page.markup import Section
from overlapsim.report.page.proof import caution_html
from overlapsim.report.pass_end import DRAWING, STYLES, SUMMARY, buttons_html, ground_key, knobs_html

SCRIPTS = (
    "pass_end_numbers.js", "pass_end_answer.js", "pass_end_drawing.js", "pass_end.js", "pass_end_page.js",
)  # fmt: skip
"""Scripts of the page, in their order."""

# An invented machine, so that the page shows something from the start.
_MACHINE = (
    ("front_rows", "rows on the front rank", "count", "16", ""),
    ("rear_rows", "rows on the rear rank", "count", "16", "data-rear"),
    ("spacing", "row spacing within a rank", "length", "30", ""),
    ("front_behind", "hitch pin back to the seed of the front rank", "length", "84", ""),
    ("rear_behind", "hitch pin back to the seed of the rear rank", "length", "119", "data-rear"),
)
_ENTERED = (
    ("offset", "reference offset", "length", "84", ""),
    ("on", "turn-on time", "time", "0.40", ""),
    ("off", "turn-off time", "time", "0.40", ""),
)
_REAL = (
    ("speed", "speed at pass ends", "speed", "5", ""),
    ("on_latency", "on latency, if dug", "time", "0.45", "data-may"),
    ("off_latency", "off latency, if dug", "time", "0.30", "data-may"),
    ("seed", "seed spacing, to draw", "length", "6", "data-may"),
)
_UNITS = {"length": "in", "speed": "mph", "time": "s", "count": ""}
_NAMES = {
    "offset0": "reference offset", "on": "turn-on time", "off": "turn-off time", "speed": "speed",
    "onLatency": "on latency", "offLatency": "off latency",
}  # fmt: skip

_LIMITS = (
    "Ends square to the way, no headland laps, continuous updates: the field itself is not looked at. On "
    "real fields slanted ends and laps move the number a little; the program reckons them, this page "
    "does not."
)


def pass_end_page(units: str = "us") -> str:
    """Write the page.

    Parameters
    ----------
    units : {"us", "metric"}
        What a reader sees who has not chosen.

    Returns
    -------
    str
        HTML that needs nothing else.
    """
    under = "<p>Tape, times and speed in; the reference offset to type in out. Nothing is sent anywhere.</p>"
    first = (
        '<form id="machine" class="pe-form" autocomplete="off">'
        f'<fieldset><legend>The machine, by tape</legend>{_ranks()}{_boxes(_MACHINE)}</fieldset>'
        f"<fieldset><legend>Entered now</legend>{_boxes(_ENTERED)}</fieldset>"
        f"<fieldset><legend>How it really is</legend>{_boxes(_REAL)}</fieldset></form>"
        '<p class="pe-faults" role="alert" data-faults></p>'
        '<noscript><p>This page reckons with a script, and this browser runs none. By hand: with times that '
        "match the latencies type in the middle between the front and the rear rank; for every 0.1 s that a "
        "latency is longer than its time, the number gets smaller by half the way driven in 0.1 s."
        "</p></noscript>"
    )
    answer = (
        '<div class="enter" aria-live="polite"><h2 data-do>Type in</h2><dl><div class="offset">'
        "<dt>reference offset</dt><dd><b data-number></b><span class=\"was\" data-was></span>"
        '<span class="ways" data-ways></span></dd></div></dl><p data-good></p><p data-gap></p>'
        f'<p class="small" data-assumed></p></div><p class="small">{_LIMITS}</p>'
    )
    view = (
        f'<div id="pass-end-view" class="pe-view">{DRAWING}<div class="pe-controls">'
        f"{knobs_html(_NAMES)}{buttons_html(('now', 'type in'))}{SUMMARY}</div></div>"
        f'<ul class="key">{ground_key("outside the field, or headland")}</ul>'
        '<p class="small">True scale, looking down, the machine drives up the page; the heavy line is the '
        "line at which passes start and stop. The machine is drawn where its reference line lies on it: with "
        "matched times each row starts and stops right under its own row unit.</p>"
    )
    copy = (
        "<p>For the program: reckons the same machine on a field. Add a [field] and a [plan].</p>"
        '<p><button type="button" data-copy>Copy the scenario</button> '
        '<span role="status" data-copied></span></p>'
        '<label for="toml" class="pe-unseen">The scenario as text</label>'
        '<textarea id="toml" class="code" rows="24" cols="60" readonly spellcheck="false" data-toml>'
        "</textarea>"
    )
    sections = [
        Section("answer", "What to type in", answer, "Answer"),
        Section("pass-end", "Try it at the pass end", view, "Pass end"),
        Section("scenario", "The scenario", copy, "Scenario"),
        Section("cautions", "Before anybody digs or tapes", caution_html(), "Cautions"),
    ]
    hidden = ' data-reckoned data-with-script hidden'
    page = document("Pass ends, by tape", under, first, sections, units, SCRIPTS, STYLES)
    return page.replace('<section id="answer"', f'<section id="answer"{hidden}')


def write_pass_end_page(path: str | Path, units: str = "us") -> Path:
    """Write the page to a file.

    Parameters
    ----------
    path : str or Path
        Where to.
    units : {"us", "metric"}
        What a reader sees who has not chosen.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    FolderError
        If a file is there already that says something else.
    """
    file = Path(path)
    write_new({file: pass_end_page(units).encode()})
    return file


def _ranks() -> str:
    choices = "".join(
        f'<label><input type="radio" name="ranks" value="{n}"{" checked" * (n == 2)}> {word}</label>'
        for n, word in ((1, "one rank"), (2, "two ranks"))
    )
    return f'<div class="pe-choice" role="radiogroup" aria-label="ranks">{choices}</div>'


def _boxes(boxes: tuple[tuple[str, ...], ...]) -> str:
    made = []
    for name, label, kind, value, more in boxes:
        unit = _UNITS[kind]
        rear = " data-with-rear" if more == "data-rear" else ""
        mode = "numeric" if kind == "count" else "decimal"
        made.append(
            f'<div class="pe-box"{rear}><label for="box-{name}">{escape(label)}</label>'
            f'<span><input type="text" inputmode="{mode}" size="7" id="box-{name}" name="{name}" '
            f'value="{value}" data-kind="{kind}" data-unit="{unit}" {more}> '
            f'<span data-unit-of="{name}">{unit}</span></span></div>'
        )
    return "".join(made)
