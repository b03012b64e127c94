"""Draws that are read from shared ground, against a full simulation of every one of them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from overlapsim import Scenario, load_scenario, simulate
from overlapsim.drive.plan import plan_drive
from overlapsim.questions.readings import areas_at
from overlapsim.questions.search import search_span, with_offset
from overlapsim.questions.uncertain_draws import drawn, scenarios_of
from overlapsim.questions.uncertain_readers import Reader, drawn_reader, lateness
from overlapsim.questions.uncertain_shared import shared_reader
from tests.helpers import block, merge, scenario, two_ranks

SPREADS: dict[str, Any] = {
    "response.on_latency": "0.1 s",
    "response.off_latency.front": "0.1 s",
    "response.off_latency.rear": {"spread": "0.2 s", "shape": "even"},
    "speed.working": "0.5 mph",
    "speed.at_off": "0.8 mph",
    "switching.reference_offset": "1 in",
    "machine.ranks.front.behind_pin": "1 in",
    "machine.ranks.rear.behind_pin": "1 in",
}
FIELD = {
    "polygon": [[0, 0], [130, 10], [140, 300], [60, 310], [-10, 280]],
    # A pond, and furrows of 30 and 10 cm across, short of both sides, so that the field stays in one piece:
    # whether rows are switched off for them hangs on latencies and speeds.
    "exclusions": [block(40, 100, 60, 130), block(10, 200, 110, 200.3), block(10, 250, 110, 250.1)],
}
OFFSETS = np.array([1.6, 2.1, 2.7])


def made(**more: Any) -> Scenario:
    tables = {"switching": {"sections": 8}, "uncertain": SPREADS, "response": {"on_latency": "0.45 s"}}
    machine = merge(two_ranks(), more.pop("machine", {}))
    return scenario(machine, FIELD, **merge(tables, more))


def reader_of(one: Scenario, draws: int) -> Reader | None:
    own = drawn(one, draws, 3)
    scenarios = scenarios_of(own)
    known = lateness(scenarios, plan_drive(one).heading)
    return shared_reader(own, scenarios, known, (1.5, 2.8))


def simulated(reader: Reader) -> np.ndarray:
    every = [
        [
            simulate(with_offset(one, float(r + by))).areas
            for r in OFFSETS
        ]
        for one, by in zip(reader.scenarios, reader.draws.offset, strict=True)
    ]  # fmt: skip
    keys = ("skip_m2", "overlap_m2", "off_field_m2", "combined_m2")
    return np.array([[[areas[key] for key in keys] for areas in one] for one in every])


CASES: dict[str, dict[str, Any]] = {
    "plain": {},
    "deliberate overlap, weights": {
        "switching": {"deliberate_overlap": "6 in"}, "weights": {"skip": 2, "off_field": 0.5},
    },
    "a row off, position delay": {
        "machine": {"rows_off": ["rear 3"]}, "controller": {"position_delay": "0.2 s"},
        "uncertain": {"controller.position_delay": "0.05 s"},
    },
    "drift along": {
        "uncertain": {"controller.drift": ["0 in", "3 in"]}, "controller": {"drift": ["2 in", "1 in"]},
    },
    "across the passes": {"plan": {"heading": "30 deg"}},
}  # fmt: skip


def test_outermost_offsets_of_a_sweep_with_laps() -> None:
    """Read far beyond the search's own range, at the ledger's ends: within 0.1 % of a full simulation."""
    one = made(plan={"headland_laps": 1}).with_({"switching.reference_offset": 2.1})
    low, high = (end + by for end, by in zip(search_span([one]), (-0.2, 0.2), strict=True))
    for offset, read in zip((low, high), areas_at(one, [low, high]), strict=True):
        wanted = simulate(with_offset(one, offset)).areas["combined_m2"]
        assert read["combined_m2"] == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize("name", CASES)
def test_shared_ground_is_exact(name: str) -> None:
    """To the roundings of the sums: 1e-9 of the field."""
    reader = reader_of(made(**dict(CASES[name])), 12)
    assert reader is not None
    wanted = simulated(reader)
    near = {"abs": 1e-9 * reader.draws.scenario.field.plantable_m2}
    assert reader.areas(OFFSETS) == pytest.approx(wanted[..., :3], **near)
    assert reader.combined(OFFSETS) == pytest.approx(wanted[..., 3], **near)


def test_furrows_decide_in_some_draws_and_not_in_others() -> None:
    """Control of the test above: a gap of 30 cm is no gap where rows start more than 30 cm earlier than they
    stop, one of 10 cm is not even switched for where commands do; among the draws are both kinds of either.
    """
    reader = reader_of(made(), 12)
    assert reader is not None
    apart = reader.known.late[:, :, 0] - reader.known.late[:, :, 1]
    for of, gap in ((apart, 0.3), (reader.known.lead, 0.1)):
        assert (of < -gap).any()
        assert (of > -gap).any()
    dropped = [
        len(simulate(with_offset(one, 2.1)).ends.way) for one in reader.scenarios
    ]  # fmt: skip
    assert len(set(dropped)) > 1


def test_where_passes_lie_over_one_another_ends_do_not_add_up() -> None:
    """A hitch shift that was forgotten: joints overlap, and the reader of shared ground declines."""
    forgotten = made(machine={"setups": {"narrow": {"ranks": ["front", "rear"], "hitch_shift": "0 in"}}})
    assert reader_of(forgotten, 3) is None


@pytest.mark.parametrize(
    "more",
    [
        {"plan": {"headland_laps": 1}},
        {"controller": {"update_rate": "5 Hz"}},
        {"uncertain": {"controller.drift": "3 in"}},
        {"machine": {"setups": {"narrow": {"ranks": ["front", "rear"], "hitch_shift": "0 in"}}}},
    ],
)
def test_draw_by_draw(more: dict[str, Any]) -> None:
    """Without laps exact, as the ledger is; with laps within 0.1 % of the combined error, what the ledger
    promises."""
    one = made(**dict(more))
    assert reader_of(one, 3) is None
    own = drawn(one, 3, 3)
    scenarios = scenarios_of(own)
    known = lateness(scenarios, plan_drive(one).heading)
    reader = drawn_reader(own, scenarios, known, OFFSETS)
    wanted = simulated(reader)
    off = np.abs(reader.combined(OFFSETS) - wanted[..., 3])
    assert off.max() <= (1e-3 * wanted[..., 3].min() if one.plan.headland_laps else 1e-6)


def test_the_demo() -> None:
    one = load_scenario("scenarios/demo.toml").model_copy(update={"uncertain": made().uncertain})
    reader = reader_of(one, 4)
    assert reader is not None
    assert reader.areas(OFFSETS) == pytest.approx(
        simulated(reader)[..., :3], abs=1e-9 * one.field.plantable_m2
    )
