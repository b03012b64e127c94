"""A plan of digs on the page: cautions, signs as a drawing, how to measure, and blanks to fill in."""

from __future__ import annotations

from html import escape
from typing import Any

from overlapsim.questions.digs import half_strip
from overlapsim.report.dig_plan_report import how_to_measure
from overlapsim.report.dig_sheet import speed_number
from overlapsim.report.page.markup import METRIC, US, Section, lines_html, marked
from overlapsim.report.page.proof import caution_html
from overlapsim.report.page.told import opening, told_sections
from overlapsim.report.words import Words


def plan_opening(plan: Any) -> str:
    """Write the first screen: how much is dug, and what everybody must know before.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.

    Returns
    -------
    str
        HTML.
    """
    return opening(plan, f"<div><h3>Before the first step</h3>{caution_html()}</div>")


def plan_sections(plan: Any) -> list[Section]:
    """Write where to dig, signs, how to measure, the sheet with its blanks, and what it will tell.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.

    Returns
    -------
    list of Section
        In the order in which they are needed.
    """
    where, *others = told_sections(plan, ("MEASURE",))
    signs = marked(drawing(plan, US), drawing(plan, METRIC))
    measure = lines_html(how_to_measure(plan, US), how_to_measure(plan, METRIC), "li")
    blanks = marked(_table(plan, US), _table(plan, METRIC))
    by = "<p>Dug by: ______________________ on: ______________ seed: ______________________</p>"
    return [
        where,
        Section("signs", "Plus and minus", signs, "Signs"),
        Section("measure", "How to measure", f"<ol>{measure}</ol>", "Measure"),
        Section("digs", "The digs", blanks + by, "Digs"),
        *others,
    ]


def _table(plan: Any, words: Words) -> str:
    heads = (
        "dig", "end", "rank", "row", "way", f"speed, {words.speed_unit}", "as driven",
        f"should show, {words.short_unit}", f"found, {words.short_unit}",
    )  # fmt: skip
    rows = []
    size = len(plan.digs) // len(plan.turns)
    for i, (dig, shown) in enumerate(zip(plan.digs, plan.should_show, strict=True)):
        if i % size == 0:
            turn = plan.turns[i // size]
            speed = f"{speed_number(turn.speed, words)} {words.speed_unit}"
            said = f"turn {i // size + 1}: {turn.where} end, {speed}"
            rows.append(f'<tr class="turn"><td colspan="{len(heads)}">{escape(said)}</td></tr>')
        end = "start" if dig.end == "on" else "stop"
        number = words.short_number(shown)
        cells = (dig.line, end, dig.rank, dig.row, dig.direction, speed_number(dig.speed, words))
        told = "".join(f"<td>{escape(str(cell))}</td>" for cell in cells)
        signed = number if number.startswith("-") or number == "0" else f"+{number}"
        rows.append(f'<tr>{told}<td class="fill"></td><td>{signed}</td><td class="fill"></td></tr>')
    head = "".join(f'<th scope="col">{escape(one)}</th>' for one in heads)
    return (
        '<div class="wide" role="region" tabindex="0" aria-label="Digs"><table class="left blanks">'
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def drawing(plan: Any, words: Words) -> str:
    """Draw the signs: a start and a stop, the line, the headland row, and which way is plus.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.
    words : Words
        Units.

    Returns
    -------
    str
        HTML with two drawings. The machine runs to the right; plus lies to the right of the line at starts
        and at stops.
    """
    half = words.short(half_strip(plan.scenario))
    headland = plan.digs[0].origin == "headland row"
    panels = ((0, "START", True), (360, "STOP", False))
    drawn = "".join(
        f'<svg class="signs" viewBox="{left} 0 360 190" role="img" aria-label="Signs of digs, {name}">'
        f"{_panel(left + 10, name, start, half, headland)}</svg>"
        for left, name, start in panels
    )
    return f'<div class="two">{drawn}</div>'


def _panel(left: int, name: str, start: bool, half: str, headland: bool) -> str:
    """One panel: the line in its middle, seeds on the field's side of it."""
    line = left + 170
    text, ink = 'font-size="13"', 'stroke="currentColor"'
    bold = f'{text} font-weight="bold"'
    plus, minus = ("late", "early") if start else ("over", "short")
    parts = [
        f'<text x="{left}" y="18" {text} font-weight="bold">{name}</text>',
        f'<path d="M{left + 60} 14 h200 m-10 -6 l10 6 l-10 6" fill="none" {ink} stroke-width="2"/>',
        f'<text x="{left + 268}" y="18" {text}>travel</text>',
        f'<path d="M{line} 34 V150" {ink} stroke-width="2" stroke-dasharray="7 5"/>',
        f'<text x="{line - 12}" y="166" {text}>line</text>',
        f'<text x="{line + 24}" y="52" {bold}>plus: {plus}</text>',
        f'<text x="{line - 122}" y="52" {bold}>minus: {minus}</text>',
    ]
    # A late start has its first seed beyond the line, an early one before it; stops end there.
    for y, shift in ((80, 46), (110, -46)):
        first = line + shift
        run = range(first, left + 320, 18) if start else range(first, left + 10, -18)
        parts += [f'<circle cx="{x}" cy="{y}" r="3.4" fill="currentColor"/>' for x in run]
        parts.append(f'<path d="M{line} {y} H{first}" {ink} stroke-width="1.2"/>')
        parts.append(f'<circle cx="{first}" cy="{y}" r="7" fill="none" {ink} stroke-width="1.5"/>')
    if headland:
        row = line - 70 if start else line + 70
        parts.append(f'<path d="M{row} 124 V150" {ink} stroke-width="4" stroke-dasharray="2 4"/>')
        parts.append(f'<text x="{row - 45}" y="166" {text}>headland row</text>' if start else
                     f'<text x="{row - 30}" y="166" {text}>headland row</text>')  # fmt: skip
        low, high = sorted((row, line))
        parts.append(f'<path d="M{low} 138 H{high}" {ink} stroke-width="1"/>')
        parts.append(f'<text x="{(low + high) // 2 - 22}" y="134" {text}>{escape(half)}</text>')
        sign = "+" if start else "-"
        parts.append(
            f'<text x="{left}" y="184" {text}>from the headland row, perfect is {sign}{escape(half)}</text>'
        )
    else:
        parts.append(f'<text x="{left}" y="184" {text}>the ringed seed is the one to measure to</text>')
    return "".join(parts)
