"""The folder of a study's results: table, what its columns are, effects, indices, pictures and a page."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from overlapsim.report.study_page import study_page
from overlapsim.report.study_pictures import effects_picture, shape_picture
from overlapsim.report.study_report import study_report
from overlapsim.report.study_words import in_words
from overlapsim.report.terminal import text_of
from overlapsim.report.values import as_json, csv_text
from overlapsim.report.write import Written


def write_study(
    result: Any,
    folder: str | os.PathLike[str],
    progress: Callable[[str], None] | None = None,
    bundle: bool = False,
) -> tuple[Written, dict[str, Any]]:
    """Write a study's folder.

    Parameters
    ----------
    result : StudyResult
        Finished, with all its chunks.
    folder : path
        Absent, empty, or a folder of earlier results: what its manifest lists is replaced, all else stays.
    progress : callable, optional
        Called with the name of the file that comes next.
    bundle : bool
        Whether an archive that reruns itself is written as well.

    Returns
    -------
    Written
        Where they are, and what was not replaced.
    report : dict
        What there is to say, as :mod:`overlapsim.report.data` makes reports.

    Raises
    ------
    FolderError
        The folder is not ours, or cannot be written. Nothing is left behind then.

    Notes
    -----
    ``cases.parquet`` (without pyarrow ``cases.csv``), ``columns.csv``, ``effects.csv``, ``interactions.csv``,
    ``indices.csv`` (where there are any), ``result.json``, ``summary.txt``, pictures and
    ``report.html``; with `bundle` ``bundle.zip``. Same input, same bytes.
    """
    from overlapsim.files.folder import writing
    from overlapsim.files.study_bundle import write_bundle
    from overlapsim.files.study_table import has_parquet, write_parquet

    def tell(name: str) -> None:
        if progress:
            progress(name)

    table = "cases.parquet" if has_parquet() else "cases.csv"
    with writing(folder) as new:
        tell(table)
        if has_parquet():
            write_parquet(new / table, result)
        else:
            _write_csv(new / table, result)
        _text(new / "columns.csv", csv_text(_columns(result)))
        tell("result.json")
        told = result.to_dict()
        _text(new / "result.json", as_json(told))
        for name in ("effects", "interactions", "indices", "shape"):
            if told[name]:
                _text(new / f"{name}.csv", csv_text(_of_rows(told[name])))
        told = in_words(told, result.study.bases[0].units)
        report = study_report(result, told)
        _text(new / "summary.txt", text_of(report))
        pictures: dict[str, bytes] = {}
        for response, words in told["responses"].items():
            if any(one["response"] == response for one in told["effects"]):
                name = f"effects-{response.replace('_', '-')}.png"
                tell(name)
                pictures[words] = effects_picture(told, response)
                (new / name).write_bytes(pictures[words])
        if told["shape"]:
            tell("shape.png")
            pictures["combined error against perimeter over area"] = shape_picture(result)
            (new / "shape.png").write_bytes(pictures["combined error against perimeter over area"])
        tell("report.html")
        _text(new / "report.html", study_page(result, told, pictures))
        if bundle:
            tell("bundle.zip")
            write_bundle(new.path, result.study)
    return Written(Path(folder), tuple(new.warnings)), report


def _text(path: Path, content: str) -> None:
    path.write_text(content, encoding="utf-8", newline="\n")


def _columns(result: Any) -> dict[str, np.ndarray]:
    named = {"column": "name", "kind": "kind", "unit": "unit", "definition": "definition"}
    return {
        head: np.array([getattr(one, key) for one in result.study.columns], dtype=object)
        for head, key in named.items()
    }


def _of_rows(rows: Sequence[dict[str, Any]]) -> dict[str, np.ndarray]:
    names = list(dict.fromkeys(name for row in rows for name in row))
    return {name: np.array([row.get(name) for row in rows], dtype=object) for name in names}


def _write_csv(path: Path, result: Any) -> None:
    """Write the table chunk by chunk, the line of names once."""
    names = [column.name for column in result.study.columns]
    with open(path, "w", encoding="utf-8", newline="\n") as stream:
        for number, chunk in enumerate(result.chunks()):
            columns = {
                name: np.array(one, dtype=object) if isinstance(one, list) else one
                for name, one in ((name, chunk[name]) for name in names)
            }
            text = csv_text(columns)
            stream.write(text if number == 0 else text.partition("\n")[2])
