"""The bytes of a scenario or machine file as text: byte-order marks, UTF-16, and what is no such file."""

from __future__ import annotations

import codecs
import difflib
from pathlib import Path

from overlapsim.basics.errors import Fault

__all__ = ["decode", "nearest", "read_text"]

_LARGEST = 4_000_000
# Files of fields that people hand over instead of the scenario that names them.
_FIELDS = {".geojson", ".json", ".shp", ".gpkg", ".kml", ".kmz", ".zip", ".parquet", ".geoparquet", ".dbf"}
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


def read_text(path: Path, name: str) -> str | Fault:
    """Read a file as text, or say why it cannot be read.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        How people call it.

    Returns
    -------
    str or Fault
        Text with plain line ends.
    """
    try:
        if path.is_dir():
            inside = sorted(one.name for one in path.glob("*.toml"))[:5]
            remedy = f"Name a file in it: {', '.join(inside)}." if inside else "Name a scenario file."
            return Fault("is a folder, not a file", remedy, file=name)
        if path.suffix.lower() in _FIELDS:
            remedy = f"Name it in a scenario file: [field] and file = '{path.name}' below."
            return Fault("is the file of a field, not of a scenario", remedy, file=name)
        if path.stat().st_size > _LARGEST:
            return Fault(
                "is larger than 4 MB", "A scenario is a page of text: is it another file?", file=name
            )
        raw = path.read_bytes()
    except FileNotFoundError:
        return Fault("no such file", nearest(path, "*.toml"), file=name)
    except OSError as error:
        return Fault(f"cannot be read ({error.strerror})", "Check its name and permissions.", file=name)
    except ValueError:
        return Fault("is no name of a file", "Check its name.", file=name)
    return decode(raw, name)


def nearest(path: Path, pattern: str = "*.*") -> str:
    """Name the file that was probably meant.

    Parameters
    ----------
    path : Path
        A file that does not exist.
    pattern : str
        Which files of its folder to choose from.

    Returns
    -------
    str
        A sentence.
    """
    folder = path.parent
    if not folder.is_dir():
        return f"There is no folder {folder} either."
    names = sorted(one.name for one in folder.glob(pattern))
    near = difflib.get_close_matches(path.name, names, n=1, cutoff=0.5)
    if near:
        return f"Did you mean {near[0]}?"
    return f"There are: {', '.join(names[:5])}." if names else "Check its name."


def decode(raw: bytes, name: str) -> str | Fault:
    """Turn bytes into text by their mark, else as UTF-8.

    Parameters
    ----------
    raw : bytes
        The file's content.
    name : str
        How people call it.

    Returns
    -------
    str or Fault
        Text with plain line ends.
    """
    encoding = "utf-8"
    for mark, marked in _MARKS:
        if raw.startswith(mark):
            raw, encoding = raw[len(mark) :], marked
            break
    else:
        # Latin text in UTF-16 has every other byte zero.
        if raw[:200].count(0) > len(raw[:200]) // 3:
            encoding = "utf-16-be" if raw[:1] == b"\0" else "utf-16-le"
    try:
        text = raw.decode(encoding)
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        rule = f"is not {encoding.upper()} text: byte {raw[error.start]:#04x} cannot be read"
        return Fault(rule, "Save it as UTF-8.", file=name, line=line)
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        return Fault("is not a text file", "Save it as plain text in UTF-8.", file=name, line=line)
    return text.replace("\r\n", "\n").replace("\r", "\n")
