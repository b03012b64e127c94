"""Tables of a scenario: frozen models that report every fault with its key, and mend it to look further.

After a fault the faulty key is filled with its default or its example, so that faults of the second
look (a list that does not add up, ranks swapped) are found in the same run. The keys so filled are
remembered as *mended*; a check that leans on one of them keeps silent.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from overlapsim.basics.errors import Fault
from overlapsim.scenario.kinds import Kind, Slip
from overlapsim.scenario.slips import hint, shown

__all__ = ["Read", "Table", "dotted", "fault", "is_lost", "is_mended", "kinds", "read_table"]

Path = tuple[str, ...]
_BARE = re.compile("[A-Za-z0-9_-]+")
Model = TypeVar("Model", bound="Table")


class Table(BaseModel):
    """Base of the tables: frozen, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    def to_text(self) -> dict[str, Any]:
        """Write the table so that reading it gives an equal one.

        Returns
        -------
        dict
            Quantities as text in SI with their unit; keys that are not given are left out; so are
            tables in it.
        """
        found = {name: (kind, getattr(self, name)) for name, kind in kinds(type(self)).items()}
        return {
            name: kind.write(value)
            for name, (kind, value) in found.items()
            if value is not None or not kind.optional
        }


@cache
def kinds(model: type[Table]) -> dict[str, Kind]:
    """List the kinds of a table's keys.

    Parameters
    ----------
    model : type
        The table.

    Returns
    -------
    dict of Kind
        By key; keys that are tables themselves are left out.
    """
    found = {}
    for name, info in model.model_fields.items():
        for mark in info.metadata:
            if isinstance(mark, Kind):
                found[name] = mark
    return found


@dataclass
class Read(Generic[Model]):
    """A table that was read, faults and all.

    Attributes
    ----------
    table : Table
        What was read, faulty keys mended.
    faults : list of Fault
        What was wrong.
    mended : set of tuple of str
        Paths of the keys that were filled in.
    """

    table: Model
    faults: list[Fault] = field(default_factory=list)
    mended: set[Path] = field(default_factory=set)


def dotted(path: Path) -> str:
    """Write a path as TOML writes a dotted key.

    Parameters
    ----------
    path : tuple of str
        Names from the outermost table inward.

    Returns
    -------
    str
        Names that need quotes have them.

    Examples
    --------
    >>> dotted(("basis", "machine.setup"))
    'basis."machine.setup"'
    """
    return ".".join(name if _BARE.fullmatch(name) else shown(name) for name in path)


def fault(path: Path, rule: str, remedy: str = "", value: Any = None) -> Fault:
    """Make a fault at a path.

    Parameters
    ----------
    path : tuple of str
        Names from the outermost table inward.
    rule, remedy : str
        What is wrong, and what to do.
    value : Any
        The value as written; None = not shown.

    Returns
    -------
    Fault
        Without file and line.
    """
    return Fault(rule, remedy, dotted(path), "" if value is None else shown(value))


def is_mended(mended: set[Path], *paths: Path) -> bool:
    """Tell whether a check that leans on some paths had better keep silent.

    Parameters
    ----------
    mended : set of tuple of str
        Paths that were filled in after a fault.
    *paths : tuple of str
        What the check leans on.

    Returns
    -------
    bool
        True where a mended path lies on, in or above one of them.
    """
    return any(a[: len(b)] == b or b[: len(a)] == a for a in mended for b in paths)


def is_lost(mended: set[Path], path: Path) -> bool:
    """Tell whether nothing at all is known of a path.

    Parameters
    ----------
    mended : set of tuple of str
        Paths that were filled in after a fault.
    path : tuple of str
        A table or key.

    Returns
    -------
    bool
        True where it, or a table that it stands in, is mended as a whole.
    """
    return any(path[: len(a)] == a for a in mended)


def _missing(model: type[Table], name: str) -> tuple[str, str]:
    kind = kinds(model).get(name)
    return "is missing", f"Write {name} = {shown(kind.example)}." if kind and kind.example is not None else ""


def _slips(slip: Slip) -> Iterator[Slip]:
    yield slip
    for other in slip.more:
        yield from _slips(other)


def read_table(
    model: type[Model],
    raw: Any,
    path: Path,
    *,
    si: bool = False,
    sources: Mapping[str, Path] | None = None,
    elsewhere: Mapping[str, str] | None = None,
) -> Read[Model]:
    """Read one table, and report everything that is wrong with it.

    Parameters
    ----------
    model : type
        The table to make.
    raw : Any
        Keys and values as written.
    path : tuple of str
        Where the table stands.
    si : bool
        Bare numbers are SI already.
    sources : dict of tuple of str, optional
        Where a key really stands, if not in the table at `path`.
    elsewhere : dict of str, optional
        Tables in which keys stand that do not belong here, for a hint.

    Returns
    -------
    Read
        The table, faults, and what was mended.
    """
    read: Read[Any] = Read(table=None)
    if not isinstance(raw, Mapping):
        read.faults.append(fault(path, "is not a table", f"Write [{dotted(path)}] and its keys below.", raw))
        read.mended.add(path)
        raw = {}
    values = {str(name): value for name, value in raw.items()}
    # Twice is enough: mended keys are sound, and nothing checks two keys against each other here.
    for _ in range(2):
        try:
            read.table = model.model_validate(values, context={"si": si})
            return read
        except ValidationError as error:
            wrong = error
        for problem in wrong.errors(include_url=False):
            name = str(problem["loc"][0])
            where = (sources or {}).get(name, (*path, name))
            read.mended.add(where)
            if problem["type"] == "missing":
                if path not in read.mended:
                    read.faults.append(fault((*path, name), *_missing(model, name)))
            elif problem["type"] == "extra_forbidden":
                home = (elsewhere or {}).get(name)
                remedy = f"It belongs in [{home}]." if home else hint(name, model.model_fields)
                value = values[name]
                read.faults.append(
                    fault(where, "no such key", remedy, None if isinstance(value, dict) else value)
                )
            else:
                read.faults.extend(_faults(problem, where, values.get(name)))
            _mend(model, values, name)
    raise wrong


def _faults(problem: Any, where: Path, value: Any) -> Iterator[Fault]:
    """Turn one complaint of pydantic about a value into faults."""
    slip = problem.get("ctx", {}).get("error")
    if not isinstance(slip, Slip):
        yield fault(where, problem["msg"], "", value)
        return
    for each in _slips(slip):
        part = each.value if each.value is not None else shown(value)
        yield Fault(each.rule, each.remedy, dotted((*where, *each.at)), part)


def _mend(model: type[Table], values: dict[str, Any], name: str) -> None:
    """Replace a faulty value by its default, or else by its example."""
    info = model.model_fields.get(name)
    values.pop(name, None)
    if info is not None and info.is_required():
        values[name] = kinds(model)[name].example
