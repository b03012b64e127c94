"""What one sees by looking at a picture, measured: where words stand and whether they cover each other."""

from __future__ import annotations

from typing import Any

from matplotlib.text import Text


def texts(figure: Any) -> list[Text]:
    """All words of a picture that are drawn."""
    figure.canvas.draw()
    hidden = _ticks_outside(figure)
    return [
        t for t in figure.findobj(Text) if t.get_visible() and t.get_text().strip() and id(t) not in hidden
    ]


def _ticks_outside(figure: Any) -> set[int]:
    """Tick labels outside of the limits, or of axes that are switched off: there, but not drawn."""
    found = set()
    for axes in figure.axes:
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            for tick in axis.majorTicks:
                if not (axes.axison and low <= tick.get_loc() <= high):
                    found |= {id(tick.label1), id(tick.label2)}
    return found


def overlapping_words(figure: Any) -> list[tuple[str, str]]:
    """Pairs of words that cover each other by more than a dot."""
    boxes = [(t.get_text(), t.get_window_extent()) for t in texts(figure)]
    found = []
    for i, (name, box) in enumerate(boxes):
        for other, its in boxes[i + 1 :]:
            wide = min(box.x1, its.x1) - max(box.x0, its.x0)
            high = min(box.y1, its.y1) - max(box.y0, its.y0)
            if wide > 1 and high > 1:
                found.append((name, other))
    return found


def words_cut_off(figure: Any) -> list[str]:
    """Words that stick out of the paper."""
    width, height = figure.canvas.get_width_height()
    found = []
    for text in texts(figure):
        box = text.get_window_extent()
        if box.x0 < 0 or box.y0 < 0 or box.x1 > width or box.y1 > height:
            found.append(text.get_text())
    return found


def by_gid(parent: Any, gid: str) -> list[Any]:
    """Things in a picture that bear a name."""
    return parent.findobj(lambda artist: artist.get_gid() == gid)


def by_gid_start(parent: Any, start: str) -> list[Any]:
    """Things in a picture whose name begins so."""
    return parent.findobj(lambda artist: str(artist.get_gid() or "").startswith(start))
