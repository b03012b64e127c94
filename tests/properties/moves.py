"""What a case becomes when field, heading or machine are turned, moved, mirrored or driven faster."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import Any

from overlapsim import Scenario, simulate
from tests.reference.case import Case, Rank, Setup

AREAS = ("plantable_m2", "planted_m2", "skip_m2", "overlap_m2", "off_field_m2")
LENGTHS = ("worst_row_error_m", "longest_gap_m", "missing_row_m", "double_planted_row_m")

Point = tuple[float, float]


def run(case: Case) -> dict[str, float]:
    """All figures of one simulation."""
    simulation = simulate(Scenario.from_dict(case.as_dict()))
    return {**simulation.areas, "plantable_m2": simulation.plantable_m2}


def move_points(case: Case, move: Callable[[Point], Point], **more: Any) -> Case:
    """The case with every corner of the field moved."""
    return dataclasses.replace(
        case,
        shell=tuple(move(point) for point in case.shell),
        holes=tuple(tuple(move(point) for point in hole) for hole in case.holes),
        **more,
    )


def turned(case: Case, degrees: float) -> Case:
    """Field, heading and drift turned clockwise, as headings count."""
    sine, cosine = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))

    def move(point: Point) -> Point:
        return point[0] * cosine + point[1] * sine, point[1] * cosine - point[0] * sine

    heading = math.remainder(case.heading_deg + degrees, 360)
    return move_points(case, move, heading_deg=heading, drift=move(case.drift))


def shifted(case: Case, east: float, north: float) -> Case:
    """The field somewhere else."""
    return move_points(case, lambda point: (point[0] + east, point[1] + north))


def mirrored(case: Case) -> Case:
    """Field, heading and machine seen in a mirror that stands north and south."""
    ranks = {
        name: Rank(rank.rows, rank.spacing, rank.behind, -rank.right) for name, rank in case.ranks.items()
    }
    setups = {name: Setup(setup.ranks, -setup.shift, setup.width) for name, setup in case.setups.items()}
    sections = tuple(reversed(case.sections)) if isinstance(case.sections, tuple) else case.sections
    return move_points(
        case,
        lambda point: (-point[0], point[1]),
        heading_deg=-case.heading_deg,
        ranks=ranks,
        setups=setups,
        sections=sections,
        lateral=-case.lateral,
        drift=(-case.drift[0], case.drift[1]),
        rows_off=tuple((rank, case.ranks[rank].rows + 1 - number) for rank, number in case.rows_off),
    )


def faster(case: Case, times: float) -> Case:
    """Every speed times k, every time divided by k."""
    return dataclasses.replace(
        case,
        v_on=case.v_on * times,
        v_off=case.v_off * times,
        t_on=case.t_on / times,
        t_off=case.t_off / times,
        period=case.period / times,
        delay=case.delay / times,
        least_on=case.least_on / times,
        least_off=case.least_off / times,
        lat_on={name: value / times for name, value in case.lat_on.items()},
        lat_off={name: value / times for name, value in case.lat_off.items()},
    )


def with_odd_whole_passes(case: Case) -> Case:
    """The field stretched across the heading until it is an odd number of whole passes wide.

    Only then a mirror keeps the plan: the first pass is laid along the leftmost point, northward, and in
    the mirror the last one takes its place.
    """
    sine = math.sin(math.radians(case.heading_deg))
    cosine = math.cos(math.radians(case.heading_deg))
    rows = case.rows_of(case.believed)
    width = rows[-1].right_edge - rows[0].left_edge
    places = [x * cosine - y * sine for x, y in case.shell]
    extent = max(places) - min(places)
    whole = 2 * math.ceil(extent / width / 2) + 1
    stretch = whole * width / extent

    def move(point: Point) -> Point:
        right = (point[0] * cosine - point[1] * sine) * stretch
        along = point[0] * sine + point[1] * cosine
        return right * cosine + along * sine, along * cosine - right * sine

    return move_points(case, move)
