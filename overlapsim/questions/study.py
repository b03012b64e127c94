"""Studies: many cases of one question, worked out chunk by chunk, on one machine or on many."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from importlib import import_module
from typing import Any

import numpy as np

from overlapsim.basics.errors import Fault, InputError
from overlapsim.questions.cases import run_cases
from overlapsim.questions.study_case import Columns, compute_chunk
from overlapsim.questions.study_plan import Study
from overlapsim.questions.study_store import ChunkStore, Memory

Progress = Callable[[int, int, str], None]
"""Called with what is done, what there is to do, and what is being done."""

TRIES = 3
"""How often in a row a pool of processes is begun anew without one more chunk done before it is given up."""

_ALONE = threading.Lock()
"""Crossings that are kept belong to one chunk at a time, also where workers are threads."""


@dataclass(frozen=True)
class StudyResult:
    """What a study came to.

    Attributes
    ----------
    study : Study
        What was studied.
    store : ChunkStore
        Holds the finished chunks.
    keys : tuple of str
        Hashes of all chunks, in the order of the table.
    missing : tuple of int
        Chunks that are not there yet, as other parts of the study work them out.

    Examples
    --------
    >>> from overlapsim import Scenario, Study, run_study
    >>> from overlapsim.questions.study_design import Design, Factor
    >>> base = Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"}}},
    ...     "field": {"rectangle": ["4 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... })
    >>> grid = Design((Factor("switching.sections", (1, 2, 4)), Factor("speed.working", (1.0, 2.0))))
    >>> study = Study("sections", "sections", (base,), ("bar",), grid)
    >>> done = run_study(study)
    >>> done.complete, done.errors, done.take(["stagger_skip_m2"])["stagger_skip_m2"].tolist()
    (True, [], [0.0, 0.0, 0.0, 0.0, 0.0, 0.0])
    """

    study: Study
    store: ChunkStore
    keys: tuple[str, ...]
    missing: tuple[int, ...] = ()

    @property
    def complete(self) -> bool:
        """Whether all chunks are there."""
        return not self.missing

    def chunks(self) -> Iterator[Columns]:
        """Read the table chunk by chunk, so that it need not fit into memory.

        Yields
        ------
        dict of str to list or ndarray, shape (cases,)
            Columns by name, SI.
        """
        for key in self.keys:
            yield self.store.load(key)

    def take(self, names: Sequence[str]) -> dict[str, np.ndarray]:
        """Read some columns.

        Parameters
        ----------
        names : sequence of str
            Which.

        Returns
        -------
        dict of str to ndarray, shape (cases,)
            By name, SI.
        """
        parts: dict[str, list[Any]] = {name: [] for name in names}
        for chunk in self.chunks():
            for name in names:
                parts[name].append(np.asarray(chunk[name], dtype=object if _texts(chunk[name]) else None))
        return {name: np.concatenate(found) for name, found in parts.items()}

    @cached_property
    def table(self) -> dict[str, np.ndarray]:
        """The whole table: columns by name, SI, a row for each case."""
        return self.take([column.name for column in self.study.columns])

    @cached_property
    def errors(self) -> list[tuple[int, str]]:
        """Number of each case that failed, and why."""
        found = self.take(["case", "error"])
        return [(int(n), str(why)) for n, why in zip(found["case"], found["error"], strict=True) if why]

    def to_dict(self) -> dict[str, Any]:
        """All that is said of a study, the table aside.

        Returns
        -------
        dict
            What `result.json` holds, SI units, JSON types only.
        """
        effects = import_module("overlapsim.questions.study_effects")
        return {
            "command": "study",
            "schema": 1,
            **self.study.to_dict(),
            "chunks": len(self.keys),
            "failed": [{"case": number, "error": why} for number, why in self.errors],
            **effects.told_of(self),
        }


def _texts(values: Any) -> bool:
    return isinstance(values, list)


def run_study(
    study: Study,
    store: ChunkStore | None = None,
    *,
    workers: int = 1,
    scheduler: str | None = None,
    part: tuple[int, int] = (1, 1),
    progress: Progress | None = None,
) -> StudyResult:
    """Work a study out, or what is missing of it.

    Parameters
    ----------
    study : Study
        As `overlapsim.load_study` reads it.
    store : ChunkStore, optional
        Where finished chunks are kept; by default in memory.
    workers : int
        Processes that work side by side. 1 = this one alone.
    scheduler : str, optional
        Address of a Dask scheduler whose workers do the work, as in ``"tcp://10.0.0.5:8786"``.
    part : tuple of int
        `(3, 40)`: of 40 equal parts only the third is worked out.
    progress : callable, optional
        Called with chunks done, chunks in all and what is being done.

    Returns
    -------
    StudyResult
        The same bytes whatever the number of workers, and however often it was broken off.

    Raises
    ------
    InputError
        A part that is none.
    MemoryError
        Where processes are ended from outside again and again, as by want of memory.

    Examples
    --------
    >>> from overlapsim import Scenario, run_study
    >>> from overlapsim.questions.study_design import Design, Factor
    >>> from overlapsim.questions.study_plan import Study
    >>> base = Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 4, "spacing": "1 m", "behind_pin": "2 m"}}},
    ...     "field": {"rectangle": ["4 m", "100 m"]},
    ...     "speed": {"working": "2 m/s"},
    ...     "switching": {"reference_offset": "2 m", "turn_on_time": "0 s", "turn_off_time": "0 s"},
    ... })
    >>> design = Design((Factor("switching.reference_offset", (2.0, 2.25, 2.5)),))
    >>> done = run_study(Study("late", "late", (base,), ("bar",), design))
    >>> done.table["as_set_skip_m2"].round(9).tolist()
    [0.0, 1.0, 2.0]
    """
    number, of = part
    if not 1 <= number <= of:
        remedy = 'Write "3/40" for the third of forty.'
        raise InputError(Fault("is no part", remedy, "part", f"{number}/{of}"))
    store = store or Memory()
    chunks = study.chunks
    keys = tuple(study.key(chunk) for chunk in chunks)
    mine = [chunk for chunk in chunks if chunk % of == number - 1]
    todo = [chunk for chunk in mine if not store.has(keys[chunk])]
    done = len(mine) - len(todo)

    def tell(more: int) -> None:
        if progress:
            progress(done + more, len(mine), "chunks of cases")

    tell(0)
    if scheduler is not None:
        cluster = import_module("overlapsim.questions.study_cluster")
        cluster.run_on_cluster(scheduler, study, {keys[chunk]: chunk for chunk in todo}, store, tell)
    else:
        _here(study, store, keys, todo, workers, tell)
    there = [store.has(key) for key in keys] if of > 1 else [True] * len(keys)
    return StudyResult(study, store, keys, tuple(c for c in chunks if not there[c]))


def _here(
    study: Study,
    store: ChunkStore,
    keys: Sequence[str],
    todo: list[int],
    workers: int,
    tell: Callable[[int], None],
) -> None:
    """Work chunks out on this machine; a pool that lost a process is begun anew with what is left."""
    before, tries = len(todo), TRIES
    while todo:
        known = before - len(todo)
        if not store.shared:
            workers = 1
        try:
            run_cases(
                keep_chunk,
                (study, store),
                [(chunk, keys[chunk]) for chunk in todo],
                [keys[chunk] for chunk in todo],
                workers=workers,
                progress=lambda done, _, __, known=known: tell(known + done),  # type: ignore[misc]
            )
            return
        except MemoryError:
            left = [chunk for chunk in todo if not store.has(keys[chunk])]
            tries = tries - 1 if len(left) == len(todo) else TRIES
            if workers == 1 or not tries:
                raise
            todo = left


def keep_chunk(shared: tuple[Study, ChunkStore], chunk: tuple[int, str]) -> dict[str, Any]:
    """Work a chunk out and keep it, in whatever process.

    Parameters
    ----------
    shared : tuple of Study and ChunkStore
        What all chunks share.
    chunk : tuple of int and str
        Number from 0, and hash.

    Returns
    -------
    dict
        Empty: what there is to know is kept.
    """
    study, store = shared
    with _ALONE:
        store.save(chunk[1], compute_chunk(study, chunk[0]))
    return {}


def give_chunk(study: Study, chunk: int) -> Columns:
    """Work a chunk out and hand it over: what workers elsewhere do.

    Parameters
    ----------
    study : Study
        What is studied.
    chunk : int
        Number from 0.

    Returns
    -------
    dict of str to list or ndarray, shape (cases,)
        Columns by name, SI.
    """
    with _ALONE:
        return compute_chunk(study, chunk)
