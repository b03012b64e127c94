"""The list of what a folder of results holds: which files are ours, and whether anybody has changed them."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

MANIFEST = "manifest.json"
#: What a manifest says it belongs to.
_MADE_BY = "overlapsim"


def read_manifest(folder: Path) -> dict[str, str] | None:
    """Read which files of a folder are results.

    Parameters
    ----------
    folder : Path
        A folder.

    Returns
    -------
    dict or None
        SHA-256 by name (with / between folders); None if there is no manifest of ours.
    """
    try:
        found = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        if found["made_by"] != _MADE_BY:
            return None
        return {str(name): str(digest) for name, digest in found["files"].items()}
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None


def write_manifest(folder: Path) -> None:
    """Write the list of everything that a folder holds into it.

    Parameters
    ----------
    folder : Path
        A folder of results, all of them ours.
    """
    files = {name: digest_of(folder / name) for name in names_below(folder)}
    text = json.dumps({"made_by": _MADE_BY, "files": files}, indent=1, sort_keys=True) + "\n"
    (folder / MANIFEST).write_text(text, encoding="utf-8", newline="\n")


def names_below(folder: Path) -> list[str]:
    """List files and links below a folder.

    Parameters
    ----------
    folder : Path
        A folder.

    Returns
    -------
    list of str
        Names with / between folders, in order.
    """
    names = []
    for root, folders, files in os.walk(folder):
        links = [f for f in folders if (Path(root) / f).is_symlink()]
        names += [(Path(root) / f).relative_to(folder).as_posix() for f in (*files, *links)]
    return sorted(names)


def digest_of(path: Path) -> str:
    """Take the fingerprint of a file.

    Parameters
    ----------
    path : Path
        A file.

    Returns
    -------
    str
        SHA-256, hexadecimal.
    """
    with open(path, "rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
