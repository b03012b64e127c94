"""Many cases worked through: side by side on several cores, and taken up again where they were broken off."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from abc import ABC, abstractmethod
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing.connection import wait
from queue import SimpleQueue
from typing import Any

Outcome = dict[str, Any]
"""What one case comes to: JSON types only, so that it is the same whether computed or read back."""

Compute = Callable[[Any, Any], Outcome]
"""Works one case out, from what all cases share and from the case; a function of a module, without memory."""

Progress = Callable[[int, int, str], None]
"""Called with what is done, what there is to do, and what is being done."""


class Store(ABC):
    """Keeps what is done. Reading and writing are somebody else's business: it is handed in."""

    @abstractmethod
    def load(self, key: str) -> Outcome | None:
        """Give back what was kept.

        Parameters
        ----------
        key : str
            Hash of all inputs of the case.

        Returns
        -------
        dict or None
            None where nothing is kept, or nothing that can be read.
        """

    @abstractmethod
    def save(self, key: str, outcome: Outcome) -> None:
        """Keep what a case came to.

        Parameters
        ----------
        key : str
            Hash of all inputs of the case.
        outcome : dict
            JSON types only.
        """


def run_cases(
    compute: Compute,
    shared: Any,
    cases: Sequence[Any],
    keys: Sequence[str],
    store: Store | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    what: str = "cases",
) -> list[Outcome]:
    """Work all cases out.

    Parameters
    ----------
    compute : callable
        Works one case out; a function of a module, that other processes can find by its name.
    shared : Any
        What all cases share; handed to each process once.
    cases : sequence
        What differs.
    keys : sequence of str
        Hash of all inputs of each case; equal ones are worked out once.
    store : Store, optional
        Where what is done is kept from an earlier run, and for a later one.
    workers : int
        Processes that work side by side, this one among them. 1 = this one alone.
    progress : callable, optional
        Called with cases done, cases in all and `what`.
    what : str
        What the cases are called.

    Returns
    -------
    list of dict
        In the order of the cases, whatever the number of workers.

    Raises
    ------
    MemoryError
        Where a process was ended from outside, as by want of memory.
    """
    first = {key: number for number, key in reversed(list(enumerate(keys)))}
    found: dict[str, Outcome] = {}
    if store is not None:
        known = {key: store.load(key) for key in first}
        found = {key: outcome for key, outcome in known.items() if outcome is not None}
    todo = [key for key in dict.fromkeys(keys) if key not in found]

    def done(key: str, outcome: Outcome) -> None:
        found[key] = outcome
        if store is not None:
            store.save(key, outcome)
        tell()

    def tell() -> None:
        if progress:
            progress(len(found), len(first), what)

    tell()
    if min(workers, len(todo)) <= 1:
        for key in todo:
            done(key, compute(shared, cases[first[key]]))
    else:
        _side_by_side(compute, shared, {key: cases[first[key]] for key in todo}, workers, done)
    return [found[key] for key in keys]


def _side_by_side(
    compute: Compute,
    shared: Any,
    todo: dict[str, Any],
    workers: int,
    done: Callable[[str, Outcome], None],
) -> None:
    """Work here and in processes that start afresh: no threads, locks or open files are copied into them.

    They take a second to start, in which this process works already; and whoever is ready takes the next
    case, so that nobody waits for others at the end.
    """
    before = set(multiprocessing.active_children())
    others = min(workers, len(todo)) - 1
    pool = ProcessPoolExecutor(
        others,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_begin,
        initargs=(compute, shared),
    )
    waiting, finished = deque(todo.items()), SimpleQueue[tuple[str, "Future[Outcome]"]]()

    def give() -> None:
        try:
            key, case = waiting.popleft()
        except IndexError:
            return
        try:
            future = pool.submit(_one, case)
        except RuntimeError as error:
            # A process was lost while it had nothing to do.
            future = Future()
            future.set_exception(error)
        future.add_done_callback(lambda own: taken(key, own))

    def taken(key: str, future: Future[Outcome]) -> None:
        finished.put((key, future))
        if not future.cancelled() and future.exception() is None:
            give()

    try:
        with _deaf_to_ctrl_c():
            for _ in range(others):
                give()
        for _ in range(len(todo)):
            if waiting and finished.empty():
                try:
                    key, case = waiting.popleft()
                except IndexError:
                    pass
                else:
                    done(key, compute(shared, case))
                    continue
            key, future = finished.get()
            done(key, future.result())
    except BrokenProcessPool as error:
        raise MemoryError(
            "a process was ended from outside, as by want of memory; or a script of your own starts "
            'processes without standing under if __name__ == "__main__"'
        ) from error
    finally:
        # Whoever stops does not want to wait for the cases under way, nor whoever is done for processes that
        # still start. The pool itself is waited for: its thread, left to the interpreter's end, would now and
        # then fail there.
        waiting.clear()
        for process in set(multiprocessing.active_children()) - before:
            process.terminate()
        pool.shutdown(cancel_futures=True)


@contextmanager
def _deaf_to_ctrl_c() -> Iterator[None]:
    """Let processes that are started here never hear Ctrl-C; this one hears it afterwards."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


_own: tuple[Compute, Any]


def _begin(compute: Compute, shared: Any) -> None:
    """Set a process up: Ctrl-C is the parent's business everywhere, and no process outlives it."""
    global _own
    _own = compute, shared
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)


def _one(case: Any) -> Outcome:
    compute, shared = _own
    return compute(shared, case)
