"""Archives as people mail them: what may be opened in them, how much of it, and where it is laid.

Names in an archive never become places on this machine: what is opened is laid under its bare name into a
folder of its own, which goes when the program ends.
"""

from __future__ import annotations

import os
import re
import shutil
import stat
import tempfile
import weakref
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path, PurePosixPath

from overlapsim.files.first_look import HEAD, LARGEST, look_at, small_enough, too_large
from overlapsim.scenario.rings import refuse

#: Most files in an archive; a national collection of shapefiles has some hundreds.
_MOST = 10_000
_CHUNK = 1 << 20


def member_names(path: Path) -> list[str]:
    """List the files in an archive, folders parted by slashes.

    Parameters
    ----------
    path : Path
        The archive.

    Returns
    -------
    list of str
        In the archive's order, without what desktops add of their own.

    Raises
    ------
    FieldError
        Broken, locked, too many files in it, a link, or a name that leads out of the folder.
    """
    with _opened(path) as archive:
        entries = archive.infolist()
    name = path.name
    if len(entries) > _MOST:
        raise refuse(f"holds {len(entries):,} files", "Ask for the field's alone", file=name)
    if any(entry.flag_bits & 1 for entry in entries):
        raise refuse("locked with a password", "Unpack it and name the file", file=name)
    for entry in entries:
        place = PurePosixPath(_plain(entry.filename))
        if ".." in place.parts or place.is_absolute() or re.match(r"[A-Za-z]:", place.as_posix()):
            raise refuse(
                f"holds a file that would be laid outside of the folder ({entry.filename})",
                "Ask whoever packed it for a plain .zip",
                file=name,
            )
        if stat.S_ISLNK(entry.external_attr >> 16):
            raise refuse(
                f"holds a link to elsewhere ({entry.filename})", "Ask for the files themselves", file=name
            )
    names = [_plain(entry.filename) for entry in entries if not entry.is_dir()]
    return [one for one in names if one and not one.endswith("/") and "__MACOSX" not in one]


def read_member(path: Path, member: str) -> bytes:
    """Read one file in an archive.

    Parameters
    ----------
    path : Path
        The archive.
    member : str
        As `member_names` lists it.

    Returns
    -------
    bytes
        Its content.

    Raises
    ------
    FieldError
        Too large, or broken.
    """
    with _opened(path) as archive:
        entry = next(e for e in archive.infolist() if _plain(e.filename) == member)
        small_enough(entry.file_size, f"{path.name}: {member}")
        with archive.open(entry) as packed:
            # Asked for all at once it would be unpacked whole, whatever the list says of its size.
            content = packed.read(entry.file_size + 1)
    _look(content[:HEAD], len(content), member, path)
    return content


def laid_out(path: Path, member: str) -> Path:
    """Lay one data source of an archive into a folder of its own, with its companions.

    Parameters
    ----------
    path : Path
        The archive.
    member : str
        As `member_names` lists it, or a folder that is a data source.

    Returns
    -------
    Path
        Where it lies now; until the program ends, or two others have been asked for.

    Raises
    ------
    FieldError
        Too large, or broken.
    """
    now = path.stat()
    return _laid_out(path, member, now.st_size, now.st_mtime_ns, os.getpid()).place


class _Laid:
    """A folder that goes with this object."""

    def __init__(self, folder: str, place: Path) -> None:
        self.place = place
        weakref.finalize(self, _remove, folder, os.getpid())


def _remove(folder: str, owner: int) -> None:
    # A forked process has the object too, but not the folder.
    if os.getpid() == owner:
        shutil.rmtree(folder, ignore_errors=True)


@lru_cache(maxsize=2)
def _laid_out(path: Path, member: str, _size: int, _time: int, _process: int) -> _Laid:
    whole = PurePosixPath(member)
    folder = tempfile.mkdtemp(prefix="overlapsim-")
    laid = _Laid(folder, Path(folder, whole.name))
    with _opened(path) as archive:
        entries = {_plain(e.filename): e for e in archive.infolist() if not e.is_dir()}
        inside = {n: e for n, e in entries.items() if n.startswith(f"{member}/")}
        if inside:
            laid.place.mkdir()
            wanted = {Path(laid.place, PurePosixPath(n).name): e for n, e in inside.items()}
        else:
            beside = whole.with_suffix("").as_posix().lower()
            wanted = {
                Path(folder, PurePosixPath(n).name): e
                for n, e in entries.items()
                if PurePosixPath(n).with_suffix("").as_posix().lower() == beside
            }
        small_enough(sum(entry.file_size for entry in wanted.values()), f"{path.name}: {member}")
        for place, entry in wanted.items():
            with archive.open(entry) as packed, open(place, "wb") as stream:
                shutil.copyfileobj(packed, stream, _CHUNK)
    if not inside:
        with open(laid.place, "rb") as stream:
            _look(stream.read(HEAD), laid.place.stat().st_size, member, path)
    return laid


@contextmanager
def _opened(path: Path) -> Iterator[zipfile.ZipFile]:
    """Open an archive; whatever goes wrong in it is said in words."""
    if path.stat().st_size > LARGEST:
        raise too_large(f"{path.stat().st_size / 1e6:,.0f} MB", path.name)
    try:
        with zipfile.ZipFile(path) as archive:
            yield archive
    except NotImplementedError:
        raise refuse(
            "packed in a way that is not read", "Unpack it and name the file", file=path.name
        ) from None
    except (zipfile.BadZipFile, zlib.error, EOFError, ValueError, RuntimeError):
        raise refuse("not a sound archive", "Ask for it again", file=path.name) from None
    except OSError as error:
        raise refuse(f"cannot be unpacked ({error.strerror})", "Unpack it yourself", file=path.name) from None


def _look(head: bytes, size: int, member: str, path: Path) -> None:
    look_at(head, size, PurePosixPath(member).suffix.lower(), f"{path.name}: {member}")


def _plain(name: str) -> str:
    """Give a name with slashes: some packers write backslashes, against the format."""
    return name.replace("\\", "/").removeprefix("./")
