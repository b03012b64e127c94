"""A report as text: laid out for a width in plain pieces, then set in colour where a console has it."""

from __future__ import annotations

import textwrap
from typing import IO, Any

from overlapsim.report.phrases import printable

WIDTH = 80
"""Columns of text that goes into a file or a pipe."""

WIDEST = 100
"""Columns beyond which lines get hard to read (common practice)."""

NARROWEST = 30
"""Columns below which nothing is laid out narrower."""

_MARGIN = 10
_LEAST_LABEL = 12  # columns that names of lines need at least; narrower, a table is laid out row by row
_STYLES = {"strong": "bold", "warn": "yellow", "quiet": "dim", "label": "bold", "": ""}

Piece = tuple[str, str]
Line = list[Piece]


def layout(report: dict[str, Any], width: int = WIDTH) -> list[Line]:
    """Lay a report out.

    Parameters
    ----------
    report : dict
        As :mod:`overlapsim.report.data` makes it.
    width : int
        Columns.

    Returns
    -------
    list of lines
        Each a list of pieces, text and tone.
    """
    width = max(min(width, WIDEST), NARROWEST)
    lines: list[Line] = [[(piece, "label")] for piece in textwrap.wrap(report["title"], width)]
    for part in report["parts"]:
        if "rows" in part:
            lines += _table(part, width)
        else:
            lines += _text(part, width)
    return [line for line, before in zip(lines, [[("", "")], *lines], strict=False) if line or before]


def _text(part: dict[str, Any], width: int) -> list[Line]:
    label, tone = part["label"], part["tone"]
    margin = _MARGIN if part["inset"] else 0
    if width < 50:
        margin = min(margin, 2)
    lines: list[Line] = []
    for text in part["lines"]:
        lines += [[(" " * margin, ""), (piece, tone)] for piece in textwrap.wrap(text, width - margin)]
    if label and lines:
        if len(label) < margin:
            lines[0][0] = (label.ljust(margin), "label")
        else:
            lines.insert(0, [(label, "label")])
    return lines


def _table(part: dict[str, Any], width: int) -> list[Line]:
    columns, rows, title = part["columns"], part["rows"], part.get("title", "")
    widths = [
        max(len(text) for text in [*column["head"], column["unit"], *(row["cells"][i] for row in rows)])
        for i, column in enumerate(columns)
    ]
    labels = max(len(row["label"]) for row in rows)
    for gap in (2, 1):
        room = width - sum(widths) - gap * len(widths)
        if room >= labels:
            break
    if room < min(labels, _LEAST_LABEL):
        return _stacked(part, width)
    # A title stands in the head where there is room for it, else above.
    aside = bool(title) and len(title) <= room
    first = len(title) if aside and len(title) > labels else min(labels, room)
    left = part.get("left", False)

    def line(label: str, cells: list[str]) -> str:
        places = [cell.ljust(w) if left else cell.rjust(w) for cell, w in zip(cells, widths, strict=True)]
        return (" " * gap).join([label.ljust(first), *places]).rstrip()

    deep = max(len(column["head"]) for column in columns)
    heads = [[""] * (deep - len(column["head"])) + column["head"] for column in columns]
    units = [column["unit"] for column in columns]
    over = [list(row) for row in zip(*heads, strict=True)] + ([units] if any(units) else [])
    lines: list[Line] = [] if aside else [[(piece, "label")] for piece in textwrap.wrap(title, width)]
    for number, cells in enumerate(over):
        name = title if aside and number == 0 else ""
        lines.append([(name, "label"), (line(name, cells)[len(name) :], "quiet")])
    for row in rows:
        *above, label = textwrap.wrap(row["label"], first)
        tone = "strong" if row["strong"] else ""
        lines += [[(piece, tone)] for piece in above]
        lines.append([(line(label, row["cells"]), tone)])
    return [[], *lines, []]


def _stacked(part: dict[str, Any], width: int) -> list[Line]:
    """Lay a table out row by row where it is too wide to stand."""
    lines: list[Line] = [[], *([(piece, "label")] for piece in textwrap.wrap(part.get("title", ""), width))]
    for row in part["rows"]:
        tone = "strong" if row["strong"] else ""
        lines += [[(piece, tone)] for piece in textwrap.wrap(row["label"], width)]
        said = [
            f"{_name(column['head'])} {cell} {column['unit']}".strip()
            for column, cell in zip(part["columns"], row["cells"], strict=True)
        ]
        lines += [[("  ", ""), (piece, tone)] for piece in textwrap.wrap(", ".join(said), width - 2)]
    return [*lines, []]


def _name(head: list[str]) -> str:
    return " ".join(head).replace("- ", "-")


def text_of(report: dict[str, Any], width: int = WIDTH) -> str:
    """Write a report as plain text.

    Parameters
    ----------
    report : dict
        As :mod:`overlapsim.report.data` makes it.
    width : int
        Columns.

    Returns
    -------
    str
        Lines without blanks at their ends, closed by a line break.
    """
    lines = ["".join(text for text, _ in line).rstrip() for line in layout(report, width)]
    return "\n".join(lines).rstrip("\n") + "\n"


def show(report: dict[str, Any], out: IO[str]) -> None:
    """Print a report: in colour on a terminal that has it, else plain.

    Parameters
    ----------
    report : dict
        As :mod:`overlapsim.report.data` makes it.
    out : text stream
        Where to; its own encoding is respected.
    """
    from rich.console import Console
    from rich.text import Text

    class Pipe(Console):
        """Leaves it to the caller what a reader who has gone means; some versions end the program."""

        def on_broken_pipe(self) -> None:
            raise  # the error that is being handled

    console = Pipe(file=out, highlight=False, markup=False, emoji=False, soft_wrap=True)
    encoding = getattr(out, "encoding", None) or "utf-8"
    for line in layout(report, console.width):
        pieces = [(printable(text, encoding), _STYLES[tone]) for text, tone in line]
        if pieces and not console.is_terminal:
            pieces[-1] = (pieces[-1][0].rstrip(), pieces[-1][1])
        console.print(Text.assemble(*pieces), soft_wrap=True)
