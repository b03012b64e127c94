"""Headlands from files: areas that come with a field, in one layer of many, for a whole farm, as lines.

Widths in metres are laid out on the ellipsoid by pyproj's Geod (Karney 2013, Algorithms for geodesics,
Journal of Geodesy 87, 43-55).
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest
import shapely

import overlapsim
from overlapsim import ScenarioError, load_scenario
from overlapsim.drive.plan import plan_drive
from overlapsim.files.fields import read_field
from overlapsim.scenario.headland import Headland
from tests.files.test_guidance import HOME, SCENARIO, collection
from tests.helpers import one_rank, scenario, square

pyproj = pytest.importorskip("pyproj")
GEOD = pyproj.Geod(ellps="WGS84")
ROOT = Path(__file__).resolve().parents[2]
FIELDS = Path(os.environ.get("OVERLAPSIM_FIELDS") or ROOT.parent / "shared" / "fields") / "fields.geojson"
HALF_EAST, HALF_NORTH = 0.004, 0.003
DEEP = 12.0
"""Metres: two working widths of 6 m."""


def within(metres: float) -> shapely.Polygon:
    """The field less so many metres all round, in degrees."""
    longitude, latitude = HOME
    east = GEOD.fwd(longitude, latitude, 90.0, metres)[0] - longitude
    north = GEOD.fwd(longitude, latitude, 0.0, metres)[1] - latitude
    return shapely.box(
        longitude - HALF_EAST + east, latitude - HALF_NORTH + north,
        longitude + HALF_EAST - east, latitude + HALF_NORTH - north,
    )  # fmt: skip


FIELD = within(0.0)
RING = FIELD.difference(within(DEEP))


def home(folder: Path, headland: str, *areas: tuple[str, Any], field: str = "") -> Path:
    """A field, a file of areas, and a scenario with `[plan] headland`."""
    (folder / "field.geojson").write_text(collection(("Home", FIELD)))
    (folder / "headland.geojson").write_text(collection(*areas))
    text = SCENARIO.format(plan=f"headland = {headland}")
    (folder / "home.toml").write_text(text.replace('file = "field.geojson"', field) if field else text)
    return folder / "home.toml"


@pytest.mark.parametrize(
    "shape", [RING, within(DEEP), within(DEEP).exterior], ids=["ring", "interior", "line"]
)
def test_ring_interior_and_inner_edge_are_one_thing(tmp_path: Path, shape: Any) -> None:
    """12 m all round, 6 m of machine: two laps, and of the interior each side is 24 m shorter than the field.

    On the earth the field's north side is shorter than its south side by 600 m x tan(48 deg) x 668 m / R,
    0.07 m; a degree of longitude taken in the middle is off by half of it in each half of 12 m: below 1 mm.
    """
    case = load_scenario(home(tmp_path, '{file = "headland.geojson"}', ("Home", shape)))
    assert case.plan.headland_laps == 2
    (zone,) = plan_drive(case).zones
    west, south, east, north = zone.interior[0].bounds
    outer = case.field.parts[0].bounds
    got = (west - outer[0], south - outer[1], outer[2] - east, outer[3] - north)
    assert got == pytest.approx((DEEP,) * 4, abs=2e-3)
    assert case.plan.headland is not None
    assert (case.plan.headland.file, case.plan.headland.name) == ("headland.geojson", "Home")


def test_of_a_farm_those_on_the_field_are_taken(tmp_path: Path) -> None:
    """Three areas in the file, two of them strips at this field's ends, one 5 km to the east."""
    west, south, east, north = FIELD.bounds
    inner = within(DEEP).bounds
    strips = shapely.box(west, south, east, inner[1]), shapely.box(west, inner[3], east, north)
    far = shapely.transform(strips[0], lambda xy: xy + [0.07, 0.0])
    areas = [("South", strips[0]), ("North", strips[1]), ("Creek", far)]
    case = load_scenario(home(tmp_path, "{file = 'headland.geojson'}", *areas))
    assert case.plan.headland is not None
    assert len(case.plan.headland.areas) == 2
    kinds = [leg.kind for leg in plan_drive(case).legs]
    assert kinds.count("lap") == 4
    one = load_scenario(home(tmp_path, "{file = 'headland.geojson', where = {name = 'South'}}", *areas))
    assert [leg.kind for leg in plan_drive(one).legs].count("lap") == 2
    assert (one.plan.headland_laps, one.plan.headland and one.plan.headland.name) == (2, "South")


def test_a_layer_beside_the_boundary_in_another_system(tmp_path: Path) -> None:
    """Both in one GeoPackage, the headland in a projected system: the same interior to 1 mm."""
    geopandas = pytest.importorskip("geopandas")
    frames = {
        "boundary": geopandas.GeoDataFrame({"name": ["Home"]}, geometry=[FIELD], crs="EPSG:4326"),
        "headland": geopandas.GeoDataFrame({"kind": ["ring"]}, geometry=[RING], crs="EPSG:4326").to_crs(
            32633
        ),
    }
    for layer, frame in frames.items():
        frame.to_file(tmp_path / "home.gpkg", layer=layer, driver="GPKG")
    path = home(
        tmp_path, "{file = 'home.gpkg', layer = 'headland'}", ("Home", RING),
        field='file = "home.gpkg"\nlayer = "boundary"',
    )  # fmt: skip
    found = plan_drive(load_scenario(path)).zones[0].interior[0]
    plain = plan_drive(load_scenario(home(tmp_path, "{file = 'headland.geojson'}", ("Home", RING)))).zones[0]
    assert shapely.hausdorff_distance(found, plain.interior[0]) < 1e-3


def test_two_fields_side_by_side_each_with_its_own(tmp_path: Path) -> None:
    """One has a headland all round, the other none: that is driven without laps, and it is said."""
    other = shapely.transform(FIELD, lambda xy: xy + [0.01, 0.0])
    (tmp_path / "both.geojson").write_text(collection(("Home", FIELD), ("Creek", other)))
    path = home(
        tmp_path, "{file = 'headland.geojson'}", ("Home", RING), field='file = "both.geojson"\nall = true'
    )
    case = load_scenario(path)
    laps = [leg.part for leg in plan_drive(case).legs if leg.kind == "lap"]
    assert laps == [0] * 8
    assert "does not reach 1 of the field's 2 parts" in case.warnings[-1]
    assert overlapsim.simulate(case).areas["skip_m2"] >= 0.0


NEXT = shapely.transform(RING, lambda xy: xy + [0.05, 0.0])


@pytest.mark.parametrize(
    ("headland", "area", "key", "words"),
    [
        ("{file = 'nothing.geojson'}", RING, "plan.headland", "no such file"),
        ("{file = 'headland.geojson'}", NEXT, "plan.headland", "on this field: the nearest lies 3.1 km"),
        ("{file = 'headland.geojson'}", FIELD, "plan.headland", "leaves nothing for passes"),
        ("{file = 'headland.geojson', where = {nme = 'x'}}", RING, "plan.headland.where", "mean name?"),
        ("{file = 'headland.geojson', where = 'Home'}", RING, "plan.headland.where", "cannot be read"),
        ("{file = 'headland.geojson', is = 'inside'}", RING, "plan.headland.is", '"headland" or "interior"'),
        ("{file = 'headland.geojson', polygon = [[0, 0]]}", RING, "plan.headland.polygon", "same as file"),
        ("{file = 'headland.geojson', laier = 'x'}", RING, "plan.headland.laier", "Did you mean layer?"),
        ("{file = 5}", RING, "plan.headland.file", "is not a text"),
        ("{file = 'headland.geojson'}", shapely.Point(HOME), "plan.headland", "a point, not an area"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_words(
    tmp_path: Path, headland: str, area: Any, key: str, words: str
) -> None:
    with pytest.raises(ScenarioError) as caught:
        load_scenario(home(tmp_path, headland, ("Home", area)))
    assert [fault.key for fault in caught.value.faults] == [key]
    assert words in str(caught.value)


def test_degrees_and_metres_do_not_go_together(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="Take headland and field from one source"):
        load_scenario(
            home(
                tmp_path,
                "{file = 'headland.geojson'}",
                ("Home", RING),
                field="rectangle = ['400 m', '800 m']",
            )
        )


@pytest.mark.skipif(not FIELDS.exists(), reason="no collection of real fields at hand")
@pytest.mark.parametrize("feature", [1, 25, 41, 57])
def test_on_real_fields_a_headland_as_deep_as_two_laps_is_as_two_laps(feature: int) -> None:
    """Given as areas, by a buffer of another program's arcs (32 chords a quarter: off by 24 m / 10,000).

    The combined error differs by what the interior's border moved, 1e-3 of it.
    """
    base = scenario(one_rank(), square("400 m", "800 m"), plan={"headland_laps": 2})
    base = base.with_({"field": read_field(FIELDS, where={"feature": feature})})
    width = plan_drive(base).width
    ground = shapely.multipolygons(list(base.field.parts))
    given = ground.difference(ground.buffer(-2 * width, quad_segs=32))
    case = base.with_({"plan.headland": Headland(tuple(p for p in shapely.get_parts(given)))})
    assert case.plan.headland_laps == 2
    one, other = overlapsim.simulate(base).areas, overlapsim.simulate(case).areas
    assert other["combined_m2"] == pytest.approx(one["combined_m2"], rel=1e-3)
