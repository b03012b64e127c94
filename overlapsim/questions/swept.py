"""What is laid side by side: its combinations, and how their values stand in tables."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from overlapsim.scenario.keys import column_name, kind_of
from overlapsim.scenario.quantities import Pair
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.tables import Table

OFFSET = "switching.reference_offset"
"""The swept setting whose values are all read from one ledger."""


def cases_of(scenario: Scenario) -> list[dict[str, Any]]:
    """Combine the values of all swept keys but the reference offset.

    Parameters
    ----------
    scenario : Scenario
        With its ``[sweep]``.

    Returns
    -------
    list of dict
        Values by dotted key, SI; the key that is named last runs fastest. One empty case where nothing is
        swept.
    """
    swept = {key: values for key, values in scenario.sweep.items() if key != OFFSET}
    return [dict(zip(swept, case, strict=True)) for case in itertools.product(*swept.values())]


def columns_of(key: str, values: Sequence[Any], scenario: Scenario) -> list[dict[str, Any]]:
    """Write the values of one key as they stand in tables.

    Parameters
    ----------
    key : str
        Dotted key.
    values : sequence
        Its values, SI.
    scenario : Scenario
        Names ranks and setups.

    Returns
    -------
    list of dict
        For each value its cells by name of the column. A value for each rank takes a column for each rank,
        and so does one figure for all where it stands beside such values.
    """
    machine = scenario.machine
    name, kind = column_name(key, machine), kind_of(key, machine)
    ranks = list(dict.fromkeys(rank for one in values if isinstance(one, Mapping) for rank in one))
    told: list[dict[str, Any]] = []
    for value in values:
        if ranks:
            by_rank = value if isinstance(value, Mapping) else dict.fromkeys(ranks, value)
            told.append({column_name(f"{key}.{r}", machine): by_rank.get(r) for r in ranks})
        elif isinstance(value, Table):
            told.append({column_name(f"{key}.{part}", machine): v for part, v in dict(value).items()})
        elif value is None:
            told.append({name: kind.write(value)})
        elif isinstance(kind, Pair):
            told.append({f"{name}_east_m": value[0], f"{name}_north_m": value[1]})
        elif isinstance(value, tuple):
            told.append({name: list(value)})
        else:
            told.append({name: value})
    return told


def as_column(cells: Sequence[Any]) -> np.ndarray:
    """Turn cells into a column.

    Parameters
    ----------
    cells : sequence
        Numbers, texts, lists.

    Returns
    -------
    ndarray, shape (n,)
        Of numbers where all are numbers, else of objects; a list becomes a text, as in ``"8 24"``.
    """
    plain = [" ".join(map(str, cell)) if isinstance(cell, list) else cell for cell in cells]
    for kind in (bool, int, float):
        if all(type(cell) is kind for cell in plain):
            return np.array(plain, dtype=kind)
    if all(isinstance(cell, int | float) and not isinstance(cell, bool) for cell in plain):
        return np.array(plain, dtype=float)
    column = np.empty(len(plain), dtype=object)
    column[:] = plain
    return column
