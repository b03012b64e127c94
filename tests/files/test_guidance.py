"""Guidance lines from files: read, chosen by name, moved to the field's plane, or refused in words.

The outside: the shortest way on the ellipsoid by pyproj's Geod (Karney 2013, Algorithms for geodesics,
Journal of Geodesy 87, 43-55).
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from overlapsim import ScenarioError, load_scenario
from overlapsim.drive.plan import plan_drive
from overlapsim.scenario.guidance import straight_line
from overlapsim.scenario.kinds import Slip
from overlapsim.scenario.plane import Plane

pyproj = pytest.importorskip("pyproj")
GEOD = pyproj.Geod(ellps="WGS84")
HOME = (12.004, 48.003)
W = 8 * 0.75
"""Metres: the machine below."""

SCENARIO = """
[machine]
ranks.front = {{rows = 8, spacing = "75 cm", behind_pin = "2 m"}}
[field]
file = "field.geojson"
[plan]
{plan}
[speed]
working = "8 km/h"
[switching]
reference_offset = "2 m"
turn_on_time = "0.4 s"
turn_off_time = "0.4 s"
"""


def collection(*features: tuple[str, Any], crs: str = "") -> str:
    """A GeoJSON text of named shapes."""
    named = {"crs": {"type": "name", "properties": {"name": crs}}} if crs else {}
    made = [
        {"type": "Feature", "properties": {"name": name}, "geometry": json.loads(shapely.to_geojson(shape))}
        for name, shape in features
    ]
    return json.dumps({"type": "FeatureCollection", **named, "features": made})


def home(folder: Path, plan: str, *lines: tuple[str, Any], crs: str = "") -> Path:
    """A field of some 600 m by 670 m, a file of lines, and a scenario."""
    field = shapely.box(HOME[0] - 0.004, HOME[1] - 0.003, HOME[0] + 0.004, HOME[1] + 0.003)
    (folder / "field.geojson").write_text(collection(("Home", field)))
    (folder / "lines.geojson").write_text(collection(*lines, crs=crs))
    path = folder / "home.toml"
    path.write_text(SCENARIO.format(plan=plan))
    return path


def geodesic(azimuth: float, length: float) -> shapely.LineString:
    """A line through the field's middle, from and to ends on the shortest way."""
    ends = [GEOD.fwd(*HOME, azimuth + 180, length / 2)[:2], GEOD.fwd(*HOME, azimuth, length / 2)[:2]]
    return shapely.LineString(ends)


@pytest.mark.parametrize("azimuth", [10.0, 80.0, 200.0, 325.0])
def test_passes_run_on_the_shortest_way_between_its_ends(tmp_path: Path, azimuth: float) -> None:
    """All along 4 km the shortest way on the ellipsoid lies on a pass's middle, or would, to 1 mm."""
    line = geodesic(azimuth, 4000.0)
    path = home(tmp_path, 'line = {file = "lines.geojson"}', ("AB", line))
    scenario = load_scenario(path)
    legs = [leg for leg in plan_drive(scenario).legs if leg.kind == "pass"]
    (lon_a, lat_a), (lon_b, lat_b) = line.coords
    between = np.array(GEOD.npts(lon_a, lat_a, lon_b, lat_b, 99))
    assert scenario.field.plane is not None
    ground = shapely.get_coordinates(scenario.field.plane.to_ground(shapely.LineString(between)))
    assert scenario.plan.line is not None
    heading = scenario.plan.line.heading
    right = np.array([math.cos(heading), -math.sin(heading)])
    for leg in legs:
        off = (ground - leg.believed[0]) @ right / W
        assert np.abs(off - off.round()).max() * W < 1e-3
    assert heading % math.tau == pytest.approx(math.radians(azimuth), abs=math.radians(0.01))


def test_a_line_straight_in_degrees_is_no_straight_line_on_the_ground() -> None:
    """Along a parallel at 48 degrees 2 km bulge by L² tan(48 deg) / (8 R): 87 mm, a curve."""
    plane = Plane.through("EPSG:4326", *HOME)
    half = 1000.0 / (math.cos(math.radians(HOME[1])) * 6378137 * math.pi / 180)
    points = [[HOME[0] + k * half / 20, HOME[1]] for k in range(-20, 21)]
    ground = shapely.get_coordinates(plane.to_ground(shapely.LineString(points)))
    bulge = 2000.0**2 * math.tan(math.radians(HOME[1])) / (8 * 6378137)
    assert bulge == pytest.approx(0.087, abs=5e-4)
    with pytest.raises(Slip, match=f"{bulge:.2f} m off"):
        straight_line(ground)
    short = straight_line(ground[::20][:2])
    assert short.off_straight == 0.0


def test_a_line_is_chosen_by_its_name_whatever_its_case(tmp_path: Path) -> None:
    lines = ("North", geodesic(0, 300)), ("East", geodesic(90, 300))
    plan = load_scenario(home(tmp_path, 'line = {file = "lines.geojson", name = "east"}', *lines)).plan
    assert plan.line is not None
    assert (plan.line.name, plan.line.file) == ("East", "lines.geojson")
    assert float(plan.heading) == pytest.approx(math.pi / 2, abs=1e-4)


def test_another_coordinate_system_lies_on_the_same_ground(tmp_path: Path) -> None:
    degrees = geodesic(30, 400)
    move = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:32633", always_xy=True)
    zone = shapely.LineString([move.transform(*point) for point in degrees.coords])
    found = []
    for shape, crs in ((degrees, ""), (zone, "urn:ogc:def:crs:EPSG::32633")):
        path = home(tmp_path, 'line = {file = "lines.geojson"}', ("A", shape), crs=crs)
        line = load_scenario(path).plan.line
        assert line is not None
        found.append([*line.first, *line.last])
    assert found[0] == pytest.approx(found[1], abs=1e-6)


def test_a_line_a_little_off_straight_is_taken_and_said(tmp_path: Path) -> None:
    """A point 20 mm beside the middle of 300 m."""
    one, other = geodesic(0, 300).coords
    middle = GEOD.fwd(*HOME, 90, 0.02)[:2]
    bent = shapely.LineString([one, middle, other])
    scenario = load_scenario(home(tmp_path, 'line = {file = "lines.geojson"}', ("A", bent)))
    assert "up to 20 mm off straight" in " ".join(scenario.warnings)


TWO = ("North", geodesic(0, 300)), ("East", geodesic(90, 300))
CURVE = ("Arc", shapely.LineString([(12.0, 48.0), (12.001, 48.002), (12.0, 48.004)]))


@pytest.mark.parametrize(
    ("plan", "lines", "words"),
    [
        ('line = {file = "lines.geojson"}', TWO, "holds 2 lines"),
        ('line = {file = "lines.geojson", name = "Nort"}', TWO, "Did you mean North?"),
        ('line = {file = "lines.geojson"}', (CURVE,), "is a curve: it lies up to 74.6"),
        ('line = {file = "lines.geojson"}', (("A", shapely.Point(12, 48)),), "holds no line"),
        ('line = {file = "line.geojson"}', TWO, "no such file"),
        ('line = {file = "lines.geojson", nam = "North"}', TWO, "no such key"),
        ('line = {file = "lines.geojson", points = [[0, 0]]}', TWO, "says the same as file"),
        ('line = {file = 3}', TWO, "is not a text"),
        ('line = {file = "lines.geojson", name = "East"}\nheading = "5 deg"', TWO, "runs at 90"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_with_its_place(
    tmp_path: Path, plan: str, lines: tuple[Any, ...], words: str
) -> None:
    with pytest.raises(ScenarioError) as caught:
        load_scenario(home(tmp_path, plan, *lines))
    (fault,) = caught.value.faults
    assert words in str(fault)
    assert fault.file


def test_line_in_degrees_and_field_in_metres_do_not_go_together(tmp_path: Path) -> None:
    path = home(tmp_path, 'line = {file = "lines.geojson", name = "East"}', *TWO)
    path.write_text(path.read_text().replace('file = "field.geojson"', 'rectangle = ["400 m", "800 m"]'))
    with pytest.raises(ScenarioError, match="field in metres"):
        load_scenario(path)
