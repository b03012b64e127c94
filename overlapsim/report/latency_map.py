"""The best reference offset over on and off latency, where both were swept: a field of numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.basics.units import format_time
from overlapsim.report.phrases import rank_words
from overlapsim.report.setting import behind_what, measured_from
from overlapsim.report.style import INK, SMALL_PRINT, fitted, new_figure
from overlapsim.report.words import Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ON, OFF = "response.on_latency", "response.off_latency"

MOST_PANELS = 3
"""Maps in one picture, one below the other: a page in print, and figures that are read on a phone."""

_WIDTH = 7.4  # inches, a page less its margins
_LETTERS = 6.5, 11.0  # points: smallest that is read in print, largest
_ROOM = 0.62  # width of a figure as a share of its height (measured on this typeface)
_COLOURS = "cividis"  # rises evenly in lightness, also for the colour-blind and in black and white


@dataclass(frozen=True)
class Panel:
    """One map.

    Attributes
    ----------
    title : str
        What else was swept, and the rank where each has its own offset.
    best : ndarray, shape (n_off, n_on)
        Best reference offset, metres behind the hitch pin.
    """

    title: str
    best: Floats


def latency_keys(cases: list[dict[str, Any]]) -> tuple[str, str] | None:
    """Find the swept keys that are an on and an off latency.

    Parameters
    ----------
    cases : list of dict
        Swept values by dotted key, SI.

    Returns
    -------
    tuple of str, or None
        The keys, of the machine or of one rank; None where fewer than two values of either were swept.
    """
    found = []
    for start in (ON, OFF):
        key = next((k for k in cases[0] if k == start or k.startswith(f"{start}.")), None) if cases else None
        if key is None or len(_values(cases, key)) < 2:
            return None
        found.append(key)
    return found[0], found[1]


def _values(cases: list[dict[str, Any]], key: str) -> list[float]:
    """Different values of a key, rising; none where one of them is not one number."""
    values = [case[key] for case in cases]
    return sorted(set(values)) if all(isinstance(v, float) for v in values) else []


def panels_of(result: Any, words: Words) -> tuple[list[Panel], list[float], list[float]]:
    """Lay the best offsets out over both latencies, a map for each combination of all else.

    Parameters
    ----------
    result : TuneResult
        Finished search; :func:`latency_keys` finds keys in its sweep.
    words : Words
        Units of the titles.

    Returns
    -------
    panels : list of Panel
        In the order of the sweep.
    on, off : list of float
        Latencies along the maps' sides, rising, seconds.
    """
    cases, told = result.sweep.cases, result.sweep.conditions
    keys = latency_keys(cases)
    assert keys is not None
    on, off = _values(cases, keys[0]), _values(cases, keys[1])
    grids: dict[str, Floats] = {}
    for case, one in zip(cases, told, strict=True):
        rest = ", ".join(_value_words(key, value, words) for key, value in case.items() if key not in keys)
        best = one["best_reference_offset_m"]
        for rank, offset in (best if isinstance(best, dict) else {"": best}).items():
            title = ", ".join(part for part in (rest, rank and rank_words(rank)) if part)
            grid = grids.setdefault(title, np.full((len(off), len(on)), np.nan))
            grid[off.index(case[keys[1]]), on.index(case[keys[0]])] = offset
    return [Panel(title, grid) for title, grid in grids.items()], on, off


def _value_words(key: str, value: Any, words: Words) -> str:
    name = key.partition(".")[2].replace("_", " ")
    if key.startswith("speed.") and isinstance(value, float):
        return words.speed(value) if key == "speed.working" else f"{name} {words.speed(value)}"
    if "latency" in key or "time" in key:
        return f"{name} {format_time(value) if isinstance(value, float) else value}"
    return f"{name} {value:.4g}" if isinstance(value, float) else f"{name} {value}"


def draw_latency_map(result: Any, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    result : TuneResult
        Finished search, both latencies swept.
    words : Words
        Units.

    Returns
    -------
    Figure
        On latency to the right, off latency upward; in each cell the best reference offset as typed in,
        where there is room for the figure.
    """
    panels, on, off = panels_of(result, words)
    shown = panels[:MOST_PANELS]
    figure = new_figure(_WIDTH, 1.25 + (4.0 if len(shown) == 1 else 2.8 * len(shown)))
    height = figure.get_size_inches()[1]
    more, size = measured_from(result.scenario), words.short_size
    values = [(panel.best + more) / size for panel in shown]
    low, high = (float(f(np.concatenate([v.ravel() for v in values]))) for f in (np.nanmin, np.nanmax))
    spread = (low, high) if high - low > 0.05 else (low - 0.5, high + 0.5)
    grid = figure.add_gridspec(
        len(shown), 1, left=0.105, right=0.87, top=1 - 0.85 / height, bottom=0.6 / height, hspace=0.36,
    )  # fmt: skip
    for number, (panel, cells) in enumerate(zip(shown, values, strict=True)):
        axes = figure.add_subplot(grid[number, 0])
        image = axes.imshow(
            cells, origin="lower", aspect="auto", cmap=_COLOURS, vmin=spread[0], vmax=spread[1],
            gid=f"map:{number}",
        )  # fmt: skip
        _sides(axes, on, off, number == len(shown) - 1)
        _figures(axes, cells, spread)
        axes.set_title(fitted(panel.title, 5.5, 9.5), fontsize=9.5, color=INK)
    bar = figure.colorbar(image, cax=figure.add_axes((0.895, 0.6 / height, 0.022, 1 - 1.45 / height)))
    bar.ax.tick_params(labelsize=8.5)
    bar.outline.set_visible(False)
    bar.ax.set_title(words.short_unit, fontsize=8.5, color=SMALL_PRINT)
    top = 1 - 0.25 / height
    figure.text(0.02, top, "The best reference offset over both latencies", fontsize=12, fontweight="bold")
    left_out = len(panels) - len(shown)
    said = f"{words.short_unit} {behind_what(result.scenario)}; {result.scenario.title}"
    if left_out:
        said = f"{left_out} more in result.json; {said}"
    figure.text(0.02, 1 - 0.45 / height, fitted(said, _WIDTH - 0.3, 8), fontsize=8, color=SMALL_PRINT)
    return figure


def _sides(axes: Axes, on: list[float], off: list[float], lowest: bool) -> None:
    """Write the latencies along the sides, so many of them as there is room for."""
    box = axes.get_position()
    width, height = axes.figure.get_size_inches() * (box.width, box.height)  # type: ignore[union-attr]
    for axis, values, room in ((axes.xaxis, on, width / 0.42), (axes.yaxis, off, height / 0.2)):
        every = max(1, math.ceil(len(values) / room))
        places = list(range(0, len(values), every))
        axis.set_ticks(places, [format_time(values[i]).removesuffix(" s") for i in places])
    axes.tick_params(length=0, labelsize=8.5)
    axes.set_ylabel("off latency, s", fontsize=9.5)
    if lowest:
        axes.set_xlabel("on latency, s", fontsize=9.5)
    for side in axes.spines.values():
        side.set_visible(False)


def _figures(axes: Axes, cells: Floats, spread: tuple[float, float]) -> None:
    """Write the offset into each cell where there is room for it."""
    from matplotlib import colormaps

    box = axes.get_position()
    width, height = axes.figure.get_size_inches() * (box.width, box.height) * 72  # type: ignore[union-attr]
    texts = [[f"{value:.1f}" for value in row] for row in cells]
    longest = max(len(text) for row in texts for text in row)
    fits = min(width / cells.shape[1] / (longest + 1) / _ROOM, height / cells.shape[0] / 1.6, _LETTERS[1])
    if fits < _LETTERS[0]:
        return
    for (i, j), value in np.ndenumerate(cells):
        red, green, blue, _ = colormaps[_COLOURS]((value - spread[0]) / (spread[1] - spread[0]))
        # Relative luminance (ITU-R BT.709 weights, without the curve): white letters on the dark half.
        light = 0.2126 * red + 0.7152 * green + 0.0722 * blue > 0.45
        axes.text(j, i, texts[i][j], ha="center", va="center", fontsize=fits, color=INK if light else "white")
