"""A machine drawn in text: its ranks from above, so that a slip of rows or sides is seen at once."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from overlapsim.basics.units import format_length
from overlapsim.report.phrases import rank_words
from overlapsim.scenario.machine import Machine
from overlapsim.scenario.rows import RowStrips, row_strips

__all__ = ["machine_lines"]

_MARGIN = 22
"""Columns for names and distances, left of the rows."""

_ROWS = ("▼", "▽")  # working, at rest
_PLAIN_ROWS = ("V", ".")
_LINE, _PLAIN_LINE = "─", "-"


def machine_lines(
    machine: Machine,
    us: bool,
    width: int = 80,
    encoding: str | None = "utf-8",
    taped: Collection[str] = (),
    moved: bool = True,
) -> list[str]:
    """Draw a machine from above, driving up the page.

    Parameters
    ----------
    machine : Machine
        Whose chosen row setup is drawn; rows of other ranks are drawn at rest.
    us : bool
        Distances in inches, else in centimetres.
    width : int
        Columns that there are; where rows need more, those in the middle are left out.
    encoding : str or None
        Of the console: without triangles plain letters are drawn.
    taped : collection of str
        Ranks whose distance is known; ``?`` stands for the others.
    moved : bool
        Whether somebody said how far the hitch moves it; else that is said as what it takes.

    Returns
    -------
    list of str
        Lines without blanks at their ends.
    """
    marks, line = (_ROWS, _LINE) if _knows(encoding) else (_PLAIN_ROWS, _PLAIN_LINE)
    everything = machine.model_copy(
        update={
            "setups": {"": machine.setups[machine.setup].model_copy(update={"ranks": tuple(machine.ranks)})}
        }
    )
    strips, working = row_strips(everything, ""), row_strips(machine, machine.setup)
    # Columns from the pin: rows from their own middle, which the machine's centre line need not be.
    across = strips.right + strips.middle_of_pin
    shift = machine.setups[machine.setup].hitch_shift
    step = float(np.diff(np.unique(across.round(6))).min()) if len(across) > 1 else 1.0
    room = max(width - _MARGIN - 4, 12)  # their number stands behind them
    span = float(across.max() - across.min()) / step
    scale = 2 if 2 * span + 1 <= room else 1
    columns = np.rint((across - across.min()) / step * scale).astype(int)
    pin = round((-shift - float(across.min())) / step * scale)
    cut = _Cut(int(columns.max()) + 1, room)
    lines = [cut.line("hitch pin", [(pin, "o")]), cut.line("", [(pin, "|")])]
    for name in sorted(machine.ranks, key=lambda one: machine.ranks[one].behind_pin):
        rank = machine.ranks[name]
        works = name in machine.working_ranks
        at = _distance(rank.behind_pin, us) if name in taped else "?"
        rows = [(int(i), marks[0 if works else 1]) for i in columns[strips.rank == name]]
        lines.append(cut.line(f"{rank_words(name)} {at}", rows) + f"  {rank.rows}")
    below = _below(machine, working, us, line, moved)
    lines += [one if len(one) <= width else one.lstrip() for one in below]
    return [one.rstrip() for one in lines]


def _below(machine: Machine, working: RowStrips, us: bool, line: str, said_so: bool) -> list[str]:
    """Say what the rows add up to, and where their middle is."""
    wide = format_length(working.working_width, "ft-in") if us else _distance(working.working_width, us)
    gaps = np.diff(working.right)
    apart = f", {_distance(float(np.median(gaps)), us)} apart" if len(gaps) else ""
    shift = machine.setups[machine.setup].hitch_shift
    off = working.middle_of_pin + shift
    place = "on the pin"
    if abs(off) > 1e-6:  # a micrometre: rounding of typed lengths
        place = f"{_distance(abs(off), us)} {'right' if off > 0 else 'left'} of the pin"
    moved = ""
    if shift:
        how = ", hitch moved" if said_so else " if the hitch moves it"
        moved = f"{how} {_distance(abs(shift), us)} {'right' if shift > 0 else 'left'}"
    said = f"{len(working.right)} row{'s' if len(gaps) else ''}{apart}, {wide} wide"
    return [line * 8 + f" {said}", f"{' ' * 8} their middle {place}{moved}"]


def _distance(metres: float, us: bool) -> str:
    number, unit = format_length(metres, "in" if us else "cm", 2).split()
    return f"{number.rstrip('0').rstrip('.')} {unit}"


def _knows(encoding: str | None) -> bool:
    try:
        "".join((*_ROWS, _LINE)).encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


class _Cut:
    """Leaves out the middle of rows that do not fit."""

    def __init__(self, columns: int, room: int) -> None:
        self.columns = columns
        self.kept = columns if columns <= room else (room - 3) // 2

    def line(self, label: str, signs: list[tuple[int, str]]) -> str:
        drawn = dict(signs)
        if self.kept == self.columns:
            places = range(min([0, *drawn]), max([self.columns - 1, *drawn]) + 1)
            text = "".join(drawn.get(i, " ") for i in places)
        else:
            ends = range(self.kept), range(self.columns - self.kept, self.columns)
            left, right = ("".join(drawn.get(i, " ") for i in end) for end in ends)
            # The pin stands in what is left out; of rows it is seen that some are.
            text = f"{left} {signs[0][1] if len(signs) == 1 else '~'} {right}"
        return f"{label[: _MARGIN - 1].ljust(_MARGIN)}{text}"
