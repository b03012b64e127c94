"""The look of pictures: colours that colour-blind readers tell apart, and the same bytes each time."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# Okabe & Ito, "Color Universal Design" (2008): eight colours that most colour-blind readers tell apart
# (from memory).
BLUE, VERMILION, GREEN, PURPLE = "#0072B2", "#D55E00", "#009E73", "#CC79A7"
YELLOW, SKY, ORANGE = "#F0E442", "#56B4E9", "#E69F00"
INK, SMALL_PRINT, GRID = "#1A1A1A", "#555555", "#D9D9D9"
GROUND, OUTSIDE = "#FBFAF4", "#E6E6E6"

RANKS = ((BLUE, "o"), (VERMILION, "D"), (GREEN, "s"), (INK, "^"))
"""Colour and shape of each rank, foremost first."""

SKIP, DOUBLE, OFF_FIELD = YELLOW, SKY, PURPLE
"""Fill of ground without seed, planted twice, and of seed beyond the boundary."""

MAP_SKIP, MAP_DOUBLE, MAP_OFF_FIELD = "#9C2F00", "#8FCBF0", "#CC79A7"
"""The same three on maps, where pieces are too small for hatching: dark, light and between, so that they are
told apart in black and white as well (lightness 36, 78 and 62 of 100)."""

DPI = 150
"""Dots per inch: a page's width comes to about a screen's."""

_LOOK = {
    "font.family": "DejaVu Sans",  # comes with matplotlib: the same on every machine
    "font.size": 8.0,
    "text.color": INK,
    "text.parse_math": False,  # a dollar sign in a title is a dollar sign
    "axes.edgecolor": SMALL_PRINT,
    "axes.labelcolor": SMALL_PRINT,
    "axes.linewidth": 0.6,
    "xtick.color": SMALL_PRINT,
    "ytick.color": SMALL_PRINT,
    "xtick.labelsize": 7.0,
    "ytick.labelsize": 7.0,
    "hatch.linewidth": 0.5,
    "figure.facecolor": "white",
    "savefig.facecolor": "white",
    "axes.unicode_minus": True,
}


def tint(colour: str, share: float = 0.72) -> str:
    """Mix a colour with white.

    Parameters
    ----------
    colour : str
        As in ``"#0072B2"``.
    share : float
        How much of it is left, 0 to 1.

    Returns
    -------
    str
        The lighter colour.

    Examples
    --------
    >>> tint("#000000", 0.5)
    '#808080'
    """
    parts = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + "".join(f"{round(255 - share * (255 - part)):02X}" for part in parts)


@contextmanager
def look() -> Iterator[None]:
    """Draw in this look, whatever a user's own settings for matplotlib are.

    Yields
    ------
    None
        Settings hold inside the block.
    """
    import warnings

    from matplotlib import style

    with style.context(["default", _LOOK]), warnings.catch_warnings():
        # A title in letters that the typeface lacks is drawn with boxes; that is no reason to complain.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        yield


def new_figure(width: float, height: float) -> Figure:
    """Make an empty picture without any window.

    Parameters
    ----------
    width, height : float
        Inches on paper.

    Returns
    -------
    Figure
        With a canvas that draws dots.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), dpi=DPI)
    FigureCanvasAgg(figure)
    return figure


def fitted(text: str, inches: float, points: float) -> str:
    """Cut a text that is too long for its place on paper.

    Parameters
    ----------
    text : str
        Any text.
    inches : float
        Room for it, inches.
    points : float
        Size of its letters, points of 1/72 inches.

    Returns
    -------
    str
        The text, or its beginning and three dots.

    Examples
    --------
    >>> fitted("a field with a very long name", 1.0, 8)
    'a field with...'
    """
    # A letter of this typeface is six tenths of its size wide on average (measured).
    most = int(inches * 72 / (0.6 * points))
    return text if len(text) <= most else text[: max(most - 3, 0)].rstrip() + "..."


def png_of(figure: Figure) -> bytes:
    """Write a picture as PNG.

    Parameters
    ----------
    figure : Figure
        Finished picture, of :func:`new_figure`.

    Returns
    -------
    bytes
        Without date and program in it: the same picture, the same bytes.

    References
    ----------
    Portable Network Graphics specification, W3C recommendation (2003), clauses 5, 9 and 11; ISO/IEC 15948.
    """
    canvas: Any = figure.canvas
    canvas.draw()
    pixels = np.asarray(canvas.buffer_rgba())[..., :3]
    high, wide = pixels.shape[:2]
    # Every row begins with how it is told: as it stands (0), which suits flat colours.
    rows = np.zeros((high, 1 + 3 * wide), dtype=np.uint8)
    rows[:, 1:] = pixels.reshape(high, -1)
    dots = round(DPI / 0.0254)  # per metre
    chunks = [
        (b"IHDR", struct.pack(">2I5B", wide, high, 8, 2, 0, 0, 0)),  # 8 bits, red green blue
        (b"pHYs", struct.pack(">2IB", dots, dots, 1)),
        (b"IDAT", zlib.compress(rows.tobytes(), 4)),
        (b"IEND", b""),
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in chunks
    )
