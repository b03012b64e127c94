"""Headland laps by the package, against the controller that goes along every leg in small steps.

Four fields of some 40 m, two laps of 3.04 m, two ranks, sections of two rows, unlike times and latencies;
passes at 27.3 degrees, so that no edge of the field is square to them or along them.

Bounds. An event of the stepping controller is known to w tan(t) / (2 SPOTS): a section's width 0.76 m, and
edges at 62.7 degrees to square-on at the most, make 1.84 mm. Round the corner of the L and round the
exclusion ways are arcs, which the package may leave by 2 cm and the stepping one by `SAGITTA`: what is met
there moves by as much, seen along the passes under that same angle. Areas may differ by what lies between
the two sets of row ends, by the error of the scan lines that count the stepping controller's strips, and
beside arcs by those 2 cm on either side of the swath.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from functools import cache

import pytest

from tests.reference.case import Case, Rank, Setup
from tests.reference.compare import Disagreement, Key, Places, gathered, package_outcome
from tests.reference.lap_stepper import RESOLUTION, SPOTS, Driver, quads, scan
from tests.reference.lap_ways import SAGITTA

RECTANGLE = ((0.0, 0.0), (40.0, 0.0), (40.0, 46.0), (0.0, 46.0))
PATH_ERROR = 0.02  # m, from the rules of the plan
ROW, WIDTH = 0.38, 3.04
BASE = Case(
    ranks={"front": Rank(4, 0.76, 2.1, 0.0), "rear": Rank(4, 0.76, 3.0, -0.38)},
    setups={"wide": Setup(("front",)), "narrow": Setup(("front", "rear"), 0.19)},
    setup="narrow",
    shell=RECTANGLE,
    heading_deg=27.3,
    laps=2,
    offset=2.55,
    sections=4,
    lat_on={"front": 0.45, "rear": 0.4},
    lat_off={"front": 0.3, "rear": 0.35},
)
CASES = {
    "rectangle": BASE,
    "slanted side": dataclasses.replace(BASE, shell=((0.0, 0.0), (40.0, 0.0), (40.0, 46.0), (0.0, 33.0))),
    "exclusion": dataclasses.replace(BASE, holes=(((18.0, 20.0), (23.0, 20.0), (23.0, 27.0), (18.0, 27.0)),)),
    "L": dataclasses.replace(
        BASE, shell=((0.0, 0.0), (48.0, 0.0), (48.0, 24.0), (26.0, 24.0), (26.0, 50.0), (0.0, 50.0))
    ),
}
# Quarter circles that ways run on, in the middle of either lap: of half and of one and a half widths' radius.
ARCS = {"exclusion": 4, "L": 1}


@cache
def driven(name: str, order: str) -> tuple[Driver, Places, dict[str, float], float]:
    """The stepping controller's outcome: what it did, its events, its areas and how wrong they may be."""
    driver = Driver(dataclasses.replace(CASES[name], order=order)).drive()
    assert not driver.outcome.doubtful
    events = (((e.leg, e.rank, e.row, e.kind), e.right, e.along) for e in driver.outcome.events)
    return driver, gathered(events), *scan(driver.field, quads(driver.strips), 0.02)


def how_many(places: Places) -> dict[Key, int]:
    return {key: len(found) for key, found in places.items()}


def compare(name: str, order: str, given: Case) -> tuple[float, dict[str, float]]:
    """Refuse what differs by more than the bounds; return the largest distance and the areas' differences."""
    _, events, counted, wrong = driven(name, order)
    areas, places = package_outcome(given)
    if how_many(events) != how_many(places):
        raise Disagreement("not the same events")
    steep = math.tan(math.radians(90 - 27.3))
    bound = 0.76 * steep / (2 * SPOTS) + RESOLUTION
    beside = ARCS.get(name, 0) * math.pi / 2 * (0.5 + 1.5) * WIDTH * 2 * (PATH_ERROR + SAGITTA)
    if name in ARCS:
        bound += (PATH_ERROR + SAGITTA) * steep
    pairs = [pair for key, found in events.items() for pair in zip(found, places[key], strict=True)]
    apart = [math.dist(one, other) for one, other in pairs]
    if max(apart) > bound:
        raise Disagreement(f"an event {max(apart)} m off, {bound} m allowed")
    differ = {key: areas[key] - counted[key] for key in counted}
    if max(map(abs, differ.values())) > sum(apart) * ROW + wrong + beside:
        raise Disagreement(f"{differ}, allowed {sum(apart) * ROW + wrong + beside}")
    return max(apart), differ


QUICK = [("rectangle", "first"), ("slanted side", "last")]
LONG = [pair for pair in itertools.product(CASES, ("first", "last")) if pair not in QUICK]


@pytest.mark.parametrize(
    ("name", "order"), [*QUICK, *(pytest.param(*pair, marks=pytest.mark.slow) for pair in LONG)]
)
def test_laps_by_steps_and_exactly(name: str, order: str) -> None:
    driver, events, *_ = driven(name, order)
    assert len(events) > 200
    closed = [leg.way.closed for leg in driver.legs].count(True)
    assert closed == (2 if name == "exclusion" else 0)
    compare(name, order, dataclasses.replace(CASES[name], order=order))


@pytest.mark.parametrize(
    "change",
    [{"offset": 2.555}, {"t_on": 0.41}, {"q": 0.51}, {"laps": 1}, {"lateral": 0.01}, {"laps": 3}],
    ids=str,
)
def test_comparison_notices_a_small_change(change: dict) -> None:
    """A negative control: the package is given a case that differs a little."""
    with pytest.raises(Disagreement):
        compare("rectangle", "first", dataclasses.replace(CASES["rectangle"], **change))
