"""The ``[sweep]`` table: ranges written out, and every value tried on the scenario."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from overlapsim.basics.errors import Fault, ScenarioError
from overlapsim.basics.units import UnitError, exact
from overlapsim.scenario.keys import dimension_of, kind_of
from overlapsim.scenario.kinds import FrozenDict, Kind, Slip
from overlapsim.scenario.plain import Count
from overlapsim.scenario.slips import shown
from overlapsim.scenario.tables import Path, dotted, fault, is_mended

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

__all__ = ["MOST_VALUES", "flat", "read_sweep"]

MOST_VALUES = 10_000
"""Values of one key: more is a slip of the step."""

_RANGE = frozenset({"from", "to", "step"})


def read_sweep(raw: Any, scenario: Scenario, mended: set[Path]) -> tuple[FrozenDict, list[Fault]]:
    """Write out what is laid side by side.

    Parameters
    ----------
    raw : dict
        Lists, or tables with from, to and step, by dotted key.
    scenario : Scenario
        On which each value is tried.
    mended : set of tuple of str
        Paths of the scenario that were filled in after a fault: values that lean on them are not tried.

    Returns
    -------
    tuple
        Values by dotted key (quantities in SI), and faults.
    """
    path: Path = ("sweep",)
    if not isinstance(raw, Mapping):
        return FrozenDict(), [fault(path, "is not a table", "Write [sweep] and its keys below.", raw)]
    found: dict[str, tuple[Any, ...]] = {}
    faults: list[Fault] = []
    for key, value in flat(raw).items():
        here = dotted((*path, key))
        try:
            kind = kind_of(key, scenario.machine)
            values = _values(kind, value)
        except Slip as slip:
            if not is_mended(mended, ("machine",)) or not key.startswith("machine."):
                text = slip.value or ("" if isinstance(value, Mapping | list) else shown(value))
                faults.append(Fault(slip.rule, slip.remedy, dotted((*path, key, *slip.at)), text))
            continue
        good = []
        for written, item in values:
            text = shown(item) if written is None else shown(written)
            try:
                good.append(kind.read(item, written is None))
                if not is_mended(mended, ("machine",), (key.split(".")[0],)):
                    scenario.with_({key: good[-1]})
            except Slip as slip:
                faults.append(Fault(slip.rule, slip.remedy, here, slip.value or text))
            except ScenarioError as error:
                for one in error.faults:
                    where = "" if key in (one.key, "") else f"{one.key} then: "
                    faults.append(Fault(where + one.rule, one.remedy, here, text))
        found[key] = tuple(good)
    return FrozenDict(found), faults


def flat(raw: Mapping[str, Any], before: str = "", stop: frozenset[str] = _RANGE) -> dict[str, Any]:
    """Join nested keys, as they come about where a dotted key has no quotes.

    Parameters
    ----------
    raw : dict
        Values by dotted key, or in tables below one another.
    before : str
        What stands before the keys.
    stop : frozenset of str
        Keys of a table that is a value itself; by default of a range.

    Returns
    -------
    dict
        Values by dotted key; a range with from, to and step is a value.

    Examples
    --------
    >>> flat({"speed": {"working": ["4 mph"]}})
    {'speed.working': ['4 mph']}
    """
    joined: dict[str, Any] = {}
    for key, value in raw.items():
        if isinstance(value, Mapping) and not stop & set(value):
            joined |= flat(value, f"{before}{key}.", stop)
        else:
            joined[f"{before}{key}"] = value
    return joined


def _values(kind: Kind, raw: Any) -> list[tuple[Any, Any]]:
    """List values as (written, value); written is None for numbers of a range, which are SI."""
    if isinstance(raw, list | tuple):
        if not raw:
            raise Slip("is an empty list", "Write at least one value.")
        return [(value, value) for value in raw]
    if not isinstance(raw, Mapping):
        raise Slip(
            "is not a list", 'Write ["60 in", "80 in"], or {from = "60 in", to = "150 in", step = "1 in"}.'
        )
    if set(raw) != _RANGE:
        wrong = sorted(_RANGE - set(raw)) or sorted(set(raw) - _RANGE)
        word = "lacks" if _RANGE - set(raw) else "has no use for"
        raise Slip(f"{word} {', '.join(wrong)}", 'Write {from = "60 in", to = "150 in", step = "1 in"}.')
    dimension = dimension_of(kind)
    if dimension is None:
        raise Slip("has no steps between its values", "Write a list of values.")
    first, last, step = (_exact(raw[name], dimension, name) for name in ("from", "to", "step"))
    if step == 0 or (last - first) * step < 0:
        rule = f"does not lead from {raw['from']} to {raw['to']}"
        raise Slip(rule, "Check the step and its sign.", ("step",), shown(raw["step"]))
    count = (last - first) // step + 1
    if count > MOST_VALUES:
        raise Slip(
            f"{count} values, more than {MOST_VALUES}", "Write a longer step.", ("step",), shown(raw["step"])
        )
    steps = [first + k * step for k in range(count)]
    if isinstance(kind, Count):
        return [(None, int(value)) for value in steps]
    return [(None, float(value)) for value in steps]


def _exact(value: Any, dimension: str, name: str) -> Fraction:
    """Read an end or a step without rounding, so that the last value is the one written."""
    if dimension == "number":
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise Slip("is not a plain number", "Write it without quotes.", (name,))
        return Fraction(str(value))
    if not isinstance(value, str):
        raise Slip("needs a unit", 'Write it as in "1 in".', (name,))
    try:
        return exact(value, dimension)
    except UnitError as error:
        raise Slip(error.rule, error.remedy, (name,)) from None
