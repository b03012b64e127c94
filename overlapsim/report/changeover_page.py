"""A changeover as a page to print: both ways on one sheet, with boxes to tick."""

from __future__ import annotations

from html import escape
from typing import Any

from overlapsim.report.changeover_report import (
    CAUTIONS,
    COMMON,
    as_good_words,
    changes_tables,
    forgotten_parts,
    setups_of,
    stays_words,
    step_words,
)
from overlapsim.report.setting import field_words, heading_lines
from overlapsim.report.words import choose

_STYLE = """
@page { margin: 10mm; }
body { font: 9.5pt/1.3 sans-serif; color: #000; background: #fff; max-width: 195mm; margin: 0.5em auto; }
h1 { font-size: 14pt; margin: 0; } h2 { font-size: 10.5pt; margin: 0.7em 0 0.15em; }
ul { margin: 0.2em 0; padding-left: 1.3em; } .first { border: 2px solid #000; padding: 0.2em 0.7em; }
table { border-collapse: collapse; width: 100%; } tr { break-inside: avoid; }
th, td { border: 1px solid #000; padding: 0.1em 0.4em; text-align: left; }
td.number { text-align: right; font-variant-numeric: tabular-nums; }
.ways { display: flex; gap: 6mm; } .ways > div { flex: 1; }
.step { break-inside: avoid; padding-left: 1.6em; text-indent: -1.6em; margin: 0.15em 0; }
.category { font-weight: bold; margin-top: 0.35em; }
"""


def changeover_page(result: Any, units: str | None = None) -> str:
    """Write the page.

    Parameters
    ----------
    result : ChangeoverResult
        Finished result.
    units : {"us", "metric"}, optional
        Default: the new row setup's own.

    Returns
    -------
    str
        HTML that needs nothing else: no network, no script, no pictures beside it.
    """
    scenario = result.scenario
    words = choose(units, scenario)
    old, new = setups_of(result)
    lines = [*heading_lines(scenario), field_words(scenario, result.base.drive.heading, words)]
    title = f"{old} to {new} and back: {scenario.title}"
    as_good = [f"Just as good a reference offset: {line}." for line in as_good_words(result, words)]
    prices = [_parts(way, words) for way in (result, result.way_back) if way]
    ways = ((f"To {new}", result.steps), (f"Back to {old}", result.steps_back))
    return "\n".join([
        "<!DOCTYPE html>",
        f'<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title>',
        f"<style>{_STYLE}</style></head><body>",
        f"<h1>{escape(title)}</h1>",
        *(f"<div>{escape(line)}</div>" for line in lines),
        '<h2>Before the first step</h2><div class="first"><ul>',
        *(f"<li>{escape(line)}</li>" for line in CAUTIONS), "</ul></div>",
        *(_table(one) for one in changes_tables(result, words)),
        *(f"<div>{escape(line)}</div>" for line in as_good),
        f"<div>Stays: {escape(stays_words(result, words))}.</div>",
        '<div class="ways">',
        *(f"<div><h2>{escape(name)}</h2>{_steps(steps)}</div>" for name, steps in ways),
        "</div>", f"<p>{escape(COMMON)}</p>", *prices,
        "<p>Changed by: ____________________ &nbsp; on: ______________ &nbsp; entered: _______________</p>",
        "</body></html>", "",
    ])  # fmt: skip


def _parts(way: Any, words: Any) -> str:
    made = []
    for one in forgotten_parts(way, words):
        lines = "".join(f"<div>{escape(line)}</div>" for line in one.get("lines", ()))
        made.append(_table(one) if "rows" in one else lines)
    return "\n".join(made)


def _table(table: dict[str, Any]) -> str:
    heads = [f"{' '.join(c['head'])}{', ' * bool(c['unit'])}{c['unit']}" for c in table["columns"]]
    kind = "" if table.get("left") else ' class="number"'
    rows = [
        f"<tr><td>{escape(row['label'])}</td>"
        + "".join(f"<td{kind}>{escape(cell)}</td>" for cell in row["cells"])
        + "</tr>"
        for row in table["rows"]
    ]
    head = "".join(f"<th>{escape(one)}</th>" for one in ["", *heads])
    return f"<h2>{escape(table['title'])}</h2><table><tr>{head}</tr>{''.join(rows)}</table>"


def _steps(steps: Any) -> str:
    made, before = [], ""
    for step in steps:
        if step.category != before:
            made.append(f'<div class="category">{escape(step.category)}</div>')
        before = step.category
        made.append(f'<div class="step">&#9744; {escape(step_words(step))}</div>')
    return "".join(made)
