"""Finished cases of a long run, a file each, so that a run that was broken off goes on where it was."""

from __future__ import annotations

import functools
import hashlib
import json
import os
import re
from pathlib import Path
from typing import Any

from overlapsim.questions.cases import Store

_OURS = re.compile(r"[0-9a-f]{64}\.(?:json|\d+\.tmp)")


def work_folder(out: Path) -> Path:
    """Say where the finished cases of a run wait until its results are written.

    Parameters
    ----------
    out : Path
        Folder of the results.

    Returns
    -------
    Path
        A hidden folder beside it: results appear whole or not at all, so this cannot be in it.

    Examples
    --------
    >>> work_folder(Path("reports/home")).as_posix()
    'reports/.home.overlapsim-cases'
    """
    target = Path(os.path.abspath(out)) if out.name in ("", "..") else out
    return target.with_name(f".{target.name}.overlapsim-cases")


class CaseFolder(Store):
    """A folder of finished cases, one file for each, named by the hash of the case's inputs.

    A file is written under another name and then put in its place, so that it is whole or absent whenever the
    program ends. It is of use only to the very program that wrote it: the code's fingerprint stands in it.

    Parameters
    ----------
    folder : Path
        The folder; made when the first case is kept.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as home:
    ...     kept = CaseFolder(Path(home, "cases"))
    ...     kept.save("0" * 64, {"skip_m2": 0.1})
    ...     kept.load("0" * 64), len(kept), kept.load("1" * 64)
    ({'skip_m2': 0.1}, 1, None)
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __len__(self) -> int:
        return len([name for name in self._names() if name.endswith(".json")])

    def load(self, key: str) -> dict[str, Any] | None:
        """Read a case.

        Parameters
        ----------
        key : str
            Hash of its inputs, 64 hexadecimal digits.

        Returns
        -------
        dict or None
            None where there is none, or one that cannot be read or that other code has written.
        """
        try:
            found = json.loads((self.folder / f"{key}.json").read_text(encoding="utf-8"))
            outcome = found["outcome"]
            return outcome if found["code"] == code_fingerprint() and isinstance(outcome, dict) else None
        except (OSError, ValueError, TypeError, KeyError):
            return None

    def save(self, key: str, outcome: dict[str, Any]) -> None:
        """Write a case.

        Parameters
        ----------
        key : str
            Hash of its inputs, 64 hexadecimal digits.
        outcome : dict
            JSON types only; numbers are read back to the last bit.
        """
        self.folder.mkdir(parents=True, exist_ok=True)
        text = json.dumps({"code": code_fingerprint(), "outcome": outcome}, ensure_ascii=False)
        temporary = self.folder / f"{key}.{os.getpid()}.tmp"
        try:
            temporary.write_text(text, encoding="utf-8", newline="\n")
            os.replace(temporary, self.folder / f"{key}.json")
        finally:
            temporary.unlink(missing_ok=True)

    def clear(self) -> None:
        """Take all cases away, and the folder if nothing else is in it."""
        for name in self._names():
            (self.folder / name).unlink(missing_ok=True)
        try:
            self.folder.rmdir()
        except OSError:
            # Gone already, or somebody keeps something in it.
            return

    def _names(self) -> list[str]:
        try:
            return sorted(name for name in os.listdir(self.folder) if _OURS.fullmatch(name))
        except OSError:
            return []


@functools.cache
def code_fingerprint() -> str:
    """Take the fingerprint of this package's code.

    Returns
    -------
    str
        SHA-256 over all of its modules, hexadecimal.
    """
    home = Path(__file__).parents[1]
    digest = hashlib.sha256()
    for path in sorted(home.rglob("*.py")):
        digest.update(path.relative_to(home).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()
