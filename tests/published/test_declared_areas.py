"""Fields read from a file, one by one, against the areas that those who publish them declare.

Source
------
The collection of 137 real fields, where it is at hand (`OVERLAPSIM_FIELDS`): its table `fields_stats.csv` has
the area that each provider declares, hectares, and states that they agree with planar areas in the local UTM
zone within 0.3 %, scale of the grid and datum included.
"""

from __future__ import annotations

import csv
import os
from pathlib import Path

import pytest
from pyproj import Proj

from overlapsim.files.fields import read_field

#: As the collection states.
DECLARED = 0.003


def in_zone_ha(plantable_m2: float, longitude: float, latitude: float) -> float:
    """What an area is on the map of its UTM zone, hectares: zones of 6 degrees, the first from 180 west."""
    zone = int((longitude + 180) // 6) + 1
    grid = Proj(f"EPSG:{(32600 if latitude > 0 else 32700) + zone}")
    return plantable_m2 * grid.get_factors(longitude, latitude).areal_scale / 1e4


@pytest.mark.fields
def test_every_declared_area_within_three_thousandths() -> None:
    here = Path(__file__).resolve().parents[2]
    folder = Path(os.environ.get("OVERLAPSIM_FIELDS") or here.parent / "shared" / "fields")
    if not (folder / "fields_stats.csv").is_file():
        pytest.skip(f"no collection of real fields in {folder}")
    with open(folder / "fields_stats.csv", encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 137
    declared = 0
    for row in rows:
        field = read_field(folder / "fields.geojson", where={"field_id": row["field_id"]})
        area = in_zone_ha(field.plantable_m2, *field.origin["middle"])
        assert field.name == row["field_id"]
        assert area == pytest.approx(float(row["area_ha"]), rel=DECLARED), row["field_id"]
        if row["declared_ha"]:
            assert area == pytest.approx(float(row["declared_ha"]), rel=DECLARED), row["field_id"]
            declared += 1
    assert declared == 113
