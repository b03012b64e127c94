"""Cases of a study against tune and causes, which work each of them out alone."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from overlapsim import Scenario, Study, causes, run_study, simulate, tune
from overlapsim.questions.study_case import compute_chunk
from overlapsim.questions.study_design import Design, Factor, in_order
from overlapsim.questions.swept import OFFSET
from tests.helpers import scenario, two_ranks

#: Without headland laps ledgers and full simulations agree to this share of the figures: rounding.
EXACT = 1e-9
FIELD = {"polygon": [[0, 0], [120, 15], [150, 160], [70, 200], [-10, 130]]}


def of(base: Scenario, *factors: Factor) -> Study:
    return Study("s", "s", (base,), ("m",), Design(in_order(factors)), chunk=100)


def base(**plan: Any) -> Scenario:
    return scenario(
        two_ranks(8, 8), FIELD, plan={"heading": "12 deg", **plan}, switching={"sections": 4},
        response={"on_latency": "0.5 s", "off_latency": "0.3 s"},
    )  # fmt: skip


def check(study: Study, exact: float) -> None:
    table = run_study(study).table
    assert not any(table["error"])
    for i in range(len(study)):
        row = study.design.rows(range(i, i + 1))[0]
        changes = {f.key: f.value(at) for f, at in zip(study.design.factors, row, strict=True)}
        one = study.bases[0].with_(changes)
        alone, why = tune(one), causes(one)
        size = alone.best.areas["combined_m2"]
        for name in ("skip_m2", "overlap_m2", "off_field_m2", "combined_m2", "planted_m2"):
            scale = max(size, alone.as_set.areas[name])
            assert abs(table[f"as_set_{name}"][i] - alone.as_set.areas[name]) <= exact * scale
        for name in ("worst_row_error_m", "longest_gap_m"):
            assert table[f"as_set_{name}"][i] == pytest.approx(alone.as_set.areas[name], abs=1e-9)
        assert abs(table["best_combined_m2"][i] / size - 1) <= max(exact, 2e-6)
        ends = simulate(one.with_({OFFSET: float(table["best_reference_offset_m"][i])})).areas
        for name in ("missing_row_m", "double_planted_row_m"):
            assert table[f"best_{name}"][i] == pytest.approx(ends[name], rel=1e-9)
        for name in ("skip_m2", "overlap_m2", "off_field_m2", "combined_m2"):
            best, now = why.stagger["at_best"][name], why.stagger["as_set"][name]
            assert abs(table[f"stagger_{name}"][i] - best) <= max(exact, 2e-6) * size
            assert abs(table[f"as_set_stagger_{name}"][i] - now) <= exact * max(size, abs(now))


def test_without_laps_as_tune_and_causes() -> None:
    """Offsets between the ranks and beyond both, speeds and sections: ledgers that many cases share."""
    check(
        of(
            base(),
            Factor("switching.reference_offset", (1.2, 2.1336, 2.6, 4.5)),
            Factor("speed.working", (1.5, 3.0)),
            Factor("switching.sections", (2, "each-row")),
        ),
        EXACT,
    )


def test_as_good_is_that_of_tune() -> None:
    table = run_study(of(base(), Factor("speed.working", (2.0,)))).table
    alone = tune(base().with_({"speed.working": 2.0})).to_dict()
    assert table["best_reference_offset_m"][0] == pytest.approx(alone["best"]["reference_offset_m"], abs=1e-6)
    assert table["as_good_low_m"][0] == pytest.approx(alone["as_good_m"][0], abs=1e-6)
    assert table["as_good_high_m"][0] == pytest.approx(alone["as_good_m"][1], abs=1e-6)


@pytest.mark.slow
def test_with_laps_as_tune_and_causes() -> None:
    """Every case a full simulation of its own: the ledger only finds the best, as it does for tune."""
    study = of(base(headland_laps=1), Factor("switching.reference_offset", (2.1336, 3.5)))
    table = run_study(study).table
    for i, offset in enumerate((2.1336, 3.5)):
        one = study.bases[0].with_({"switching.reference_offset": offset})
        alone, why = tune(one), causes(one)
        assert table["as_set_combined_m2"][i] == alone.as_set.areas["combined_m2"]
        now = why.stagger["as_set"]["combined_m2"]
        assert table["as_set_stagger_combined_m2"][i] == pytest.approx(now, rel=1e-9)
        # Both searches stop within what two centimetres of a flat stretch are worth.
        assert table["best_combined_m2"][i] == pytest.approx(alone.best.areas["combined_m2"], rel=2e-3)


def test_an_offset_for_each_rank_has_columns_for_each() -> None:
    own = base().with_({"switching.reference_offset": {"front": 2.1, "rear": 3.0}})
    table = run_study(of(own, Factor("switching.reference_offset.rear", (2.9, 3.2)))).table
    alone = tune(own).to_dict()["best"]["reference_offset_m"]
    assert table["switching_reference_offset_rear_m"].tolist() == [2.9, 3.2]
    for rank, offset in alone.items():
        assert table[f"best_reference_offset_{rank}_m"] == pytest.approx(offset, abs=1e-6)
    assert (table["stagger_combined_m2"] == 0).all()
    assert "best_reference_offset_m" not in table


def test_a_chunk_is_a_function_of_its_inputs() -> None:
    """Whatever ran before it, and however often: the same bits."""
    times = Factor("switching.turn_on_time", (0.3, 0.4))
    study = of(base(headland_laps=1), times, Factor("speed.working", (2.0, 2.5)))
    first = compute_chunk(study, 0)
    compute_chunk(of(base(headland_laps=1), Factor("switching.turn_on_time", (0.2, 0.5))), 0)
    again = compute_chunk(study, 0)
    for name, values in first.items():
        if isinstance(values, list):
            assert values == again[name]
        else:
            assert values.tobytes() == np.asarray(again[name]).tobytes()
