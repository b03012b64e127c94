"""The ``[uncertain]`` table: what is read, and what is refused with words."""

from __future__ import annotations

from typing import Any

import pytest

from overlapsim import Scenario
from overlapsim.questions.uncertain_draws import assumed_spreads
from overlapsim.scenario.uncertain import Spread
from tests.helpers import INCH, MPH, merge
from tests.scenario.files import data
from tests.scenario.files import said as faults


def spread(**keys: Any) -> dict[str, Any]:
    """The scenario with spreads; dots in keys as ``__``."""
    return data() | {"uncertain": {key.replace("__", "."): value for key, value in keys.items()}}


def test_a_quantity_is_one_standard_deviation() -> None:
    made = Scenario.from_dict(spread(response__on_latency="50 ms", machine__ranks__rear__behind_pin="1/2 in"))
    assert dict(made.uncertain) == {
        "response.on_latency": Spread((0.05,)),
        "machine.ranks.rear.behind_pin": Spread((INCH / 2,)),
    }


def test_even_and_a_pair() -> None:
    made = Scenario.from_dict(
        spread(
            speed__working={"spread": "1 mph", "shape": "even"},
            controller__drift=["1 in", "2 in"],
            switching__reference_offset={"spread": "1 in"},
        )
    )
    assert dict(made.uncertain) == {
        "speed.working": Spread((MPH,), "even"),
        "controller.drift": Spread((INCH, 2 * INCH)),
        "switching.reference_offset": Spread((INCH,)),
    }


def test_one_length_of_drift_is_meant_for_both_ways() -> None:
    assert Scenario.from_dict(spread(controller__drift="1 in")).uncertain["controller.drift"].sizes == (
        INCH,
        INCH,
    )


def test_dotted_keys_without_quotes_are_tables_and_are_read_all_the_same() -> None:
    made = data() | {
        "uncertain": {"response": {"on_latency": {"front": "0.02 s"}}, "speed": {"at_on": "0.1 mph"}}
    }
    assert list(Scenario.from_dict(made).uncertain) == ["response.on_latency.front", "speed.at_on"]


def test_what_is_written_reads_back_and_nothing_is_written_where_nothing_is_said() -> None:
    made = Scenario.from_dict(
        spread(response__on_latency={"spread": "0.1 s", "shape": "even"}, controller__drift=["1 in", "2 in"])
    )
    assert Scenario.from_dict(made.to_inputs()).uncertain == made.uncertain
    assert "uncertain" not in Scenario.from_dict(data()).to_inputs()


def test_spreads_stay_where_keys_are_set() -> None:
    made = Scenario.from_dict(spread(response__on_latency="0.05 s"))
    assert made.with_({"speed.working": "6 mph"}).uncertain == made.uncertain


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("response.on_latncy", "0.1 s", "has no spread that is read. Did you mean response.on_latency?"),
        ("plan.heading", "1 deg", "has no spread that is read. A spread is read of response.on_latency"),
        ("response.on_latency", 0.05, 'needs a unit. Write "0.05 s".'),
        ("response.on_latency", "1 in", "in is a unit of length, a time is wanted"),
        ("response.on_latency", "-0.05 s", 'may not be negative. Did you mean "0.05 s"?'),
        ("response.on_latency", "a bit", "0.05 s"),
        ("machine.ranks.middle.behind_pin", "1 in", "no such key"),
        ("machine.ranks.rear.behind_front", "1 in", "is not how this rank is written"),
        ("controller.drift", ["1 in"], "is not a pair of quantities"),
        ("speed.working", {"spread": "1 mph", "shape": "flat"}, 'Write "normal"'),
        ("speed.working", {"shape": "even"}, "lacks spread"),
        ("speed.working", {"spread": "1 mph", "shap": "even"}, "no such key. Did you mean shape?"),
        ("switching.turn_on_time", "0.1 s", "is typed in and so is known"),
        ("switching.turn_off_time", "0.1 s", "write response.off_latency"),
    ],
)
def test_refused(key: str, value: Any, words: str) -> None:
    found = faults(data() | {"uncertain": {key: value}})
    assert len(found) == 1
    assert words in found[0]
    assert found[0].startswith(f'uncertain."{key}"')


def test_no_table() -> None:
    assert faults(data() | {"uncertain": "0.05 s"}) == [
        'uncertain = "0.05 s"  is not a table. '
        'Write [uncertain] and below it "response.on_latency" = "0.05 s".'
    ]


def test_a_spread_that_makes_a_latency_negative() -> None:
    """A normal draw lies more than 3.0902 standard deviations low once in 1,000 (tables of the normal).

    0.3 s / 3.0902 = 0.0971 s: 0.097 s is taken, 0.098 s is not; evenly, 0.3 s is.
    """
    base = merge(data(), {"response": {"on_latency": "0.3 s", "off_latency": "0.3 s"}})
    for good in ("0.097 s", {"spread": "0.3 s", "shape": "even"}):
        assert Scenario.from_dict(base | {"uncertain": {"response.on_latency": good}}).uncertain
    for bad in ("0.098 s", {"spread": "0.31 s", "shape": "even"}):
        found = faults(base | {"uncertain": {"response.on_latency": bad}})
        assert len(found) == 1
        assert "0.3 s then turns negative" in found[0]
    assert (
        'Write at most "0.097 s", or shape = "even".'
        in faults(base | {"uncertain": {"response.on_latency": "0.2 s"}})[0]
    )


def test_a_speed_that_turns_around_and_a_tape_longer_than_the_machine() -> None:
    assert "5 mph then turns negative" in faults(spread(speed__working="2 mph"))[0]
    assert "84 in then turns negative" in faults(spread(machine__ranks__front__behind_pin="40 in"))[0]


def test_stated_for_all_ranks_and_for_one() -> None:
    found = faults(spread(response__on_latency="0.05 s", response__on_latency__front="0.05 s"))
    assert len(found) == 1
    assert "stated for all ranks and for one" in found[0]


def test_all_faults_at_once_and_none_that_leans_on_another() -> None:
    """A rank that cannot be read hides what leans on it; all else is said in the same run."""
    made = merge(
        spread(response__on_latency="1 in", machine__ranks__rear__behind_pin="9 m"), {"speed": {"working": 5}}
    )
    found = faults(made)
    assert len(found) == 3
    assert any(one.startswith("speed.working = 5") for one in found)


def test_assumed_spreads_are_the_scenarios_own_numbers() -> None:
    """Half an inch of tape, a step of 0.05 s, 5 % of 5 mph; no more than a quarter of a latency."""
    made = Scenario.from_dict(merge(data(), {"response": {"on_latency": "0.4 s", "off_latency": "0.1 s"}}))
    assert {key: one.sizes[0] for key, one in assumed_spreads(made).items()} == pytest.approx(
        {
            "machine.ranks.front.behind_pin": INCH / 2,
            "machine.ranks.rear.behind_pin": INCH / 2,
            "response.on_latency": 0.05,
            "response.off_latency": 0.025,
            "speed.working": 0.25 * MPH,
        }
    )
