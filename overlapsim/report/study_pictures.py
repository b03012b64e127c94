"""Pictures of a study: medians and quartiles by factor, results against the shape of fields."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.report.style import BLUE, GRID, SMALL_PRINT, VERMILION, fitted, look, new_figure, png_of, tint

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_PANEL = (2.45, 1.9)  # inches
_ACROSS = 3
_MOST_LEVEL = 6
"""So many levels have room for their names side by side; those of more stand upright."""

MOST_POINTS = 20_000
"""Cases that are drawn as points; of more, evenly chosen ones."""


def effects_picture(told: dict[str, Any], response: str) -> bytes:
    """Draw one result over every factor.

    Parameters
    ----------
    told : dict
        `to_dict` of a study.
    response : str
        Which result.

    Returns
    -------
    bytes
        PNG: a panel for each factor; dots are medians with their 95 % intervals, bars reach from quartile to
        quartile.
    """
    rows = [one for one in told["effects"] if one["response"] == response]
    factors = list(dict.fromkeys(one["factor"] for one in rows))
    down = -(-max(len(factors), 1) // _ACROSS)
    with look():
        figure = new_figure(_PANEL[0] * _ACROSS, _PANEL[1] * down + 0.35)
        # Shares are told in per cent.
        scale = 100.0 if response.endswith("share") else 1.0
        top = max((one["q3"] for one in rows), default=1.0) * scale
        for i, factor in enumerate(factors):
            axes = figure.add_subplot(down, _ACROSS, i + 1)
            _panel(axes, [one for one in rows if one["factor"] == factor], scale)
            axes.set_xlabel(fitted(factor, _PANEL[0], 7), fontsize=7)
            if top > 0 and response.endswith("share"):
                axes.set_ylim(bottom=min(0.0, *(one["q1"] * scale for one in rows)), top=1.05 * top)
        words = told["responses"][response].replace("share of the field", "% of the field")
        figure.suptitle(words, fontsize=8.5)
        figure.subplots_adjust(
            left=0.07, right=0.985, wspace=0.32, hspace=0.6,
            top=1 - 0.32 / figure.get_figheight(), bottom=0.5 / figure.get_figheight(),
        )  # fmt: skip
        return png_of(figure)


def _panel(axes: Axes, rows: list[dict[str, Any]], scale: float) -> None:
    x = np.arange(len(rows))
    q1, middle, q3, low, high = (
        np.array([one[key] * scale for one in rows]) for key in ("q1", "median", "q3", "low", "high")
    )
    axes.bar(x, q3 - q1, bottom=q1, width=0.6, color=tint(BLUE, 0.3), linewidth=0)
    axes.errorbar(
        x, middle, yerr=[np.maximum(middle - low, 0), np.maximum(high - middle, 0)],
        fmt="o", color=BLUE, markersize=3.5, linewidth=1.0, capsize=2,
    )  # fmt: skip
    # Of a class the lower end has room, and the next one's is the upper.
    names = [_short(one["level"].split(" to ")[0]) + "+" * (" to " in one["level"]) for one in rows]
    axes.set_xticks(x, [fitted(name, _PANEL[0] / len(rows) + 0.2, 5.5) for name in names])
    axes.tick_params(axis="x", labelsize=5.5, rotation=90 if len(rows) > _MOST_LEVEL else 0)
    axes.grid(axis="y", color=GRID, linewidth=0.5)
    axes.set_axisbelow(True)


def _short(level: str) -> str:
    """A number as short as it takes to tell levels apart on an axis; names as they are."""
    try:
        number = float(level)
    except ValueError:
        return level
    return f"{number:.0f}" if abs(number) >= 100 else f"{number:.3g}"


def shape_picture(result: Any) -> bytes:
    """Draw results against perimeter over area, a dot for each case.

    Parameters
    ----------
    result : StudyResult
        Finished study over several fields.

    Returns
    -------
    bytes
        PNG.
    """
    names = ["field_perimeter_per_area_per_m", "plantable_m2", "as_set_combined_m2", "best_combined_m2"]
    read = result.take([*names, "error"])
    good = np.array([not why for why in read["error"]], dtype=bool)
    step = max(1, int(good.sum()) // MOST_POINTS)
    edge, area, now, best = (read[name][good][::step] for name in names)
    with look():
        figure = new_figure(7.0, 3.4)
        axes = figure.add_axes((0.09, 0.14, 0.88, 0.8))
        axes.plot(edge, 100 * now / area, "o", color=VERMILION, markersize=2, alpha=0.6, label="as entered")
        axes.plot(edge, 100 * best / area, "o", color=BLUE, markersize=2, alpha=0.6, label="best offset")
        axes.set_xlabel("perimeter over area, 1/m")
        axes.set_ylabel("combined error, % of the field")
        axes.grid(color=GRID, linewidth=0.5)
        axes.set_axisbelow(True)
        axes.legend(frameon=False, labelcolor=SMALL_PRINT)
        axes.set_xlim(left=0)
        axes.set_ylim(bottom=0)
        return png_of(figure)
