"""Find the file that holds a field: loose or in an archive, with its companions or without."""

from __future__ import annotations

import difflib
import zipfile
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from overlapsim.basics.errors import FieldError
from overlapsim.files.archives import laid_out, member_names, read_member
from overlapsim.files.first_look import look_into, small_enough
from overlapsim.scenario.rings import refuse

#: Endings that a field is looked for under in an archive.
READABLE = (".shp", ".gpkg", ".geojson", ".json", ".kml", ".parquet", ".geoparquet", ".fgb", ".gml", ".tab")
GEOJSON = (".geojson", ".json")
PARQUET = (".parquet", ".geoparquet")
#: Formats of which a part can be read alone; of all else the file is read whole.
_IN_PARTS = (".shp", ".gpkg", ".fgb", ".gdb")
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
        return PurePosixPath(self.member or self.path.name).stem

    @property
    def kind(self) -> str:
        """Ending of the inner file, lower case."""
        return PurePosixPath(self.member or self.path.name).suffix.lower()

    @property
    def address(self) -> str:
        """What the reader is given."""
        return str(laid_out(self.path, self.member) if self.member else self.path)

    def read_bytes(self) -> bytes:
        """Read the inner file whole.

        Returns
        -------
        bytes
            Its content.
        """
        if self.member:
            return read_member(self.path, self.member)
        self.must_be_small()
        return self.path.read_bytes()

    @property
    def in_parts(self) -> bool:
        """Whether some features can be read without the rest of the file."""
        return self.kind in _IN_PARTS

    def must_be_small(self) -> None:
        """See that reading it whole does not fill the memory.

        Raises
        ------
        FieldError
            It is larger than a farm's boundaries are.
        """
        if not self.member and self.path.is_file():
            small_enough(self.path.stat().st_size, self.name)

    def has_beside(self, ending: str) -> bool:
        """Tell whether a companion lies beside it.

        Parameters
        ----------
        ending : str
            Its ending, lower case, with the dot.

        Returns
        -------
        bool
            Whether it is there.
        """
        place = Path(self.address)
        return any(p.stem == place.stem and p.suffix.lower() == ending for p in place.parent.iterdir())


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
    try:
        there, folder = path.exists(), path.is_dir()
        packed = path.is_file() and zipfile.is_zipfile(path)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "no name of a file"
        raise refuse(f"cannot be read ({why})", "Check its name and permissions", file=name[:80]) from None
    if folder and path.suffix.lower() != ".gdb":
        inside = sorted(p.name for p in path.iterdir() if p.suffix.lower() in (*READABLE, ".zip"))
        names = f" It holds {', '.join(inside[:8])}" if inside else ""
        raise refuse("a folder, not a file", f"Name the file in it.{names}", file=name)
    if not there:
        raise _missing(path)
    if packed:
        return _in_archive(path)
    if path.suffix.lower() != ".gdb":
        look_into(path, path.suffix.lower(), name)
    if path.suffix.lower() in (".zip", ".kmz"):
        if path.suffix.lower() == ".kmz" and _begins_as_text(path):
            raise refuse("a plain KML file by the name of a packed one", "Rename it to .kml", file=name)
        raise refuse("not a sound archive", "Ask for it again", file=name)
    if path.suffix.lower() in _COMPANIONS:
        beside = path.with_suffix(".shp")
        hint = f"Name {beside.name}" if beside.exists() else "Ask for all parts or the .zip"
        raise refuse("a part of a shapefile, not the .shp", hint, file=name)
    if path.suffix.lower() == ".shp":
        around = {p.suffix.lower() for p in path.parent.glob("*") if p.stem == path.stem}
        if ".shx" not in around:
            raise refuse("no .shx beside it", "Ask for all parts or the .zip", file=name)
    return [Source(path)]


def _begins_as_text(path: Path) -> bool:
    """Whether a file is plain KML; in an archive KML may lie as it is, behind the archive's own mark."""
    with open(path, "rb") as stream:
        head = stream.read(400)
    return b"<kml" in head and not head.startswith(b"PK")


def _missing(path: Path) -> FieldError:
    if path.is_symlink():
        return refuse("a link that leads nowhere", "Name the file itself", file=path.name)
    near: list[str] = []
    if path.parent.is_dir():
        near = difflib.get_close_matches(path.name, [p.name for p in path.parent.iterdir()], 1)
    return refuse("no such file", f"Did you mean {near[0]}?" if near else "Check the name", file=str(path))


def _in_archive(path: Path) -> list[Source]:
    members = member_names(path)
    found = [m for m in members if m.lower().endswith(READABLE)]
    found += sorted({m[: m.lower().index(".gdb/") + 4] for m in members if ".gdb/" in m.lower()})
    lower = {m.lower() for m in members}
    for shape in (m for m in found if m.lower().endswith(".shp")):
        if shape.lower()[:-4] + ".shx" not in lower:
            raise refuse(f"no .shx beside {shape}", "Ask for all parts", file=path.name)
    if found:
        return [Source(path, m) for m in found]
    inside = ", ".join(members[:8]) or "nothing"
    remedy = f"Looked for {', '.join(READABLE[:6])}"
    if any(m.lower().endswith((".zip", ".kmz", ".7z", ".rar")) for m in members):
        remedy = "Unpack the archive in it and name that"
    elif "[content_types].xml" in lower:
        remedy = "It is an office document: ask for the boundary as GeoJSON or a zipped shapefile"
    elif any(m.endswith("taskdata.xml") for m in lower):
        remedy = "A terminal's task file is not read: ask for GeoJSON or a zipped shapefile"
    raise refuse(f"holds no file with a field ({inside})", remedy, file=path.name)
