"""Find and open the file that holds a field: archives, missing companions, what each format leaves unsaid."""

from __future__ import annotations

import difflib
import io
import re
import warnings
import zipfile
from dataclasses import dataclass
from pathlib import Path

from overlapsim.basics.errors import FieldError
from overlapsim.files.features import Features, features_of
from overlapsim.files.geojson import read_geojson
from overlapsim.scenario.rings import refuse

#: Endings that a field is looked for under in an archive.
READABLE = (".shp", ".gpkg", ".geojson", ".json", ".kml", ".parquet", ".geoparquet", ".fgb", ".gml", ".tab")
GEOJSON = (".geojson", ".json")
PARQUET = (".parquet", ".geoparquet")
#: What may lie beside a shapefile and gets named by mistake.
_COMPANIONS = (".dbf", ".shx", ".prj", ".cpg", ".sbn", ".sbx", ".qix")


@dataclass(frozen=True)
class Source:
    """One data source, in a file or in an archive.

    Parameters
    ----------
    path : Path
        The file as named.
    member : str
        What to open in it, if it is an archive; else empty.
    """

    path: Path
    member: str = ""

    @property
    def name(self) -> str:
        """What faults call it."""
        return self.path.name

    @property
    def stem(self) -> str:
        """Name of the inner file without its ending."""
        return Path(self.member or self.path.name).stem

    @property
    def kind(self) -> str:
        """Ending of the inner file, lower case."""
        return Path(self.member or self.path.name).suffix.lower()

    @property
    def address(self) -> str:
        """What the reader is given."""
        return f"/vsizip/{self.path.as_posix()}/{self.member}" if self.member else str(self.path)

    def read_bytes(self) -> bytes:
        """Read the inner file whole.

        Returns
        -------
        bytes
            Its content.
        """
        if not self.member:
            return self.path.read_bytes()
        with zipfile.ZipFile(self.path) as archive:
            return archive.read(self.member)


def find_sources(path: Path) -> list[Source]:
    """Look for data sources under a file name.

    Parameters
    ----------
    path : Path
        A file, or an archive with files in it, in folders or not.

    Returns
    -------
    list of Source
        One, or several in an archive, in the archive's order.

    Raises
    ------
    FieldError
        No such file, a folder, an archive without anything to read, a shapefile with parts missing.
    """
    name = path.name
    if path.is_dir() and path.suffix.lower() != ".gdb":
        inside = sorted(p.name for p in path.iterdir() if p.suffix.lower() in (*READABLE, ".zip"))
        names = f" It holds {', '.join(inside[:8])}" if inside else ""
        raise refuse("a folder, not a file", f"Name the file in it.{names}", file=name)
    if not path.exists():
        raise _missing(path)
    if zipfile.is_zipfile(path):
        return _in_archive(path)
    if path.suffix.lower() in (".zip", ".kmz"):
        raise refuse("not a sound archive", "Ask for it again", file=name)
    if path.suffix.lower() in _COMPANIONS:
        beside = path.with_suffix(".shp")
        there = f"Name {beside.name}" if beside.exists() else "Ask for all parts or the .zip"
        raise refuse("a part of a shapefile, not the .shp", there, file=name)
    if path.suffix.lower() == ".shp":
        around = {p.suffix.lower() for p in path.parent.glob("*") if p.stem == path.stem}
        if ".shx" not in around:
            raise refuse("no .shx beside it", "Ask for all parts or the .zip", file=name)
    return [Source(path)]


def _missing(path: Path) -> FieldError:
    near: list[str] = []
    if path.parent.is_dir():
        near = difflib.get_close_matches(path.name, [p.name for p in path.parent.iterdir()], 1)
    return refuse("no such file", f"Did you mean {near[0]}?" if near else "Check the name", file=str(path))


def _in_archive(path: Path) -> list[Source]:
    try:
        with zipfile.ZipFile(path) as archive:
            entries = archive.infolist()
            if any(entry.flag_bits & 1 for entry in entries):
                raise refuse("locked with a password", "Unpack it and name the file", file=path.name)
    except zipfile.BadZipFile:
        raise refuse("not a sound archive", "Ask for it again", file=path.name) from None
    members = [e.filename for e in entries if not e.is_dir() and "__MACOSX" not in e.filename]
    found = [m for m in members if m.lower().endswith(READABLE)]
    found += sorted({m[: m.lower().index(".gdb/") + 4] for m in members if ".gdb/" in m.lower()})
    lower = {m.lower() for m in members}
    for shape in (m for m in found if m.lower().endswith(".shp")):
        if shape.lower()[:-4] + ".shx" not in lower:
            raise refuse(f"no .shx beside {shape}", "Ask for all parts", file=path.name)
    if not found:
        inside = ", ".join(members[:8]) or "nothing"
        raise refuse(
            f"holds no file with a field ({inside})", f"Looked for {', '.join(READABLE[:6])}", file=path.name
        )
    return [Source(path, m) for m in found]


def layer_names(source: Source) -> list[tuple[str, str]]:
    """List the layers that have shapes.

    Parameters
    ----------
    source : Source
        Where.

    Returns
    -------
    list of (name, kind)
        Kind as the format states it, as `Polygon` or `Unknown`.

    Raises
    ------
    FieldError
        The file cannot be read.
    """
    if source.kind in PARQUET:
        return [(source.stem, "Unknown")]
    if plain := _plain(source):
        return [(plain[0] or source.stem, "Unknown")]
    import pyogrio

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = pyogrio.list_layers(source.address)
    except Exception as error:
        raise unreadable(source, error) from None
    return [(str(name), str(kind)) for name, kind in found if kind is not None]


def _plain(source: Source) -> tuple[str, Features] | None:
    """Read it if it is plain GeoJSON; None where it is not."""
    return read_geojson(source.read_bytes()) if source.kind in GEOJSON else None


def read_table(source: Source, layer: str) -> Features:
    """Read one layer.

    Parameters
    ----------
    source : Source
        Where.
    layer : str
        Which layer.

    Returns
    -------
    Features
        Shapes and attributes as they stand in the file; open rings closed.

    Raises
    ------
    FieldError
        The file cannot be read.
    """
    if plain := _plain(source):
        # Its layers have been listed before it is read; nobody asks a third time.
        read_geojson.cache_clear()
        return plain[1]
    import geopandas

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if source.kind in PARQUET:
            try:
                import pyarrow  # noqa: F401
            except ImportError:
                raise refuse(
                    "GeoParquet needs pyarrow",
                    'Install it: pip install "overlapsim[study]"',
                    file=source.name,
                ) from None
            try:
                return features_of(geopandas.read_parquet(io.BytesIO(source.read_bytes())))
            except Exception as error:
                raise unreadable(source, error) from None
        try:
            table = geopandas.read_file(source.address, layer=layer, engine="pyogrio", on_invalid="fix")
        except Exception as error:
            raise unreadable(source, error) from None
    if not isinstance(table, geopandas.GeoDataFrame):
        raise refuse("holds a table without shapes", "Ask for the boundary as a polygon", file=source.name)
    return features_of(table)


def unreadable(source: Source, error: Exception) -> FieldError:
    """Say that a file cannot be read, with the reader's own first words.

    Parameters
    ----------
    source : Source
        Which.
    error : Exception
        What the reader said.

    Returns
    -------
    FieldError
        To be raised by the caller.
    """
    said = str(error).splitlines()[0] if str(error) else type(error).__name__
    said = re.split(r";|, It might help", said)[0].replace(source.address, source.name).strip(" .")
    if "not recognized" in said:
        if not source.path.stat().st_size:
            said = "it is empty"
        elif source.kind in GEOJSON:
            said = "its text breaks off or is no GeoJSON"
        else:
            said = "not a format that holds areas, or damaged"
    return refuse(f"cannot be read: {said}", "Ask for it again, or as GeoJSON or .zip", file=source.name)


def states_crs(source: Source) -> bool:
    """Tell whether a file that reads as longitude and latitude says so itself.

    Parameters
    ----------
    source : Source
        A file in any format.

    Returns
    -------
    bool
        False for GeoJSON without a `crs` member: longitude and latitude by the standard alone.

    References
    ----------
    Butler, H. et al. (2016), The GeoJSON format, RFC 7946, section 4.
    """
    if source.kind not in GEOJSON:
        return True
    return re.search(rb'"crs"\s*:\s*\{', source.read_bytes()) is not None
