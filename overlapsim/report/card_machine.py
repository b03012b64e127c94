"""The drawing on a settings card: this machine from the side, its tape, and the reference on it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from overlapsim.report.card_blocks import Measure
from overlapsim.report.card_tape import Tape
from overlapsim.report.card_type import LINE, width_of, wrapped, write

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_NAMES, _FIGURES = 0.27, 0.14  # shares of the width for names at the left and figures at the right
_HIGH = 7.2  # height of the machine, in sizes of letters
_FRAME, _DRAWBAR = 4.2, 1.5  # frame and drawbar above the ground, in sizes of letters
_STUB, _TAIL = 0.25, 0.15  # metres of drawing before the pin and behind the rearmost rank
_UNIT = (1.1, 3.8)  # narrowest and widest row unit, in sizes of letters
_GREY = 0.55  # the thick bar: still dark on a copy
_SMALL = 0.92


@dataclass(frozen=True)
class _Line:
    """One distance below the machine."""

    name: list[str]
    marks: tuple[float, ...]
    good: tuple[tuple[float, float], ...]
    figure: list[str]
    bold: bool


@dataclass(frozen=True)
class MachineDrawing:
    """The drawing, as a block of a card.

    Attributes
    ----------
    tape : Tape
        Distances.
    how_to : str
        How one tapes.
    legend : str
        What the signs of the drawing mean.
    """

    tape: Tape
    how_to: str
    legend: str

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
        rows = sum(_high(line, how) for line in self._lines(width, how))
        legend = len(self._legend(width, how)) * LINE * _SMALL * how.size
        return 0.6 * how.size + self._machine_high(width, how) + 0.9 * how.size + rows + legend

    def _legend(self, width: float, how: Measure) -> list[str]:
        return wrapped(self.legend, width, how.size * _SMALL)

    def _how_to(self, width: float, how: Measure) -> list[str]:
        return wrapped(self.how_to, _NAMES * width - how.size, how.size * _SMALL)

    def _machine_high(self, width: float, how: Measure) -> float:
        words = (len(self._how_to(width, how)) + 1.6) * LINE * _SMALL * how.size
        return max(_HIGH * how.size, words)

    def _scale(self, width: float) -> tuple[float, float]:
        """Points from the block's left to the hitch pin, and points for each metre."""
        tape = self.tape
        last = max([*(rank.metres for rank in tape.ranks), *(one.last for one in tape.settings)])
        last = max(last, tape.wheels or 0.0)
        ahead = tape.from_axle + _STUB
        each = (1 - _NAMES - _FIGURES) * width / (ahead + last + _TAIL)
        return _NAMES * width + ahead * each, each

    def _lines(self, width: float, how: Measure) -> list[_Line]:
        pin, each = self._scale(width)
        room = _NAMES * width - how.size

        def line(
            name: str,
            marks: tuple[float, ...],
            good: tuple[tuple[float, float], ...],
            figure: str,
            bold: bool,
        ) -> _Line:
            last = max([*marks, *(high for _, high in good)])
            left = width - (pin + last * each + 0.8 * how.size)
            return _Line(
                wrapped(name, room, how.size, bold, how.most), marks, good,
                wrapped(figure, left, how.size, True), bold,
            )  # fmt: skip

        made = []
        for rank in self.tape.ranks:
            where = f" ({rank.works_in})" if rank.works_in else ""
            name = f"{rank.name}, {rank.rows}{where}"
            made.append(line(name, (rank.metres,), (), rank.text, False))
        for one in self.tape.settings:
            made.append(line(f"type in, {one.name}", one.metres, one.as_good, one.text, True))
        return made

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
        size, small = how.size, how.size * _SMALL
        pin, each = self._scale(width)
        pin += x
        y = top - 0.6 * size
        ground = y - self._machine_high(width, how)
        canvas.setLineWidth(0.8)
        canvas.line(x + 1.2 * size, y - 0.6 * size, x + 4 * size, y - 0.6 * size)
        _head(canvas, x + 0.3 * size, y - 0.6 * size, 0.9 * size, -1)
        write(canvas, x + 4.5 * size, y - 0.9 * size, "travel", small)
        for i, text in enumerate(self._how_to(width, how)):
            write(canvas, x, y - (i + 2.3) * LINE * small, text, small)
        lines = self._lines(width, how)
        self._drop_lines(canvas, pin, each, ground, lines, how)
        self._machine(canvas, pin, each, ground, how, x + _NAMES * width, x + (1 - _FIGURES / 2) * width)
        at = ground - 0.9 * size
        for line in lines:
            self._distance(canvas, x, at, pin, each, line, how)
            at -= _high(line, how)
        for text in self._legend(width, how):
            at -= LINE * small
            write(canvas, x, at + 0.2 * small, text, small)

    def _drop_lines(
        self, canvas: Canvas, pin: float, each: float, ground: float, lines: list[_Line], how: Measure
    ) -> None:
        """Dashes from pin, axle and seed down to the distances that begin or end there."""
        canvas.setLineWidth(0.5)
        canvas.setDash(2, 2)
        low, at = ground - 0.9 * how.size, ground - 0.9 * how.size
        for i, line in enumerate(lines):
            if i < len(self.tape.ranks):
                down = pin + line.marks[0] * each
                canvas.line(down, ground - 0.5 * how.size, down, at - 0.75 * how.size)
            low = at - 0.75 * how.size
            at -= _high(line, how)
        canvas.line(pin, ground + _DRAWBAR * how.size, pin, low)
        if self.tape.from_axle:
            axle = pin - self.tape.from_axle * each
            canvas.line(axle, ground + _DRAWBAR * how.size, axle, low)
        canvas.setDash()

    def _distance(
        self, canvas: Canvas, x: float, top: float, pin: float, each: float, line: _Line, how: Measure
    ) -> None:
        """One distance: its name, its line from pin or axle, its figure."""
        size = how.size
        for i, text in enumerate(line.name):
            write(canvas, x, top - (i + 0.9) * LINE * size, text, size, line.bold)
        y, end = top - 0.7 * size, pin + max(line.marks) * each
        beside = max([end, *(pin + high * each for _, high in line.good)]) + 0.8 * size
        start = pin - (self.tape.from_axle * each if line.bold else 0.0)
        for i, text in enumerate(line.figure):
            left, base = beside, top - (i + 0.9) * LINE * size
            canvas.setFillGray(1)
            canvas.rect(left - 1, base - 0.22 * size, width_of(text, size, True) + 2, size, stroke=0, fill=1)
            canvas.setFillGray(0)
            write(canvas, left, base, text, size, True)
        for low, high in line.good:
            canvas.setLineWidth(0.32 * size)
            canvas.setStrokeGray(_GREY)
            canvas.line(pin + max(low, -_STUB) * each, y, pin + max(high * each, low * each + 1), y)
            canvas.setStrokeGray(0)
        canvas.setLineWidth(0.8)
        canvas.line(start, y, end, y)
        canvas.line(start, y - 0.35 * size, start, y + 0.35 * size)
        if line.bold:
            for mark in line.marks:
                _diamond(canvas, pin + mark * each, y, 0.42 * size)
        else:
            _head(canvas, end, y, 0.7 * size, 1)

    def _machine(
        self, canvas: Canvas, pin: float, each: float, ground: float, how: Measure, left: float, right: float
    ) -> None:
        """Tractor's end, drawbar, frame, row units, ground."""
        size, tape = how.size, self.tape
        frame, bar = ground + _FRAME * size, ground + _DRAWBAR * size
        places = [pin + rank.metres * each for rank in tape.ranks]
        apart = min((b - a for a, b in pairwise(places)), default=99.0)
        unit = min(max(0.85 * apart, _UNIT[0] * size), _UNIT[1] * size)
        canvas.setLineWidth(1.4)
        canvas.line(left, ground, right, ground)
        canvas.setLineWidth(1.1)
        if tape.from_axle:
            canvas.circle(pin - tape.from_axle * each, bar, _DRAWBAR * size)
            canvas.circle(pin - tape.from_axle * each, bar, 0.2 * size, fill=1)
        canvas.setLineWidth(1.6)
        canvas.line(left if not tape.from_axle else pin - tape.from_axle * each, bar, pin, bar)
        first = max(places[0] - 0.8 * unit, pin)
        canvas.line(pin, bar, first, frame)
        canvas.line(first, frame, places[-1] - 0.8 * unit, frame)
        canvas.circle(pin, bar, 0.33 * size, fill=1)
        if tape.wheels is not None:
            hub = pin + tape.wheels * each
            canvas.line(places[-1] - 0.8 * unit, frame, max(hub, places[-1] - 0.8 * unit), frame)
            canvas.setLineWidth(0.8)
            canvas.line(hub, frame, hub, ground + 2.2 * size)
            canvas.circle(hub, ground + 1.1 * size, 1.1 * size)
        near = 0
        for i, place in enumerate(places):
            _row_unit(canvas, place, ground, frame, unit, size)
            near = (near + 1) % 2 if i and place - places[i - 1] < 1.2 * size else 0
            letter = tape.ranks[i].name[0]
            middle = place - width_of(letter, size, True) / 2
            write(canvas, middle, frame + (2.05 + near) * size, letter, size, True)


def _high(line: _Line, how: Measure) -> float:
    return (max(len(line.name), len(line.figure)) * LINE + 0.25) * how.size


def _head(canvas: Canvas, x: float, y: float, size: float, way: int) -> None:
    """An arrow's head that ends at x; way: 1 points to the right, -1 to the left."""
    back = x - way * size
    _outline(canvas, [(x, y), (back, y + 0.35 * size), (back, y - 0.35 * size)])


def _diamond(canvas: Canvas, x: float, y: float, size: float) -> None:
    _outline(canvas, [(x - size, y), (x, y + size), (x + size, y), (x, y - size)])


def _row_unit(canvas: Canvas, x: float, ground: float, frame: float, unit: float, size: float) -> None:
    """One row unit: toolbar, arms, hopper, disc, closing wheel, and where its seed meets the ground."""
    bar, shank, disc = x - 0.85 * unit, x - 0.32 * unit, min(0.3 * unit, 0.8 * size)
    canvas.setLineWidth(0.8)
    side = 0.8 * size
    canvas.rect(bar - side / 2, frame - side / 2, side, side, fill=1)
    canvas.line(bar, frame, bar, frame - 1.15 * size)
    for drop in (0.25, 1.15):
        canvas.line(bar, frame - drop * size, shank, frame - (drop + 0.6) * size)
    canvas.line(shank, frame + 0.2 * size, shank, ground + 0.8 * disc)
    _outline(canvas, [
        (x - 0.42 * unit, frame + 1.7 * size), (x + 0.42 * unit, frame + 1.7 * size),
        (x + 0.2 * unit, frame + 0.2 * size), (shank, frame + 0.2 * size),
    ], filled=False)  # fmt: skip
    canvas.circle(x - 0.15 * unit, ground + 0.7 * disc, disc)
    canvas.line(x, frame + 0.2 * size, x, ground)  # the seed tube
    wheel = min(0.18 * unit, 0.5 * size)
    canvas.line(shank, frame - 1.4 * size, x + 0.36 * unit, ground + wheel)
    canvas.circle(x + 0.36 * unit, ground + wheel, wheel)
    canvas.circle(x, ground - 0.3 * size, 0.22 * size, stroke=0, fill=1)


def _outline(canvas: Canvas, corners: list[tuple[float, float]], *, filled: bool = True) -> None:
    """A shape with straight sides: black, or a line round it."""
    path = canvas.beginPath()
    path.moveTo(*corners[0])
    for corner in corners[1:]:
        path.lineTo(*corner)
    path.close()
    canvas.drawPath(path, stroke=0 if filled else 1, fill=1 if filled else 0)
