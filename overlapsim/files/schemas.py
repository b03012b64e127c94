"""Schemas for editors, as files beside the scenarios that they describe."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from overlapsim.basics.errors import Fault, FolderError
from overlapsim.scenario.schemas import machine_schema, scenario_schema

__all__ = ["SCHEMAS", "schema_line", "schema_text", "write_schemas"]

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
    paths = {kind: into / _name(kind) for kind in SCHEMAS}
    faults = [
        Fault("is there already, and is no schema of overlapsim", "Move it away.", file=str(path))
        for path in paths.values()
        if path.exists() and not _is_ours(path)
    ]
    if faults:
        raise FolderError(faults)
    into.mkdir(parents=True, exist_ok=True)
    for kind, path in paths.items():
        whole = path.with_name(f".{path.name}.new")
        whole.write_text(schema_text(kind), encoding="utf-8", newline="\n")
        whole.replace(path)
    return list(paths.values())


def _is_ours(path: Path) -> bool:
    """Tell a schema of an earlier version from somebody else's file."""
    try:
        title = json.loads(path.read_text(encoding="utf-8")).get("title", "")
    except (OSError, ValueError, AttributeError):
        return False
    return str(title).startswith("overlapsim: ")
