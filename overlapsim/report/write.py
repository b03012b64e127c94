"""The folder of results: everything that a run leaves behind, whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from overlapsim.report.data import report_of
from overlapsim.report.fields_table import fields_columns
from overlapsim.report.latency_map import latency_keys
from overlapsim.report.terminal import text_of
from overlapsim.report.values import csv_text, json_text

if TYPE_CHECKING:
    from overlapsim.report.card import Card


@dataclass(frozen=True)
class Written:
    """What was written.

    Attributes
    ----------
    folder : Path
        Where the results are.
    warnings : tuple of str
        Files that stayed as they were because somebody has changed them, one sentence each.
    """

    folder: Path
    warnings: tuple[str, ...]


def write_results(
    result: Any,
    folder: str | os.PathLike[str],
    units: str | None = None,
    progress: Callable[[str], None] | None = None,
    *,
    card: Card | None = None,
    paper: str | None = None,
) -> Written:
    """Write a result's folder.

    Parameters
    ----------
    result : Simulation, TuneResult, CausesResult, PatternsResult, CorrectResult, DigPlan or ChangeoverResult
        Finished result.
    folder : path
        Absent, empty, or a folder of earlier results: what its manifest lists is replaced, all else stays.
    units : {"us", "metric"}, optional
        Of the summary and the pictures. Default: the scenario's own.
    progress : callable, optional
        Called with the name of the file that comes next.
    card : Card, optional
        A settings card to leave as well. A changeover has its own anyhow.
    paper : {"letter", "a4"}, optional
        Of the card. Default: by its units.

    Returns
    -------
    Written
        Where they are, and what was not replaced.

    Raises
    ------
    FolderError
        The folder is not ours, or cannot be written. Nothing is left behind then.

    Notes
    -----
    Always ``result.json``, ``report.html`` and ``summary.txt``. Of a simulation, a search or a breakdown into
    causes also ``layers.gpkg``, ``row-ends.png`` and ``field.png``, of several fields together
    ``fields.csv``; of a search ``grower.html``, ``sweep.csv`` and ``offset-curve.png``, ``best-offset.png``
    where both latencies are swept, ``times.png`` where both times are searched, ``uncertain.png`` where what
    may be off was drawn; of causes ``causes.png``. Of a comparison of ways to drive a field ``patterns.csv``
    and ``maps.png``, of digs ``digs.png``, of a plan of digs ``sheet.csv``, of a changeover ``card.pdf`` and
    ``forgotten.png``; what was asked besides a search leaves these files in its folder. Same input, same
    bytes.
    """
    from overlapsim.files.folder import writing

    makers = _files_of(result, units)
    if card or hasattr(result, "forgotten"):
        makers["card.pdf"] = lambda path: _card(path, card, result, units, paper)
    with writing(folder) as new:
        for name, make in makers.items():
            if progress:
                progress(name)
            make(new / name)
    return Written(Path(folder), tuple(new.warnings))


def _card(path: Path, card: Card | None, result: Any, units: str | None, paper: str | None) -> None:
    from overlapsim.report.card import card_of
    from overlapsim.report.card_page import card_pdf

    path.write_bytes(card_pdf(card or card_of(result, units=units), paper))


def _text(path: Path, content: str) -> None:
    path.write_text(content, encoding="utf-8", newline="\n")


def _files_of(result: Any, units: str | None) -> dict[str, Callable[[Path], object]]:
    """Say which files a result has, and how each is made."""
    from overlapsim.files.layers import write_layers
    from overlapsim.report.page.pages import report_page

    makers: dict[str, Callable[[Path], object]] = {
        "result.json": lambda path: _text(path, json_text(result)),
        "summary.txt": lambda path: _text(path, text_of(report_of(result, units))),
        "report.html": lambda path: _text(path, report_page(result, units)),
    }
    if hasattr(result, "layers"):
        makers |= {
            "layers.gpkg": lambda path: write_layers(path, result.layers, result.scenario.field.plane),
            "row-ends.png": _drawn("row-ends.png", result, units),
            "field.png": _drawn("field.png", result, units),
        }
        if result.scenario.field.part_names:
            makers["fields.csv"] = _table(lambda: fields_columns(result))
    return makers | _own_files(result, units)


def _own_files(result: Any, units: str | None) -> dict[str, Callable[[Path], object]]:
    """Say which files a result has that no other question leaves."""
    if hasattr(result, "patterns"):
        return {
            "patterns.csv": _table(lambda: result.table),
            "maps.png": _drawn("maps.png", result, units),
        }
    if hasattr(result, "forgotten"):
        return {"forgotten.png": _drawn("forgotten.png", result, units)}
    if hasattr(result, "turns"):
        from overlapsim.report.dig_sheet import sheet_text
        from overlapsim.report.words import choose

        words = choose(units, result.scenario)
        return {"sheet.csv": lambda path: _text(path, sheet_text(result, words))}
    if hasattr(result, "estimates"):
        return {"digs.png": _drawn("digs.png", result, units)}
    if hasattr(result, "lines"):
        return {"causes.png": _drawn("causes.png", result, units)}
    return _tune_files(result, units) if hasattr(result, "sweep_table") else {}


def _tune_files(result: Any, units: str | None) -> dict[str, Callable[[Path], object]]:
    """Say which files a search has, with those of what was asked besides."""
    from overlapsim.report.page.grower import grower_page

    pictures = {
        "offset-curve.png": True,
        "best-offset.png": latency_keys(result.sweep.cases),
        "uncertain.png": result.uncertain,
        "times.png": result.joint,
    }
    makers: dict[str, Callable[[Path], object]] = {
        "grower.html": lambda path: _text(path, grower_page(result, units)),
        "sweep.csv": _table(lambda: result.sweep_table),
        **{name: _drawn(name, result, units) for name, there in pictures.items() if there},
    }
    for _, answer in result.also or ():
        for name, make in _own_files(answer, units).items():
            stem, dot, ending = name.partition(".")
            # From each of several row setups a picture of its own.
            more = sum(other.startswith(stem) for other in makers)
            makers[f"{stem}-{more + 1}{dot}{ending}" if more else name] = make
    return makers


def _drawn(name: str, result: Any, units: str | None) -> Callable[[Path], object]:
    from overlapsim.report.pictures import picture

    return lambda path: path.write_bytes(picture(name, result, units))


def _table(columns: Callable[[], Mapping[str, np.ndarray]]) -> Callable[[Path], object]:
    return lambda path: _text(path, csv_text(columns()))
