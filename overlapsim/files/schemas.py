"""Schemas for editors, as files beside the scenarios that they describe."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from overlapsim.basics.errors import Fault, FolderError
from overlapsim.scenario.schemas import machine_schema, scenario_schema

__all__ = ["SCHEMAS", "others_schemas", "schema_files", "schema_line", "schema_text", "write_schemas"]

SCHEMAS: dict[str, Callable[[], dict[str, Any]]] = {
    "scenario": scenario_schema,
    "machine": machine_schema,
}
"""What there are schemas of."""


def schema_line(kind: str) -> str:
    """Write the first line of a file that tells editors where its schema is.

    Parameters
    ----------
    kind : str
        One of :data:`SCHEMAS`.

    Returns
    -------
    str
        A comment in TOML.

    Examples
    --------
    >>> schema_line("machine")
    '#:schema ./machine.schema.json'
    """
    return f"#:schema ./{_name(kind)}"


def _name(kind: str) -> str:
    return f"{kind}.schema.json"


@cache
def schema_text(kind: str) -> str:
    """Write a schema as JSON.

    Parameters
    ----------
    kind : str
        One of :data:`SCHEMAS`.

    Returns
    -------
    str
        The same bytes each time.
    """
    return json.dumps(SCHEMAS[kind](), indent=1, ensure_ascii=False) + "\n"


def write_schemas(folder: str | os.PathLike[str]) -> list[Path]:
    """Write all schemas into a folder, over older ones of the same names.

    Parameters
    ----------
    folder : path
        Made where it is absent.

    Returns
    -------
    list of Path
        What was written.

    Raises
    ------
    FolderError
        Where a file of such a name is no schema of ours, or cannot be written.
    """
    into = Path(folder)
    files = schema_files(into)
    faults = others_schemas(into)
    if faults:
        raise FolderError(faults)
    into.mkdir(parents=True, exist_ok=True)
    for path, content in files.items():
        whole = path.with_name(f".{path.name}.new")
        whole.write_bytes(content)
        whole.replace(path)
    return list(files)


def schema_files(folder: Path) -> dict[Path, bytes]:
    """Say which files a folder of scenarios needs for its schemas.

    Parameters
    ----------
    folder : Path
        Where scenarios stand.

    Returns
    -------
    dict of Path to bytes
        What is to stand where.
    """
    return {folder / _name(kind): schema_text(kind).encode() for kind in SCHEMAS}


def others_schemas(folder: Path) -> list[Fault]:
    """Find files that bear the name of a schema of ours and are none.

    Parameters
    ----------
    folder : Path
        Where scenarios stand.

    Returns
    -------
    list of Fault
        One for each.
    """
    return [
        Fault("is there already, and is no schema of overlapsim", "Move it away.", file=str(path))
        for path in schema_files(folder)
        if os.path.lexists(path) and not _is_ours(path)
    ]


def _is_ours(path: Path) -> bool:
    """Tell a schema of an earlier version from somebody else's file."""
    try:
        title = json.loads(path.read_text(encoding="utf-8")).get("title", "")
    except (OSError, ValueError, AttributeError):
        return False
    return str(title).startswith("overlapsim: ")
