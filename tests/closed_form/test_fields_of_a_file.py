"""One number for all fields of a file: areas are those of its fields read and run one by one, added up."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
import shapely

from overlapsim import Scenario, simulate
from overlapsim.files.fields import read_field
from overlapsim.scenario.field import Field
from tests.helpers import BASE, merge, two_ranks

SUMS = ("skip_m2", "overlap_m2", "off_field_m2", "combined_m2", "planted_m2")
#: Some 300 by 500 m each, a kilometre apart at most.
FIELDS = {
    "Home": shapely.box(12.000, 48.000, 12.004, 48.005),
    "Creek": shapely.box(12.005, 48.001, 12.008, 48.0045) - shapely.box(12.006, 48.002, 12.0065, 48.0025),
    "Hill": shapely.Polygon([(12.009, 48.000), (12.013, 48.0005), (12.0125, 48.005), (12.0092, 48.0045)]),
}
#: Share of the plantable ground, as the account's own promise; scales of the planes differ by 1e-8.
SAME = 1e-6


def north_of(common: Field, field: Field) -> float:
    """Where the common plane's north points to on a field's own plane, degrees clockwise.

    Convergence of the meridians of a transverse Mercator plane, leading term: difference of longitude times
    sin(latitude); east of the middle true north lies to the left of the plane's north.
    """
    (middle, _), (longitude, latitude) = common.origin["middle"], field.origin["middle"]
    return (longitude - middle) * math.sin(math.radians(latitude)) % 360.0


@pytest.mark.parametrize("laps", [0, 1])
def test_all_fields_of_a_file_are_the_sum_of_each(laps: int, tmp_path: Path) -> None:
    path = tmp_path / "farm.geojson"
    features = [
        {"type": "Feature", "properties": {"name": name}, "geometry": shapely.geometry.mapping(shape)}
        for name, shape in FIELDS.items()
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    data = merge(
        BASE,
        {
            "machine": two_ranks(),
            "plan": {"headland_laps": laps},
            "switching": {"reference_offset": "101.5 in"},
            "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
        },
    )
    everything = read_field(path, all=True)
    together = simulate(Scenario.from_dict(data, field=everything))
    alone = []
    for name in FIELDS:
        field = read_field(path, where={"name": name})
        turned = merge(data, {"plan": {"heading": f"{north_of(everything, field)!r} deg"}})
        alone.append(simulate(Scenario.from_dict(turned, field=field)))
    ground = together.plantable_m2
    assert ground == pytest.approx(sum(run.plantable_m2 for run in alone), rel=1e-7)
    assert together.pass_count == sum(run.pass_count for run in alone)
    for key in SUMS:
        total = sum(run.areas[key] for run in alone)
        assert together.areas[key] == pytest.approx(total, abs=SAME * ground), key
