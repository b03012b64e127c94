"""The ledger with two laps on real fields, against 20 full simulations at random settings each.

us_ca-006 is jagged: rows on the inside of its bends run back over their own ground. Asked for: less than
0.1 % of the combined error off anywhere, less than 0.05 % in the root mean square.
"""

from __future__ import annotations

import numpy as np
import pytest

from overlapsim import Scenario, simulate
from overlapsim.control.ledger import build_ledger
from overlapsim.files.fields import read_field
from overlapsim.questions.search import search_span, with_offset
from tests.helpers import BASE, merge, two_ranks
from tests.robust.test_second_count import COLLECTION

pytestmark = [
    pytest.mark.fields,
    pytest.mark.skipif(not COLLECTION.exists(), reason="no collection of real fields at hand"),
]


@pytest.mark.parametrize("name", ["msu-001", "br_lem-048", "nz-022", "us_ca-006"])
def test_twenty_random_settings(name):
    data = merge(
        BASE,
        {
            "machine": two_ranks(16, 15),
            "plan": {"headland_laps": 2, "heading": "auto"},
            "response": {"on_latency": "0.55 s", "off_latency": "0.30 s"},
        },
    )
    one = Scenario.from_dict(data, field=read_field(COLLECTION, where={"field_id": name}))
    low, high = search_span([one])
    combined = build_ledger(one, low, high).combined
    offsets = np.random.default_rng(20).uniform(low, high, 20)
    full = [simulate(with_offset(one, float(r))).areas["combined_m2"] for r in offsets]
    miss = combined.at(offsets)[:, 0] / np.array(full) - 1
    assert np.abs(miss).max() < 1e-3
    assert np.sqrt((miss**2).mean()) < 5e-4
