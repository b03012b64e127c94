"""Features of a layer: shapes and attributes, whatever read them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from shapely.geometry.base import BaseGeometry

if TYPE_CHECKING:
    import geopandas


@dataclass(frozen=True)
class Features:
    """Some or all features of one layer.

    Parameters
    ----------
    shapes : tuple of shapely.Geometry or None
        In the file's own coordinates, x (longitude or easting) first.
    columns : dict of str to tuple
        Attributes by name, one value for each shape; None = none.
    numbers : tuple of int
        Place of each in the layer, from 1; no unit.
    crs : pyproj.CRS or None
        Coordinate system that the file states.
    notes : tuple of str
        What was lost or taken for something else, one sentence each.
    """

    shapes: tuple[BaseGeometry | None, ...]
    columns: dict[str, tuple[Any, ...]]
    numbers: tuple[int, ...]
    crs: Any = None
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.shapes)

    def chosen(self, fits: Sequence[bool]) -> Features:
        """Take some of them.

        Parameters
        ----------
        fits : sequence of bool
            Which.

        Returns
        -------
        Features
            Those, in the same order.
        """

        def pick(values: tuple[Any, ...]) -> tuple[Any, ...]:
            return tuple(value for value, fit in zip(values, fits, strict=True) if fit)

        columns = {name: pick(values) for name, values in self.columns.items()}
        return Features(pick(self.shapes), columns, pick(self.numbers), self.crs, self.notes)

    def noted(self, *notes: str) -> Features:
        """Say something about them.

        Parameters
        ----------
        *notes : str
            One sentence each.

        Returns
        -------
        Features
            The same, with those among the notes.
        """
        return replace(self, notes=(*self.notes, *notes))


def features_of(table: geopandas.GeoDataFrame) -> Features:
    """Take a table of geopandas apart.

    Parameters
    ----------
    table : geopandas.GeoDataFrame
        Any.

    Returns
    -------
    Features
        All rows.
    """
    shape = table.geometry.name
    columns = {
        str(name): tuple(table[name].astype(object).where(table[name].notna(), None).tolist())
        for name in table.columns
        if name != shape
    }
    return Features(tuple(table.geometry), columns, tuple(range(1, len(table) + 1)), table.crs)
