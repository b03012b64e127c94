"""A study on one page: what was studied, what it shows, with its pictures in it."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping
from html import escape
from typing import Any

from overlapsim.report.page.frame import document
from overlapsim.report.page.markup import Section, lines_html, table_html
from overlapsim.report.study_report import (
    effects_table,
    failed_words,
    indices_table,
    setting_words,
    shape_table,
)

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
        HTML that needs nothing else: no network, no pictures beside it.
    """
    sections = []
    if told["failed"]:
        lines = failed_words(told)
        sections.append(Section("failed", "Failed cases", lines_html(lines, lines), "failed"))
    if pictures:
        drawn = "\n".join(_figure(words, png) for words, png in pictures.items())
        sections.append(Section("pictures", "Medians and quartiles, factor by factor", drawn, "pictures"))
    if told["indices"]:
        table = indices_table(told)
        sections.append(Section("shares", table["title"], _table({**table, "title": ""}), "who moves it"))
    elif told["indices_from"]:
        lines = [told["indices_from"]]
        sections.append(Section("shares", "Who moves it", lines_html(lines, lines), "who moves it"))
    if told["shape"]:
        table = shape_table(told)
        sections.append(Section("shape", table["title"], _table({**table, "title": ""}), "shape of fields"))
    tables = []
    for response, words in told["responses"].items():
        rows = [one for one in told["effects"] if one["response"] == response]
        if rows:
            table = effects_table(words, rows)
            head = f"<summary>{escape(table['title'])}</summary>"
            tables.append(f"<details>{head}{_table({**table, 'title': ''})}</details>")
    if tables:
        sections.append(Section("figures", "The same in figures", "\n".join(tables), "figures"))
    inputs = f'<p class="code">{escape(told["sha256"])}</p>'
    sections.append(Section("limits", "What this is, and what not", lines_html(_LIMITS, _LIMITS), "limits"))
    sections.append(Section("inputs", "Fingerprint of the inputs", inputs))
    under = f"<p>{escape(setting_words(told))}.</p>"
    return document(
        result.study.title, under, "", sections, "", styles=("study.css",), pictures=bool(pictures)
    )


def _figure(words: str, png: bytes) -> str:
    data = b64encode(png).decode()
    said = escape(words[0].upper() + words[1:])
    image = f'<img alt="{said}" src="data:image/png;base64,{data}">'
    shown = f'<div class="wide" role="region" tabindex="0" aria-label="{said}">{image}</div>'
    return f"<figure><figcaption>{said}</figcaption>{shown}</figure>"


def _table(table: dict[str, Any]) -> str:
    return table_html(table, table)
