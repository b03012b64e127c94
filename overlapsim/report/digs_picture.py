"""Digs against what was fitted: how late seed starts and stops, over the speed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.questions.digs import DRIFT, Dig
from overlapsim.report.phrases import rank_words
from overlapsim.report.rounding import plain
from overlapsim.report.style import GRID, INK, RANKS, SMALL_PRINT, fitted, new_figure, tint
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIZE = (8.2, 4.4)  # inches
_POINTS = 60  # along a fitted line
_MOST = 5000  # digs that are drawn; more are a blot


def draw_digs(result: Any, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    result : CorrectResult
        Finished result.
    words : Words
        Units of the labels.

    Returns
    -------
    Figure
        Starts to the left, stops to the right: each dig, less what the ranks' places, deliberate overlap
        and half a seed spacing explain; the fitted line with its 95 % band, and what the times entered
        would need.
    """
    figure = new_figure(*_SIZE)
    panels = figure.subplots(1, 2, sharey=True)
    figure.subplots_adjust(left=0.09, right=0.975, top=0.80, bottom=0.205, wspace=0.07)
    for axes, end, name in zip(panels, ("on", "off"), ("starts", "stops"), strict=True):
        _draw_end(axes, result, words, end)
        axes.set_title(name, fontsize=9, color=INK, loc="left")
        axes.set_xlabel(f"speed, {words.speed_unit}")
        axes.grid(color=GRID, linewidth=0.5)
        axes.set_axisbelow(True)
        axes.axhline(0.0, color=INK, linewidth=0.8)
        axes.locator_params(axis="x", nbins=6)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    panels[0].set_ylabel(f"late by more than described, {words.short_unit}")
    figure.text(0.02, 0.925, "What the digs say", fontsize=12, fontweight="bold")
    figure.text(0.02, 0.875, fitted(result.scenario.title, _SIZE[0] - 0.3, 8), fontsize=8, color=SMALL_PRINT)
    named: dict[str, Any] = {}
    for axes in panels:
        handles, labels = axes.get_legend_handles_labels()
        named |= {label: handle for handle, label in zip(handles, labels, strict=True) if label not in named}
    figure.legend(
        list(named.values()), list(named), loc="lower center", ncol=6, frameon=False, fontsize=7.5,
        bbox_to_anchor=(0.5, 0.045), columnspacing=1.5, handletextpad=0.6,
    )  # fmt: skip
    figure.text(
        0.5, 0.02, "at speed 0: what the offset has too much; rising: time too short; falling: too long",
        fontsize=6.5, color=SMALL_PRINT, ha="center",
    )  # fmt: skip
    return figure


def _draw_end(axes: Axes, result: Any, words: Words, end: str) -> None:
    """Draw one end's digs, and the fit."""
    model, fit, scenario = result.model, result.fit, result.scenario
    chosen = [i for i, dig in enumerate(result.digs) if dig.end == end]
    chosen = chosen[:: max(1, -(-len(chosen) // _MOST))]
    digs = [result.digs[i] for i in chosen]
    speeds = np.array([dig.speed for dig in digs]) / words.speed_step
    late = late_of(model, digs) / words.short_size if digs else np.empty(0)
    far = np.isin(chosen, result.outliers)
    for rank, (colour, mark) in zip(row_layout(scenario).working_ranks, RANKS, strict=False):
        own = np.array([dig.rank == rank for dig in digs], dtype=bool)
        if own.any():
            axes.plot(
                speeds[own], late[own], mark, color=colour, markersize=4.5, alpha=0.85, linestyle="none",
                label=rank_words(rank), gid=f"digs:{end}:{rank}",
            )  # fmt: skip
    if far.any():
        axes.plot(
            speeds[far], late[far], "x", color=INK, markersize=9, linestyle="none", label="outlier",
            gid=f"outliers:{end}",
        )  # fmt: skip
    top = max(dig.speed for dig in result.digs) * 1.12
    at = np.linspace(0.0, top, _POINTS)
    line, low, high = (value / words.short_size for value in fitted_line(model, fit, end, at))
    axes.plot(at / words.speed_step, line, color=INK, linewidth=1.1, label="fitted", gid=f"fitted:{end}")
    axes.fill_between(
        at / words.speed_step, low, high, facecolor=tint(SMALL_PRINT, 0.25), linewidth=0, label="95 % sure",
        gid=f"band:{end}",
    )  # fmt: skip
    axes.set_xlim(0.0, top / words.speed_step)
    axes.yaxis.set_major_formatter(lambda value, _: plain(value, 1))


def late_of(model: Any, digs: list[Dig]) -> np.ndarray:
    """Tell how much later than described seed lies, with the times entered.

    Parameters
    ----------
    model : DigModel
        What digs are fitted by.
    digs : list of Dig
        Any digs.

    Returns
    -------
    ndarray, shape (n,)
        Signed, metres, positive = later.
    """
    return np.asarray(model.past_line(digs) - model.described(digs) - _entered(model, digs))


def _entered(model: Any, digs: list[Dig]) -> np.ndarray:
    """What a machine whose latencies are the times entered would be late, metres."""
    switching = model.scenario.switching
    time = [switching.turn_off_time if dig.end == "off" else switching.turn_on_time for dig in digs]
    return np.array([dig.speed for dig in digs]) * np.array(time)


def fitted_line(
    model: Any, fit: Any, end: str, speed: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Read the fitted line of the foremost rank and its band.

    Parameters
    ----------
    model : DigModel
        What digs are fitted by.
    fit : Fit
        What was fitted.
    end : {"on", "off"}
        Starts or stops.
    speed : ndarray, shape (n,)
        Speeds, m/s.

    Returns
    -------
    tuple of ndarray, shape (n,)
        The line, and the lower and upper end of its 95 % band: how much later than described, metres; nan
        where nothing is known.
    """
    rank = row_layout(model.scenario).working_ranks[0]
    digs = [Dig(end, rank, "out", float(v), 0.0) for v in speed]
    rows = model.design(digs)
    rows[:, [name == DRIFT for name in model.unknowns]] = 0.0
    known = np.array([fit.is_known(row) for row in rows])
    # At speed 0 an end shows what the offset has too much: no line by itself.
    value = np.where(known.all(), rows @ fit.value - _entered(model, digs), np.nan)
    spread = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", rows, fit.covariance, rows), 0.0)) * fit.quantile()
    return value, value - spread, value + spread
