"""Fields of a study, read one at a time from files of many, so that any number of them streams through."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from overlapsim.files.areas import areas_only
from overlapsim.files.choice import choose_layer, choose_rows, names_of
from overlapsim.files.features import Features, features_of
from overlapsim.files.manifest import digest_of
from overlapsim.files.reading import read_table, unreadable
from overlapsim.files.sources import GEOJSON, PARQUET, find_sources
from overlapsim.files.systems import system_of
from overlapsim.questions.study_ground import Fields
from overlapsim.scenario.field import Field

AT_ONCE = 64
"""Features that are read together: enough to read fast, few enough for little memory."""


class FieldFile(Fields):
    """All fields of one file.

    Formats that can be read piece by piece (GeoPackage, shapefile and whatever else pyogrio reads) are; of
    GeoJSON and GeoParquet, and where attributes choose, the file's features stay in memory.

    Parameters
    ----------
    path : Path
        The file.
    layer : str, optional
        Layer, where it has several.
    where : mapping, optional
        Attributes that the fields have.
    crs : str, optional
        Coordinate system, only for a file that does not state its own.
    """

    def __init__(
        self,
        path: Path,
        layer: str | None = None,
        where: Mapping[str, Any] | None = None,
        crs: str | None = None,
    ) -> None:
        self.path, self.crs = path, crs
        self.source, self.layer, _ = choose_layer(find_sources(path), layer)
        self.where = dict(where) if where else None
        self.piecewise = self.source.kind not in (*GEOJSON, *PARQUET) and not where
        self.digest = digest_of(path)
        self._rows: tuple[int, Features] | None = None
        if self.piecewise:
            rows = _attributes(self)
        else:
            rows = self._all()
        self.names, self.numbers = tuple(names_of(rows)), rows.numbers

    def __getstate__(self) -> dict[str, Any]:
        # Other processes read for themselves.
        return {**vars(self), "_rows": None}

    def _fingerprint(self, number: int) -> str:
        return f"{self.digest} {self.layer} {self.crs} {self.numbers[number]}"

    def _get(self, number: int) -> Field:
        first, rows = self._near(number)
        shape, _ = areas_only(rows.shapes[number - first])
        system, _ = system_of(self.source, rows.crs, self.crs, [shape])
        origin = {"file": self.path.name, "where": {"feature": self.numbers[number]}}
        name = self.names[number]
        return Field.from_geometry(shape, system, name, origin=origin, file=f"{self.source.name}, {name}")

    def _near(self, number: int) -> tuple[int, Features]:
        """The features that are at hand, and the number of the first of them."""
        if not self.piecewise:
            if self._rows is None:
                self._rows = 0, self._all()
        elif self._rows is None or not self._rows[0] <= number < self._rows[0] + len(self._rows[1]):
            first = number - number % AT_ONCE
            self._rows = first, _piece(self, first)
        assert self._rows is not None
        return self._rows

    def _all(self) -> Features:
        return choose_rows(read_table(self.source, self.layer), self.where, True, self.source.name)[0]


def _attributes(file: FieldFile) -> Features:
    """Read all attributes and no shape."""
    import pyogrio

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            table = pyogrio.read_dataframe(file.source.address, layer=file.layer, read_geometry=False)
        except Exception as error:
            raise unreadable(file.source, error) from None
    columns = {
        str(name): tuple(table[name].astype(object).where(table[name].notna(), None).tolist())
        for name in table.columns
    }
    if not len(table):
        # The usual way has the words for it.
        choose_rows(read_table(file.source, file.layer), None, True, file.source.name)
    return Features((None,) * len(table), columns, tuple(range(1, len(table) + 1)))


def _piece(file: FieldFile, first: int) -> Features:
    """Read some features."""
    import geopandas

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            table = geopandas.read_file(
                file.source.address, layer=file.layer, engine="pyogrio", on_invalid="fix",
                skip_features=first, max_features=AT_ONCE,
            )  # fmt: skip
        except Exception as error:
            raise unreadable(file.source, error) from None
    return features_of(table)
