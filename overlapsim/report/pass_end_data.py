"""What the pass end's script needs: rows, settings, and the ledger's functions in few numbers."""

from __future__ import annotations

from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.control.curve import Curve
from overlapsim.control.quadrants import STEP
from overlapsim.control.run import Simulation
from overlapsim.control.shifts import Shifts, build_shifts, carried, shifts_of, shortest
from overlapsim.ground.edges import spread
from overlapsim.report.row_ends import line_name
from overlapsim.report.row_ends_panel import SEED_SPACING
from overlapsim.report.setting import behind_what, measured_from
from overlapsim.scenario.rows import row_layout

BEYOND = 0.8
"""Metres of shift beyond the ranks that a page carries; more is what nobody types in. With laps the search
has drawn the ground as far as that already."""

APART = 0.3
"""Metres by which starts and stops may be late apart before more is carried."""

CLOSE = 1e-5
"""Share of the combined error by which carried functions may be off, each of them."""

LEAST = 1e-3
"""m² that they may be off by in any case."""

_PLACE = 1e-4
"""Metres to which places of bends are written."""


def pass_end_data(result: Any) -> dict[str, Any]:
    """Gather what the script needs.

    Parameters
    ----------
    result : TuneResult or Simulation
        Finished result.

    Returns
    -------
    dict
        JSON types; metres, seconds, m/s and m².
    """
    run: Simulation = getattr(result, "recommended", result)
    scenario, layout = result.scenario, row_layout(result.scenario)
    ranks = layout.working_ranks
    response, controller, speed = scenario.response, scenario.controller, scenario.speed
    totals, why = _totals(run, [getattr(result, "as_set", run), run])
    return {
        "line": line_name(scenario),
        "rows": {
            "rank": [ranks.index(str(rank)) for rank in layout.rank],
            "number": [int(n) for n in layout.number],
            "right": _short(layout.right, 5),
            "left_edge": _short(layout.left_edge, 5),
            "right_edge": _short(layout.right_edge, 5),
            "off": [int(off) for off in layout.off],
        },
        "ranks": [
            {
                "name": rank,
                "behind": layout.behind_pin_of(rank),
                "on_latency": response.on_latency[rank],
                "off_latency": response.off_latency[rank],
            }
            for rank in ranks
        ],
        "working": speed.working,
        "at_on": speed.at_on / speed.working,
        "at_off": speed.at_off / speed.working,
        "lag": controller.position_delay + controller.update_period / 2,
        "wanted": scenario.switching.deliberate_overlap.boundary,
        "seed": scenario.seed.spacing or SEED_SPACING,
        "more": measured_from(scenario),
        "behind_what": behind_what(scenario),
        "offset_step": controller.offset_step,
        "time_step": controller.time_step,
        "us": scenario.units == "us",
        "settings": _settings(result),
        "totals": totals,
        "why": why,
    }


def _settings(result: Any) -> list[dict[str, Any]]:
    """What is entered now, and what to type in."""
    named = [("now", getattr(result, "as_set", result))]
    if hasattr(result, "recommended"):
        named.append(("type in", result.recommended))
    found = []
    for name, run in named:
        switching = run.scenario.switching
        offset = switching.reference_offset
        ranks = row_layout(run.scenario).working_ranks
        found.append({
            "name": name,
            "offset": [offset[rank] for rank in ranks] if isinstance(offset, dict) else [offset],
            "on": switching.turn_on_time,
            "off": switching.turn_off_time,
            "areas": [round(run.areas[key], 6) for key in ("skip_m2", "overlap_m2", "off_field_m2")],
        })  # fmt: skip
    return found


def _totals(run: Simulation, shown: list[Simulation]) -> tuple[dict[str, Any] | None, str]:
    """The field's areas as functions, or why they are not carried."""
    scenario, layout = run.scenario, row_layout(run.scenario)
    if scenario.controller.update_period:
        return None, "commands wait for the controller's updates"
    least = _least(run) if carried(scenario) else None
    if not carried(scenario) or (least and not all(_lasting(one, least) for one in shown)):
        return None, "commands hang on the controller's least times"
    behind = [layout.behind_pin_of(rank) for rank in layout.working_ranks]
    held = [at for one in shown for rank in layout.working_ranks for at in shifts_of(one.scenario, rank)]
    apart = max(abs(a - b) for a, b in (shifts_of(scenario, r) for r in layout.working_ranks))
    reach = BEYOND + max(0.0, apart - APART)
    span = min(min(behind) - reach, min(held) - STEP), max(max(behind) + reach, max(held) + STEP)
    shifts = build_shifts(run, span)
    close = max(LEAST, CLOSE * run.areas["combined_m2"])
    joint = shifts.joint - shifts.joint[:1, :1]
    together = bool(np.abs(joint).max(initial=0.0) > close)
    if together and isinstance(scenario.switching.reference_offset, dict):
        return None, "each rank has an offset of its own while row ends plant over one another"
    weights = scenario.weights
    bends = _bends([*shifts.starts.values(), *shifts.stops.values()], close)
    constant = shifts.constant + (shifts.joint[0, 0] if shifts.joint.size else 0.0)
    return {
        "plantable": run.plantable_m2,
        "weights": [weights.skip, weights.overlap, weights.off_field],
        "span": [round(v, 6) for v in _span(shifts)],
        "place": _PLACE,
        "size": close / 2,
        "least": least,
        "constant": _short(constant, 6),
        "apart": [[round(later, 6) for later in both] for both in shifts.apart.values()],
        "starts": bends[: len(behind)],
        "stops": bends[len(behind) :],
        "joint": _table(joint, shifts, close) if together else None,
    }, ""


def _least(run: Simulation) -> dict[str, float | None] | None:
    """The controller's least times and speed, if any, and how near commands come to one another."""
    one, speed = run.scenario.controller, run.scenario.speed
    if not (one.minimum_on_time or one.minimum_off_time or one.minimum_speed):
        return None
    lasting = one.minimum_on_time or one.minimum_off_time
    stretch, gap = shortest(run) if lasting else (np.inf, np.inf)
    slowest = min(speed.working, speed.at_on, speed.at_off) / speed.working
    return {
        "speed": (one.minimum_speed or 0.0) / slowest,
        "on": one.minimum_on_time or 0.0,
        "off": one.minimum_off_time or 0.0,
        "stretch": stretch if np.isfinite(stretch) else None,
        "gap": gap if np.isfinite(gap) else None,
    }


def _lasting(run: Simulation, least: dict[str, float | None]) -> bool:
    """Whether least times put no command off; the script asks the same of what its sliders say."""
    speed, times, delay = run.scenario.speed, run.scenario.switching, run.scenario.controller.position_delay
    more = speed.at_off * (delay - times.turn_off_time) - speed.at_on * (delay - times.turn_on_time)
    found = (least["stretch"], more, least["on"]), (least["gap"], -more, least["off"])
    return all(room is None or room + by >= speed.working * (time or 0.0) for room, by, time in found)


def _span(shifts: Shifts) -> list[float]:
    """Range of the shifts of starts, and of stops."""
    ends: list[float] = []
    for curves in (shifts.starts, shifts.stops):
        one = next(iter(curves.values()))
        ends += [float(one.knot[0]), float(one.knot[-1])]
    return ends


def _short(values: Floats, digits: int) -> list[float]:
    return [round(float(v), digits) for v in values]


def _bends(curves: list[Curve], close: float) -> list[dict[str, Any]]:
    """Functions as straight pieces: whole steps from bend to bend."""
    made = []
    for place, value in straightened(curves, close):
        steps = np.rint(place / _PLACE).astype(np.int64)
        fresh = np.diff(steps, prepend=steps[0] - 1) > 0
        steps, whole = steps[fresh], np.rint(value[fresh] / (close / 2)).astype(np.int64)
        moves = np.diff(whole, axis=0, prepend=0)
        made.append({"at": np.diff(steps, prepend=0).tolist(), "by": moves.T.tolist()})
    return made


def straightened(curves: list[Curve], close: float) -> list[tuple[Floats, Floats]]:
    """Replace curves by straight pieces.

    Parameters
    ----------
    curves : list of Curve
        Without jumps, over metres.
    close : float
        How far the pieces may be off, in the curves' unit, any unit.

    Returns
    -------
    list of (place, value)
        Curve by curve: where pieces meet, metres, shape (n,), and the values there, in the curve's unit,
        shape (n, q).

    Notes
    -----
    Of all places those are kept at which the curve lies farthest from the straight line between the ones kept
    so far (Douglas and Peucker 1973, Cartographica 10, 112-122, on a curve's own parameter; from memory).
    All curves take their turns at the same time.
    """
    places = [_candidates(curve) for curve in curves]
    values = [curve.at(place) for curve, place in zip(curves, places, strict=True)]
    place, value = np.concatenate(places), np.ascontiguousarray(np.concatenate(values).T)
    bounds = np.cumsum([0, *map(len, places)])
    begin, end = bounds[:-1], bounds[1:] - 1
    keep = np.zeros(len(place), dtype=bool)
    keep[begin], keep[end] = True, True
    while len(begin := begin[far := end - begin > 1]):
        end = end[far]
        size = end - begin - 1
        piece, inner = spread(begin + 1, end)
        a, b = begin[piece], end[piece]
        share = (place[inner] - place[a]) / (place[b] - place[a])
        at_a, at_b, between = (value.take(i, axis=1) for i in (a, b, inner))
        off = np.abs(between - (at_a + share * (at_b - at_a))).max(axis=0)
        most = np.maximum.reduceat(off, np.cumsum(size) - size)
        # Of equally far ones the first.
        worst = np.flatnonzero(off == most[piece])
        middle = inner[worst[np.diff(piece[worst], prepend=-1) > 0]]
        cut = most > close
        keep[middle[cut]] = True
        begin, end = np.concatenate([begin[cut], middle[cut]]), np.concatenate([middle[cut], end[cut]])
    kept = np.split(keep, bounds[1:-1])
    return [(p[k], v[k]) for p, v, k in zip(places, values, kept, strict=True)]


def _candidates(curve: Curve) -> Floats:
    """Places of a curve that may be kept: every half centimetre, and its bends."""
    even = np.linspace(curve.knot[0], curve.knot[-1], int((curve.knot[-1] - curve.knot[0]) / 0.005) + 2)
    bends = np.rint(curve.knot[1:-1] / _PLACE) * _PLACE
    place = np.concatenate([even, bends[(bends > even[0]) & (bends < even[-1])]])
    place.sort()
    return place[np.diff(place, prepend=-np.inf) > 0]


def _table(joint: Floats, shifts: Shifts, close: float) -> dict[str, Any]:
    """A table over both shifts, row by row: whole steps from node to node."""
    whole = np.rint(joint / (close / 2)).astype(np.int64)
    moves = np.diff(whole, axis=1, prepend=0)
    moves[1:, 0] = np.diff(whole[:, 0], axis=0)
    return {
        "start": shifts.nodes.start[0],
        "stop": shifts.nodes.stop[0],
        "step": STEP,
        "shape": list(shifts.nodes.shape),
        "by": [moves[:, :, q].ravel().tolist() for q in range(3)],
    }
