"""Broken and hostile files of fields: each is made in a folder, under the name that is returned."""

from __future__ import annotations

import json
import os
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import geopandas
import shapely

HOME = shapely.box(12, 48, 12.01, 48.008)
TEXT = json.dumps({"type": "Feature", "properties": {"name": "Süd"}, "geometry": HOME.__geo_interface__})
KML = (
    '<?xml version="1.0" encoding="UTF-8"?>{}<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark>'
    "<name>{}</name><Polygon><outerBoundaryIs><LinearRing><coordinates>12,48 12.01,48 12.01,48.008 12,48"
    "</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Document></kml>"
)
OUTSIDE = '<!DOCTYPE k [<!ENTITY a SYSTEM "file:///etc/hostname">]>'
MEGABYTE = 1_000_000


def table() -> geopandas.GeoDataFrame:
    return geopandas.GeoDataFrame({"name": ["Home 80"]}, geometry=[HOME], crs="EPSG:4326")


def put(folder: Path, name: str, content: bytes | str) -> str:
    (folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    return name


def sound(path: Path) -> None:
    """A sound file in any format."""
    folder, name = path.parent, path.name
    if path.suffix == ".parquet":
        table().to_parquet(path)
    elif path.suffix == ".kml":
        path.write_text(KML.format("", "Home 80"))
    elif path.suffix == ".zip":
        archive(folder, name, {"home.geojson": TEXT.encode() * 9})
    elif path.suffix == ".kmz":
        # As it is, not squeezed: then its text stands right behind the archive's mark.
        with zipfile.ZipFile(path, "w") as made:
            made.writestr("doc.kml", KML.format("", "Home 80"))
    else:
        table().to_file(path)


def half(folder: Path, name: str, share: float = 0.5) -> str:
    """The first half of a sound file."""
    path = folder / name
    sound(path)
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * share)])
    return name


def archive(folder: Path, name: str, members: dict[str, bytes]) -> str:
    with zipfile.ZipFile(folder / name, "w", zipfile.ZIP_DEFLATED) as made:
        for member, content in members.items():
            made.writestr(member, content)
    return name


def declared(folder: Path, name: str, member: str, size: int, content: bytes = b"{}") -> str:
    """An archive whose list says that its one member has another size.

    The list's entry begins with PK 1 2; bytes 24 to 27 of it hold the size unpacked (.ZIP file format
    specification, APPNOTE 6.3, section 4.3.12).
    """
    archive(folder, name, {member: content})
    whole = bytearray((folder / name).read_bytes())
    entry = whole.rindex(b"PK\1\2")
    whole[entry + 24 : entry + 28] = struct.pack("<I", size)
    return put(folder, name, bytes(whole))


def flagged(folder: Path, name: str, at: int, value: bytes) -> str:
    """An archive with some bytes of its list's entry changed: flags (8) or the way of packing (10)."""
    archive(folder, name, {"home.geojson": TEXT.encode()})
    whole = bytearray((folder / name).read_bytes())
    entry = whole.rindex(b"PK\1\2")
    whole[entry + at : entry + at + len(value)] = value
    return put(folder, name, bytes(whole))


def linked(folder: Path, name: str) -> str:
    entry = zipfile.ZipInfo("home.geojson")
    entry.external_attr = 0o120777 << 16
    with zipfile.ZipFile(folder / name, "w") as made:
        made.writestr(entry, "/etc/hostname")
    return name


def shapefile_in(folder: Path, name: str, **more: bytes) -> str:
    """A sound zipped shapefile, some of its parts replaced."""
    table().to_file(folder / "loose.shp")
    parts = {f"home{p.suffix}": p.read_bytes() for p in sorted(folder.glob("loose.*"))}
    for path in folder.glob("loose.*"):
        path.unlink()
    return archive(folder, name, parts | {f"home.{ending}": content for ending, content in more.items()})


def sparse(folder: Path, name: str, size: int) -> str:
    """A file of nothing that takes no room."""
    with open(folder / name, "wb") as stream:
        stream.truncate(size)
    return name


def entities(folder: Path, name: str) -> str:
    """Nine times tenfold: 10 to the 9th words of three letters."""
    steps = "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(9))
    return put(folder, name, KML.format(f'<!DOCTYPE kml [<!ENTITY a "lol">{steps}]>', "&j;"))


def folder_named(folder: Path, name: str) -> str:
    (folder / name).mkdir()
    return name


def link(folder: Path, name: str, target: str) -> str:
    os.symlink(target, folder / name)
    return name


Make = Callable[[Path], str]
#: By what is wrong with it; with the words that must stand in what is said.
BROKEN: dict[str, tuple[Make, str]] = {
    "empty": (lambda f: put(f, "home.geojson", ""), "is empty. Ask for it again."),
    "empty archive": (lambda f: archive(f, "home.zip", {}), "holds no file with a field (nothing)."),
    "no archive": (lambda f: put(f, "home.zip", b"PK\3\4 and nothing"), "not a sound archive. Ask"),
    "web page": (
        lambda f: put(f, "home.geojson", "\n <!DOCTYPE html><html>Sign in"),
        "is a web page, not a field.",
    ),
    "web page as an archive": (lambda f: put(f, "home.zip", "<html>Sign in</html>"), "is a web page"),
    "web page in an archive": (lambda f: archive(f, "home.zip", {"a.geojson": b"<html>"}), "is a web page"),
    "PDF": (lambda f: put(f, "home.pdf", "%PDF-1.7"), "is a PDF, not a field. Ask for the boundary as"),
    "picture": (lambda f: put(f, "home.jpg", b"\xff\xd8\xff\xe0"), "is a picture, not a field. Ask"),
    "workbook": (
        lambda f: archive(f, "home.xlsx", {"[Content_Types].xml": b"<x/>"}),
        "It is an office document",
    ),
    "list of files": (lambda f: put(f, "home.geojson", "<OGRVRTDataSource/>"), "is a list of other files"),
    "task file": (
        lambda f: put(f, "TASKDATA.XML", '<?xml version="1.0"?><ISO11783_TaskData/>'),
        "is a terminal's task file (ISO 11783-10), which is not read. Ask for the boundary as GeoJSON",
    ),
    "other text": (lambda f: put(f, "home.geojson", "forty acres"), "cannot be read: "),
    "GeoJSON cut off": (lambda f: half(f, "home.geojson"), "its text breaks off or is no GeoJSON. Ask"),
    "KML cut off": (lambda f: half(f, "home.kml"), "its text breaks off. Ask for it again"),
    "shapefile cut off": (lambda f: half(f, "home.shp", 0.7), "breaks off: 165 of 236 bytes are there."),
    "GML cut off": (lambda f: half(f, "home.gml", 0.9), "its text breaks off. Ask for it again"),
    "packed KML cut off": (lambda f: half(f, "home.kmz"), "not a sound archive."),
    "GeoPackage cut off": (lambda f: half(f, "home.gpkg"), "breaks off: "),
    "FlatGeobuf cut off": (lambda f: half(f, "home.fgb"), "it is damaged or breaks off."),
    "GeoParquet cut off": (
        lambda f: half(f, "home.parquet"),
        "it is damaged or breaks off, or is no GeoParquet",
    ),
    "archive cut off": (lambda f: half(f, "home.zip"), "not a sound archive."),
    "database of nothing": (
        lambda f: put(f, "home.gpkg", b"SQLite format 3\0" + bytes(500)),
        "cannot be read: ",
    ),
    "GeoJSON not in UTF-8": (
        lambda f: put(f, "home.geojson", TEXT.replace("\\u00fc", "ü").encode("cp1252")),
        "is not UTF-8 text: byte 0xfc in line 1 cannot be read. Ask for it in UTF-8",
    ),
    "KML not in UTF-8": (
        lambda f: put(f, "home.kml", KML.format("", "Süd").encode("cp1252")),
        "is not UTF-8 text: byte 0xfc in line 1",
    ),
    "KML in another encoding than it says": (
        lambda f: put(f, "home.kml", KML.format("", "Home").encode("utf-16")),
        "cannot be read: its text is in another encoding than it says. Ask for it again",
    ),
    "entities": (lambda f: entities(f, "home.kml"), "it uses entities of its own, which are not followed."),
    "outside entity": (
        lambda f: put(f, "home.kml", KML.format(OUTSIDE, "&a;")),
        "it uses entities of its own",
    ),
    "deep lists": (
        lambda f: put(f, "home.geojson", f'{{"type": "Polygon", "coordinates": {"[" * 10**6}'),
        "its text breaks off or is no GeoJSON",
    ),
    "not a number": (
        lambda f: put(f, "home.geojson", TEXT.replace("12.01", "NaN")),
        "is not a finite number (3 such points). Ask for the boundary again.",
    ),
    "infinite": (
        lambda f: put(f, "home.geojson", TEXT.replace("12.01", "-1e999")),
        "is not a finite number (3 such points).",
    ),
    "way out of the archive": (
        lambda f: archive(f, "home.zip", {"../../home.geojson": TEXT.encode()}),
        "holds a file that would be laid outside of the folder (../../home.geojson). Ask",
    ),
    "way out with backslashes": (
        lambda f: archive(f, "home.zip", {"x\\..\\..\\home.geojson": TEXT.encode()}),
        "holds a file that would be laid outside of the folder",
    ),
    "place in the archive": (
        lambda f: archive(f, "home.zip", {"/home.geojson": TEXT.encode()}), "laid outside of the folder",
    ),
    "drive in the archive": (
        lambda f: archive(f, "home.zip", {"C:/home.geojson": TEXT.encode()}), "laid outside of the folder",
    ),
    "link in the archive": (lambda f: linked(f, "home.zip"), "holds a link to elsewhere (home.geojson). Ask"),
    "archive in the archive": (
        lambda f: archive(f, "home.zip", {"inner.zip": b"PK\5\6" + bytes(18)}),
        "holds no file with a field (inner.zip). Unpack the archive in it and name that.",
    ),
    "locked archive": (lambda f: flagged(f, "home.zip", 8, b"\1\0"), "locked with a password. Unpack it"),
    "unknown packing": (lambda f: flagged(f, "home.zip", 10, b"\x63\0"), "packed in a way that is not read."),
    "wrong checksum": (lambda f: flagged(f, "home.zip", 16, b"1234"), "not a sound archive."),
    "packed otherwise": (
        lambda f: put(f, "home.7z", b"7z\xbc\xaf\x27\x1c"),
        "packed in another way than .zip",
    ),
    "thousands of members": (
        lambda f: archive(f, "home.zip", {f"{i}.geojson": b"" for i in range(10_001)}),
        "holds 10,001 files. Ask for the field's alone.",
    ),
    "folder": (lambda f: folder_named(f, "home.geojson"), "a folder, not a file. Name the file in it."),
    "link to nowhere": (lambda f: link(f, "home.geojson", "/nowhere/at/all"), "a link that leads nowhere."),
    "link to itself": (lambda f: link(f, "home.geojson", "home.geojson"), "a link that leads nowhere."),
    "device": (lambda f: link(f, "home.geojson", os.devnull), "not a file that can be read twice."),
    "name too long": (lambda f: "x" * 5000 + ".geojson", "cannot be read (File name too long)."),
}  # fmt: skip

#: Those that would fill memory or disc: read in a process of its own with little of both.
LARGE: dict[str, tuple[Make, str]] = {
    "2 GB declared": (
        lambda f: declared(f, "a.zip", "a.geojson", 2 * 10**9),
        "2,000 MB, more than the 100 MB",
    ),
    "2 GB declared of shapes": (
        lambda f: declared(f, "b.zip", "b.gpkg", 2 * 10**9), "2,000 MB, more than the 100 MB",
    ),
    "bomb": (lambda f: archive(f, "c.zip", {"c.geojson": b" " * 150 * MEGABYTE}), "150 MB, more than"),
    "bomb beside the shapes": (
        lambda f: shapefile_in(f, "d.zip", dbf=bytes(150 * MEGABYTE)), "150 MB, more than the 100 MB",
    ),
    "bomb that says it is small": (
        lambda f: declared(f, "e.zip", "e.geojson", 1000, b" " * 150 * MEGABYTE), "not a sound archive",
    ),
    "large text": (lambda f: sparse(f, "f.geojson", 3 * 10**9), "3,000 MB, more than the 100 MB"),
    "large markup": (lambda f: sparse(f, "g.kml", 3 * 10**9), "3,000 MB, more than the 100 MB"),
    "large table": (lambda f: sparse(f, "h.parquet", 3 * 10**9), "3,000 MB, more than the 100 MB"),
    "large database": (lambda f: sparse(f, "i.gpkg", 3 * 10**9), "cannot be read: "),
    "large archive": (
        lambda f: put(f, "j.zip", b"") and sparse(f, "j.zip", 3 * 10**9), "not a sound archive",
    ),
}  # fmt: skip
