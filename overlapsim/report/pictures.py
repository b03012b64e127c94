"""Pictures of finished results, as PNG in memory; the same result gives the same bytes."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from overlapsim.report.style import look, png_of
from overlapsim.report.words import choose

_DRAWN = {
    "row-ends.png": ("row_ends", "draw_settings"),
    "field.png": ("overview", "draw_overview"),
    "offset-curve.png": ("offset_curve", "draw_offset_curve"),
    "best-offset.png": ("latency_map", "draw_latency_map"),
    "uncertain.png": ("uncertain_picture", "draw_uncertain"),
    "times.png": ("times_map", "draw_times_map"),
    "causes.png": ("origins_picture", "draw_causes"),
    "maps.png": ("maps", "draw_maps"),
    "digs.png": ("digs_picture", "draw_digs"),
    "forgotten.png": ("changeover_picture", "draw_forgotten"),
}
"""Which file of this folder draws each picture, and its function of result and words; loaded when drawn."""


def picture(name: str, result: Any, units: str | None = None) -> bytes:
    """Draw one picture of a result.

    Parameters
    ----------
    name : str
        Its file's name, as it stands in a folder of results.
    result : object
        Finished result that has this picture.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    bytes
        PNG.
    """
    module, draw = _DRAWN[name]
    drawing = getattr(import_module(f"overlapsim.report.{module}"), draw)
    with look():
        return png_of(drawing(result, choose(units, result.scenario)))
