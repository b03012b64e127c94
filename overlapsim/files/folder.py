"""A folder of results appears whole or not at all, and never costs anybody a file.

The results are written into a temporary folder beside the real one, then the two change places. What a
manifest lists and nobody has changed since is replaced; everything else in the old folder moves along.
"""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from overlapsim.basics.errors import Fault, FolderError
from overlapsim.files.manifest import MANIFEST, digest_of, names_below, read_manifest, write_manifest

_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EROFS)


@dataclass
class Writing:
    """A folder being written: stands for the temporary folder in paths (`writing / "result.json"`).

    Parameters
    ----------
    path : Path
        The temporary folder. Gone once the results are in place.
    folder : Path
        Where the results will be.
    kept : list of str
        After the end: names of results that were not put in place, because somebody has changed the file of
        that name since, or made it.
    """

    path: Path
    folder: Path
    kept: list[str] = field(default_factory=list)

    def __fspath__(self) -> str:
        return str(self.path)

    def __truediv__(self, name: str) -> Path:
        return self.path / name

    @property
    def warnings(self) -> list[str]:
        """What to tell people about `kept`, one sentence per file."""
        return [
            f"{self.folder.name}/{name} was changed by somebody: kept, the new one is not written. "
            "Delete it and run again to get the new one."
            for name in self.kept
        ]


@contextmanager
def writing(folder: str | os.PathLike[str]) -> Iterator[Writing]:
    """Write a folder of results whole or not at all.

    Parameters
    ----------
    folder : path
        Where the results belong. May be absent, empty, or a folder of results written earlier.

    Yields
    ------
    Writing
        The temporary folder to write into. Whatever ends the block early (Ctrl-C included) leaves the old
        folder as it was, and no new one.

    Raises
    ------
    FolderError
        The path is a file, a link, the folder one stands in, or holds files and no manifest; it cannot be
        written; the disk is full.

    Examples
    --------
    >>> home = Path(tempfile.mkdtemp())
    >>> with writing(home / "results") as new:
    ...     _ = (new / "result.json").write_text("{}")
    >>> sorted(p.name for p in (home / "results").iterdir())
    ['manifest.json', 'result.json']
    """
    target = _target(folder)
    made = _make_parents(target.parent)
    temporary: Path | None = None
    done = False
    try:
        try:
            temporary = Path(tempfile.mkdtemp(prefix=f".{target.name}-", suffix=".tmp", dir=target.parent))
        except OSError as error:
            raise _cannot(target, error) from error
        new = Writing(temporary, target)
        try:
            yield new
        except OSError as error:
            if error.errno in _FULL:
                raise _cannot(target, error) from error
            raise
        try:
            _check(target)
            new.kept = _put_in_place(temporary, target)
        except OSError as error:
            raise _cannot(target, error) from error
        done = True
    finally:
        if temporary is not None:
            shutil.rmtree(temporary, ignore_errors=True)
        _restore(target)
        if not done:
            for parent in made:
                _remove_if_empty(parent)


def must_be_free(folder: str | os.PathLike[str]) -> None:
    """See before the work that its results will have a place, so that nobody waits for nothing.

    Parameters
    ----------
    folder : path
        Where the results will belong; see `writing`. Neither made nor changed.

    Raises
    ------
    FolderError
        As `writing` would, the full disk aside.

    Examples
    --------
    >>> home = Path(tempfile.mkdtemp())
    >>> must_be_free(home / "results")
    >>> (home / "results").exists()
    False
    """
    target = _target(folder)
    try:
        # The only answer that holds on every file system, and for every kind of right: try it.
        os.rmdir(tempfile.mkdtemp(prefix=f".{target.name}-", suffix=".tmp", dir=_above(target)))
    except OSError as error:
        raise _cannot(target, error) from error


def _target(folder: str | os.PathLike[str]) -> Path:
    """Take the folder's full path, mended and checked."""
    target = Path(os.path.abspath(folder))
    if target.name:
        _restore(target)
    _check(target)
    return target


def _refuse(target: Path, rule: str, remedy: str) -> FolderError:
    return FolderError(Fault(rule=rule, remedy=remedy, file=str(target)))


def _cannot(target: Path, error: OSError) -> FolderError:
    why = (error.strerror or type(error).__name__).lower()
    return _refuse(target, f"cannot be written: {why}", "Free it, or choose another folder with --out.")


def _check(target: Path) -> None:
    """Refuse what is not a place for results."""
    other = "Choose another folder with --out."
    if target.is_symlink():
        raise _refuse(target, "is a link", "Name the folder that it leads to.")
    for place in (target, _above(target)):
        if place.exists() and not place.is_dir():
            raise _refuse(place, "is a file, not a folder", other)
    if not target.name or target == Path.cwd() or target in Path.cwd().parents:
        raise _refuse(target, "is the folder you are in, or holds it", "Name a new folder in it.")
    try:
        filled = target.is_dir() and any(target.iterdir())
    except OSError as error:
        raise _cannot(target, error) from error
    if filled and read_manifest(target) is None:
        raise _refuse(target, f"holds files and no {MANIFEST} of ours: not a folder of results", other)


def _above(target: Path) -> Path:
    """Find the nearest of the folders above that exists."""
    return next((parent for parent in target.parents if os.path.lexists(parent)), target)


def _make_parents(parent: Path) -> list[Path]:
    """Make the folders above; return those made, innermost first."""
    missing = [p for p in (parent, *parent.parents) if not p.exists()]
    try:
        parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        for made in missing:
            _remove_if_empty(made)
        raise _cannot(parent, error) from error
    return missing


def _remove_if_empty(folder: Path) -> None:
    try:
        folder.rmdir()
    except OSError:
        return


def _put_in_place(temporary: Path, target: Path) -> list[str]:
    """Let the new folder take the old one's place; return the names of results that stay outside."""
    listed = read_manifest(target) or {}
    foreign = []
    for name in names_below(target) if target.is_dir() else ():
        path = target / name
        ours = name == MANIFEST or (not path.is_symlink() and listed.get(name) == digest_of(path))
        if not ours:
            foreign.append(name)
    kept = [name for name in names_below(temporary) if name in foreign]
    for name in kept:
        (temporary / name).unlink()
    write_manifest(temporary)
    for name in foreign:
        _carry(target / name, temporary / name)
    for folder in _folders(target) if target.is_dir() else ():
        if not any(name.startswith(f"{folder}/") for name in listed):
            (temporary / folder).mkdir(parents=True, exist_ok=True)
    temporary.chmod(target.stat().st_mode & 0o7777 if target.is_dir() else 0o777 & ~_umask())
    _swap(temporary, target)
    return kept


def _folders(folder: Path) -> list[str]:
    found = []
    for root, folders, _ in os.walk(folder):
        found += [(Path(root) / f).relative_to(folder).as_posix() for f in folders]
    return sorted(f for f in found if not (folder / f).is_symlink())


def _carry(old: Path, new: Path) -> None:
    """Give somebody's file a second name in the new folder, without touching it."""
    new.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(old, new, follow_symlinks=False)
    except (OSError, NotImplementedError):
        # Some file systems have no second names.
        shutil.copy2(old, new, follow_symlinks=False)


def _old_name(target: Path) -> Path:
    return target.with_name(f".{target.name}.overlapsim-old")


def _swap(temporary: Path, target: Path) -> None:
    """Change places. A break-off between the two steps is mended at once, or by the next run."""
    old = _old_name(target)
    try:
        if target.is_dir():
            target.rename(old)
        temporary.rename(target)
    finally:
        _restore(target)


def _restore(target: Path) -> None:
    """Finish what a run left behind that was broken off while the folders changed places."""
    old = _old_name(target)
    if not old.is_dir():
        return
    if target.exists():
        # The new folder is in place and holds everything that was to stay.
        shutil.rmtree(old, ignore_errors=True)
    else:
        old.rename(target)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
