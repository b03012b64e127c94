"""The field's own plane: lengths as on the ellipsoid, and the way back without loss."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from pyproj import CRS, Geod, Transformer

from overlapsim.scenario.field import Field
from overlapsim.scenario.plane import Plane

# A place inside the area of use of each system: geographic, grids of many kinds (axes swapped, southing and
# westing, zone number in the easting, feet, equal-area), several ellipsoids, both hemispheres.
SYSTEMS = {
    "EPSG:4326": (12.0, 48.0),
    "OGC:CRS84": (-93.5, 42.0),
    "EPSG:4269": (-120.0, 38.0),
    "EPSG:4258": (15.0, 50.0),
    "EPSG:3857": (-55.0, -12.5),
    "EPSG:25833": (13.5, 52.5),
    "EPSG:32723": (-45.0, -12.0),
    "EPSG:4647": (9.5, 54.3),
    "EPSG:31287": (13.3, 47.5),
    "EPSG:5514": (18.5, 48.5),
    "EPSG:2193": (172.0, -43.5),
    "EPSG:3067": (25.0, 62.0),
    "EPSG:5070": (-104.0, 35.0),
    "EPSG:3310": (-120.5, 37.0),
    "EPSG:26915": (-93.0, 42.0),
    "EPSG:2227": (-121.0, 38.0),
    "EPSG:27700": (-1.5, 52.5),
    "EPSG:27572": (2.3, 47.0),
}

# One system counts in gons from the meridian of Paris, 2 deg 20 min 14.025 s east of Greenwich.
MERIDIANS = {"EPSG:27572": 2.33722917}
GONS = {"EPSG:27572": 400 / 360}


def outline(crs: CRS, longitude: float, latitude: float) -> tuple[shapely.Polygon, np.ndarray]:
    """A hectare-sized slanted outline, 2 km across, in a system's own coordinates and on its own datum."""
    angles = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    reach = 1 + 0.2 * np.sin(5 * angles)
    degrees = np.column_stack(
        [
            (longitude - MERIDIANS.get(crs.to_string(), 0.0))
            + 0.009 * reach * np.cos(angles) / np.cos(np.radians(latitude)),
            latitude + 0.009 * reach * np.sin(angles),
        ]
    )
    to_system = Transformer.from_crs(crs.geodetic_crs, crs, always_xy=True)
    x, y = to_system.transform(*degrees.T * GONS.get(crs.to_string(), 1.0))
    return shapely.Polygon(np.column_stack([x, y])), degrees


@pytest.mark.parametrize("code", SYSTEMS)
def test_lengths_are_those_of_the_ellipsoid(code: str) -> None:
    """Distances between neighbouring points against geodesics (Karney 2013, as in pyproj.Geod).

    Tolerance: the plane's scale is off by less than (1 km / 6371 km)**2 / 2 = 1.3e-8; twice that on 120 m is
    3 micrometres, and the coordinates of a grid carry a few nanometres.
    """
    crs = CRS.from_user_input(code)
    polygon, degrees = outline(crs, *SYSTEMS[code])
    field = Field.from_geometry(polygon, code)
    geod = Geod(a=crs.ellipsoid.semi_major_metre, b=crs.ellipsoid.semi_minor_metre)
    around = np.vstack([degrees, degrees[:1]])
    _, _, expected = geod.inv(*around[:-1].T, *around[1:].T)
    ground = shapely.get_coordinates(field.parts[0])
    if not shapely.is_ccw(polygon.exterior):
        expected = expected[::-1]
    found = np.hypot(*np.diff(ground, axis=0).T)
    np.testing.assert_allclose(np.sort(found), np.sort(expected), rtol=0, atol=1e-5)


@pytest.mark.parametrize("code", SYSTEMS)
def test_north_is_up_and_east_is_right(code: str) -> None:
    """Whatever the order and sign of a system's axes, the northernmost point has the largest y."""
    polygon, degrees = outline(CRS.from_user_input(code), *SYSTEMS[code])
    plane = Field.from_geometry(polygon, code).plane
    assert plane is not None
    ground = shapely.get_coordinates(plane.to_ground(polygon))[:-1]
    assert ground[:, 1].argmax() == degrees[:, 1].argmax()
    assert ground[:, 0].argmax() == degrees[:, 0].argmax()
    west, south, east, north = polygon.bounds
    middle = plane.to_ground(shapely.Point((west + east) / 2, (south + north) / 2))
    assert np.hypot(middle.x, middle.y) < 1e-6


@pytest.mark.parametrize("code", SYSTEMS)
def test_the_way_back_loses_less_than_a_micrometre(code: str) -> None:
    """Source to ground to source, in metres on the ground: doubles carry 4 nm in a grid's northing."""
    polygon, _ = outline(CRS.from_user_input(code), *SYSTEMS[code])
    plane = Field.from_geometry(polygon, code).plane
    assert plane is not None
    ground = plane.to_ground(polygon)
    again = plane.to_ground(plane.to_source(ground))
    step = shapely.get_coordinates(again) - shapely.get_coordinates(ground)
    assert np.abs(step).max() < 1e-6
    back = shapely.get_coordinates(plane.to_source(ground)) - shapely.get_coordinates(polygon)
    per_unit = 111_200.0 if CRS.from_user_input(code).is_geographic else 1.0
    assert np.abs(back).max() * per_unit < 1e-6


@pytest.mark.parametrize(
    ("latitude", "north", "east"),
    [
        (0.0, 110574.276, 111319.491),
        (42.0, 111073.284, 82850.762),
        (45.0, 111131.777, 78846.835),
        (60.0, 111412.287, 55800.002),
    ],
)
def test_metres_per_degree_on_wgs84(latitude: float, north: float, east: float) -> None:
    """Meridian and parallel radii of the WGS84 ellipsoid times one degree, worked out by hand; last digit
    1 mm, and the step of 0.001 degree loses about as much."""
    plane = Plane.through("EPSG:4326", 10.0, latitude)
    step = 1e-3
    up, right = plane.to_ground(
        np.array([shapely.Point(10.0, latitude + step), shapely.Point(10.0 + step, latitude)], dtype=object)
    )
    down = plane.to_ground(shapely.Point(10.0, latitude - step))
    assert (up.y - down.y) / (2 * step) == pytest.approx(north, abs=0.0005 + 1e-3)
    assert right.x / step == pytest.approx(east, abs=0.0005 + 1e-3)


def test_a_height_part_and_a_built_in_datum_shift_are_dropped() -> None:
    square = shapely.box(13.5, 52.5, 13.51, 52.505)
    flat = Field.from_geometry(square, "EPSG:4258")
    bound = "+proj=longlat +ellps=GRS80 +towgs84=100,100,100 +no_defs"
    assert Field.from_geometry(square, bound).plantable_m2 == pytest.approx(flat.plantable_m2, rel=1e-12)
    compound = "EPSG:4258+5783"
    assert Field.from_geometry(square, compound).plantable_m2 == pytest.approx(flat.plantable_m2, rel=1e-12)


def test_heights_are_dropped() -> None:
    low = shapely.Polygon([(12, 48), (12.01, 48), (12.01, 48.01)])
    high = shapely.Polygon([(12, 48, 300), (12.01, 48, 320), (12.01, 48.01, 310)])
    assert Field.from_geometry(low, "EPSG:4326") == Field.from_geometry(high, "EPSG:4326")
    assert not Field.from_geometry(high, "EPSG:4326").parts[0].has_z


def test_a_field_laid_again_from_its_origin_is_the_same() -> None:
    """What results say about a field is enough to run it again and to write its layers."""
    hole = shapely.box(12.002, 48.002, 12.003, 48.003)
    field = Field.from_geometry(shapely.box(12, 48, 12.01, 48.01) - hole, "EPSG:4326", "Home")
    part = field.parts[0]
    again = Field.polygon(
        shapely.get_coordinates(part.exterior).tolist(),
        [shapely.get_coordinates(ring).tolist() for ring in part.interiors],
        origin=field.origin,
    )
    assert again == field
    assert again.plane == field.plane
