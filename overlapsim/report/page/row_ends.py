"""The pass end as a drawing of the page: looking down, the machine drives up the page, rows side by side."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.basics.frames import Bools, Floats
from overlapsim.report.page.markup import US, number, said
from overlapsim.report.phrases import rank_words
from overlapsim.report.row_ends import WIDEST, line_name
from overlapsim.report.row_ends_panel import SEED_SPACING

if TYPE_CHECKING:
    from overlapsim.control.response import SquareEnds
    from overlapsim.scenario.rows import RowLayout
    from overlapsim.scenario.scenario import Scenario

_CM = 100.0  # units of the drawing per metre
_LEAST, _MOST = 0.25, 4.0  # m on either side of the line that are drawn at least, and at most
_SEED = 0.42  # of the room between seeds or rows that a seed takes
_AHEAD, _BESIDE = 3.0, 1.0  # seeds that are drawn of every row, and seed spacings of ground beyond it


def pass_end_figures(settings: list[tuple[str, SquareEnds]], scenario: Scenario) -> str:
    """Draw what settings make of a pass end.

    Parameters
    ----------
    settings : list of (str, SquareEnds)
        One or two settings with their heading and the row ends that they make.
    scenario : Scenario
        Tells what the line is called, and how far seeds lie apart.

    Returns
    -------
    str
        HTML: a figure for each setting.
    """
    layout = settings[0][1].layout
    shown = layout.right_edge - layout.left_edge[0] <= WIDEST + 1e-9
    working = shown & ~layout.off
    spacing = scenario.seed.spacing or SEED_SPACING
    windows = {
        end: window_of(np.concatenate([errors_of(ends, end)[working] for _, ends in settings]), end, spacing)
        for end in ("on", "off")
    }
    figures = [
        _figure(i, name.split(":")[0], ends, shown, windows, spacing)
        for i, (name, ends) in enumerate(settings)
    ]
    return f'<div class="pass-ends">{"".join(figures)}{_key(scenario, layout, shown, spacing)}</div>'


def errors_of(ends: SquareEnds, end: str) -> Floats:
    """Tell how far beyond the line rows start or stop.

    Parameters
    ----------
    ends : SquareEnds
        Of all rows.
    end : {"on", "off"}
        Starts or stops.

    Returns
    -------
    ndarray, shape (n,)
        Signed distances, metres, positive = farther along.
    """
    return ends.on_m if end == "on" else ends.off_m


def window_of(error: Floats, end: str, spacing: float) -> tuple[float, float]:
    """Choose how far to draw on either side of the line.

    Parameters
    ----------
    error : ndarray
        Signed distances of row ends beyond the line, metres, positive = farther along.
    end : {"on", "off"}
        Starts: seeds follow ahead. Stops: seeds lie behind.
    spacing : float
        Between neighbouring seeds of one row, metres.

    Returns
    -------
    tuple of float
        Back of the line and ahead of it, metres, both positive.

    Examples
    --------
    >>> window_of(np.array([-1.0, 0.5]), "on", 0.1), window_of(np.array([9.0]), "off", 0.05)
    ((1.1, 0.8), (0.25, 4.0))
    """
    low, high = float(error.min(initial=0.0)), float(error.max(initial=0.0))
    back, ahead = (_BESIDE, _AHEAD) if end == "on" else (_AHEAD, _BESIDE)
    return (
        min(max(-low + back * spacing, _LEAST), _MOST),
        min(max(high + ahead * spacing, _LEAST), _MOST),
    )


def _figure(
    place: int, name: str, ends: SquareEnds, shown: Bools, windows: dict[str, tuple[float, float]],
    spacing: float,
) -> str:  # fmt: skip
    """One setting: the far end of a pass above, its near end below."""
    strips = []
    for end, word in (("off", "stops"), ("on", "starts")):
        error = errors_of(ends, end)
        told = " ".join(
            f'<span class="rank{k}">{_late_html(ends.layout, error, rank, end)}</span>'
            for k, rank in enumerate(ends.layout.working_ranks)
        )
        alone = _late_text(ends.layout, error, end)
        label = f"{name}, {word}: {alone}"
        drawing = strip(error, end, ends.layout, shown, windows[end], spacing, label)
        strips.append(f'<p class="told"><b>{word}</b> {told}</p>{drawing}')
    return f'<figure class="setting{place}"><figcaption>{escape(name)}</figcaption>{"".join(strips)}</figure>'


def _late(layout: RowLayout, error: Floats, rank: str, end: str, words: Any) -> str:
    row = int(np.flatnonzero(layout.rank == rank)[0])
    name = "every row" if len(layout.working_ranks) == 1 else rank
    return f"{name} {words.late(float(error[row]), end)}"


def _late_html(layout: RowLayout, error: Floats, rank: str, end: str) -> str:
    return said(lambda words: _late(layout, error, rank, end, words))


def _late_text(layout: RowLayout, error: Floats, end: str) -> str:
    return ", ".join(_late(layout, error, rank, end, US) for rank in layout.working_ranks)


def strip(
    error: Floats, end: str, layout: RowLayout, shown: Bools, window: tuple[float, float], spacing: float,
    label: str,
) -> str:  # fmt: skip
    """Draw starts or stops of all rows round the line, at true scale.

    Parameters
    ----------
    error : ndarray, shape (n,)
        Signed distance of each row's first or last seed beyond the line, metres, positive = farther along.
    end : {"on", "off"}
        Starts or stops.
    layout : RowLayout
        The rows.
    shown : ndarray of bool, shape (n,)
        Rows that are drawn, from the left.
    window : tuple of float
        How far is drawn back of the line and ahead of it, metres, both positive.
    spacing : float
        Between neighbouring seeds of one row, metres.
    label : str
        What a reader hears who does not see it, plain text.

    Returns
    -------
    str
        SVG in centimetres; up is farther along.
    """
    left = float(layout.left_edge[0])
    wide = (float(layout.right_edge[shown][-1]) - left) * _CM
    back, ahead = window
    line, high = ahead * _CM, (ahead + back) * _CM
    start = end == "on"
    y, deep = (line, high - line) if start else (0.0, line)
    outside = f'<rect class="outside" y="{number(y)}" width="{number(wide)}" height="{number(deep)}"/>'
    gap: list[str] = []
    beyond: list[str] = []
    foot = number(line)
    lefts, rights, offs = (v[shown].tolist() for v in (layout.left_edge, layout.right_edge, layout.off))
    for far, x, right, off in zip(error[shown].tolist(), lefts, rights, offs, strict=True):
        at = min(max(far, -back), ahead) if not off else ahead if start else -back
        missing, width = off or (at > 0) == start, (right - x) * _CM
        box = f"M{number((x - left) * _CM)} {foot}h{number(width)}v{number(-at * _CM)}h{number(-width)}z"
        (gap if missing else beyond).append(box)
    room = min(spacing, float((layout.right_edge - layout.left_edge)[shown].min()))
    size = _SEED * room * _CM
    seeds = []
    for k, rank in enumerate(layout.working_ranks):
        rows = shown & (layout.rank == rank) & ~layout.off
        # Dots of a line with round ends, or dashes as long as they are wide: the middle of the first one lies
        # where the row begins or ends.
        half = 0.0 if k % 2 == 0 else 0.4 * size
        way = "".join(
            _row((right - left) * _CM, line - far * _CM, 0.0 if start else high, half)
            for right, far in zip(layout.right[rows].tolist(), error[rows].tolist(), strict=True)
            if -back < far < ahead
        )
        gaps = f"{number(2 * half, 2)} {number(spacing * _CM - 2 * half, 2)}"
        dots = f'stroke-dasharray="{gaps}"' + (' stroke-linecap="round"' if not half else "")
        seeds.append(f'<path class="seeds rank{k}" d="{way}" stroke-width="{number(size)}" {dots}/>')
    return (
        f'<svg class="strip" viewBox="0 0 {number(wide)} {number(high)}" role="img" '
        f'aria-label="{escape(label, quote=True)}"><rect class="ground" width="{number(wide)}" '
        f'height="{number(high)}"/>{outside}<path class="gap" d="{"".join(gap)}"/>'
        f'<path class="beyond" d="{"".join(beyond)}"/>{"".join(seeds)}'
        f'<path class="edge" d="M0 {number(line)}h{number(wide)}"/></svg>'
    )


def _row(x: float, first: float, far: float, half: float) -> str:
    """One row from its first or last seed on, in units of the drawing."""
    return f"M{number(x)} {number(first + (half if far < first else -half))}V{number(far)}"


def _key(scenario: Scenario, layout: RowLayout, shown: Bools, spacing: float) -> str:
    ranks = "".join(
        f'<li><span class="dot rank{k}"></span>{escape(rank_words(rank))}</li>'
        for k, rank in enumerate(layout.working_ranks)
    )
    count = int(shown.sum())
    some = "" if count == len(layout.rank) else f"Rows 1 to {count} of {len(layout.rank)} from the left. "
    drawn = "" if scenario.seed.spacing else "drawn "
    seeds = said(lambda w: f"seeds {drawn}{w.short(spacing)} apart")
    outside = "headland" if scenario.plan.headland_laps else "outside the field"
    return (
        f'<ul class="key">{ranks}<li><span class="dot gap"></span>gap: row missing</li>'
        f'<li><span class="dot beyond"></span>seed beyond the line</li>'
        f'<li><span class="dot outside"></span>{outside}</li></ul>'
        f'<p class="small">{some}Looking down, the machine drives up the page; the line across is the '
        f"{line_name(scenario)}. True scale, ends square to the way, {seeds}.</p>"
    )
