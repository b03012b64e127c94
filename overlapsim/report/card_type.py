"""Letters of printed cards: a typeface that holds more than Latin letters, wrapping and cutting."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

PLAIN, BOLD = "CardPlain", "CardBold"
"""Names under which both cuts are known to the PDF library."""

CUT = "... (cut)"
"""Ends a text that was cut."""

LINE = 1.22
"""Height of a line as a share of its letters' size (common practice: a fifth more)."""


@lru_cache(maxsize=1)
def load_typeface() -> None:
    """Make both cuts known: DejaVu Sans, which comes with matplotlib and is embedded in the card."""
    import matplotlib
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name, file in ((PLAIN, "DejaVuSans.ttf"), (BOLD, "DejaVuSans-Bold.ttf")):
        registerFont(TTFont(name, str(folder / file)))


def clean(text: str) -> str:
    """Take out what is no letter: line ends, tabs and control characters become spaces.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        One line; half surrogates become question marks.
    """
    text = text.encode("utf-8", "replace").decode("utf-8")
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def width_of(text: str, size: float, bold: bool = False) -> float:
    """Measure a text.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Of its letters, points of 1/72 inches.
    bold : bool
        Which cut.

    Returns
    -------
    float
        Points of 1/72 inches.
    """
    from reportlab.pdfbase.pdfmetrics import stringWidth

    load_typeface()
    return float(stringWidth(text, BOLD if bold else PLAIN, size))


def wrapped(text: str, room: float, size: float, bold: bool = False, most: int = 99) -> list[str]:
    """Break a text into lines; what does not fit is cut, and says so.

    Parameters
    ----------
    text : str
        Any text.
    room : float
        Width of a line, points of 1/72 inches; at least a few letters.
    size : float
        Of its letters, points of 1/72 inches.
    bold : bool
        Which cut.
    most : int
        Number of lines.

    Returns
    -------
    list of str
        At least one line, none wider than `room`.

    Examples
    --------
    >>> wrapped("row setup narrow, 32 rows", 60, 8)
    ['row setup', 'narrow, 32', 'rows']
    >>> wrapped("row setup narrow, 32 rows", 60, 8, most=2)
    ['row setup', 'narr... (cut)']
    """
    lines, line = [], ""
    for word in clean(text).split():
        tried = f"{line} {word}" if line else word
        if width_of(tried, size, bold) <= room:
            line = tried
            continue
        if line:
            lines.append(line)
        *full, line = _pieces(word, room, size, bold)
        lines += full
    lines.append(line)
    if len(lines) <= most:
        return lines
    # The last line takes what comes after it as well, and is cut back.
    rest = " ".join(lines[most - 1 :])
    return [*lines[: most - 1], shortened(rest, room, size, bold)]


def shortened(text: str, room: float, size: float, bold: bool = False) -> str:
    """Cut a text to one line.

    Parameters
    ----------
    text : str
        One line of any length.
    room : float
        Width of the line, points of 1/72 inches.
    size : float
        Of its letters, points of 1/72 inches.
    bold : bool
        Which cut.

    Returns
    -------
    str
        The text, or its beginning and a word that it was cut.
    """
    if width_of(text, size, bold) <= room:
        return text
    end = CUT if width_of(CUT, size, bold) <= room / 2 else "..."
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        fits = width_of(text[:middle].rstrip() + end, size, bold) <= room
        low, high = (middle, high) if fits else (low, middle - 1)
    return text[:low].rstrip() + end


def _pieces(word: str, room: float, size: float, bold: bool) -> list[str]:
    """Break a word that is longer than a line, behind commas, slashes and hyphens where there are any."""
    if width_of(word, size, bold) <= room:
        return [word]
    lines, line = [], ""
    for part in re.split(r"(?<=[,/;_-])", word):
        if width_of(line + part, size, bold) <= room:
            line += part
            continue
        for sign in part:
            if line and width_of(line + sign, size, bold) > room:
                lines.append(line)
                line = ""
            line += sign
    return [*lines, line]


def write(canvas: Canvas, x: float, y: float, text: str, size: float, bold: bool = False) -> None:
    """Write one line.

    Parameters
    ----------
    canvas : Canvas
        Page.
    x, y : float
        Left end of the line on which letters stand, points from the page's lower left corner.
    text : str
        One line.
    size : float
        Of its letters, points of 1/72 inches.
    bold : bool
        Which cut.
    """
    if text:
        canvas.setFont(BOLD if bold else PLAIN, size)
        canvas.drawString(x, y, text)
