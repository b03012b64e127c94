"""A study on one page: what was studied, what it shows, with its pictures in it."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping
from html import escape
from typing import Any

from overlapsim.report.study_report import (
    effects_table,
    failed_words,
    indices_table,
    setting_words,
    shape_table,
)

_STYLE = """
@page { margin: 12mm; }
body { font: 10.5pt/1.4 sans-serif; color: #000; background: #fff; max-width: 190mm; margin: 1em auto;
padding: 0 0.6em; } h1 { font-size: 15pt; margin: 0; } h2 { font-size: 12pt; margin: 1em 0 0.2em; }
.wide { overflow-x: auto; } table { border-collapse: collapse; width: 100%; } tr { break-inside: avoid; }
th, td { border: 1px solid #999; padding: 0.15em 0.45em; text-align: right; font-variant-numeric:
tabular-nums; } th:first-child, td:first-child { text-align: left; } img { max-width: 100%; height: auto; }
details { margin: 0.4em 0; } .quiet { color: #444; font-size: 9pt; overflow-wrap: anywhere; }
:focus-visible { outline: 3px solid #a84300; outline-offset: 2px; }
"""

_LIMITS = (
    "Cases are what the model makes of the inputs: no seed was dug up. The machine runs on rails, latencies "
    "are constant; more of what is left out stands in the README.",
    "Shares are of each field's plantable ground. Off-field is what is planted beyond the boundary, which is "
    "where passes end without headland laps.",
)


def study_page(result: Any, told: dict[str, Any], pictures: Mapping[str, bytes]) -> str:
    """Write the page.

    Parameters
    ----------
    result : StudyResult
        Finished study.
    told : dict
        Its `to_dict`.
    pictures : mapping of str to bytes
        PNG by what it shows.

    Returns
    -------
    str
        HTML that needs nothing else: no network, no script, no pictures beside it.
    """
    title = result.study.title
    body = [f"<p>{escape(setting_words(told))}.</p>"]
    if told["failed"]:
        body += ["<h2>Failed</h2>", *(f"<div>{escape(line)}</div>" for line in failed_words(told))]
    for words, png in pictures.items():
        data = b64encode(png).decode()
        body.append(f"<h2>{escape(words[0].upper() + words[1:])}</h2>")
        body.append(f'<img alt="{escape(words)}" src="data:image/png;base64,{data}">')
    if told["indices"]:
        body.append(_table(indices_table(told)))
    elif told["indices_from"]:
        body.append(f'<p class="quiet">{escape(told["indices_from"])}</p>')
    if told["shape"]:
        body.append(_table(shape_table(told)))
    for response, words in told["responses"].items():
        rows = [one for one in told["effects"] if one["response"] == response]
        if rows:
            table = effects_table(words, rows)
            head = f"<summary>{escape(table['title'])}</summary>"
            body.append(f"<details>{head}{_table(table, False)}</details>")
    body += [f'<p class="quiet">{escape(line)}</p>' for line in _LIMITS]
    body.append(f'<p class="quiet">Inputs: {escape(told["sha256"])}</p>')
    return "\n".join([
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head><body>",
        f"<h1>{escape(title)}</h1>", *body, "</body></html>", "",
    ])  # fmt: skip


def _table(table: dict[str, Any], titled: bool = True) -> str:
    heads = [f"{' '.join(c['head'])}{', ' * bool(c['unit'])}{c['unit']}" for c in table["columns"]]
    head = "".join(f"<th>{escape(one)}</th>" for one in ["", *heads])
    rows = "".join(
        f"<tr><td>{escape(row['label'])}</td>"
        + "".join(f"<td>{escape(cell)}</td>" for cell in row["cells"])
        + "</tr>"
        for row in table["rows"]
    )
    above = f"<h2>{escape(table['title'])}</h2>" if titled else ""
    name = escape(table["title"], quote=True)
    return (
        f'{above}<div class="wide" role="region" tabindex="0" aria-label="{name}">'
        f"<table><tr>{head}</tr>{rows}</table></div>"
    )
