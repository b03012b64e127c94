"""Results as plain data and as map layers, under the names that are fixed for them."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from overlapsim.basics.frames import Floats, Ints, to_ground, to_plan
from overlapsim.basics.version import __version__
from overlapsim.control.libraries import library_versions
from overlapsim.control.money import money_of
from overlapsim.ground.edges import EDGE_KINDS
from overlapsim.ground.layers import Layer

if TYPE_CHECKING:
    from overlapsim.control.run import Simulation
    from overlapsim.scenario.scenario import Scenario

SCHEMA = 1
"""Number of the result's form; keys are only ever added under one number."""


def areas_of(run: Simulation) -> dict[str, float]:
    """Areas and row-end figures of a run.

    Parameters
    ----------
    run : Simulation
        The run.

    Returns
    -------
    dict of str to float
        m² and metres. `combined_m2` is the weighted sum; `worst_row_error_m` and `longest_gap_m` hold
        on a square edge; `missing_row_m` and `double_planted_row_m` are sums over this field's row ends.
        With a ``[value]`` also what that costs, by the names of :data:`~overlapsim.control.money.MONEY`.
    """
    weights = run.scenario.weights
    skip, overlap, off, planted = (
        sum(getattr(a, name) for a in run.accounts)
        for name in ("skip_m2", "overlap_m2", "off_field_m2", "planted_m2")
    )
    signed = np.where(run.ends.off, -run.ends.error, run.ends.error)
    signed = signed[np.isfinite(signed)]
    return {
        "skip_m2": skip,
        "overlap_m2": overlap,
        "off_field_m2": off,
        "combined_m2": weights.skip * skip + weights.overlap * overlap + weights.off_field * off,
        "planted_m2": planted,
        "worst_row_error_m": run.square_ends.worst_m,
        "longest_gap_m": run.square_ends.longest_gap_m,
        "missing_row_m": float(np.maximum(signed, 0.0).sum()),
        "double_planted_row_m": float(np.maximum(-signed, 0.0).sum()),
        **money_of(run, skip, overlap, off),
    }


def row_end_summary(error: Floats) -> dict[str, float]:
    """Median, 95 % point and largest of the distances of row ends from their edge.

    Parameters
    ----------
    error : ndarray, shape (n,)
        Signed errors, metres; nan = no edge near, left out.

    Returns
    -------
    dict of str to float
        Metres, without sign; 0 where there is no row end.
    """
    size = np.abs(error[np.isfinite(error)])
    if not len(size):
        size = np.zeros(1)
    return {
        "median_m": float(np.median(size)),
        "p95_m": float(np.quantile(size, 0.95)),
        "largest_m": float(size.max()),
    }


def header(command: str, scenario: Scenario) -> dict[str, Any]:
    """What every result begins with.

    Parameters
    ----------
    command : str
        Name of the command.
    scenario : Scenario
        What was asked.

    Returns
    -------
    dict
        Inputs in full, hashes, versions, what was assumed, warnings.
    """
    inputs = scenario.to_inputs()
    text = json.dumps(inputs, sort_keys=True, ensure_ascii=False, allow_nan=False)
    return {
        "command": command,
        "schema": SCHEMA,
        "title": scenario.title,
        "overlapsim": __version__,
        "inputs": inputs,
        "inputs_sha256": hashlib.sha256(text.encode()).hexdigest(),
        "field_sha256": scenario.field.sha256(),
        "versions": library_versions(),
        "assumed": list(scenario.assumed),
        "warnings": list(scenario.warnings),
    }


def body(run: Simulation) -> dict[str, Any]:
    """Results of one run.

    Parameters
    ----------
    run : Simulation
        The run.

    Returns
    -------
    dict
        SI units, JSON types only.
    """
    areas, joints = run.areas, run.joints
    return {
        "working_width_m": run.working_width_m,
        "pass_count": run.pass_count,
        "lap_count": run.lap_count,
        "plantable_m2": run.plantable_m2,
        **areas,
        "by_place": {
            "interior": {
                "skip_m2": areas["skip_m2"] - joints.skip_m2,
                "overlap_m2": areas["overlap_m2"] - joints.overlap_m2,
            },
            "headland": {"skip_m2": 0.0, "overlap_m2": 0.0},
            "joints": {"skip_m2": joints.skip_m2, "overlap_m2": joints.overlap_m2},
        },
        "row_ends": run.row_ends_summary,
        "witness": {"largest_relative_difference": run.witness.largest_relative_difference},
        "unreached_m2": run.drive.unreached_m2,
    }


def places(run: Simulation, leg: Ints, row: Ints, way: Floats) -> Floats:
    """Where rows truly stand when they are so far along their legs.

    Parameters
    ----------
    run : Simulation
        The run.
    leg, row : ndarray of int, shape (n,)
        Index of the leg (from 0) and of the row (from the left, from 0).
    way : ndarray, shape (n,)
        Place on the leg's believed way, metres.

    Returns
    -------
    ndarray, shape (n, 2)
        Ground frame, metres.
    """
    legs, layout, drive = run.drive.legs, run.layout, run.drive
    offset = layout.middle + layout.right[row]
    direction = np.array([one.direction for one in legs], dtype=np.int64)[leg]
    across = np.array([one.across for one in legs], dtype=float)[leg]
    drift = to_plan(np.array(run.scenario.controller.drift), drive.heading)
    place = to_ground(np.stack([across + direction * offset, direction * way], axis=1) - drift, drive.heading)
    for number in np.unique(leg):
        track = legs[number].track
        if track is not None:
            own = leg == number
            middle, cross = track.at(way[own])
            place[own] = middle + offset[own][:, None] * cross
    return place


def row_end_layer(run: Simulation) -> Layer:
    """Starts and stops of rows as points where they truly lie.

    Parameters
    ----------
    run : Simulation
        The run.

    Returns
    -------
    Layer
        In driving order; columns `leg`, `rank`, `row`, `event`, `speed_m_per_s`, `error_m`, `edge`.
    """
    ends, layout = run.ends, run.layout
    order = np.lexsort((ends.row, ends.way, ends.leg))
    leg, row, off = ends.leg[order], ends.row[order], ends.off[order]
    speed = run.scenario.speed
    points = shapely.points(places(run, leg, row, ends.way[order]))
    return Layer(
        geometry=np.atleast_1d(np.asarray(points, dtype=object)),
        columns={
            "leg": leg + 1,
            "rank": layout.rank[row].astype(object),
            "row": layout.number[row],
            "event": np.where(off, "off", "on").astype(object),
            "speed_m_per_s": np.where(off, speed.at_off, speed.at_on),
            "error_m": ends.error[order],
            "edge": np.array(EDGE_KINDS, dtype=object)[ends.kind[order]],
        },
        kind="Point",
    )


def layers_of(run: Simulation) -> dict[str, Layer]:
    """All map layers of a run.

    Parameters
    ----------
    run : Simulation
        The run.

    Returns
    -------
    dict of str to Layer
        `boundary`, `passes`, `planted`, `skip`, `overlap`, `off_field`, `row_ends`; ground frame.
    """
    legs, parts = run.drive.legs, run.scenario.field.parts
    number, part_of_leg = np.arange(len(parts)), np.array([leg.part + 1 for leg in legs])
    planted, planted_leg = run.planted

    def joined(name: str) -> np.ndarray:
        return np.concatenate([np.empty(0, dtype=object), *(getattr(s, name) for s in run.shapes)])

    def ground(name: str, **columns: np.ndarray) -> Layer:
        part = np.repeat(number, [len(getattr(s, name)) for s in run.shapes]) + 1
        return areas(joined(name), part, **columns)

    def areas(polygons: np.ndarray, part: Ints, **columns: np.ndarray) -> Layer:
        return Layer(polygons, {"part": part, **columns, "area_m2": shapely.area(polygons)}, "Polygon")

    return {
        "boundary": areas(np.array(parts, dtype=object), number + 1),
        "passes": Layer(
            np.array([shapely.LineString(leg.believed) for leg in legs], dtype=object),
            {
                "leg": np.array([leg.number for leg in legs]),
                "kind": np.array([leg.kind for leg in legs], dtype=object),
                "closed": np.array([leg.closed for leg in legs]),
                "part": part_of_leg,
            },
            "LineString",
        ),
        "planted": areas(planted, part_of_leg[planted_leg], leg=planted_leg.astype(np.int64) + 1),
        "skip": ground("skip"),
        "overlap": ground("overlap", times=joined("overlap_times").astype(np.int64)),
        "off_field": ground("off_field", times=joined("off_field_times").astype(np.int64)),
        "row_ends": run.row_ends,
    }
