"""Field areas against geodesic areas, and against the areas that open data sets declare for their own fields.

Sources
-------
- geodesic areas: Karney, C. F. F. (2013), Algorithms for geodesics, Journal of Geodesy 87, 43-55, as in
  pyproj.Geod.
- the source archive of geoparquet-io 1.7.0 (Apache-2.0) on the Python package index ships 100 real field
  outlines (`fields_gpq2_crs84_zstd.parquet`) and 30 Austrian parcels (`austria_bbox_covering.parquet`), each
  with its area declared in hectares. It is fetched once at test time and read, not copied
  (`conftest.py` beside).
- a collection of 137 real fields with declared areas, where it is at hand.

Declared areas are planar, in the grid of whoever declares them; so ours are multiplied by that grid's scale
of area, which pyproj works out on its own.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from pyproj import CRS, Geod, Proj, Transformer

from overlapsim.files.fields import read_field
from overlapsim.scenario.field import Field

# The plane's scale of area is off by (x / 6371 km)**2 at x from its middle: 1e-7 at 2 km, more than any of
# these fields reaches.
# Geodesic areas of single fields are good to about 1e-5 m2 (sums of doubles).
PLANE = 1e-7
GEODESIC_M2 = 1e-4


def geodesic_m2(polygon: shapely.Polygon, crs: CRS) -> float:
    """Area on the crs's own ellipsoid, without any plane."""
    to_degrees = Transformer.from_crs(crs, crs.geodetic_crs, always_xy=True)
    degrees = shapely.transform(polygon, lambda xy: np.column_stack(to_degrees.transform(*xy.T)))
    geod = Geod(a=crs.ellipsoid.semi_major_metre, b=crs.ellipsoid.semi_minor_metre)
    return abs(geod.geometry_area_perimeter(shapely.orient_polygons(degrees))[0])


def grid_scale(field: Field, grid: str) -> float:
    """How many m2 of a grid make one m2 of ground at the field's middle."""
    longitude, latitude = field.origin["middle"]
    return Proj(grid).get_factors(longitude, latitude).areal_scale


@pytest.mark.registry
@pytest.mark.parametrize(
    ("name", "count", "grid", "tolerance"),
    [
        # Declared in the grid that the file itself is in; its scale changes by 1e-7 and less over a parcel.
        ("austria_bbox_covering.parquet", 30, "EPSG:31287", 5e-7),
        # Longitude 18.3: the declared areas are those of UTM zone 34 (inferred: it fits all 100). Its scale
        # of area changes by 1e-8 per metre so far beside the zone's middle, and is taken at one place each.
        ("fields_gpq2_crs84_zstd.parquet", 100, "EPSG:32634", 5e-6),
    ],
)
def test_open_fields(open_data: Path, name: str, count: int, grid: str, tolerance: float) -> None:
    import geopandas

    table = geopandas.read_parquet(open_data / name)
    assert len(table) == count
    for row in range(count):
        field = read_field(open_data / name, where={"feature": row + 1})
        expected = geodesic_m2(table.geometry.iloc[row], table.crs)
        assert field.plantable_m2 == pytest.approx(expected, rel=PLANE, abs=GEODESIC_M2)
        declared = table["area"].iloc[row] * 1e4
        assert field.plantable_m2 * grid_scale(field, grid) == pytest.approx(declared, rel=tolerance)
        assert field.notes == ()


@pytest.mark.fields
def test_real_fields_against_geodesic_areas(real_fields: Any) -> None:
    for row in real_fields.itertuples():
        field = Field.from_geometry(row.geometry, real_fields.crs, row.field_id)
        expected = geodesic_m2(row.geometry, real_fields.crs)
        assert field.plantable_m2 == pytest.approx(expected, rel=PLANE, abs=GEODESIC_M2), row.field_id


@pytest.mark.fields
def test_real_fields_against_declared_areas(real_fields: Any) -> None:
    """The collection's planar areas (local UTM, three decimals of a hectare), then the providers' own areas.

    The latter within the 0.3 % that the collection states for them.
    """
    checked = 0
    for row in real_fields.itertuples():
        field = Field.from_geometry(row.geometry, real_fields.crs, row.field_id)
        longitude, latitude = field.origin["middle"]
        zone = int((longitude + 180) // 6) + 1
        planar_ha = (
            field.plantable_m2
            * grid_scale(field, f"EPSG:{32600 + zone if latitude > 0 else 32700 + zone}")
            / 1e4
        )
        # The scale is taken at one place: over 2 km beside the zone's middle it changes by some 1e-5.
        assert planar_ha == pytest.approx(row.area_ha, abs=0.0005, rel=2e-5), row.field_id
        if row.declared_ha == row.declared_ha:
            assert planar_ha == pytest.approx(row.declared_ha, rel=0.003), row.field_id
            checked += 1
    assert checked > 50
