"""Combined error over the reference offset, with the parts that it consists of."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.report.phrases import rank_words, times_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import behind_what, measured_from, offset_words
from overlapsim.report.style import (
    DOUBLE,
    GREEN,
    GRID,
    INK,
    OFF_FIELD,
    SKIP,
    SMALL_PRINT,
    VERMILION,
    fitted,
    new_figure,
    tint,
)
from overlapsim.report.times_words import times_of
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from overlapsim.scenario.scenario import Scenario

_SIZE = (7.4, 4.9)  # inches
PARTS = (
    ("skip_m2", "skip", SKIP, "skip"),
    ("overlap_m2", "overlap", DOUBLE, "double-planted"),
    ("off_field_m2", "off_field", OFF_FIELD, "off-field"),
)
"""Parts of the combined error: key of the area, of its weight, colour, and name."""


def draw_offset_curve(result: Any, words: Words) -> Figure:
    """Draw the picture.

    Parameters
    ----------
    result : TuneResult
        Finished search, with its curve.
    words : Words
        Units of the labels.

    Returns
    -------
    Figure
        The parts stacked, each times its weight, so that their top is the combined error.
    """
    scenario, curve = result.scenario, result.curve
    more, size = measured_from(scenario), words.short_size
    x = (np.asarray(curve.offset_m) + more) / size
    unit, area, _ = words.area_scale(float(np.max(curve.combined_m2)))
    figure = new_figure(*_SIZE)
    axes = figure.add_axes((0.115, 0.215, 0.855, 0.6))
    bottom = np.zeros_like(x)
    for key, weight, colour, name in PARTS:
        times = getattr(scenario.weights, weight)
        top = bottom + np.asarray(getattr(curve, key)) * times / area
        label = name if times == 1 else f"{name} times {plain(times, 2)}"
        axes.fill_between(x, bottom, top, facecolor=tint(colour), linewidth=0, label=label, gid=key)
        axes.plot(x, top, color="white", linewidth=0.7)
        bottom = top
    axes.plot(
        x,
        np.asarray(curve.combined_m2) / area,
        color=INK,
        linewidth=1.8,
        label="combined error",
        gid="combined",
    )
    axes.set_xlim(float(x[0]), float(x[-1]))
    axes.set_ylim(0.0, float(np.max(curve.combined_m2)) / area * 1.04 or 1.0)
    _stretches(axes, result, more, size)
    _marks(axes, result, words, more, area)
    rank_lines(axes, scenario, more, size)
    axes.set_xlabel(f"reference offset, {words.short_unit} {behind_what(scenario)}")
    axes.set_ylabel(f"{unit} on {words.land(scenario.field.plantable_m2)}")
    axes.yaxis.set_major_formatter(lambda value, _: plain(value, 2))
    axes.grid(axis="y", color=GRID, linewidth=0.5)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    figure.text(0.02, 0.945, "What each reference offset costs", fontsize=12, fontweight="bold")
    figure.text(0.02, 0.905, fitted(scenario.title, _SIZE[0] - 0.3, 8), fontsize=8, color=SMALL_PRINT)
    figure.legend(
        loc="lower center", ncol=4, frameon=False, fontsize=7.5, bbox_to_anchor=(0.53, 0.0),
        columnspacing=1.5, handletextpad=0.6,
    )  # fmt: skip
    return figure


def _stretches(axes: Axes, result: Any, more: float, size: float) -> None:
    """Mark the as-good stretch and, in it, the equal one, by bars along the foot of the picture."""
    foot = axes.get_xaxis_transform()
    joint = getattr(result, "joint", None)
    as_good, equal = (result.as_good_m, result.equal_m)
    if joint:  # the curve is read at the times that are typed in
        as_good, equal = joint.typed_found.as_good, joint.typed_found.equal
    for stretch, low, high, colour, alpha, name in (
        (as_good, 0.0, 1.0, GREEN, 0.18, "just as good"),
        (equal, 0.0, 0.025, GREEN, 1.0, "equal"),
    ):
        ends = list(stretch.values()) if isinstance(stretch, dict) else [stretch]
        for number, (first, last) in enumerate(ends):
            axes.fill_between(
                [(first + more) / size, (last + more) / size], low, high, transform=foot, facecolor=colour,
                alpha=alpha, linewidth=0, zorder=0.5 if high == 1.0 else 2.5, gid=name,
                label=name if number == 0 else None,
            )  # fmt: skip


def _marks(axes: Axes, result: Any, words: Words, more: float, area: float) -> None:
    """Mark what is entered now and what to type in on the curve."""
    marks = [
        ("now", result.as_set, "X", VERMILION),
        ("type in", result.recommended, "o", GREEN),
    ]
    for name, run, marker, colour in marks:
        offset = run.scenario.switching.reference_offset
        if isinstance(offset, dict):
            continue
        name_it = f"{name}: {offset_words(run.scenario, offset, words)}"
        if name == "now" and times_of(run) != times_of(result.recommended):
            name_it += f", {times_words(*times_of(run))}"
        axes.plot(
            [(offset + more) / words.short_size], [run.areas["combined_m2"] / area], linestyle="none",
            marker=marker, markersize=9, markerfacecolor=colour, markeredgecolor="white",
            markeredgewidth=1.0, zorder=6, clip_on=False, label=name_it, gid=f"mark:{name}",
        )  # fmt: skip


def rank_lines(axes: Axes, scenario: Scenario, more: float, size: float) -> None:
    """Mark where the ranks stand, their names above the frame, one above the other where they are near.

    Parameters
    ----------
    axes : Axes
        Drawn over the reference offset.
    scenario : Scenario
        Whose ranks.
    more : float
        What is added where offsets are typed from elsewhere than the hitch pin, metres.
    size : float
        Unit of the axis, metres.
    """
    layout = row_layout(scenario)
    low, high = axes.get_xlim()
    taken: list[tuple[float, int]] = []
    for rank in layout.working_ranks:
        place = (layout.behind_pin_of(rank) + more) / size
        level = 0
        while any(abs(place - other) < 0.16 * (high - low) and level == step for other, step in taken):
            level += 1
        taken.append((place, level))
        axes.axvline(place, color=INK, linewidth=0.9, linestyle=(0, (4, 2)), zorder=2, gid=f"rank:{rank}")
        axes.annotate(
            rank_words(rank), (place, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 4 + 9 * level),
            textcoords="offset points", ha="center", fontsize=7.5, color=INK, annotation_clip=False,
        )  # fmt: skip
