"""The order of steps: nothing comes before what it needs, whatever needs what."""

from __future__ import annotations

from graphlib import CycleError

import pytest
from hypothesis import given
from hypothesis import strategies as st

from overlapsim import Scenario
from overlapsim.questions.changeover_steps import is_common, steps_between
from overlapsim.scenario.steps import CATEGORIES, Step, in_order
from tests.scenario.files import data, said


@st.composite
def heaps(draw: st.DrawFn) -> list[Step]:
    """Steps in any order of the file, each needing some that come earlier in a hidden order."""
    count = draw(st.integers(1, 12))
    steps = [
        Step(
            text=f"step {i}",
            category=draw(st.sampled_from(CATEGORIES)),
            needs=tuple(f"step {k}" for k in range(i) if draw(st.booleans())),
        )
        for i in range(count)
    ]
    return draw(st.permutations(steps))


@given(heaps())
def test_nothing_comes_before_what_it_needs(steps: list[Step]) -> None:
    order = [step.called for step in in_order(steps)]
    assert sorted(order) == sorted(step.called for step in steps)
    assert all(order.index(need) < order.index(step.called) for step in steps for need in step.needs)


@given(heaps())
def test_without_needs_steps_go_by_category_and_then_as_they_stand(steps: list[Step]) -> None:
    free = [step.model_copy(update={"needs": ()}) for step in steps]
    wanted = sorted(free, key=lambda step: CATEGORIES.index(step.category))
    assert in_order(free) == wanted


@given(heaps(), st.data())
def test_either_way_shows_its_own_steps_in_that_order(steps: list[Step], draw: st.DataObject) -> None:
    """A step of the other direction is not listed, but what is needed by way of it still comes first."""
    ways = [draw.draw(st.sampled_from([None, "wide", "narrow"])) for _ in steps]
    written = [
        {**step.to_text(), "needs": list(step.needs), **({"direction": way} if way else {})}
        for step, way in zip(steps, ways, strict=True)
    ]
    wide, narrow = (
        Scenario.from_dict(data(machine__changeover=written, machine__setup=name))
        for name in ("wide", "narrow")
    )
    deep = {step.called: set(step.needs) for step in steps}
    for _ in steps:
        deep = {name: needs.union(*(deep[need] for need in needs)) for name, needs in deep.items()}
    for old, new in ((wide, narrow), (narrow, wide)):
        setup = new.machine.setup
        shown = [step.called for step in steps_between(old, new) if not is_common(step)]
        assert set(shown) == {s.called for s, way in zip(steps, ways, strict=True) if way in (None, setup)}
        assert all(shown.index(a) < shown.index(b) for b in shown for a in deep[b] if a in shown)


def test_common_steps_stop_the_machine_first_and_look_last() -> None:
    wide, narrow = (Scenario.from_dict(data(machine__setup=name)) for name in ("wide", "narrow"))
    for old, new in ((wide, narrow), (narrow, wide)):
        names = [step.called for step in steps_between(old, new)]
        assert names[:3] == ["manual", "stop", "block"]
        assert {step.category for step in steps_between(old, new)} == set(CATEGORIES) - {"own steps"}
    assert "lower" in [step.called for step in steps_between(wide, narrow)]
    assert "raise" in [step.called for step in steps_between(narrow, wide)]


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        (
            [{"text": "a", "needs": ["b"]}, {"text": "b", "needs": ["a"]}],
            'machine.changeover.1.needs  goes round in a circle: "a" needs "b" needs "a". '
            "Take one of these needs out.",
        ),
        (
            [{"text": "a", "needs": ["a"]}],
            'machine.changeover.1.needs  goes round in a circle: "a" needs "a". Take one of these needs out.',
        ),
        (
            [{"text": "pin", "needs": ["blok"]}],
            'machine.changeover.1.needs = ["blok"]  no such step: "blok". Did you mean block?',
        ),
        (
            [{"text": "pin", "direction": "wid"}],
            'machine.changeover.1.direction = "wid"  no such row setup. This machine has: wide, narrow.',
        ),
        (
            [{"text": "a"}, {"text": "b", "name": "a"}],
            'machine.changeover.2.name = "a"  another step is called the same. Give it a name of its own.',
        ),
        (
            [{"text": "a", "neds": []}],
            "machine.changeover.1.neds = []  no such key. Did you mean needs?",
        ),
        (
            [{"name": "a"}],
            'machine.changeover.1.text  is missing. Write text = "Pin the rear row units up".',
        ),
        (3, "machine.changeover = 3  is not a list of steps. Write [[changeover]] and text = … below."),
    ],
)
def test_steps_at_fault_get_words(steps: object, words: str) -> None:
    assert said(data(machine__changeover=steps)) == [words]


def test_a_circle_is_no_order() -> None:
    with pytest.raises(CycleError):
        in_order([Step(text="a", needs=("b",)), Step(text="b", needs=("a",))])
