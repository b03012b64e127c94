"""The two guards of every account, given something wrong: they must cry out."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

import overlapsim
from overlapsim.basics.errors import BalanceError
from overlapsim.ground.areas import check_balance
from overlapsim.ground.recount import recount
from overlapsim.ground.witness import witness
from tests.helpers import scenario, two_ranks

FIELD = {
    "polygon": [[0, 0], [300, 20], [280, 240], [150, 120], [-20, 260]],
    "exclusions": [[[60, 60], [90, 65], [75, 100]]],
}


@pytest.fixture(scope="module")
def simulation() -> overlapsim.Simulation:
    """A crooked field, neighbouring passes that gape and overlap, a slanted heading."""
    return overlapsim.simulate(
        scenario(
            two_ranks(setups={"narrow": {"hitch_shift": "0 in"}}),
            FIELD,
            plan={"heading": "21 deg"},
            switching={"sections": 4},
        )
    )


def difference(simulation: overlapsim.Simulation, strips: np.ndarray, **changed: np.ndarray) -> float:
    """The witness's largest relative difference, with strips or drawn polygons exchanged."""
    (shapes,) = simulation.shapes
    shapes = dataclasses.replace(shapes, **changed)
    field, every = list(simulation.scenario.field.parts), np.arange(len(strips))
    found = witness(field, strips, every, shapes, simulation.drive.heading)
    return found.largest_relative_difference


def test_witness_is_content_with_the_truth(simulation: overlapsim.Simulation) -> None:
    assert difference(simulation, simulation.raw[1]) <= 1e-6


def test_witness_notices_a_strip_that_the_account_has_not_seen(simulation: overlapsim.Simulation) -> None:
    """A strip of 0.381 m by some hundred metres lost from the account is what overlay engines do."""
    strips = simulation.raw[1]
    length = np.hypot(*(strips[:, 3] - strips[:, 0]).T)
    longest = int(np.argmax(length))
    assert difference(simulation, np.delete(strips, longest, axis=0)) > 1e-4
    doubled = np.concatenate([strips, strips[longest : longest + 1]])
    assert difference(simulation, doubled) > 1e-4


@pytest.mark.parametrize("name", ["skip", "overlap", "off_field"])
def test_witness_notices_a_polygon_that_is_missing(simulation: overlapsim.Simulation, name: str) -> None:
    (shapes,) = simulation.shapes
    polygons = getattr(shapes, name)
    keep = np.arange(len(polygons)) != int(np.argmax([polygon.area for polygon in polygons]))
    changed = {name: polygons[keep]}
    if name != "skip":
        changed[f"{name}_times"] = getattr(shapes, f"{name}_times")[keep]
    assert difference(simulation, simulation.raw[1], **changed) > 1e-5


def recounted(simulation: overlapsim.Simulation, strips: np.ndarray, **changed: object) -> float:
    """The second count's difference, with strips or parts of the account exchanged."""
    account = dataclasses.replace(simulation.accounts[0], **changed)  # type: ignore[arg-type]
    (field,) = simulation.scenario.field.parts
    return recount(account, field, strips, np.arange(len(strips)), simulation.drive.heading)


@pytest.mark.parametrize("heading", ["0 deg", "21 deg", "90 deg", "201 deg"])
def test_the_second_count_is_content_with_the_truth(simulation: overlapsim.Simulation, heading: str) -> None:
    """Both counts are exact, so rounding is all that is between them; borders along the way included."""
    assert simulation.second_count <= 1e-12
    one = overlapsim.simulate(simulation.scenario.with_({"plan.heading": heading}))
    assert one.second_count <= 1e-12
    square = scenario(two_ranks(), {"rectangle": ["60 m", "100 m"]}, plan={"heading": heading})
    assert overlapsim.simulate(square).second_count <= 1e-12


def test_the_second_count_notices_a_strip_lost_or_planted_twice(simulation: overlapsim.Simulation) -> None:
    strips = simulation.raw[1]
    longest = int(np.argmax(np.hypot(*(strips[:, 3] - strips[:, 0]).T)))
    assert recounted(simulation, np.delete(strips, longest, axis=0)) > 1e-4
    assert recounted(simulation, np.concatenate([strips, strips[longest : longest + 1]])) > 1e-4


@pytest.mark.parametrize("name", ["skip_m2", "overlap_m2", "off_field_m2"])
def test_the_second_count_notices_a_wrong_area(simulation: overlapsim.Simulation, name: str) -> None:
    """Also one that the balance cannot see, as it has no say in where ground lies."""
    (account,) = simulation.accounts
    wrong = getattr(account, name) + 2e-6 * account.plantable_m2
    assert recounted(simulation, simulation.raw[1], **{name: wrong}) > 1e-6


def test_the_second_count_notices_cells_that_are_wrong(simulation: overlapsim.Simulation) -> None:
    (account,) = simulation.accounts
    times = account.cells.times.copy()
    times[int(np.argmax(account.cells.high - account.cells.low))] += 1
    assert (
        recounted(simulation, simulation.raw[1], cells=dataclasses.replace(account.cells, times=times)) > 1e-5
    )


@pytest.mark.parametrize("name", ["planted_m2", "skip_m2", "overlap_m2", "off_field_m2"])
@pytest.mark.parametrize("sign", [1, -1])
def test_an_account_out_of_balance_is_refused(
    simulation: overlapsim.Simulation, name: str, sign: int
) -> None:
    """2e-6 of the plantable ground too much or too little anywhere is an error and no result."""
    (account,) = simulation.accounts
    check_balance(account)
    wrong = getattr(account, name) + sign * 2e-6 * account.plantable_m2
    with pytest.raises(BalanceError):
        check_balance(dataclasses.replace(account, **{name: wrong}))
