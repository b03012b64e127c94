"""Pictures of finished results, as PNG in memory; the same result gives the same bytes."""

from __future__ import annotations

from typing import Any

from overlapsim.report.style import look, png_of
from overlapsim.report.words import choose


def row_ends_png(result: Any, units: str | None = None) -> bytes:
    """Draw the row ends at the line at true scale, row by row.

    Parameters
    ----------
    result : Simulation or TuneResult
        Finished result; of a search what is entered now and what to type in are drawn.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    bytes
        PNG.
    """
    from overlapsim.report.row_ends import draw_row_ends, settings_of

    words = choose(units, result.scenario)
    with look():
        return png_of(draw_row_ends(settings_of(result, words), result.scenario, words))


def offset_curve_png(result: Any, units: str | None = None) -> bytes:
    """Draw the combined error over the reference offset with its parts.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    bytes
        PNG.
    """
    from overlapsim.report.offset_curve import draw_offset_curve

    with look():
        return png_of(draw_offset_curve(result, choose(units, result.scenario)))


def latency_map_png(result: Any, units: str | None = None) -> bytes:
    """Draw the best reference offset over on and off latency.

    Parameters
    ----------
    result : TuneResult
        Finished search, with both latencies swept.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    bytes
        PNG.
    """
    from overlapsim.report.latency_map import draw_latency_map

    with look():
        return png_of(draw_latency_map(result, choose(units, result.scenario)))


def times_png(result: Any, units: str | None = None) -> bytes:
    """Draw what each pair of times costs at its own best reference offset.

    Parameters
    ----------
    result : TuneResult
        Finished search over both times as well.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    bytes
        PNG.
    """
    from overlapsim.report.times_map import draw_times_map

    with look():
        return png_of(draw_times_map(result, choose(units, result.scenario)))


def overview_png(result: Any, units: str | None = None) -> bytes:
    """Draw the field with its passes and what was lost.

    Parameters
    ----------
    result : Simulation or TuneResult
        Finished result; of a search the run as entered now is drawn, as in its map layers.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    bytes
        PNG.
    """
    from overlapsim.report.overview import draw_overview

    run = result.as_set if hasattr(result, "as_set") else result
    with look():
        return png_of(draw_overview(run, choose(units, result.scenario)))


def causes_png(result: Any, units: str | None = None) -> bytes:
    """Draw what each cause adds to the combined error.

    Parameters
    ----------
    result : CausesResult
        Finished result.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    bytes
        PNG.
    """
    from overlapsim.report.origins_picture import draw_causes

    with look():
        return png_of(draw_causes(result, choose(units, result.scenario)))


def maps_png(result: Any, units: str | None = None) -> bytes:
    """Draw small maps of ways to drive a field side by side.

    Parameters
    ----------
    result : PatternsResult
        Finished comparison; those of its patterns that are printed are drawn.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    bytes
        PNG.
    """
    from overlapsim.report.maps import draw_maps

    with look():
        return png_of(draw_maps(result, choose(units, result.scenario)))


def digs_png(result: Any, units: str | None = None) -> bytes:
    """Draw digs against what was fitted.

    Parameters
    ----------
    result : CorrectResult
        Finished result.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    bytes
        PNG.
    """
    from overlapsim.report.digs_picture import draw_digs

    with look():
        return png_of(draw_digs(result, choose(units, result.scenario)))
