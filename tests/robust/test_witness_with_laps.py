"""The independent count on real fields with headland laps: scan lines against the account.

Six fields that differ, two laps in either order, and a machine whose ranks, sections, times and re-centring
are all a little off. The witness sorts the edges of raw strips on 200 lines and more; the account overlays
polygons. They may differ by 1e-6 of what they count (the account's own promise); what is really seen is
rounding.

Fields are looked for in the folder named by OVERLAPSIM_FIELDS, or in shared/fields beside the checkout.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
import shapely

import overlapsim
from overlapsim import Scenario
from overlapsim.files.fields import read_field
from overlapsim.ground.witness import witness
from tests.helpers import BASE, merge, two_ranks

ROOT = Path(__file__).parents[2]
FOLDER = Path(os.environ.get("OVERLAPSIM_FIELDS") or ROOT.parent / "shared" / "fields")
COLLECTION = FOLDER / "fields.geojson"

pytestmark = [
    pytest.mark.fields,
    pytest.mark.skipif(not COLLECTION.exists(), reason="no collection of real fields at hand"),
]
FIELDS = ["msu-001", "bg-006", "br_lem-048", "nz-022", "cz-016", "us_csb-021"]


def simulated(name: str, order: str) -> overlapsim.Simulation:
    data = merge(
        BASE,
        {
            "machine": two_ranks(8, 8, setups={"narrow": {"hitch_shift": "6 in"}}),
            "plan": {"heading": "auto", "headland_laps": 2, "headland_order": order},
            "switching": {"reference_offset": "97 in", "turn_off_time": "0.25 s", "sections": 8},
            "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
            "controller": {"update_rate": "5 Hz"},
        },
    )
    field = read_field(COLLECTION, where={"field_id": name})
    return overlapsim.simulate(Scenario.from_dict(data, field=field))


@pytest.mark.parametrize(("name", "order"), list(zip(FIELDS, ["first", "last"] * 3, strict=True)))
def test_scan_lines_agree_with_the_account(name: str, order: str) -> None:
    run = simulated(name, order)
    areas = run.areas
    assert run.lap_count == 2
    assert run.witness.largest_relative_difference <= 1e-6
    balance = run.plantable_m2 - areas["skip_m2"] + areas["overlap_m2"] + areas["off_field_m2"]
    assert areas["planted_m2"] == pytest.approx(balance, abs=1e-6 * run.plantable_m2)
    # The layers that are drawn are the areas that are told.
    for key in ("skip", "overlap", "off_field"):
        layer = run.layers[key]
        times = np.maximum(layer.columns.get("times", 1), 1) - (key == "overlap")
        drawn = float((shapely.area(layer.geometry) * times).sum())
        assert drawn == pytest.approx(areas[f"{key}_m2"], abs=1e-6 * run.plantable_m2), key


def test_scan_lines_notice_a_row_lost_on_a_lap() -> None:
    """A negative control: one row of the first leg left out of the account's strips."""
    run = simulated("msu-001", "first")
    stretch, quads = run.raw
    assert run.drive.legs[0].kind == "lap"
    lost = stretch == stretch[np.argmax(run.sowing.leg[stretch] == 0)]
    (drawn,) = run.shapes
    field = list(run.scenario.field.parts)
    seen = witness(field, quads[~lost], stretch[~lost], drawn, run.drive.heading)
    assert seen.largest_relative_difference > 1e-5
