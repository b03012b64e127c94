"""Designs, effects and indices of studies against what can be said by hand or by a published function."""

from __future__ import annotations

import math

import numpy as np
import pytest

from overlapsim import Field, Scenario, Study
from overlapsim.questions.study_design import Design, Factor, in_order
from overlapsim.questions.study_effects import classes_of, quartiles
from overlapsim.questions.study_ground import KnownFields, stratified
from overlapsim.questions.study_indices import indices_of
from overlapsim.questions.study_shape import shape_of

BASE = Scenario.from_dict(
    {
        "machine": {"ranks": {"bar": {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"}}},
        "field": {"rectangle": ["4 m", "100 m"]},
        "speed": {"working": "2 m/s"},
        "switching": {"reference_offset": "2 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    }
)
SPANS = tuple(
    Factor(key, span=(-math.pi, math.pi))
    for key in ("switching.turn_on_time", "switching.turn_off_time", "speed.working")
)


def study(design: Design) -> Study:
    return Study("s", "s", (BASE,), ("bar",), design)


def test_a_grid_holds_every_combination_once_and_the_offset_runs_fastest() -> None:
    factors = in_order(
        [Factor("switching.reference_offset", (1, 2, 3)), Factor("x", (1, 2)), Factor("field", (0, 1))]
    )
    assert [one.key for one in factors] == ["field", "x", "switching.reference_offset"]
    grid = Design(factors)
    rows = [(x, y, z) for x in range(2) for y in range(2) for z in range(3)]
    for some in (range(12), range(3, 8), range(4, 9)):
        assert grid.rows(some).tolist() == [list(row) for row in rows[some.start : some.stop]]


@pytest.mark.parametrize("chunk", [1, 3, 8, 32])
@pytest.mark.parametrize("many", [1, 2, 11, 12, 13, 96, 97, 450])
def test_chunks_hold_every_case_once_and_are_small_at_the_end(many: int, chunk: int) -> None:
    speeds = Factor("speed.working", tuple(float(i + 1) for i in range(many)))
    one = Study("s", "s", (BASE,), ("bar",), Design((speeds,)), chunk=chunk)
    parts = [one.positions(number) for number in one.chunks]
    assert [place for part in parts for place in part] == list(range(many))
    sizes = [len(part) for part in parts]
    assert min(sizes) > 0
    assert sizes == sorted(sizes, reverse=True)
    # From 11/12 of the way on nobody waits for more than a quarter of a chunk.
    assert all(len(part) <= -(-chunk // 4) for part in parts if part.start >= many - many // 12)
    # Offsets that share a ledger are never parted.
    offsets = Factor("switching.reference_offset", (1.0, 2.0, 3.0))
    one = Study("s", "s", (BASE,), ("bar",), Design((speeds, offsets)), chunk=chunk)
    assert all(one.positions(number).start % 3 == 0 for number in one.chunks)


def test_a_latin_hypercube_has_one_point_in_every_slice() -> None:
    design = Design(SPANS, "latin", 50, 3)
    for column in design.shares.T:
        assert sorted((column * 50).astype(int)) == list(range(50))
    assert (Design(SPANS, "latin", 50, 4).shares != design.shares).all()
    assert (Design(SPANS, "latin", 50, 3).shares == design.shares).all()


def test_a_sobol_sample_is_balanced() -> None:
    """Of 2**m points every half, quarter and so on of every axis holds its equal part (Sobol' 1967)."""
    shares = Design(SPANS, "sobol", 64, 1).shares
    for column in shares.T:
        assert sorted((column * 64).astype(int)) == list(range(64))
    both = np.histogram2d(shares[:, 0], shares[:, 1], bins=(2, 2), range=((0, 1), (0, 1)))[0]
    assert (both == 16).all()


def test_samples_put_one_field_after_the_other_and_keep_their_numbers() -> None:
    factors = in_order([Factor("x", span=(0.0, 1.0)), Factor("field", (0, 1, 2))])
    design = Design(factors, "sobol", 32, 1)
    rows, numbers = design.rows(range(32)), design.numbers(range(32))
    assert (np.diff(rows[:, 0]) >= 0).all()
    assert set(rows[:, 0]) == {0, 1, 2}
    assert sorted(numbers) == list(range(32))
    assert (rows[:, 1] == design.shares[numbers, 1]).all()
    assert (design.rows(range(5, 9)) == rows[5:9]).all()


def test_indices_of_the_ishigami_function() -> None:
    """f = sin a + 7 sin² b + 0.1 c⁴ sin a on (-pi, pi)³: V = 49/8 + 0.1 pi⁴/5 + 0.01 pi⁸/18 + 1/2, its parts
    V_a = (1 + 0.1 pi⁴/5)²/2, V_b = 49/8, V_ac = 0.01 pi⁸ (1/18 - 1/50) (Ishigami and Homma 1990, Proc.
    ISUMA '90, 398-403, from memory; integrals redone here)."""
    pi4, pi8 = math.pi**4, math.pi**8
    va, vb, vac = (1 + 0.1 * pi4 / 5) ** 2 / 2, 49 / 8, 0.01 * pi8 * (1 / 18 - 1 / 50)
    v = 49 / 8 + 0.1 * pi4 / 5 + 0.01 * pi8 / 18 + 1 / 2
    assert va + vb + vac == pytest.approx(v)
    first, total = (va / v, vb / v, 0.0), ((va + vac) / v, vb / v, vac / v)

    design = Design(SPANS, "saltelli", 4096, 1)
    a, b, c = ((2 * design.shares - 1) * math.pi).T
    values = np.sin(a) + 7 * np.sin(b) ** 2 + 0.1 * c**4 * np.sin(a)
    # As a table has them: not in the order in which they were drawn.
    number = np.random.default_rng(0).permutation(len(values))
    rows, words = indices_of(study(design), number, {"f": values[number]}, np.ones(len(values), dtype=bool))
    assert words == "a Saltelli sample"
    for row, s, t in zip(rows, first, total, strict=True):
        assert row["first"] == pytest.approx(s, abs=0.02)
        assert row["total"] == pytest.approx(t, abs=0.02)
        assert row["first_low"] <= row["first"] <= row["first_high"]
        # Four standard errors: a 95 % interval reaches two of them to each side.
        assert abs(row["total"] - t) < 2 * (row["total_high"] - row["total_low"])


def test_indices_of_a_grid_are_exact() -> None:
    """f = x + 2 y + x y on x, y in {-1, 1}: variances 1, 4, 1 of 6; total = alone + shared."""
    design = Design((Factor("speed.at_on", (-1.0, 1.0)), Factor("speed.at_off", (-1.0, 1.0))))
    x, y = np.array([-1, -1, 1, 1.0]), np.array([-1, 1, -1, 1.0])
    good = np.ones(4, dtype=bool)
    rows, _ = indices_of(study(design), np.arange(4), {"f": x + 2 * y + x * y}, good)
    assert [row["first"] for row in rows] == pytest.approx([1 / 6, 4 / 6])
    assert [row["total"] for row in rows] == pytest.approx([2 / 6, 5 / 6])
    # A hole in the grid, or nothing to share out: none.
    assert indices_of(study(design), np.arange(3), {"f": x[:3]}, good & (x + y < 2))[0] == []
    assert indices_of(study(design), np.arange(4), {"f": 0 * x + 3}, good)[0] == []


def test_intervals_of_medians_are_those_of_a_bootstrap() -> None:
    """Against a bootstrap that draws: 20,000 resamples of 101 values; their medians are sample values."""
    values = np.random.default_rng(5).gamma(2.0, size=101)
    found = quartiles(values)
    random = np.random.default_rng(6)
    medians = np.median(values[random.integers(0, 101, (20_000, 101))], axis=1)
    low, high = np.quantile(medians, (0.025, 0.975))
    order = np.sort(values)
    for ours, theirs in ((found["low"], low), (found["high"], high)):
        # At most a neighbour apart, which is the resolution of such a bootstrap.
        assert abs(int(np.searchsorted(order, ours)) - int(np.searchsorted(order, theirs))) <= 1
    assert found["median"] == np.median(values)


def test_intervals_of_medians_cover_the_true_one() -> None:
    """1,000 samples of 41 from an exponential: ln 2 lies in 95 %, give or take 3 sqrt(.05 .95/1000)."""
    random = np.random.default_rng(8)
    hits = 0
    for _ in range(1000):
        found = quartiles(random.exponential(size=41))
        hits += found["low"] <= math.log(2) <= found["high"]
    assert abs(hits / 1000 - 0.95) < 3 * math.sqrt(0.05 * 0.95 / 1000)


def test_classes() -> None:
    labels, which = classes_of(np.arange(60.0))
    assert np.bincount(which).tolist() == [10] * 6
    assert labels[0] == "0 to 9"
    assert classes_of(np.array(["b", "a", "b"], dtype=object))[0] == ["b", "a"]


def test_shape_of_a_notched_square() -> None:
    """100 m square less a 20 x 50 m notch from the north: 9,000 m², 500 m round, hull 10,000 m². For passes
    northward all edges are along them or square to them."""
    notched = [(0, 0), (100, 0), (100, 100), (60, 100), (60, 50), (40, 50), (40, 100), (0, 100)]
    found = shape_of(Field.polygon(notched), 0.0)
    assert found["field_area_m2"] == 9000
    assert found["field_perimeter_per_area_per_m"] == pytest.approx(500 / 9000)
    assert found["field_convexity"] == pytest.approx(0.9)
    assert found["field_edge_angle_rad"] == 0
    # Turned by 45 degrees every edge slants by 45.
    assert shape_of(Field.polygon(notched), math.pi / 4)["field_edge_angle_rad"] == pytest.approx(math.pi / 4)


def test_a_stratified_sample_takes_from_every_class() -> None:
    """81 rectangles, 9 areas by 9 shapes: of 9 drawn each third of areas and of shapes has three."""
    fields = [
        Field.rectangle(100 * k * r, 100 * k / r, name=f"{k} {i}")
        for k in range(1, 10)
        for i, r in enumerate(np.linspace(1, 3, 9))
    ]
    drawn = stratified(KnownFields(fields), 9, 1).names
    areas, shapes = zip(*(name.split() for name in drawn), strict=True)
    assert sorted((int(k) - 1) // 3 for k in areas) == [0] * 3 + [1] * 3 + [2] * 3
    assert sorted(int(i) // 3 for i in shapes) == [0] * 3 + [1] * 3 + [2] * 3
    assert len(stratified(KnownFields(fields), 500, 1)) == 81
