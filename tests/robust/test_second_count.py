"""Real fields, counted a second time: no overlay library, no account of the package.

Strips are put together from the published row ends alone (a start and a stop on the row's own line, 15 in
of width), and counted twice: column by column, exactly, and at random places. Fields are looked for in the
folder named by OVERLAPSIM_FIELDS, or in shared/fields beside the checkout.
"""

from __future__ import annotations

import math
import os
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

import overlapsim
from overlapsim import Scenario
from overlapsim.files.fields import read_field
from tests.helpers import BASE, INCH, merge, two_ranks
from tests.reference.case import rotated
from tests.reference.count import count

ROOT = Path(__file__).parents[2]
FOLDER = Path(os.environ.get("OVERLAPSIM_FIELDS") or ROOT.parent / "shared" / "fields")
COLLECTION = FOLDER / "fields.geojson"
HALF = 7.5 * INCH
HEADING = 13.0

pytestmark = [
    pytest.mark.fields,
    pytest.mark.skipif(not COLLECTION.exists(), reason="no collection of real fields at hand"),
]
# One with no exclusions, one with several; machines re-centred, and not (joints then gape and overlap).
CASES = [("msu-001", "7.5 in"), ("bg-029", "7.5 in"), ("bg-042", "0 in")]


@cache
def simulated(name: str, shift: str) -> overlapsim.Simulation:
    field = read_field(COLLECTION, where={"field_id": name})
    data = merge(
        BASE,
        {
            "machine": two_ranks(setups={"narrow": {"hitch_shift": shift}}),
            "plan": {"heading": f"{HEADING!r} deg"},
            "switching": {"reference_offset": "97 in", "turn_off_time": "0.25 s", "sections": 16},
            "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
        },
    )
    return overlapsim.simulate(Scenario.from_dict(data, field=field))


def strips_from_row_ends(simulation: overlapsim.Simulation) -> np.ndarray:
    """Rectangles (right0, right1, along0, along1) in the frame of the heading, from pairs of row ends."""
    ends = simulation.row_ends
    places = rotated(tuple((point.x, point.y) for point in ends.geometry), HEADING)
    rows: dict[tuple, list[tuple[float, float]]] = {}
    keys = zip(ends.columns["leg"], ends.columns["rank"], ends.columns["row"], strict=True)
    for key, place in zip(keys, places, strict=True):
        rows.setdefault(key, []).append(place)
    strips = []
    for marks in rows.values():
        across = np.mean([right for right, _ in marks])
        along = sorted(along for _, along in marks)
        strips += [
            (across - HALF, across + HALF, begin, end)
            for begin, end in zip(along[::2], along[1::2], strict=True)
        ]
    return np.array(strips)


def rings_of(simulation: overlapsim.Simulation) -> list[list[tuple[float, float]]]:
    (field,) = simulation.scenario.field.parts
    return [rotated(tuple(ring.coords)[:-1], HEADING) for ring in (field.exterior, *field.interiors)]


@pytest.mark.parametrize(("name", "shift"), CASES)
def test_second_count_of_a_real_field_column_by_column(name: str, shift: str) -> None:
    """Exact but for rounding: rows a rounding step apart leave hair columns of 1e-13 m x 1 km each."""
    simulation = simulated(name, shift)
    counted = count(rings_of(simulation), strips_from_row_ends(simulation))
    assert counted["plantable_m2"] == pytest.approx(simulation.plantable_m2, rel=1e-9)
    for key in ("planted_m2", "skip_m2", "overlap_m2", "off_field_m2"):
        assert simulation.areas[key] == pytest.approx(counted[key], abs=1e-9 * simulation.plantable_m2), key


def inside(rings: list[list[tuple[float, float]]], places: np.ndarray) -> np.ndarray:
    """Which places lie in the rings: an odd number of edges to the right of them."""
    crossed = np.zeros(len(places), dtype=int)
    for ring in rings:
        for (u0, v0), (u1, v1) in zip(ring, [*ring[1:], ring[0]], strict=True):
            meets = (min(v0, v1) <= places[:, 1]) & (places[:, 1] < max(v0, v1))
            if v0 != v1:
                crossed += meets & (u0 + (places[:, 1] - v0) / (v1 - v0) * (u1 - u0) > places[:, 0])
    return crossed % 2 == 1


@pytest.mark.parametrize(("name", "shift"), CASES)
def test_what_is_drawn_is_true_at_random_places(name: str, shift: str) -> None:
    """20,000 places near row ends and joints: the layer each lies in says how often it was planted.

    Places within 1e-5 m of a border are left out: what is drawn there is rounding.
    """
    simulation = simulated(name, shift)
    strips, rings = strips_from_row_ends(simulation), rings_of(simulation)
    rng = np.random.default_rng(20100524)
    chosen = strips[rng.integers(len(strips), size=20_000)]
    along = np.where(rng.random(len(chosen)) < 0.5, chosen[:, 2], chosen[:, 3])
    places = np.stack([rng.uniform(chosen[:, 0] - 0.5, chosen[:, 1] + 0.5), along], axis=1)
    places[:, 1] += rng.normal(scale=1.0, size=len(places))
    times = np.zeros(len(places), dtype=int)
    near = np.zeros(len(places), dtype=bool)
    for left, right, low, high in strips:
        within = (
            np.minimum(places[:, 0] - left, right - places[:, 0]),
            np.minimum(places[:, 1] - low, high - places[:, 1]),
        )
        depth = np.minimum(*within)
        times += depth > 0
        near |= np.abs(depth) < 1e-5
    ground = inside(rings, places)
    sine, cosine = math.sin(math.radians(HEADING)), math.cos(math.radians(HEADING))
    turned = np.array([[cosine, sine], [-sine, cosine]])
    points = places @ turned.T
    border = shapely.boundary(simulation.scenario.field.parts[0])
    near |= shapely.distance(shapely.points(points), border) < 1e-5
    layers = simulation.layers

    def times_in(layer: str) -> np.ndarray:
        geometry = layers[layer].geometry
        weight = layers[layer].columns.get("times", np.ones(len(geometry), dtype=int))
        found = np.zeros(len(points), dtype=int)
        tree = shapely.STRtree(geometry)
        point, polygon = tree.query(shapely.points(points), predicate="within")
        np.add.at(found, point, weight[polygon])
        return found

    keep = ~near
    assert keep.sum() > 0.9 * len(points)
    assert np.array_equal(times_in("skip")[keep] > 0, (ground & (times == 0))[keep])
    assert np.array_equal(times_in("overlap")[keep], np.where(ground & (times > 1), times, 0)[keep])
    assert np.array_equal(times_in("off_field")[keep], np.where(ground, 0, times)[keep])
    assert np.array_equal((times_in("planted") > 0)[keep], (times > 0)[keep])


def test_second_count_notices_a_lost_strip() -> None:
    """A negative control: one strip of some thousands left out."""
    simulation = simulated(*CASES[0])
    strips = strips_from_row_ends(simulation)
    counted = count(rings_of(simulation), np.delete(strips, len(strips) // 2, axis=0))
    assert abs(counted["skip_m2"] - simulation.areas["skip_m2"]) > 1e-5 * simulation.plantable_m2
