"""A frame for curves and points: from quantities to units of the drawing, axes in one system of units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape
from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.report.map_marks import round_length
from overlapsim.report.page.markup import number
from overlapsim.report.rounding import plain

WIDE = 400.0
"""Width of every drawing: about a narrow screen's dots, so that letters of 11 are read on it."""

_LEFT, _RIGHT, _FOOT = 46.0, 8.0, 40.0  # room for figures and names, units of the drawing


@dataclass(frozen=True)
class Axis:
    """What is laid out along one side, in SI or whatever the caller reckons in.

    Attributes
    ----------
    low, high : float
        Ends, in any unit.
    """

    low: float
    high: float


@dataclass(frozen=True)
class Chart:
    """Where quantities lie on a drawing.

    Attributes
    ----------
    across, up : Axis
        What is laid out, in any unit.
    high : float
        Height of the drawing, no unit.
    top : float
        Room above the frame, no unit.
    """

    across: Axis
    up: Axis
    high: float = 262.0
    top: float = 34.0

    left, right = _LEFT, WIDE - _RIGHT

    @property
    def foot(self) -> float:
        """Where the lower side of the frame lies, down from the top, no unit."""
        return self.high - _FOOT

    def x(self, value: Any) -> Any:
        """Find places across.

        Parameters
        ----------
        value : float or ndarray
            In the unit of the axis, any unit.

        Returns
        -------
        float or ndarray
            To the right, in units of the drawing.
        """
        share = (value - self.across.low) / (self.across.high - self.across.low)
        return self.left + share * (self.right - self.left)

    def y(self, value: Any) -> Any:
        """Find places up.

        Parameters
        ----------
        value : float or ndarray
            In the unit of the axis, any unit.

        Returns
        -------
        float or ndarray
            Down from the top, in units of the drawing.
        """
        share = (value - self.up.low) / (self.up.high - self.up.low)
        return self.foot - share * (self.foot - self.top)

    def path(self, across: Floats, up: Floats) -> str:
        """Write a line.

        Parameters
        ----------
        across, up : ndarray, shape (n,)
            In the units of the axes, any unit.

        Returns
        -------
        str
            Commands of a path.
        """
        points = zip(self.x(across).tolist(), self.y(up).tolist(), strict=True)
        return "M" + "L".join([f"{number(a)} {number(b)}" for a, b in points])

    def between(self, across: Floats, low: Floats, high: Floats) -> str:
        """Write the area between two lines.

        Parameters
        ----------
        across, low, high : ndarray, shape (n,)
            In the units of the axes, any unit.

        Returns
        -------
        str
            Commands of a path.
        """
        return self.path(np.concatenate([across, across[::-1]]), np.concatenate([high, low[::-1]])) + "z"

    def axes(self, kind: str, across: Scale, up: Scale) -> str:
        """Draw grid, figures and names of both axes.

        Parameters
        ----------
        kind : str
            Class that holds it: ``us`` or ``metric``.
        across, up : Scale
            How they are read.

        Returns
        -------
        str
            SVG.
        """
        made, grid = [], ""
        for value, text in up.marks(self.up, 3.0):
            y = self.y(value)
            grid += f"M{self.left:.0f} {number(y)}H{self.right:.0f}"
            made.append(f'<text class="figure" x="{self.left - 4:.0f}" y="{number(y + 3.5)}" '
                        f'text-anchor="end">{text}</text>')  # fmt: skip
        for value, text in across.marks(self.across, 4.0):
            x = number(self.x(value))
            grid += f"M{x} {self.foot:.0f}v4"
            made.append(f'<text class="figure" x="{x}" y="{self.foot + 15:.0f}" text-anchor="middle">'
                        f"{text}</text>")  # fmt: skip
        middle = (self.left + self.right) / 2
        return (
            f'<g class="{kind}"><path class="grid" d="{grid}"/>{"".join(made)}<text class="name" '
            f'x="{middle:.0f}" y="{self.foot + 32:.0f}" text-anchor="middle">{escape(across.name)}</text>'
            f'<text class="name" x="2" y="12">{escape(up.name)}</text></g>'
        )


@dataclass(frozen=True)
class Scale:
    """How an axis is read.

    Attributes
    ----------
    name : str
        What stands beside it, with the unit.
    size : float
        One of what is read, in any unit: that of the axis.
    more : float
        Added to what is laid out before it is read, in any unit: that of the axis.
    """

    name: str
    size: float = 1.0
    more: float = 0.0

    def marks(self, axis: Axis, about: float) -> list[tuple[float, str]]:
        """Choose round figures.

        Parameters
        ----------
        axis : Axis
            Its ends.
        about : float
            How many there are, at least (no unit).

        Returns
        -------
        list of (float, str)
            Places in the unit of the axis, and figures.

        Examples
        --------
        >>> Scale("in", 0.5).marks(Axis(0.0, 1.0), 2.0)
        [(0.0, '0'), (0.5, '1'), (1.0, '2')]
        """
        low, high = (axis.low + self.more) / self.size, (axis.high + self.more) / self.size
        step = round_length(max((high - low) / about, 1e-9))
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        values = [place * step for place in range(first, last + 1)]
        return [(value * self.size - self.more, plain(value, 3)) for value in values]


def drawing(content: str, high: float, label: str, key: str = "") -> str:
    """Put a drawing into a figure.

    Parameters
    ----------
    content : str
        SVG.
    high : float
        Its height, no unit; its width is :data:`WIDE`.
    label : str
        What a reader hears who does not see it, plain text.
    key : str
        List items that explain colours, HTML.

    Returns
    -------
    str
        HTML.
    """
    under = f'<figcaption><ul class="key">{key}</ul></figcaption>' if key else ""
    return (
        f'<figure><svg class="drawing" viewBox="0 0 {WIDE:.0f} {number(high)}" role="img" '
        f'aria-label="{escape(label, quote=True)}">{content}</svg>{under}</figure>'
    )


def key_item(kind: str, text: str) -> str:
    """Explain one colour.

    Parameters
    ----------
    kind : str
        Its class.
    text : str
        What it stands for, plain text.

    Returns
    -------
    str
        HTML, a list item.
    """
    return f'<li><span class="dot {kind}"></span>{escape(text)}</li>'
