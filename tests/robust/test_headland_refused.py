"""Headlands that cannot be meant, refused in words with a remedy."""

from __future__ import annotations

from typing import Any

import pytest

from overlapsim import ScenarioError
from tests.closed_form.test_headland_areas import BOUNDARY, W, planned, ring
from tests.helpers import block

WEST = {"polygon": block(-200, -400, 0, 400)}


@pytest.mark.parametrize(
    ("plan", "key", "words"),
    [
        ({"headland": {"polygon": block(300, 0, 400, 90)}}, "plan.headland", "it lies 100 m away"),
        ({"headland": {"polygon": BOUNDARY}}, "plan.headland", "leaves nothing for passes"),
        ({"headland": {"polygon": BOUNDARY, "is": "interior"}}, "plan.headland", "nothing between"),
        ({"headland": WEST}, "plan.headland", 'covers 50% of the field and lies along its boundary'),
        ({"headland": {**WEST, "is": "headland"}}, "plan.headland", "more than 6 laps of 12.2 m"),
        ({"headland": ring(2 * W, 2 * W, off=4.0)}, "plan.headland", "more than 6 laps"),
        ({"headland": ring(W, W), "headland_width": "40 ft"}, "plan.headland_width", "does not go with"),
        ({"headland": ring(W, W), "exclusion_laps": 1}, "plan.exclusion_laps", "does not go with"),
        ({"headland": ring(W, W), "headland_laps": 2}, "plan.headland_laps", "which needs 1 of 40.00 ft"),
        ({"headland": {"polygon": [[0, 0], [1, 1]]}}, "plan.headland", "needs three"),
        ({"headland": {"parts": []}}, "plan.headland", "not a list of areas"),
        ({"headland": {"file": "h.geojson"}}, "plan.headland", "load_scenario"),
        ({"headland": {"is": "interior"}}, "plan.headland", "names no area"),
        ({"headland": {**WEST, "is": "inside"}}, "plan.headland", "choices"),
        ({"headland": {**WEST, "fil": "x"}}, "plan.headland.fil", "no such key"),
        ({"headland": "h.geojson"}, "plan.headland", "not a table"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_words(plan: dict[str, Any], key: str, words: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        planned(**plan)
    assert [fault.key for fault in caught.value.faults] == [key]
    assert words in str(caught.value)
