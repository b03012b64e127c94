"""Steps of a changeover between row setups: the user's own, and the order in which all are done."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from typing import Annotated, Any

from overlapsim.basics.errors import Fault
from overlapsim.scenario.plain import Choice, Text, Words
from overlapsim.scenario.slips import hint, listed
from overlapsim.scenario.tables import Path, Table, fault, is_lost, read_table

__all__ = ["CATEGORIES", "Step", "in_order", "named", "read_steps"]

CATEGORIES = (
    "first", "seed supply", "raise or lower", "down pressure", "depth", "transport locks", "row monitor",
    "crop and plate", "own steps", "controller", "after the first pass", "after ditches",
)  # fmt: skip
"""Kinds of steps, in the order in which one goes about them where nothing else is said."""

_TOP: Path = ("machine", "changeover")


class Step(Table):
    """One step on the machine.

    Attributes
    ----------
    text : str
        What to do.
    name : str or None
        What other steps call it; None = its text.
    direction : str or None
        The row setup that it leads to; None = it is done whichever way one changes.
    needs : tuple of str
        Steps that come before it, by name.
    look_for : str or None
        How one sees that it is done.
    category : str
        One of :data:`CATEGORIES`.
    """

    text: Annotated[str, Text(example="Pin the rear row units up")]
    name: Annotated[str | None, Text(example="pin up", optional=True)] = None
    direction: Annotated[str | None, Text(example="wide", optional=True)] = None
    needs: Annotated[tuple[str, ...], Words(example=("pin up",))] = ()
    look_for: Annotated[str | None, Text(example="all pins seen from behind", optional=True)] = None
    category: Annotated[str, Choice(CATEGORIES, example="own steps")] = "own steps"

    @property
    def called(self) -> str:
        """What other steps call it."""
        return self.name or self.text


def named(steps: Iterable[Step]) -> dict[str, Step]:
    """Lay steps out by what they are called.

    Parameters
    ----------
    steps : iterable of Step
        No two of one name.

    Returns
    -------
    dict of str to Step
        In the same order.
    """
    return {step.called: step for step in steps}


def in_order(steps: Sequence[Step]) -> list[Step]:
    """Put steps in an order in which each comes after all that it needs.

    Parameters
    ----------
    steps : sequence of Step
        No two of one name; needs that are not among them are passed over.

    Returns
    -------
    list of Step
        By category as far as needs allow, and in one category as they stand.

    Raises
    ------
    CycleError
        Where needs go round in a circle; its second argument is the circle.

    Examples
    --------
    >>> supply = Step(text="fill", category="seed supply", needs=("lower",))
    >>> [step.text for step in in_order([supply, Step(text="lower", category="raise or lower")])]
    ['lower', 'fill']
    """
    by_name = named(steps)
    place = {name: (CATEGORIES.index(one.category), i) for i, (name, one) in enumerate(by_name.items())}
    graph = TopologicalSorter(
        {name: [n for n in one.needs if n in by_name] for name, one in by_name.items()}
    )
    graph.prepare()
    found: list[Step] = []
    ready = [(place[name], name) for name in graph.get_ready()]
    heapq.heapify(ready)
    while ready:
        _, name = heapq.heappop(ready)
        found.append(by_name[name])
        graph.done(name)
        for other in graph.get_ready():
            heapq.heappush(ready, (place[other], other))
    return found


def read_steps(
    raw: Any, setups: Iterable[str], common: Sequence[Step], mended: set[Path], *, si: bool = False
) -> tuple[tuple[Step, ...], list[Fault]]:
    """Read the user's own steps with everything that is wrong with them.

    Parameters
    ----------
    raw : list of dict
        As written, in the order of the file.
    setups : iterable of str
        Row setups of the machine.
    common : sequence of Step
        Steps of any machine: their names may stand in `needs`.
    mended : set of tuple of str
        Paths of the machine that were filled in after a fault.
    si : bool
        Bare numbers are SI already.

    Returns
    -------
    tuple
        The steps, and faults; those of the k-th step are keyed ``machine.changeover.k``, from 1.
    """
    if isinstance(raw, Mapping) or not isinstance(raw, list | tuple):
        return (), [fault(_TOP, "is not a list of steps", "Write [[changeover]] and text = … below.", raw)]
    faults: list[Fault] = []
    steps: list[Step] = []
    known = list(setups)
    taken = named(common)
    for number, table in enumerate(raw, 1):
        here = (*_TOP, str(number))
        read = read_table(Step, table, here, si=si)
        faults += read.faults
        if read.faults:
            continue
        step: Step = read.table
        if step.called in taken:
            key = "name" if step.name else "text"
            rule, remedy = "another step is called the same", "Give it a name of its own."
            faults.append(fault((*here, key), rule, remedy, step.called))
            continue
        if step.direction is not None and step.direction not in known and not is_lost(mended, _TOP[:1]):
            remedy = f"This machine has: {listed(known)}."
            faults.append(fault((*here, "direction"), "no such row setup", remedy, step.direction))
        taken[step.called] = step
        steps.append(step)
    if not faults:
        faults += _needs(steps, taken)
    return (tuple(steps), []) if not faults else ((), faults)


def _needs(steps: Sequence[Step], taken: Mapping[str, Step]) -> list[Fault]:
    """See that what is needed exists, and that nothing needs itself in the end."""
    faults = []
    for number, step in enumerate(steps, 1):
        for name in step.needs:
            if name not in taken:
                here = (*_TOP, str(number), "needs")
                faults.append(fault(here, f'no such step: "{name}"', hint(name, taken), list(step.needs)))
    if faults:
        return faults
    try:
        in_order(list(taken.values()))
    except CycleError as error:
        circle = error.args[1]
        number = next(i for i, step in enumerate(steps, 1) if step.called in circle)
        # The sorter names each step before the one that needs it.
        said = " needs ".join(f'"{name}"' for name in reversed(circle))
        rule = f"goes round in a circle: {said}"
        faults.append(fault((*_TOP, str(number), "needs"), rule, "Take one of these needs out."))
    return faults
