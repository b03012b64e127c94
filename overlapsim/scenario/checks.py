"""Checks that take more than one table: settings against the machine that they are entered for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from overlapsim.basics.errors import Fault
from overlapsim.basics.unit_text import format_speed
from overlapsim.scenario.machine import Machine
from overlapsim.scenario.settings import Speed, Weights
from overlapsim.scenario.slips import hint, listed
from overlapsim.scenario.switching import Controller, Switching
from overlapsim.scenario.tables import fault

__all__ = ["check_controller", "check_speeds", "check_switching", "check_weights", "equal_list"]


def equal_list(rows: int, groups: int) -> list[int]:
    """Part rows into groups as equal as can be, the larger ones outside.

    Parameters
    ----------
    rows : int
        How many rows.
    groups : int
        How many groups, at most as many as rows.

    Returns
    -------
    list of int
        Row counts from the left.

    Examples
    --------
    >>> equal_list(31, 4)
    [8, 8, 7, 8]
    """
    base, rest = divmod(rows, groups)
    counts = [base] * groups
    for k in range(rest):
        counts[k // 2 if k % 2 == 0 else groups - 1 - k // 2] += 1
    return counts


def check_switching(switching: Switching, machine: Machine) -> Iterator[Fault]:
    """See that what is entered fits the machine.

    Parameters
    ----------
    switching : Switching
        What is entered.
    machine : Machine
        The machine, sound in itself.

    Yields
    ------
    Fault
        Keyed below ``switching``.
    """
    entered = switching.entered_setup
    if entered not in machine.setups:
        remedy = f"This machine has: {listed(machine.setups)}."
        yield fault(("switching", "entered_setup"), "no such row setup", remedy, entered)
        return
    offset = switching.reference_offset
    if isinstance(offset, Mapping):
        path = ("switching", "reference_offset")
        for name in offset:
            if name not in machine.ranks:
                yield fault((*path, name), "no such rank", hint(name, machine.ranks))
        # Every row obeys the offset of its own rank, whichever setup the controller thinks it drives.
        lacking = [name for name in machine.working_ranks if name not in offset]
        if lacking:
            yield fault(
                path,
                f"names no reference offset for: {listed(lacking)}",
                "Write one for every working rank.",
                list(offset),
            )
    yield from _sections(switching, machine)


def _sections(switching: Switching, machine: Machine) -> Iterator[Fault]:
    """See that the sections add up to the rows of the setup entered."""
    path, sections, name = ("switching", "sections"), switching.sections, switching.entered_setup
    rows = sum(machine.ranks[rank].rows for rank in machine.setups[name].ranks)
    if isinstance(sections, tuple):
        if sum(sections) != rows:
            yield fault(
                path,
                f"adds up to {sum(sections)} rows, row setup {name} has {rows}",
                "List the rows of every section.",
                list(sections),
            )
    elif isinstance(sections, int) and rows % sections:
        if sections > rows:
            yield fault(
                path, f"more sections than the {rows} rows of row setup {name}", 'Write "each-row".', sections
            )
        else:
            yield fault(
                path,
                f"does not divide the {rows} rows of row setup {name}",
                f"Write a list, as in {equal_list(rows, sections)}.",
                sections,
            )


def check_controller(controller: Controller, machine: Machine) -> Iterator[Fault]:
    """See that the reference offset can be typed in as the controller wants it.

    Parameters
    ----------
    controller : Controller
        The controller.
    machine : Machine
        The machine.

    Yields
    ------
    Fault
        Keyed below ``controller``.
    """
    if controller.measured_from == "rear axle" and machine.axle_to_pin is None:
        yield fault(
            ("controller", "measured_from"),
            "needs the machine's axle_to_pin",
            'Write axle_to_pin = "1.1 m" for the machine.',
            "rear axle",
        )


def check_speeds(speed: Speed, controller: Controller) -> Iterator[Fault]:
    """See that sections work at the speeds that are driven.

    Parameters
    ----------
    speed : Speed
        Along the pass, and where rows are switched.
    controller : Controller
        With its minimum working speed.

    Yields
    ------
    Fault
        Keyed below ``speed``.
    """
    least = controller.minimum_speed
    if least is None:
        return
    for key in ("working", "at_on", "at_off"):
        driven = getattr(speed, key)
        if driven < least:
            yield fault(
                ("speed", key),
                f"{format_speed(driven)} lies below controller.minimum_speed, {format_speed(least)}: all "
                "sections are off",
                "Where they would come on nobody can tell from one speed: drive faster there.",
            )


def check_weights(weights: Weights) -> Iterator[Fault]:
    """See that something counts.

    Parameters
    ----------
    weights : Weights
        The weights.

    Yields
    ------
    Fault
        Keyed ``weights``.
    """
    if weights.skip == weights.overlap == weights.off_field == 0:
        yield fault(("weights",), "all are 0: nothing would count", "Write at least one above 0.")
