"""Headlands of any depth along each side of a four-sided field: zones share it out and turn with it."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from overlapsim import Field, ScenarioError
from overlapsim.drive.legs import Drive
from overlapsim.drive.plan import plan_drive
from overlapsim.drive.zones import PATH_ERROR
from overlapsim.scenario.headland import Headland
from overlapsim.scenario.scenario import Scenario
from tests.helpers import one_rank, scenario, square

W = 16 * 0.762
BASE = scenario(one_rank(), square("400 m", "800 m"))
SPECKS = 0.1
"""m2: pieces below 0.01 m² are left out as rounding; no case here has ten of them."""

corner = st.floats(-40.0, 40.0)
corners = st.lists(st.tuples(corner, corner), min_size=4, max_size=4)
depths = st.lists(st.sampled_from([0.0, 0.7, 1.0, 1.6, 2.0, 2.4]), min_size=4, max_size=4)


def sides_taken(field: shapely.Polygon, deep: list[float]) -> shapely.Polygon:
    """What is left of a convex field with each side moved inwards by so many working widths."""
    left = field
    ring = shapely.get_coordinates(field.exterior)
    for (start, end), depth in zip(pairwise(ring), deep, strict=True):
        line = shapely.LineString([start - 9 * (end - start), end + 9 * (end - start)])
        left = left.difference(line.buffer(depth * W, cap_style="flat")) if depth else left
    return left


def case_of(field: shapely.Polygon, band: shapely.Geometry) -> Scenario:
    areas = tuple(p for p in shapely.get_parts(band) if p.geom_type == "Polygon")
    return BASE.with_(
        {"field": Field.polygon(shapely.get_coordinates(field.exterior)), "plan.headland": Headland(areas)}
    )


def lap_lengths(drive: Drive) -> list[float]:
    return sorted(leg.last - leg.first for leg in drive.legs if leg.kind == "lap")


@settings(max_examples=25, deadline=None)
@given(corners, depths, st.floats(-math.pi, math.pi))
def test_zones_share_the_field_out_and_turn_with_it(
    moved: list[tuple[float, float]], deep: list[float], angle: float
) -> None:
    assume(any(deep))
    ring = np.array([[-200, -400], [200, -400], [200, 400], [-200, 400]]) + moved
    field = shapely.Polygon(ring)
    inner = sides_taken(field, deep)
    case = case_of(field, field.difference(inner))
    drive = plan_drive(case)
    (zone,) = drive.zones
    bands = [piece for lap in zone.laps for piece in lap.outer]
    shared = [*bands, *zone.interior]
    assert sum(piece.area for piece in shared) + zone.unreached_m2 == pytest.approx(field.area, abs=SPECKS)
    assert shapely.union_all(shared).area == pytest.approx(sum(p.area for p in shared), abs=SPECKS)
    # The deepest side says how many laps: a metre more, as lines waver, is no lap of its own.
    assert case.plan.headland_laps == math.ceil(max(deep) - 1.0 / W)
    assert zone.interior[0].area >= inner.area - SPECKS

    def turn(xy: np.ndarray) -> np.ndarray:
        sine, cosine = math.sin(angle), math.cos(angle)
        return np.column_stack([xy[:, 0] * cosine - xy[:, 1] * sine, xy[:, 0] * sine + xy[:, 1] * cosine])

    other = plan_drive(
        case_of(shapely.transform(field, turn), shapely.transform(field.difference(inner), turn))
    )
    assert [p.area for p in other.zones[0].interior] == pytest.approx(
        [p.area for p in zone.interior], abs=SPECKS
    )
    # Ways are drawn to 2 cm, and so legs end.
    assert lap_lengths(other) == pytest.approx(lap_lengths(drive), abs=PATH_ERROR)


def test_a_headland_of_another_field_is_noticed_wherever_it_is_turned() -> None:
    """Negative control: the field turned without its headland has another one, or none."""
    field = shapely.box(-200, -400, 200, 400)
    band = field.difference(sides_taken(field, [2.0, 0.0, 2.0, 0.0]))
    turned = shapely.transform(field, lambda xy: xy[:, ::-1])
    try:
        found = lap_lengths(plan_drive(case_of(turned, band)))
    except ScenarioError:
        return
    assert found != pytest.approx(lap_lengths(plan_drive(case_of(field, band))), abs=1.0)


@pytest.mark.parametrize("seed", [6, 11, 14, 24])
def test_what_laps_leave_given_as_areas_is_driven_as_the_laps_are(seed: int) -> None:
    """Jagged fields: arcs of the laps' inner edge are drawn twice, and hairlines between call for no pass."""
    chance = np.random.default_rng(seed)
    angle, reach = np.sort(chance.uniform(0.0, 2 * np.pi, 9)), chance.uniform(120.0, 320.0, 9)
    points = np.column_stack([reach * np.cos(angle), reach * np.sin(angle)]).round(1)
    laps = BASE.with_({"field": Field.polygon(points), "plan.headland_laps": 2})
    drive = plan_drive(laps)
    (zone,) = drive.zones
    band = shapely.Polygon(points).difference(shapely.union_all(zone.interior))
    other = plan_drive(case_of(shapely.Polygon(points), band))
    (same,) = other.zones
    assert [p.area for p in same.interior] == pytest.approx([p.area for p in zone.interior], abs=SPECKS)
    assert [leg.kind for leg in other.legs] == [leg.kind for leg in drive.legs]
    assert lap_lengths(other) == pytest.approx(lap_lengths(drive), abs=PATH_ERROR)
