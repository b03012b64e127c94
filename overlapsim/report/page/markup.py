"""Pieces of HTML: escaped text, text in both systems of units, tables and parts of a report."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from html import escape
from itertools import zip_longest
from typing import Any

from overlapsim.report.words import Words

US, METRIC = Words("us"), Words("metric")
"""The two ways to write quantities, both of which stand in every page."""

_LESS = "\\u003c"  # how JSON writes <

Said = Callable[[Words], str]
"""Text that depends on the units."""


@dataclass(frozen=True)
class Section:
    """One section of a page.

    Attributes
    ----------
    key : str
        Its address within the page, letters and hyphens.
    title : str
        Its heading, plain text.
    body : str
        HTML, escaped already.
    menu : str
        Its name in the list of sections, plain text; empty = not in it.
    """

    key: str
    title: str
    body: str
    menu: str = ""


def pair(us: str, metric: str, tag: str = "span") -> str:
    """Set text, in both systems of units where it differs.

    Parameters
    ----------
    us, metric : str
        Plain text, with inches and feet and with metres.
    tag : str
        Element for each; ``tspan`` within drawings, ``div`` round blocks.

    Returns
    -------
    str
        HTML; the page shows one of the two.

    Examples
    --------
    >>> pair("a < b", "a < b"), pair("1 in", "2.5 cm")
    ('a &lt; b', '<span class="us">1 in</span><span class="metric">2.5 cm</span>')
    """
    return marked(escape(us), escape(metric), tag)


def marked(us: str, metric: str, tag: str = "div") -> str:
    """Put markup for both systems of units side by side, once where it is the same.

    Parameters
    ----------
    us, metric : str
        HTML.
    tag : str
        Element for each.

    Returns
    -------
    str
        HTML.
    """
    if us == metric:
        return us
    return f'<{tag} class="us">{us}</{tag}><{tag} class="metric">{metric}</{tag}>'


def said(make: Said, tag: str = "span") -> str:
    """Set text that depends on the units.

    Parameters
    ----------
    make : callable
        Gives plain text for a `Words`.
    tag : str
        Element for each of the two.

    Returns
    -------
    str
        HTML.
    """
    return pair(make(US), make(METRIC), tag)


def short(metres: float, before: str = "", tag: str = "span") -> str:
    """Set an offset, a gap or an error.

    Parameters
    ----------
    metres : float
        Signed length, metres.
    before : str
        Plain text that stands before it.
    tag : str
        Element for each system of units.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> short(1.0, "now ")
    '<span class="us">now 39.4 in</span><span class="metric">now 100 cm</span>'
    """
    return said(lambda words: f"{before}{words.short(metres)}", tag)


def lines_html(us: Iterable[str], metric: Iterable[str], kind: str = "p") -> str:
    """Set lines of text, each in an element of its own.

    Parameters
    ----------
    us, metric : iterable of str
        The same lines in both systems of units.
    kind : str
        Element round each line.

    Returns
    -------
    str
        HTML.
    """
    pairs = zip_longest(us, metric, fillvalue="")
    return "".join(f"<{kind}>{pair(one, other)}</{kind}>" for one, other in pairs)


def table_html(us: dict[str, Any], metric: dict[str, Any], caption: str = "") -> str:
    """Set a table of a report.

    Parameters
    ----------
    us, metric : dict
        The same table part in both systems of units; see :mod:`overlapsim.report.data`.
    caption : str
        Its caption, HTML; default: its own title.

    Returns
    -------
    str
        HTML; wide tables scroll by themselves, also by keyboard.
    """
    if len(us["rows"]) != len(metric["rows"]) or len(us["columns"]) != len(metric["columns"]):
        return marked(table_html(us, us, caption), table_html(metric, metric, caption))
    title = caption or pair(sentence(us.get("title", "")), sentence(metric.get("title", "")))
    left = ' class="left"' if us.get("left") else ""
    heads = "".join(
        f'<th scope="col">{pair(_head(one), _head(other))}</th>'
        for one, other in zip(us["columns"], metric["columns"], strict=True)
    )
    rows = []
    for one, other in zip(us["rows"], metric["rows"], strict=True):
        cells = "".join(f"<td>{pair(a, b)}</td>" for a, b in zip(one["cells"], other["cells"], strict=True))
        strong = ' class="strong"' if one.get("strong") else ""
        rows.append(f'<tr{strong}><th scope="row">{pair(one["label"], other["label"])}</th>{cells}</tr>')
    name = f"<caption>{title}</caption>" if title else ""
    label = escape(sentence(us.get("title", "")) or us.get("name", "Figures"), quote=True)
    return (
        f'<div class="wide" role="region" tabindex="0" aria-label="{label}"><table{left}>{name}'
        f"<thead><tr><td></td>{heads}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def _head(column: dict[str, Any]) -> str:
    name = " ".join(column["head"]).replace("- ", "-")
    return f"{name}, {column['unit']}" if column["unit"] else name


def parts_html(us: list[dict[str, Any]], metric: list[dict[str, Any]]) -> str:
    """Set parts of a report, text and tables, one after the other.

    Parameters
    ----------
    us, metric : list of dict
        The same parts in both systems of units.

    Returns
    -------
    str
        HTML: labels in the margin, as in the printed summary.
    """
    if [_shape(one) for one in us] != [_shape(one) for one in metric]:
        return marked(parts_html(us, us), parts_html(metric, metric))
    made, named = [], False
    for one, other in zip(us, metric, strict=True):
        if "rows" in one:
            made.append(table_html(one, other))
            named = False
        elif one["lines"]:
            tone = f" {one['tone']}" if one["tone"] else ""
            label = f"<h3>{escape(sentence(one['label']))}</h3>" if one["label"] else ""
            # What goes on below a label stays beside its margin.
            label = "<span></span>" if not label and named and one["inset"] else label
            lines = lines_html(one["lines"], other["lines"])
            made.append(f'<div class="part{tone}">{label}<div>{lines}</div></div>')
            named = bool(label)
    return "\n".join(made)


def _shape(one: dict[str, Any]) -> tuple[str, bool, int]:
    return one["label"], "rows" in one, len(one.get("lines", ()))


def data_html(name: str, data: Any) -> str:
    """Put data into a page for its scripts.

    Parameters
    ----------
    name : str
        Its address within the page.
    data : Any
        What JSON knows.

    Returns
    -------
    str
        HTML; nothing in it can end its element.

    Examples
    --------
    >>> "</b>" in data_html("d", ["</b>"]), json.loads('"' + _LESS + '"')
    (False, '<')
    """
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return f'<script type="application/json" id="{name}">{text.replace("<", _LESS)}</script>'


def sentence(text: str) -> str:
    """Write a heading in small letters.

    Parameters
    ----------
    text : str
        As it is printed, in capitals.

    Returns
    -------
    str
        Words in capitals are set small, all others stay; the first letter is a capital.

    Examples
    --------
    >>> sentence("DIGGING SHOULD SHOW at 97 in (Old Rank)")
    'Digging should show at 97 in (Old Rank)'
    """
    words = [word.lower() if word.isupper() else word for word in text.split(" ")]
    said = " ".join(words)
    return said[:1].upper() + said[1:]


def number(value: float, digits: int = 1) -> str:
    """Write a coordinate of a drawing, as short as it goes.

    Parameters
    ----------
    value : float
        In the drawing's own unit, any unit.
    digits : int
        Digits after the point, at most.

    Returns
    -------
    str
        As in ``"12.5"`` or ``"-3"``.

    Examples
    --------
    >>> number(12.50), number(-3.04), number(-0.01)
    ('12.5', '-3', '0')
    """
    text = f"{value:.1f}" if digits == 1 else f"{value:.{digits}f}"
    if digits and text[-1] == "0":
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
