"""Blocks of a printed card, laid out for a width: texts and tables that know their height."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from overlapsim.report.card_type import LINE, wrapped, write

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_PAD = 0.24  # between a cell's rule and its text, as a share of the letters' size
_ANY = 10_000  # lines: more than a page holds
_THIN, _THICK = 0.5, 1.1  # rules, points: what a copier still shows


@dataclass(frozen=True)
class Measure:
    """How large a card is set.

    Attributes
    ----------
    size : float
        Letters of plain text, points of 1/72 inches.
    most : int
        Lines that one cell or text may take before it is cut.
    spare : float
        Height that is left over, for blanks to write in, points of 1/72 inches for each.
    """

    size: float
    most: int
    spare: float = 0.0


@dataclass(frozen=True)
class Text:
    """Sentences, each beginning on a line of its own.

    Attributes
    ----------
    lines : sequence of str
        Each is wrapped by itself.
    scale : float
        Letters as a share of plain text.
    bold : bool
        Which cut.
    mark : str
        Stands before each sentence.
    box : bool
        Whether a thick frame goes round all of it.
    gap : float
        Room above, as a share of the letters' size.
    whole : bool
        Whether it is never cut.
    """

    lines: Sequence[str]
    scale: float = 1.0
    bold: bool = False
    mark: str = ""
    box: bool = False
    gap: float = 0.0
    whole: bool = False

    def _set(self, width: float, how: Measure) -> list[str]:
        size = how.size * self.scale
        room = width - (1.2 * size if self.box else 0)
        return [
            line for text in self.lines
            for line in wrapped(f"{self.mark}{text}", room, size, self.bold, _ANY if self.whole else how.most)
        ]  # fmt: skip

    def height(self, width: float, how: Measure) -> float:
        """Say how high it is.

        Parameters
        ----------
        width : float
            Of the page between its margins, points of 1/72 inches.
        how : Measure
            Sizes.

        Returns
        -------
        float
            Points of 1/72 inches.
        """
        if not self.lines:
            return 0.0
        size = how.size * self.scale
        return size * (LINE * len(self._set(width, how)) + self.gap + (0.8 if self.box else 0.15))

    def draw(self, canvas: Canvas, x: float, top: float, width: float, how: Measure) -> None:
        """Draw it.

        Parameters
        ----------
        canvas : Canvas
            Page.
        x, top : float
            Its upper left corner, points from the page's lower left corner.
        width : float
            Of the page between its margins, points of 1/72 inches.
        how : Measure
            Sizes.
        """
        if not self.lines:
            return
        size, lines = how.size * self.scale, self._set(width, how)
        y = top - self.gap * size
        if self.box:
            high = size * (LINE * len(lines) + 0.6)
            canvas.setLineWidth(_THICK)
            canvas.rect(x, y - high, width, high)
            x, y = x + 0.6 * size, y - 0.2 * size
        for line in lines:
            y -= LINE * size
            write(canvas, x, y + 0.26 * size, line, size, self.bold)


@dataclass(frozen=True)
class Cell:
    """One cell.

    Attributes
    ----------
    text : str
        May be empty: to write in by hand.
    bold : bool
        Which cut.
    scale : float
        Letters as a share of plain text.
    whole : bool
        Whether it is never cut.
    """

    text: str
    bold: bool = False
    scale: float = 1.0
    whole: bool = False


@dataclass(frozen=True)
class Table:
    """Rows of cells with a rule under each.

    Attributes
    ----------
    heads : sequence of Cell
        The first row, between thick rules.
    rows : sequence of sequence of Cell
        A row of one cell alone is a heading across.
    shares : sequence of float
        Widths of the columns as shares of the page's width.
    gap : float
        Room above, as a share of the letters' size.
    by_hand : bool
        Whether empty rows take what height is left over.
    """

    heads: Sequence[Cell]
    rows: Sequence[Sequence[Cell]]
    shares: Sequence[float]
    gap: float = 0.5
    by_hand: bool = False

    def _row(self, row: Sequence[Cell], width: float, how: Measure) -> tuple[list[list[str]], float]:
        """Lines of each cell, and the row's height."""
        shares = self.shares if len(row) > 1 else (1.0,)
        texts, high = [], how.size * LINE
        for cell, share in zip(row, shares, strict=True):
            size = how.size * cell.scale
            room = share * width - 2 * _PAD * how.size
            most = _ANY if cell.whole else how.most
            lines = wrapped(cell.text, room, size, cell.bold, most) if cell.text else []
            texts.append(lines)
            high = max(high, size * LINE * len(lines))
        blank = how.spare if self.by_hand and row is not self.heads else 0.0
        return texts, high + _PAD * how.size + blank

    def height(self, width: float, how: Measure) -> float:
        """Say how high it is.

        Parameters
        ----------
        width : float
            Of the page between its margins, points of 1/72 inches.
        how : Measure
            Sizes.

        Returns
        -------
        float
            Points of 1/72 inches.
        """
        rows = sum(self._row(row, width, how)[1] for row in (self.heads, *self.rows))
        return rows + self.gap * how.size + _THICK

    def draw(self, canvas: Canvas, x: float, top: float, width: float, how: Measure) -> None:
        """Draw it.

        Parameters
        ----------
        canvas : Canvas
            Page.
        x, top : float
            Its upper left corner, points from the page's lower left corner.
        width : float
            Of the page between its margins, points of 1/72 inches.
        how : Measure
            Sizes.
        """
        y = top - self.gap * how.size
        edges = [x + sum(self.shares[:i]) * width for i in range(len(self.shares) + 1)]
        canvas.setLineWidth(_THICK)
        canvas.line(x, y, x + width, y)
        for row in (self.heads, *self.rows):
            texts, high = self._row(row, width, how)
            for cell, lines, left in zip(row, texts, edges, strict=False):
                size, at = how.size * cell.scale, y
                for line in lines:
                    at -= LINE * size
                    write(canvas, left + _PAD * how.size, at + 0.2 * size, line, size, cell.bold)
            thick = row is self.heads or len(row) == 1
            canvas.setLineWidth(_THIN)
            if len(row) > 1:
                for edge in edges[1:-1]:
                    canvas.line(edge, y, edge, y - high)
            y -= high
            canvas.setLineWidth(_THICK if thick else _THIN)
            canvas.line(x, y, x + width, y)
