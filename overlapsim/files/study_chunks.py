"""Finished chunks of a study, a file each: whole or absent, and never mixed with another study's."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from overlapsim.basics.errors import Fault, FolderError
from overlapsim.files.cases import code_fingerprint
from overlapsim.files.versions import under_results
from overlapsim.questions.study_case import Columns
from overlapsim.questions.study_plan import Study
from overlapsim.questions.study_store import ChunkStore

ABOUT = "study.json"
"""File that says whose chunks a folder holds."""

_MADE_BY = "overlapsim study"
_OURS = re.compile(r"[0-9a-f]{64}\.chunk(?:\.\d+\.tmp|\.damaged)?")


def chunk_folder(out: Path) -> Path:
    """Say where the finished chunks of a study are kept.

    Parameters
    ----------
    out : Path
        Folder of the results.

    Returns
    -------
    Path
        A folder beside it.

    Examples
    --------
    >>> chunk_folder(Path("reports/stagger")).as_posix()
    'reports/stagger-chunks'
    """
    target = Path(os.path.abspath(out)) if out.name in ("", "..") else out
    return target.with_name(f"{target.name}-chunks")


@cache
def _program() -> str:
    """Everything besides a study that digits depend on: this code, and the libraries underneath."""
    return " ".join([code_fingerprint(), *under_results().values()])


class ChunkFolder(ChunkStore):
    """A folder of finished chunks, each named by the hash of its inputs, this code and its libraries.

    A chunk is written under another name and then put in its place, so that it is whole or absent whenever
    the program ends; its own hash stands in it, so that damage shows.

    Parameters
    ----------
    folder : Path
        Absent, empty, or the same study's.
    study : Study
        Whose chunks they are.

    Raises
    ------
    FolderError
        The folder holds another study's chunks, or something else.
    """

    shared = True

    def __init__(self, folder: Path, study: Study) -> None:
        self.folder, self.damaged, self._whole = folder, [], set[str]()  # type: tuple[Path, list[str], set[str]]
        self._claim(study)

    def _claim(self, study: Study) -> None:
        try:
            about = json.loads((self.folder / ABOUT).read_text(encoding="utf-8"))
            made_by, owner, title = about["made_by"], about["sha256"], about["title"]
        except (OSError, ValueError, TypeError, KeyError):
            made_by, owner, title = "", "", ""
        remedy = "Take another --out, or delete that folder if nobody needs it."
        if made_by == _MADE_BY and owner != study.sha256:
            rule = f'holds chunks of another study, "{title}": nothing was changed'
            raise FolderError(Fault(rule, remedy, file=str(self.folder)))
        if made_by == _MADE_BY:
            return
        if self.folder.is_dir() and any(not name.endswith(".tmp") for name in os.listdir(self.folder)):
            rule = f"holds files and no {ABOUT} of ours: not a folder of chunks, nothing was changed"
            raise FolderError(Fault(rule, remedy, file=str(self.folder)))
        about = {"made_by": _MADE_BY, "sha256": study.sha256, "title": study.title}
        self._put(ABOUT, (json.dumps(about, indent=1, ensure_ascii=False) + "\n").encode())

    def _name(self, key: str) -> str:
        return hashlib.sha256(f"{key} {_program()}".encode()).hexdigest() + ".chunk"

    def _has(self, key: str) -> bool:
        name = self._name(key)
        if name not in self._whole:
            try:
                raw = (self.folder / name).read_bytes()
            except OSError:
                return False
            if _digest_fits(raw):
                self._whole.add(name)
            else:
                os.replace(self.folder / name, self.folder / f"{name}.damaged")
                self.damaged.append(name)
        return name in self._whole

    def _load(self, key: str) -> Columns:
        raw = (self.folder / self._name(key)).read_bytes()
        if not _digest_fits(raw):
            rule = f"{self._name(key)} was damaged while the study ran"
            raise FolderError(Fault(rule, "Run the same again.", file=str(self.folder)))
        return _unpacked(raw)

    def _save(self, key: str, columns: Columns) -> None:
        self._put(self._name(key), _packed(columns))

    def _put(self, name: str, content: bytes) -> None:
        temporary = self.folder / f"{name}.{os.getpid()}.tmp"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            temporary.write_bytes(content)
            os.replace(temporary, self.folder / name)
        except OSError as error:
            why = (error.strerror or type(error).__name__).lower()
            full = error.errno in (errno.ENOSPC, errno.EDQUOT)
            remedy = "Free some space, then run the same again: it goes on from there." if full else (
                "Free it, or take another --out.")  # fmt: skip
            rule = f"cannot be written: {why}. What is done is kept"
            raise FolderError(Fault(rule, remedy, file=str(self.folder))) from None
        finally:
            _remove(temporary)

    def notices(self, keys: Sequence[str]) -> list[str]:
        """Say what in the folder is not used.

        Parameters
        ----------
        keys : sequence of str
            Hashes of all chunks of the study, after each was looked for.

        Returns
        -------
        list of str
            One sentence each.
        """
        wanted = {self._name(key) for key in keys}
        there = sorted(os.listdir(self.folder))
        ours = [name for name in there if _OURS.fullmatch(name)]
        old = [name for name in ours if name.endswith(".chunk") and name not in wanted]
        foreign = [name for name in there if name not in ours and name != ABOUT]
        said = []
        if self.damaged:
            said.append(
                f"{len(self.damaged)} damaged: set aside as *.damaged and worked out again "
                f"({self.damaged[0][:12]}…)."
            )
        if old:
            said.append(
                f"{len(old)} of another version of overlapsim or its libraries, or of fields that have "
                "changed: not used, left where they are."
            )
        if foreign:
            said.append(f"{len(foreign)} files of somebody else's ({foreign[0]}): left alone.")
        return [f"{self.folder}: {one}" for one in said]

    def tidy(self) -> None:
        """Take away what writers that were killed left half written; only when no other is at work."""
        for name in os.listdir(self.folder):
            if _OURS.fullmatch(name) and name.endswith(".tmp"):
                _remove(self.folder / name)


def _remove(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return


def _packed(columns: Columns) -> bytes:
    """A chunk as bytes: the hash of what follows, a line that tells the columns, then their numbers.

    What is the same in all cases to the last bit is kept once.
    """
    told: list[list[Any]] = []
    parts: list[bytes] = []
    for name, values in columns.items():
        if isinstance(values, list):
            same = len(set(values)) == 1
            told.append([name, values[:1] if same else values, len(values)])
            continue
        kind = "<i8" if values.dtype.kind == "i" else "<f8"
        bits = np.ascontiguousarray(values, dtype=kind)
        kept = bits[:1] if (bits.view("<i8") == bits[:1].view("<i8")).all() else bits
        told.append([name, kind, len(bits), len(kept)])
        parts.append(kept.tobytes())
    body = json.dumps(told, ensure_ascii=False).encode() + b"\n" + b"".join(parts)
    return hashlib.sha256(body).hexdigest().encode() + b"\n" + body


def _digest_fits(raw: bytes) -> bool:
    head, _, body = raw.partition(b"\n")
    return bool(body) and head == hashlib.sha256(body).hexdigest().encode()


def _unpacked(raw: bytes) -> Columns:
    _, told, rest = raw.split(b"\n", 2)
    found: Columns = {}
    place = 0
    for name, kind, count, *kept in json.loads(told):
        if isinstance(kind, str):
            values = np.frombuffer(rest, dtype=kind, count=kept[0], offset=place)
            found[name] = values if kept[0] == count else np.full(count, values[0])
            place += 8 * kept[0]
        else:
            found[name] = kind if len(kind) == count else kind * count
    return found
