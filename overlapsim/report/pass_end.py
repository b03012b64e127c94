"""The pass end with its sliders, as a section of a page; what it shows without a script stands in it as well.

For whoever builds a page: ``pass_end_section(result)`` gives the section, :data:`SCRIPTS` the names of its
scripts in their order and :data:`STYLES` the name of its style sheet, all three for ``frame.document``.
"""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np

from overlapsim.report.page.markup import Section, data_html, said
from overlapsim.report.page.row_ends import strip, window_of
from overlapsim.report.pass_end_data import pass_end_data
from overlapsim.report.phrases import rank_words
from overlapsim.report.row_ends import WIDEST, line_name
from overlapsim.report.row_ends_panel import SEED_SPACING
from overlapsim.scenario.rows import row_layout

KEY = "pass-end"
"""The section's address within its page."""

SCRIPTS = ("pass_end_numbers.js", "pass_end_drawing.js", "pass_end.js")
"""Scripts of the section, in the order in which a page holds them."""

STYLES = ("pass_end.css",)
"""Style sheets of the section."""

SUMMARY = '<p class="pe-unseen" role="status" aria-live="polite" data-summary></p>'
"""What a reader of the screen is told when a slider rests."""

DRAWING = '<div class="pe-stay">' + "".join(
    f'<figure><figcaption class="told"><b>{word}</b> <span data-told="{end}"></span></figcaption>'
    f'<div data-draw="{end}"></div></figure>'
    for end, word in (("off", "stops"), ("on", "starts"))
) + (
    '<p class="pe-live" data-with-script hidden>longest gap <b data-live="gap"></b> '
    '<span>in all <b data-live="total"></b></span></p></div>'
)  # fmt: skip
"""Where the script draws: the far end of a pass above, its near end below."""

_AREAS = (
    ("skip", "skipped"), ("overlap", "double-planted"), ("off_field", "off the field"), ("total", "in all"),
)  # fmt: skip


def pass_end_section(result: Any) -> Section:
    """Write the section.

    Parameters
    ----------
    result : TuneResult or Simulation
        Finished result.

    Returns
    -------
    Section
        Its drawing as it is typed in (or entered), sliders that appear with the script, and its data.
    """
    data = pass_end_data(result)
    run = getattr(result, "recommended", result)
    body = (
        '<div id="pass-end-view" class="pe-view">'
        f'{_drawings(run)}<div class="pe-controls">{_knobs(data)}{_totals_html(data)}'
        f"{SUMMARY}</div>{_key(run.scenario, row_layout(run.scenario))}</div>"
        f"{data_html('pass-end-data', data)}"
    )
    return Section(KEY, "Try it at the pass end", body, "Pass end")


def _drawings(run: Any) -> str:
    """Both ends as they stand without a script."""
    scenario, layout, ends = run.scenario, row_layout(run.scenario), run.square_ends
    shown = layout.right_edge - layout.left_edge[0] <= WIDEST + 1e-9
    working = shown & ~layout.off
    spacing = scenario.seed.spacing or SEED_SPACING
    line = line_name(scenario)
    page = DRAWING
    for end, word, error in (("off", "stops", ends.off_m), ("on", "starts", ends.on_m)):
        window = window_of(error[working], end, spacing)
        still = strip(error, end, layout, shown, window, spacing, f"{word} at the {line}")
        told = " ".join(
            f'<span class="rank{k}">{_late(layout, error, rank, end)}</span>'
            for k, rank in enumerate(layout.working_ranks)
        )
        page = page.replace(f'data-told="{end}">', f'data-told="{end}">{told}')
        page = page.replace(f'data-draw="{end}">', f'data-draw="{end}">{still}')
    return page


def _late(layout: Any, error: Any, rank: str, end: str) -> str:
    row = int(np.flatnonzero(layout.rank == rank)[0])
    name = "every row" if len(layout.working_ranks) == 1 else rank
    return said(lambda words: f"{name} {words.late(float(error[row]), end)}")


def _key(scenario: Any, layout: Any) -> str:
    shown = int((layout.right_edge - layout.left_edge[0] <= WIDEST + 1e-9).sum())
    spacing = scenario.seed.spacing or SEED_SPACING
    ranks = "".join(
        f'<li><span class="dot rank{k}"></span>{escape(rank_words(rank))}</li>'
        for k, rank in enumerate(layout.working_ranks)
    )
    some = "" if shown == len(layout.rank) else f"Rows 1 to {shown} of {len(layout.rank)} from the left. "
    drawn = "" if scenario.seed.spacing else "drawn "
    seeds = said(lambda words: f"seeds {drawn}{words.short(spacing)} apart")
    outside = "headland" if scenario.plan.headland_laps else "outside the field"
    return (
        f'<div class="pe-key"><ul class="key">{ranks}{ground_key(outside)}</ul>'
        f'<p class="small">{some}True scale, looking down, the machine drives up the page; the heavy line is '
        f"the {line_name(scenario)}, square to the way; {seeds}.<span data-with-script hidden> The machine "
        "is drawn where its reference line lies on the heavy line: with matched times each row starts and "
        "stops right under its own row unit.</span></p></div>"
    )


def ground_key(outside: str) -> str:
    """Write what the colours of the ground mean.

    Parameters
    ----------
    outside : str
        What lies beyond the line, plain text.

    Returns
    -------
    str
        HTML, items of a list.
    """
    words = {"gap": "gap: row missing", "beyond": "seed beyond the line", "outside": escape(outside)}
    return "".join(f'<li><span class="dot {kind}"></span>{word}</li>' for kind, word in words.items())


def knob(key: str, name: str, note: str = "") -> str:
    """Write one slider with its name and value.

    Parameters
    ----------
    key : str
        What it moves, as the script knows it.
    name : str
        Its label, plain text.
    note : str
        What stands beside the label, HTML.

    Returns
    -------
    str
        HTML.
    """
    more = f" <small>{note}</small>" if note else ""
    return (
        f'<div class="pe-knob"><label for="pe-{key}">{escape(name)}{more}</label>'
        f'<output for="pe-{key}"></output>'
        f'<input type="range" id="pe-{key}" min="0" max="1" step="1" data-knob="{key}"></div>'
    )


def knobs_html(names: dict[str, str], notes: dict[str, str] | None = None) -> str:
    """Write all sliders.

    Parameters
    ----------
    names : dict of str to str
        What each of them moves, as the script knows it, and its label, plain text.
    notes : dict of str to str, optional
        What stands beside labels, HTML.

    Returns
    -------
    str
        HTML, hidden until the script runs.
    """
    knobs = "".join(knob(key, name, (notes or {}).get(key, "")) for key, name in names.items())
    return (
        '<fieldset class="pe-knobs" data-with-script hidden><legend class="pe-unseen">Settings and '
        f"conditions</legend>{knobs}</fieldset>"
    )


def buttons_html(names: tuple[str, ...]) -> str:
    """Write the buttons that put all sliders back.

    Parameters
    ----------
    names : tuple of str
        ``"now"``, ``"type in"`` or both, in the order of the data's settings.

    Returns
    -------
    str
        HTML, hidden until the script runs.
    """
    words = {"now": "As it is now", "type in": "What to type in"}
    buttons = "".join(
        f'<button type="button" data-set="{k}">{words[name]}</button>' for k, name in enumerate(names)
    )
    return f'<div class="pe-buttons" data-with-script hidden>{buttons}</div>'


def _knobs(data: dict[str, Any]) -> str:
    """Sliders and buttons of a result."""
    several = len(data["settings"][0]["offset"]) > 1
    ranks = [f", {rank_words(rank['name'])}" for rank in data["ranks"]] if several else [""]
    offsets = {f"offset{k}": f"reference offset{name}" for k, name in enumerate(ranks)}
    names = offsets | {
        "on": "turn-on time", "off": "turn-off time", "speed": "speed",
        "onLatency": "on latency", "offLatency": "off latency",
    }  # fmt: skip
    behind, takes = escape(data["behind_what"]), "what the machine takes"
    notes = dict.fromkeys(offsets, behind) | {
        "on": "entered", "off": "entered", "onLatency": takes, "offLatency": takes,
    }  # fmt: skip
    return (
        knobs_html(names, notes)
        + buttons_html(tuple(one["name"] for one in data["settings"]))
        + '<noscript><p class="small">With a script allowed, sliders for offset, times, speed and latencies '
        "stand here.</p></noscript>"
    )


def _totals_html(data: dict[str, Any]) -> str:
    def row(key: str, name: str) -> str:
        cells = f'<td data-cell="{key}"></td><td data-cell="{key}"></td>'
        return f'<tr><th scope="row">{name}</th>{cells}</tr>'

    rows = row("gap", "longest gap")
    if data["totals"]:
        rows += "".join(row(key, name) for key, name in _AREAS)
    table = (
        '<table class="pe-totals" data-with-script hidden><caption>On this field</caption><thead><tr>'
        '<td></td><th scope="col">here</th><th scope="col">now</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>"
    )
    if data["totals"]:
        least = ", or the controller’s least times or speed decide" if data["totals"]["least"] else ""
        return table + (
            f'<p class="small" data-beyond hidden>Rows are too far off here{least}: this page does not hold '
            "the field’s areas then. Run it again with these settings.</p>"
        )
    return table + (
        f'<p class="small" data-with-script hidden>The field’s areas do not follow the sliders: '
        f"{escape(data['why'])}.</p>"
    )
