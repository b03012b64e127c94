"""The table of a study as Parquet, written chunk by chunk."""

from __future__ import annotations

import importlib.util
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from overlapsim.questions.study import StudyResult

ROWS = 4096
"""Rows that are written together (a row group of Parquet); few enough for little memory."""

_TYPES = {"number": "float64", "count": "int64", "text": "string"}


def has_parquet() -> bool:
    """Say whether Parquet can be written here.

    Returns
    -------
    bool
        Whether pyarrow is installed.
    """
    return importlib.util.find_spec("pyarrow") is not None


def _batches(result: StudyResult) -> Iterator[dict[str, Any]]:
    """Chunks, joined until there are rows enough to be written together."""
    names = [column.name for column in result.study.columns]
    waiting: list[dict[str, Any]] = []
    rows = 0
    for chunk in result.chunks():
        waiting.append(chunk)
        rows += len(chunk["case"])
        if rows >= ROWS:
            yield {name: np.concatenate([one[name] for one in waiting]) for name in names}
            waiting, rows = [], 0
    if waiting:
        yield {name: np.concatenate([one[name] for one in waiting]) for name in names}


def write_parquet(path: Path, result: StudyResult) -> None:
    """Write a row for each case; units and definitions stand with the columns.

    Parameters
    ----------
    path : Path
        Where to.
    result : StudyResult
        Finished chunks. The same ones give the same bytes.

    Raises
    ------
    OSError
        It cannot be written, as where the disk is full.
    """
    import pyarrow
    from pyarrow import parquet

    types = {"float64": pyarrow.float64(), "int64": pyarrow.int64(), "string": pyarrow.string()}
    schema = pyarrow.schema(
        [
            pyarrow.field(
                one.name, types[_TYPES[one.kind]],
                metadata={"unit": one.unit, "definition": one.definition},
            )
            for one in result.study.columns
        ]
    )  # fmt: skip
    try:
        with parquet.ParquetWriter(path, schema) as writer:
            for batch in _batches(result):
                arrays = [pyarrow.array(batch[one.name], type=one.type) for one in schema]
                writer.write_table(pyarrow.table(arrays, schema=schema))
    except OSError as error:
        # The library tells it in words of its own; people know the system's.
        if error.errno is None:
            raise
        raise OSError(error.errno, os.strerror(error.errno)) from error
