"""The ``[seed]`` table: what a population comes to in the row, what setups override, and what is refused.

On one row with w of ground to itself, a population P leaves 1 / (P w) between seeds; in inches and acres
6,272,640 / (w P), since an acre has 43,560 x 144 square inches.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from overlapsim import Scenario
from overlapsim.basics.units import INCH
from overlapsim.scenario.keys import column_name
from tests.scenario.files import data, said


def spacing_in(rows_in: float, population: str) -> float:
    """Inches between seeds of a machine with rows so far apart."""
    rank = {"rows": 8, "spacing": f"{rows_in} in", "behind_pin": "84 in"}
    made = data(machine={"ranks": {"front": rank}}, switching__sections=8, seed={"population": population})
    spacing = Scenario.from_dict(made).seed.spacing
    assert spacing is not None
    return spacing / INCH


@pytest.mark.parametrize(
    ("rows_in", "population", "published"),
    [
        (30, "30,000 /ac", 7.0),
        (30, "32,000 /ac", 6.5),
        (30, "34,000 /ac", 6.1),
        (20, "32,000 /ac", 9.8),
        (15, "32,000 /ac", 13.1),
    ],
)
def test_seed_spacing_of_the_purdue_field_guide(rows_in: float, population: str, published: float) -> None:
    """Purdue corn and soybean field guide, table of seed spacings, printed to 0.1 in, rounded or cut."""
    assert 0 <= abs(spacing_in(rows_in, population) - published) < 0.1
    assert spacing_in(rows_in, population) == pytest.approx(
        6_272_640 / (rows_in * float(population[:6].replace(",", ""))), rel=1e-12
    )


def test_seeds_per_foot_of_iowa_state() -> None:
    """Iowa State University Agronomy: 200,000 seeds per acre in 15-inch rows are 5.74 seeds per foot."""
    assert 12 / spacing_in(15, "200,000 /ac") == pytest.approx(5.74, abs=0.005)


def test_a_thousandth_of_an_acre_holds_a_thousandth_of_the_population() -> None:
    """Row length of 1/1000 acre, Utah / University of Tennessee crops pages, 2011: 15 in 34 ft 10 in,
    20 in 26 ft 2 in, 30 in 17 ft 5 in, 36 in 14 ft 6 in, 38 in 13 ft 9 in (whole inches): as many seeds
    lie on it as the population has thousands."""
    table = {15: (34, 10), 20: (26, 2), 30: (17, 5), 36: (14, 6), 38: (13, 9)}
    for rows_in, (feet, inches) in table.items():
        length = 12 * feet + inches
        # A half inch of 14 ft is 0.3 %.
        assert length / spacing_in(rows_in, "32,000 /ac") == pytest.approx(32, rel=0.5 / length + 1e-3)


def test_the_setup_decides_how_far_apart_rows_are() -> None:
    seed = {"population": "32,000 /ac"}
    narrow = Scenario.from_dict(data(seed=seed))
    wide = narrow.with_({"machine.setup": "wide"})
    assert narrow.seed.spacing == pytest.approx(6_272_640 / (15 * 32_000) * INCH)
    assert wide.seed.spacing == pytest.approx(6_272_640 / (30 * 32_000) * INCH)
    assert Scenario.from_dict(data(seed=seed, machine__setup="wide")) == wide.model_copy(
        update={"title": narrow.title}
    )


def test_a_stated_working_width_leaves_the_row_spacing_alone() -> None:
    scenario = Scenario.from_dict(
        data(seed={"population": "32,000 /ac"}, machine__setups__narrow__working_width="42 ft")
    )
    assert scenario.seed.spacing == pytest.approx(6_272_640 / (15 * 32_000) * INCH)


def test_a_setup_overrides_key_by_key_and_its_spacing_replaces_the_population() -> None:
    seed = {
        "crop": "corn",
        "plate": "24 cells",
        "population": "34,000 /ac",
        "narrow": {"crop": "soybeans", "spacing": "2 in"},
    }
    narrow, wide = (Scenario.from_dict(data(seed=seed, machine__setup=s)).seed for s in ("narrow", "wide"))
    assert (narrow.crop, narrow.plate, narrow.spacing, narrow.population) == (
        "soybeans", "24 cells", 0.0508, None,
    )  # fmt: skip
    assert (wide.crop, wide.spacing) == ("corn", pytest.approx(6_272_640 / (30 * 34_000) * INCH))


def test_nothing_said_is_nothing_written() -> None:
    scenario = Scenario.from_dict(data())
    assert scenario.seed.spacing is None
    assert "seed" not in scenario.to_inputs()
    assert Scenario.from_dict(data(seed={})) == scenario


def test_one_replaces_the_other_in_a_copy() -> None:
    scenario = Scenario.from_dict(data(seed={"population": "32,000 /ac"}))
    spaced = scenario.with_({"seed.spacing": "6 in"})
    assert (spaced.seed.spacing, spaced.seed.population) == (0.1524, None)
    again = spaced.with_({"seed.population": "8 /m2"})
    assert again.seed.spacing == pytest.approx(1 / (8 * 15 * INCH))
    assert again.with_({"seed.crop": "corn"}).seed.spacing == again.seed.spacing


@given(st.floats(0.1, 1000), st.sampled_from([2, 8, 20]))
def test_every_row_of_an_even_machine_plants_its_share(population: float, rows: int) -> None:
    """Rows times seeds per metre of way = population times working width."""
    rank = {"rows": rows, "spacing": "30 in", "behind_pin": "84 in"}
    made = data(machine={"ranks": {"front": rank}}, switching__sections=1)
    spacing = Scenario.from_dict(made).with_({"seed.population": population}).seed.spacing
    assert spacing is not None
    assert rows / spacing == pytest.approx(population * rows * 30 * INCH, rel=1e-12)


def test_populations_can_be_swept() -> None:
    made = data(sweep={"seed.population": ["30,000 /ac", "34,000 /ac"]})
    scenario = Scenario.from_dict(made)
    (low, high) = scenario.sweep["seed.population"]
    assert high / low == pytest.approx(34 / 30)
    assert column_name("seed.population", scenario.machine) == "seed_population_per_m2"


@pytest.mark.parametrize(
    ("seed", "words"),
    [
        (
            {"spacing": "6 in", "population": "32000 /ac"},
            'seed.spacing = "6 in"  says the same as population. Keep one of the two.',
        ),
        (
            {"narrow": {"spacing": "6 in", "population": "32000 /ac"}},
            'seed.narrow.spacing = "6 in"  says the same as population. Keep one of the two.',
        ),
        ({"population": 32000}, 'seed.population = 32000  needs a unit. Write "32000 /ac".'),
        (
            {"population": "32000 in"},
            'seed.population = "32000 in"  in is a unit of length, an amount per area is wanted. '
            'Write it as in "32,000 /ac".',
        ),
        (
            {"population": "900,000,000 /ac"},
            'seed.population = "900,000,000 /ac"  more than 8,093,713 /ac (20,000,000 /ha).',
        ),
        ({"spacing": "6 m"}, 'seed.spacing = "6 m"  more than 3 m (10 ft). Did you mean "6 cm" or "0.6 m"?'),
        ({"crop": ""}, 'seed.crop = ""  is empty. Write it as in "corn".'),
        ({"plates": "x"}, 'seed.plates = "x"  no such key. Did you mean plate?'),
        ({"narow": {}}, "seed.narow  no such row setup. This machine has: wide, narrow."),
        (7, "seed = 7  is not a table. Write [seed] and its keys below."),
    ],
)
def test_what_is_refused(seed: Any, words: str) -> None:
    assert said(data(seed=seed)) == [words]
