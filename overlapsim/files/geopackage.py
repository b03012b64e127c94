"""A GeoPackage written with SQLite alone: no clock, no library's version in it, nothing heavy to import.

References
----------
Open Geospatial Consortium (2021), OGC GeoPackage encoding standard 1.3.0, 12-128r17: clauses 1.1.1 (file),
1.1.2 (coordinate systems), 1.1.3 (contents), 2.1.3 (geometry), 2.1.5 (geometry columns), 2.4 (attributes).
"""

from __future__ import annotations

import errno
import os
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import shapely

#: Stands where the format asks for the time of writing: same input, same bytes.
_NO_TIME = "2000-01-01T00:00:00.000Z"
#: Letters GPKG, and version 1.2, which ten years of readers open without a word (clause 1.1.1.1.1).
_APPLICATION, _VERSION = 0x47504B47, 10200
#: Number of the first coordinate system that has none (common practice, no source).
_FIRST_OWN = 100_000
_GEOMETRY = "geom"
#: Coordinates in metres tied to no place on the earth (clause 1.1.2.1.2).
NOWHERE = -1

_TABLES = """CREATE TABLE gpkg_spatial_ref_sys (
 srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
 organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
 table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
 description TEXT DEFAULT '', last_change DATETIME NOT NULL, min_x DOUBLE, min_y DOUBLE, max_x DOUBLE,
 max_y DOUBLE, srs_id INTEGER,
 CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
 table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
 srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
 CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
 CONSTRAINT uk_gc_table_name UNIQUE (table_name),
 CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
 CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
"""
#: With EPSG:4326 what every file has (clause 1.1.2.1.2).
_ALWAYS = (
    ("Undefined Cartesian SRS", NOWHERE, "NONE", NOWHERE, "undefined", "undefined Cartesian coordinates"),
    ("Undefined geographic SRS", 0, "NONE", 0, "undefined", "undefined geographic coordinates"),
)
_STYLES = """CREATE TABLE layer_styles (
 id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, f_table_catalog TEXT, f_table_schema TEXT, f_table_name TEXT,
 f_geometry_column TEXT, styleName TEXT, styleQML TEXT, styleSLD TEXT, useAsDefault BOOLEAN, description TEXT,
 owner TEXT, ui TEXT, update_time DATETIME);
"""


@contextmanager
def new_geopackage(path: Path, crs_wkt: str | None) -> Iterator[GeoPackage]:
    """Make a GeoPackage.

    Parameters
    ----------
    path : Path
        The file; one of that name is replaced.
    crs_wkt : str or None
        Coordinate system of all layers; None = metres tied to no place.

    Yields
    ------
    GeoPackage
        To be filled; on the disk when the block ends.

    Raises
    ------
    OSError
        The disk is full.
    """
    path.unlink(missing_ok=True)
    base = sqlite3.connect(path, isolation_level=None)
    try:
        # Broken off it is thrown away whole, so nothing has to be kept safe in between.
        for pragma in ("synchronous = OFF", "journal_mode = OFF"):
            base.execute(f"PRAGMA {pragma}")
        base.execute(f"PRAGMA application_id = {_APPLICATION}")
        base.execute(f"PRAGMA user_version = {_VERSION}")
        base.execute("BEGIN")
        yield GeoPackage(base, crs_wkt)
        base.execute("COMMIT")
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode == sqlite3.SQLITE_FULL:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path)) from error
        raise
    finally:
        base.close()


class GeoPackage:
    """A new GeoPackage; layers and styles are added one by one.

    Parameters
    ----------
    base : sqlite3.Connection
        To an empty file.
    crs_wkt : str or None
        Coordinate system of all layers; None = metres tied to no place.
    """

    def __init__(self, base: sqlite3.Connection, crs_wkt: str | None) -> None:
        self._base = base
        for table in _TABLES.strip().split(";\n"):
            base.execute(table)
        systems = [*_ALWAYS, _system("EPSG:4326")]
        self._number = NOWHERE
        if crs_wkt is not None:
            own = _system(crs_wkt)
            self._number = own[1]
            systems += [own] if own[1] != systems[-1][1] else []
        self._add("gpkg_spatial_ref_sys", systems)

    def layer(self, name: str, kind: str, shapes: np.ndarray, columns: Mapping[str, np.ndarray]) -> None:
        """Add a layer.

        Parameters
        ----------
        name : str
            Of the layer.
        kind : str
            ``Polygon``, ``MultiPolygon``, ``LineString`` or ``Point``.
        shapes : ndarray of shapely.Geometry, shape (n,)
            Of that kind, in the file's coordinate system, x first.
        columns : mapping of str to ndarray, shape (n,)
            Numbers, truth values or texts; not-a-number becomes no value.
        """
        fields = "".join(f", {_quoted(key)} {_type_of(values)}" for key, values in columns.items())
        self._base.execute(
            f"CREATE TABLE {_quoted(name)} (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, "
            f"{_GEOMETRY} {kind.upper()}{fields})"
        )
        extent = shapely.total_bounds(shapes).tolist() if len(shapes) else [None] * 4
        self._add("gpkg_contents", [(name, "features", name, "", _NO_TIME, *extent, self._number)])
        self._add("gpkg_geometry_columns", [(name, _GEOMETRY, kind.upper(), self._number, 0, 0)])
        rows = zip(
            range(1, len(shapes) + 1), _blobs(shapes, self._number),
            *(np.asarray(values).tolist() for values in columns.values()), strict=True,
        )  # fmt: skip
        self._add(name, rows, 2 + len(columns))

    def styles(self, texts: Mapping[str, str]) -> None:
        """Add the styles that layers open with.

        Parameters
        ----------
        texts : mapping of str to str
            QML by layer.
        """
        if not texts:
            return
        self._base.execute(_STYLES)
        # A table that desktop GIS know, not one of the standard's own.
        self._add(
            "gpkg_contents",
            [("layer_styles", "attributes", "layer_styles", "", _NO_TIME, None, None, None, None, 0)],
        )
        self._add(
            "layer_styles",
            [
                (i, "", "", name, _GEOMETRY, name, text, "", True, "", "", "", _NO_TIME)
                for i, (name, text) in enumerate(texts.items(), 1)
            ],
        )

    def _add(self, table: str, rows: Iterable[Sequence[Any]], width: int = 0) -> None:
        if not width:
            rows = list(rows)
            width = len(rows[0])
        self._base.executemany(f"INSERT INTO {_quoted(table)} VALUES ({', '.join('?' * width)})", rows)


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _type_of(values: np.ndarray) -> str:
    """Say a column's type (clause 1.1.1.1.3)."""
    kinds = {"b": "BOOLEAN", "i": "INTEGER", "u": "INTEGER", "f": "DOUBLE"}
    return kinds.get(np.asarray(values).dtype.kind, "TEXT")


def _blobs(shapes: np.ndarray, system: int) -> list[bytes]:
    """Write shapes as the format holds them: a head with bounds, then well-known binary (clause 2.1.3)."""
    if not len(shapes):
        return []
    whole = shapely.to_wkb(shapes, byte_order=1)
    points = shapes[0].geom_type == "Point"
    # Letters, version 0, flags: little-endian, and bounds unless it is a point.
    head = b"GP\x00" + (b"\x01" if points else b"\x03") + system.to_bytes(4, "little", signed=True)
    if points:
        return [head + one for one in whole]
    bounds = shapely.bounds(shapes)[:, [0, 2, 1, 3]].astype("<f8")
    return [head + box.tobytes() + one for box, one in zip(bounds, whole, strict=True)]


def _system(crs: str) -> tuple[str, int, str, int, str, str]:
    """Describe a coordinate system as the format lists it (clause 1.1.2.1.1)."""
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    system = CRS.from_user_input(crs)
    try:
        text = system.to_wkt("WKT1_GDAL")
    except CRSError:
        # A system that the old form has no words for; readers know the new form too.
        text = system.to_wkt()
    code = system.to_epsg()
    if code is not None:
        return system.name, code, "EPSG", code, text, ""
    return system.name, _FIRST_OWN, "NONE", _FIRST_OWN, text, ""
