"""Checks of rows: that those of a setup can stand side by side, and that rows switched off exist."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from overlapsim.basics.errors import Fault
from overlapsim.basics.units import format_length
from overlapsim.scenario.machine import CLOSEST_ROWS, MOST_ROWS, Machine, Rank, Setup
from overlapsim.scenario.rows import row_strips
from overlapsim.scenario.tables import Path, fault, is_lost, is_mended

__all__ = ["check_rows", "check_rows_off"]


def check_rows(
    name: str, setup: Setup, ranks: Mapping[str, Rank], written: Any, mended: set[Path]
) -> Iterator[Fault]:
    """See that the rows of one setup are not too many, not on one line, and fit the stated width.

    Parameters
    ----------
    name : str
        The setup's name.
    setup : Setup
        The setup.
    ranks : dict of Rank
        The machine's ranks, by name.
    written : dict
        The setup as written.
    mended : set of tuple of str
        Paths that were filled in after a fault.

    Yields
    ------
    Fault
        Keyed below ``machine.setups``.
    """
    here: Path = ("machine", "setups", name)
    across = [("machine", "ranks", rank, key) for rank in setup.ranks for key in ("rows", "spacing", "right")]
    if is_mended(mended, (*here, "ranks"), *across):
        return
    count = sum(ranks[rank].rows for rank in setup.ranks)
    if count > MOST_ROWS:
        yield fault((*here, "ranks"), f"{count} rows, more than {MOST_ROWS}", "Leave rows or ranks out.")
        return
    strips = row_strips(Machine.model_construct(ranks=dict(ranks), setups={name: setup}, setup=name), name)
    gaps = np.diff(strips.right)
    close = np.flatnonzero(gaps < CLOSEST_ROWS)
    if len(close):
        i = int(close[0])
        one, other = (f"{strips.rank[k]} {strips.number[k]}" for k in (i, i + 1))
        more = f", and {len(close) - 1} more pairs" if len(close) > 1 else ""
        rule = f'rows "{one}" and "{other}" overlap: {format_length(float(gaps[i]))} apart{more}'
        yield fault((*here, "ranks"), rule, "Check rows, spacing and right of its ranks.", list(setup.ranks))
    if setup.working_width is not None and not is_lost(mended, (*here, "working_width")):
        lines = float(strips.right[-1] - strips.right[0])
        plain = setup.model_copy(update={"working_width": None})
        own = row_strips(
            Machine.model_construct(ranks=dict(ranks), setups={name: plain}, setup=name), name
        ).working_width
        rule = ""
        if setup.working_width < lines:
            rule = f"narrower than the outermost rows' own lines, {format_length(lines, 'ft-in')} apart"
        elif setup.working_width > 2 * own:
            rule = f"more than twice what the row strips add up to, {format_length(own, 'ft-in')}"
        if rule:
            value = written["working_width"]
            text = value if isinstance(value, str) else format_length(setup.working_width, "ft-in")
            yield fault((*here, "working_width"), rule, "Give the full width or leave it out.", text)


def check_rows_off(machine: Machine, mended: set[Path]) -> Iterator[Fault]:
    """See that rows switched off exist, and that a row is left to plant.

    Parameters
    ----------
    machine : Machine
        The machine.
    mended : set of tuple of str
        Paths that were filled in after a fault.

    Yields
    ------
    Fault
        Keyed ``machine.rows_off``.
    """
    here: Path = ("machine", "rows_off")
    off, ranks = machine.rows_off, machine.ranks
    if not off or is_lost(mended, here) or is_lost(mended, ("machine", "ranks")):
        return
    rows = {f"{name} {i + 1}" for name, rank in ranks.items() for i in range(rank.rows)}
    unsure = tuple(name for name in ranks if is_mended(mended, ("machine", "ranks", name, "rows")))
    unknown = [row for row in off if row not in rows and row.rpartition(" ")[0] not in unsure]
    if unknown:
        ends = ", ".join(
            f'"{name} 1" to "{name} {rank.rows}"' for name, rank in ranks.items() if name not in unsure
        )
        yield fault(
            here, f"no such row: {', '.join(unknown)}", f"Rows are {ends}, counted from the left.", list(off)
        )
    working = [f"{name} {i + 1}" for name in machine.working_ranks for i in range(ranks[name].rows)]
    if not unsure and not set(working) - set(off):
        yield fault(here, "no row of the setup is left to plant", "Leave at least one on.", list(off))
