"""Ground on a map: the field, the legs, and what was lost, drawn wider than it is so that it can be seen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from overlapsim.report.style import GROUND, INK, MAP_DOUBLE, MAP_OFF_FIELD, MAP_SKIP

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.path import Path

    from overlapsim.ground.layers import Layer

LOST = {
    "off_field": (MAP_OFF_FIELD, "off-field"),
    "overlap": (MAP_DOUBLE, "double-planted"),
    "skip": (MAP_SKIP, "skip"),
}
"""Colour and name of each layer of lost ground, in the order in which they are laid over one another."""

WIDER = {"off_field": 3.4, "overlap": 3.8, "skip": 1.4}
"""Points by which pieces are widened, half of it on every side: a light band with a dark core where skip and
double-planted ground lie row beside row."""

PASS, LAP = "#A8A8A8", "#6E6E6E"
"""Colours of planned lines."""

_RIM = 0.4  # points: dark rim of the light band


def path_of(polygons: Any) -> Path:
    """Turn polygons into one path, holes left open.

    Parameters
    ----------
    polygons : array_like of shapely geometries
        Polygons and collections of them that do not lie over one another, ground frame, metres.

    Returns
    -------
    Path
        A closed piece per ring: shells counter-clockwise, holes clockwise.
    """
    from matplotlib.path import Path

    pieces = shapely.get_parts(np.asarray(polygons, dtype=object).ravel())
    rings = shapely.get_rings(shapely.orient_polygons(pieces[~shapely.is_empty(pieces)]))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    codes = np.full(len(points), Path.LINETO, dtype=Path.code_type)
    new = np.diff(ring) > 0
    codes[np.r_[True, new][: len(points)]] = Path.MOVETO
    codes[np.r_[new, True][: len(points)]] = Path.CLOSEPOLY
    return Path(points.reshape(-1, 2), codes)


def add_polygons(axes: Axes, polygons: Any, **look: Any) -> Any:
    """Draw polygons, holes left open.

    Parameters
    ----------
    axes : Axes
        Where to.
    polygons : array_like of shapely geometries
        What `path_of` takes.
    **look : Any
        What matplotlib is told about them.

    Returns
    -------
    PathPatch or None
        What was drawn; None where there is nothing.
    """
    from matplotlib.patches import PathPatch

    if not len(polygons):
        return None
    drawn = PathPatch(path_of(polygons), **look)
    axes.add_artist(drawn)
    return drawn


def draw_field(axes: Axes, boundary: Layer) -> None:
    """Draw the plantable ground with its rim; exclusions are left open.

    Parameters
    ----------
    axes : Axes
        Map.
    boundary : Layer
        Parts of the field.
    """
    add_polygons(
        axes, boundary.geometry, facecolor=GROUND, edgecolor=INK, linewidth=0.9, zorder=1, gid="boundary"
    )


def draw_legs(axes: Axes, layer: Layer, arrow_m: float) -> None:
    """Draw the planned lines, with an arrow where the first pass begins.

    Parameters
    ----------
    axes : Axes
        Map.
    layer : Layer
        Legs in driving order.
    arrow_m : float
        Least length of the arrow, metres.
    """
    from matplotlib.collections import LineCollection

    points = [shapely.get_coordinates(line) for line in layer.geometry]
    kinds = np.asarray(layer.columns["kind"])
    for kind, colour, wide, name in (("pass", PASS, 0.4, "passes"), ("lap", LAP, 0.5, "laps")):
        some = [line for line, one in zip(points, kinds, strict=True) if one == kind]
        lines = LineCollection(some, colors=colour, linewidths=wide, zorder=2, gid=name)
        axes.add_collection(lines, autolim=False)
    (west, east), (south, north) = axes.get_xlim(), axes.get_ylim()
    for one in np.flatnonzero(kinds == "pass")[:1]:
        seen = shapely.get_coordinates(shapely.clip_by_rect(layer.geometry[one], west, south, east, north))
        first = seen if len(seen) > 1 else points[one]
        length = max(float(np.hypot(*(first[-1] - first[0]))), 1e-9)
        tip = first[0] + max(0.12, arrow_m / length) * (first[-1] - first[0])
        arrow = {"arrowstyle": "-|>", "color": INK, "linewidth": 0.8, "shrinkA": 0, "shrinkB": 0}
        axes.annotate("", tip, xytext=first[0], arrowprops=arrow, zorder=7, annotation_clip=False)


def draw_lost(axes: Axes, layers: dict[str, Layer]) -> None:
    """Draw lost ground, every piece widened by :data:`WIDER`, on its own side of the boundary only.

    Parameters
    ----------
    axes : Axes
        Map with its limits set.
    layers : dict of str to Layer
        Map layers.
    """
    inside, outside = _sides(axes, path_of(layers["boundary"].geometry))
    for zorder, (name, (colour, _)) in enumerate(LOST.items(), start=3):
        clip = outside if name == "off_field" else inside
        strokes = [(colour, WIDER[name])]
        if name == "overlap":  # light on light needs a rim
            strokes = [(INK, WIDER[name]), (colour, WIDER[name] - 2 * _RIM)]
        for ink, wide in strokes:
            drawn = add_polygons(
                axes, layers[name].geometry, facecolor=ink, edgecolor=ink, linewidth=wide, zorder=zorder,
                joinstyle="round", capstyle="round", gid=name,
            )  # fmt: skip
            if drawn:
                drawn.set_clip_path(clip, axes.transData)


def _sides(axes: Axes, field: Path) -> tuple[Path, Path]:
    """The field, and everything but the field, as paths to clip by."""
    from matplotlib.path import Path

    (west, east), (south, north) = axes.get_xlim(), axes.get_ylim()
    wide, high = east - west, north - south
    # Round the map in the sense opposite to the field's own ring, so that the field counts as a hole.
    frame = [
        (west - wide, south - high), (west - wide, north + high), (east + wide, north + high),
        (east + wide, south - high), (west - wide, south - high),
    ]  # fmt: skip
    codes = [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY]
    return field, Path.make_compound_path(Path(frame, codes), field)
