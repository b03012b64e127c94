"""The plan of digs as a page to print: cautions, a drawing of the signs, how to measure, and blanks to fill
in."""

from __future__ import annotations

from html import escape
from typing import Any

from overlapsim.questions.digs import half_strip
from overlapsim.report.dig_plan_report import ENDS, how_to_measure, plan_words
from overlapsim.report.dig_sheet import speed_number
from overlapsim.report.setting import entered_words, heading_lines, machine_words
from overlapsim.report.words import Words, choose
from overlapsim.scenario.rows import row_layout

CAUTIONS = (
    "Stop the machine, engine off, key out. Lower it to the ground, or lock or block it up mechanically.",
    "Hydraulic circuits and air systems keep pressure with the engine off: open nothing, loosen nothing.",
    "Nobody goes between or under row units of a raised machine. Everybody is clear before it starts again.",
    "Treated seed: chemical-resistant gloves as the tag says; cover or clean up what is spilt.",
    "The operator's manual and local rules come first.",
)
"""Before the first step (29 CFR 1928.57(a)(6); Iowa FACE 95IA041 and 99IA011; seed tags)."""

_STYLE = """
@page { margin: 12mm; }
body { font: 11pt/1.35 sans-serif; color: #000; background: #fff; max-width: 190mm; margin: 1em auto; }
h1 { font-size: 15pt; margin: 0; } h2 { font-size: 12pt; margin: 0.9em 0 0.2em; }
ul, ol { margin: 0.2em 0; padding-left: 1.4em; }
.first { border: 2px solid #000; padding: 0.3em 0.8em; }
table { border-collapse: collapse; width: 100%; } thead { display: table-header-group; }
th, td { border: 1px solid #000; padding: 0.18em 0.4em; text-align: left; font-variant-numeric: tabular-
nums; } td.fill { width: 24mm; } tr { break-inside: avoid; } svg { width: 100%; height: auto; } .turn td {
background: #eee; font-weight: bold; }
"""


def page_text(plan: Any, units: str | None = None) -> str:
    """Write the page.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    str
        HTML that needs nothing else: no network, no script, no pictures beside it.
    """
    scenario = plan.scenario
    words, layout = choose(units, scenario), row_layout(scenario)
    entered = f"Entered: {entered_words(scenario, words)}."
    lines = [*heading_lines(scenario), machine_words(scenario, layout, words), entered]
    return "\n".join([
        "<!DOCTYPE html>",
        f'<html lang="en"><head><meta charset="utf-8"><title>{escape(scenario.title)}: where to dig</title>',
        f"<style>{_STYLE}</style></head><body>",
        f"<h1>Where to dig: {escape(scenario.title)}</h1>",
        *(f"<div>{escape(line)}</div>" for line in lines),
        '<h2>Before the first step</h2><div class="first">', _list(CAUTIONS, "ul"), "</div>",
        f"<h2>{escape(plan_words(plan, words))}</h2>",
        _list([f"{end}: {said}." for end, said in ENDS.items() if _has(plan, end)], "ul"),
        "<h2>Signs</h2>", drawing(plan, words),
        "<h2>How to measure</h2>", _list(how_to_measure(plan, words), "ol"),
        "<h2>Digs</h2>", _table(plan, words),
        "<p>Dug by: ______________________ &nbsp; on: ______________ &nbsp; seed: ______________________</p>",
        "</body></html>", "",
    ])  # fmt: skip


def _has(plan: Any, end: str) -> bool:
    return any(turn.where == end for turn in plan.turns)


def _list(lines: Any, tag: str) -> str:
    return f"<{tag}>" + "".join(f"<li>{escape(line)}</li>" for line in lines) + f"</{tag}>"


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
    head = "".join(f"<th>{escape(one)}</th>" for one in heads)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"


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
        SVG. The machine runs to the right; plus lies to the right of the line at starts and at stops.
    """
    half = words.short(half_strip(plan.scenario))
    headland = plan.digs[0].origin == "headland row"
    panels = [_panel(10, "START", True, half, headland), _panel(370, "STOP", False, half, headland)]
    body = "".join(panels)
    return f'<svg viewBox="0 0 720 190" role="img" aria-label="Signs of digs">{body}</svg>'


def _panel(left: int, name: str, start: bool, half: str, headland: bool) -> str:
    """One panel: the line in its middle, seeds on the field's side of it."""
    line = left + 170
    text = 'font-family="sans-serif" font-size="13"'
    bold = f'{text} font-weight="bold"'
    plus, minus = ("late", "early") if start else ("over", "short")
    parts = [
        f'<text x="{left}" y="18" {text} font-weight="bold">{name}</text>',
        f'<path d="M{left + 60} 14 h200 m-10 -6 l10 6 l-10 6" fill="none" stroke="#000" stroke-width="2"/>',
        f'<text x="{left + 268}" y="18" {text}>travel</text>',
        f'<path d="M{line} 34 V150" stroke="#000" stroke-width="2" stroke-dasharray="7 5"/>',
        f'<text x="{line - 12}" y="166" {text}>line</text>',
        f'<text x="{line + 24}" y="52" {bold}>plus: {plus}</text>',
        f'<text x="{line - 122}" y="52" {bold}>minus: {minus}</text>',
    ]
    # A late start has its first seed beyond the line, an early one before it; stops end there.
    for y, shift in ((80, 46), (110, -46)):
        first = line + shift
        run = range(first, left + 320, 18) if start else range(first, left + 10, -18)
        parts += [f'<circle cx="{x}" cy="{y}" r="3.4" fill="#000"/>' for x in run]
        parts.append(f'<path d="M{line} {y} H{first}" stroke="#000" stroke-width="1.2"/>')
        parts.append(f'<circle cx="{first}" cy="{y}" r="7" fill="none" stroke="#000" stroke-width="1.5"/>')
    if headland:
        row = line - 70 if start else line + 70
        parts.append(f'<path d="M{row} 124 V150" stroke="#000" stroke-width="4" stroke-dasharray="2 4"/>')
        parts.append(f'<text x="{row - 45}" y="166" {text}>headland row</text>' if start else
                     f'<text x="{row - 30}" y="166" {text}>headland row</text>')  # fmt: skip
        low, high = sorted((row, line))
        parts.append(f'<path d="M{low} 138 H{high}" stroke="#000" stroke-width="1"/>')
        parts.append(f'<text x="{(low + high) // 2 - 22}" y="134" {text}>{escape(half)}</text>')
        sign = "+" if start else "-"
        parts.append(
            f'<text x="{left}" y="184" {text}>from the headland row, perfect is {sign}{escape(half)}</text>'
        )
    else:
        parts.append(f'<text x="{left}" y="184" {text}>the ringed seed is the one to measure to</text>')
    return "".join(parts)
