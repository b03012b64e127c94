"""What the first bytes of a file tell before anything opens it: not a field's file at all, or broken off."""

from __future__ import annotations

import os
import re
from pathlib import Path

from overlapsim.basics.errors import FieldError
from overlapsim.scenario.rings import refuse

#: Largest file that is read whole, bytes: two and a half million points of GeoJSON, which take some 1.2 GB of
#: memory (measured). A boundary has kilobytes.
LARGEST = 100_000_000
#: How much of a file is looked at, bytes.
HEAD = 4096
#: Beginnings of what gets mailed in place of a boundary.
_OTHERS = (
    ((b"<!doctype html", b"<html"), "a web page, not a field", "Sign in where it comes from, fetch it again"),
    ((b"%pdf",), "a PDF, not a field", "Ask for the boundary as GeoJSON or a zipped shapefile"),
    (
        (b"\x89png", b"\xff\xd8\xff", b"gif8", b"ii*\0", b"mm\0*"),
        "a picture, not a field",
        "Ask for the boundary as GeoJSON or a zipped shapefile",
    ),
    (
        (b"\xd0\xcf\x11\xe0",),
        "an office document, not a field",
        "Ask for the boundary as GeoJSON or a zipped shapefile",
    ),
    ((b"rar!", b"7z\xbc\xaf", b"\x1f\x8b"), "packed in another way than .zip", "Unpack it and name the file"),
    # Such a list can name files anywhere, other people's machines included.
    ((b"<ogrvrt", b"<vrtdataset"), "a list of other files, not a field", "Name the file that it lists"),
)
#: Root element of a task file. ISO 11783-10:2015, annex D.
_TASKS = b"<iso11783_taskdata"
_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")


def look_at(head: bytes, size: int, kind: str, name: str) -> None:
    """Refuse what is no field's file, by its beginning and its size.

    Parameters
    ----------
    head : bytes
        Its beginning.
    size : int
        Its size, bytes.
    kind : str
        Its ending, lower case, with the dot.
    name : str
        What faults call it.

    Raises
    ------
    FieldError
        It is empty, something else altogether, or shorter than it says itself.

    References
    ----------
    Environmental Systems Research Institute (1998), ESRI shapefile technical description, page 4 (bytes 24 to
    27: length in 16-bit words). SQLite database file format, section 1.3 (bytes 16 and 28: size and number of
    pages; bytes 24 and 92 agree where that number holds).

    Examples
    --------
    >>> look_at(b'{"type": "Polygon"', 900, ".geojson", "home.geojson")
    """
    if not size:
        raise refuse("is empty", "Ask for it again", file=name)
    start = head
    for mark in _MARKS:
        start = start.removeprefix(mark)
    start = start.replace(b"\0", b"").lstrip().lower() if head[:2] in _MARKS else start.lstrip().lower()
    for beginnings, what, remedy in _OTHERS:
        if start.startswith(beginnings):
            raise refuse(f"is {what}", remedy, file=name)
    if start.startswith((b"<?xml", _TASKS)) and _TASKS in start:
        raise refuse(
            "is a terminal's task file (ISO 11783-10), which is not read",
            "Ask for the boundary as GeoJSON or a zipped shapefile",
            file=name,
        )
    if start.startswith(b"<") and b"<!entity" in start:
        # Nested they fill any memory, and they can name any file of this machine.
        raise refuse(
            "cannot be read: it uses entities of its own, which are not followed",
            "Ask for it again",
            file=name,
        )
    said = 0
    if kind == ".shp" and head[:4] == b"\0\0\x27\x0a":
        said = 2 * int.from_bytes(head[24:28], "big")
    elif head.startswith(b"SQLite format 3\0") and head[24:28] == head[92:96]:
        said = (int.from_bytes(head[16:18], "big") % 65_535 or 65_536) * int.from_bytes(head[28:32], "big")
    if size < said:
        raise refuse(f"breaks off: {size:,} of {said:,} bytes are there", "Ask for it again", file=name)


def look_into(path: Path, kind: str, name: str) -> None:
    """Look at a file's beginning.

    Parameters
    ----------
    path : Path
        The file.
    kind : str
        Its ending, lower case, with the dot.
    name : str
        What faults call it.

    Raises
    ------
    FieldError
        It cannot be opened, or is nothing that can be read as a field.
    """
    if not path.is_file():
        # A pipe would be waited for; a device has no end.
        raise refuse("not a file that can be read twice", "Copy it to a file and name that", file=name)
    try:
        with open(path, "rb") as stream:
            head = stream.read(HEAD)
            size = os.fstat(stream.fileno()).st_size
            stream.seek(max(0, size - HEAD))
            tail = stream.read()
    except OSError as error:
        raise refuse(
            f"cannot be read ({error.strerror})", "Check its name and permissions", file=name
        ) from None
    look_at(head, size, kind, name)
    root = re.search(rb"<([A-Za-z_][\w:.-]*)", head) if kind == ".gml" else None
    if root and b"</" + root[1] not in tail and b"/>" not in tail[-8:]:
        # Its reader takes what is there, and says at most that no layer is.
        raise refuse("its text breaks off", "Ask for it again", file=name)


def small_enough(size: int, name: str) -> None:
    """Refuse to read a file whole that is larger than any that holds a farm's boundaries.

    Parameters
    ----------
    size : int
        Its size, bytes, unpacked.
    name : str
        What faults call it.

    Raises
    ------
    FieldError
        It is larger than `LARGEST`.
    """
    if size > LARGEST:
        raise too_large(f"{size / 1e6:,.0f} MB", name)


def too_large(size: str, name: str) -> FieldError:
    """Say that something is larger than what is read.

    Parameters
    ----------
    size : str
        How large, with its unit.
    name : str
        What faults call it.

    Returns
    -------
    FieldError
        To be raised by the caller.
    """
    return refuse(
        f"{size}, more than the {LARGEST / 1e6:.0f} MB that are read at once",
        "Ask for the fields that are wanted alone",
        file=name,
    )
