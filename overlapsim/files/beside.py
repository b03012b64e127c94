"""A table beside folders of results: written whole, and never over a file that somebody else has made."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from pathlib import Path
from typing import Any

from overlapsim.files.manifest import MANIFEST, digest_of

#: What the list beside folders of results says it belongs to: such a folder is no folder of results itself.
_MADE_BY = "overlapsim summary"


def write_beside(folder: Path, name: str, text: str) -> list[str]:
    """Write a table into a folder that holds folders of results.

    Parameters
    ----------
    folder : Path
        Made where it is missing. A list of its own in it says which table is ours.
    name : str
        Name of the file.
    text : str
        What is to stand in it.

    Returns
    -------
    list of str
        What to tell people: empty, or why the file was not written.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as home:
    ...     write_beside(Path(home), "summary.csv", "a,b\\n"), sorted(os.listdir(home))
    ([], ['manifest.json', 'summary.csv'])
    """
    folder.mkdir(parents=True, exist_ok=True)
    listed = _listed(folder)
    path = folder / name
    if listed is None:
        return [f"{folder.name}/{MANIFEST} is somebody else's: {name} is not written. Take another --out."]
    known = listed["files"].get(name)
    if os.path.lexists(path) and (path.is_symlink() or not path.is_file() or digest_of(path) != known):
        return [
            f"{folder.name}/{name} is not ours, or was changed by somebody: kept, the new one is not "
            "written. Delete it and run again to get the new one."
        ]
    content = text.encode()
    listed["files"][name] = hashlib.sha256(content).hexdigest()
    manifest = json.dumps(listed, indent=1, sort_keys=True) + "\n"
    _put(folder / MANIFEST, manifest.encode())
    _put(path, content)
    return []


def _listed(folder: Path) -> dict[str, Any] | None:
    """Read the folder's list: ours, that of results which stand in it, a new one, or None for another's."""
    path = folder / MANIFEST
    if not os.path.lexists(path):
        return {"made_by": _MADE_BY, "files": {}}
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        ours = found["made_by"] in (_MADE_BY, "overlapsim") and isinstance(found["files"], dict)
    except (OSError, ValueError, TypeError, KeyError):
        return None
    return found if ours else None


def _put(path: Path, content: bytes) -> None:
    """Write a file whole or not at all."""
    handle, temporary = tempfile.mkstemp(prefix=f".{path.name}-", suffix=".tmp", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        # Temporary files are their maker's alone; results are for whoever may read the folder.
        os.chmod(temporary, path.parent.stat().st_mode & 0o666)
        os.replace(temporary, path)
    finally:
        Path(temporary).unlink(missing_ok=True)
