"""The columns of a study's table: name, kind, unit and definition of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from overlapsim.scenario.scenario import Scenario

AREAS = {
    "skip_m2": ("m2", "plantable ground that no row planted"),
    "overlap_m2": ("m2", "plantable ground planted more than once, once for every time too many"),
    "off_field_m2": ("m2", "planted outside the plantable ground"),
    "combined_m2": ("m2", "skip, overlap and off-field, each times its weight"),
    "planted_m2": ("m2", "all planted strips; ground planted twice counts twice"),
    "worst_row_error_m": ("m", "largest distance of a row's start or stop from a square edge, without sign"),
    "longest_gap_m": ("m", "longest gap that a row leaves at a square edge"),
}
"""Areas that a study tells, by the names that results bear."""

ROW_ENDS = {
    "missing_row_m": ("m", "row missing: late starts and early stops, summed over all row ends"),
    "double_planted_row_m": ("m", "row too much: early starts and late stops, also beyond the boundary"),
}
"""Sums over row ends that a study tells of the best only: there a full simulation stands at hand. As set they
would take one more for each setting, since a ledger holds areas."""

STAGGER = ("skip_m2", "overlap_m2", "off_field_m2", "combined_m2")
"""Areas that are told of stagger."""

SHAPE = {
    "field_area_m2": ("m2", "field less its exclusions"),
    "field_perimeter_per_area_per_m": ("1/m", "length of all borders, exclusions included, over the area"),
    "field_convexity": ("", "area over the area of the convex hull, summed over parts"),
    "field_edge_angle_rad": (
        "rad",
        "mean angle between boundary and square-on to the passes, weighted by extent across the passes; 0 = "
        "square ends",
    ),
}

PLAN = {
    "heading_rad": ("rad", "heading of the first pass as driven, clockwise from north"),
    "pass_count": ("", "passes driven"),
    "working_width_m": ("m", "width of the real row strips"),
}


@dataclass(frozen=True)
class Column:
    """One column.

    Attributes
    ----------
    name : str
        As it stands in the table.
    kind : str
        ``"number"`` (64-bit floating point, nan where there is none), ``"count"`` (64-bit whole number) or
        ``"text"``.
    unit : str
        SI unit; empty for pure numbers and texts.
    definition : str
        What it is, in one sentence.
    """

    name: str
    kind: str
    unit: str
    definition: str


_UNIT_ENDS = (
    ("_m_per_s", "m/s"), ("_per_m2", "1/m2"), ("_per_m", "1/m"), ("_m2", "m2"), ("_rad", "rad"),
    ("_hz", "Hz"), ("_m", "m"), ("_s", "s"),
)  # fmt: skip


def unit_of(name: str) -> str:
    """Read the unit off a column's name.

    Parameters
    ----------
    name : str
        As in ``speed_working_m_per_s``.

    Returns
    -------
    str
        As in ``m/s``; empty where the name has none.

    Examples
    --------
    >>> unit_of("speed_working_m_per_s"), unit_of("switching_sections")
    ('m/s', '')
    """
    return without_unit(name)[1]


def without_unit(name: str) -> tuple[str, str]:
    """Part a column's name into what it is and its unit.

    Parameters
    ----------
    name : str
        As in ``speed_working_m_per_s``.

    Returns
    -------
    what, unit : str
        As in ``speed_working`` and ``m/s``; the unit is empty where the name has none.

    Examples
    --------
    >>> without_unit("field_perimeter_per_area_per_m")
    ('field_perimeter_per_area', '1/m')
    """
    end, unit = next((one for one in _UNIT_ENDS if name.endswith(one[0])), ("", ""))
    return name.removesuffix(end), unit


def result_columns(ranks: Sequence[str] = ()) -> list[Column]:
    """List the columns that every study has behind its inputs.

    Parameters
    ----------
    ranks : sequence of str
        Where offsets are one for each rank: the ranks.

    Returns
    -------
    list of Column
        In the order of the table.
    """
    found = [Column("plantable_m2", "number", "m2", "plantable ground of the field")]
    for name, (unit, what) in {**SHAPE, **PLAN}.items():
        found.append(Column(name, "count" if name == "pass_count" else "number", unit, what))
    stages = {"as_set": "with the settings as entered", "best": "at the best reference offset"}
    for stage, words in stages.items():
        for name, (unit, what) in {**AREAS, **(ROW_ENDS if stage == "best" else {})}.items():
            found.append(Column(f"{stage}_{name}", "number", unit, f"{what}, {words}"))
    best = "reference offset with the least combined error, behind the hitch pin"
    for end in [f"_{rank}" for rank in ranks] or [""]:
        of = f", of rank {end[1:]}" if end else ""
        found += [
            Column(f"best_reference_offset{end}_m", "number", "m", best + of),
            Column(f"as_good_low{end}_m", "number", "m", "lower end of what is just as good" + of),
            Column(f"as_good_high{end}_m", "number", "m", "upper end of what is just as good" + of),
        ]
    one = "what one reference offset for ranks that stand apart adds, times matched"
    for stage, words in (("", "at the best offset"), ("as_set_", "at the offset as entered")):
        for name in STAGGER:
            what = f"{AREAS[name][1]}: {one}, {words}"
            found.append(Column(f"{stage}stagger_{name}", "number", "m2", what))
    witness = "largest relative difference of the second count at the best offset; for one case in a chunk"
    found.append(Column("witness_relative_difference", "number", "", witness))
    found.append(Column("error", "text", "", "why there is no result; empty when it went well"))
    return found


def ranks_of(bases: Sequence[Scenario], keys: Sequence[str], values: Sequence[Any]) -> tuple[str, ...]:
    """Tell for which ranks a study has offsets of their own.

    Parameters
    ----------
    bases : sequence of Scenario
        One for each machine.
    keys : sequence of str
        Dotted keys of the factors.
    values : sequence
        Values of the reference offset, where it is one of them.

    Returns
    -------
    tuple of str
        Names of all ranks of all machines; empty where one offset serves all.
    """
    own = any(isinstance(base.switching.reference_offset, dict) for base in bases)
    own |= any(key.startswith("switching.reference_offset.") for key in keys)
    own |= any(isinstance(value, dict) for value in values)
    return tuple(dict.fromkeys(name for base in bases for name in base.machine.ranks)) if own else ()
