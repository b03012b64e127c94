"""Chunks of a study on a Dask cluster: its workers work, this process keeps what comes back."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from overlapsim.basics.errors import Fault, InputError
from overlapsim.questions.study import give_chunk
from overlapsim.questions.study_plan import Study
from overlapsim.questions.study_store import ChunkStore

PATIENCE = "20s"
"""How long a scheduler may take to answer."""

_MARK = "overlapsim-"

AHEAD = 4
"""Chunks that wait for each worker: enough that none idles, few enough for little memory (this program's)."""


def run_on_cluster(
    scheduler: str,
    study: Study,
    todo: Mapping[str, int],
    store: ChunkStore,
    tell: Callable[[int], None],
) -> None:
    """Let the workers of a cluster work chunks out.

    Parameters
    ----------
    scheduler : str
        Address, as in ``"tcp://10.0.0.5:8786"``.
    study : Study
        What is studied; files that it names are read by the workers.
    todo : mapping of str to int
        Numbers of chunks by their hash.
    store : ChunkStore
        Keeps what comes back.
    tell : callable
        Called with the number of chunks done.

    Raises
    ------
    InputError
        Dask is not installed, or nobody answers at that address.
    """
    try:
        from distributed import Client, as_completed
    except ImportError:
        remedy = 'Install it: pip install "overlapsim[cluster]"'
        raise InputError(Fault("needs dask.distributed", remedy, "scheduler", scheduler)) from None
    try:
        client = Client(scheduler, timeout=PATIENCE)
    except (OSError, ValueError) as error:
        remedy = "Start dask scheduler there, and dask worker with its address."
        rule = f"does not answer as a Dask scheduler ({type(error).__name__})"
        raise InputError(Fault(rule, remedy, "scheduler", scheduler)) from None
    with client:
        waiting = iter(todo.items())
        workers = max(1, len(client.scheduler_info(n_workers=-1)["workers"]))
        flying = as_completed()

        def next_one() -> None:
            for key, chunk in waiting:
                # A worker that is lost costs a chunk another try, on any worker.
                flying.add(client.submit(give_chunk, study, chunk, key=f"{_MARK}{key}", pure=True))
                return

        for _ in range(AHEAD * workers):
            next_one()
        for done, future in enumerate(flying, 1):
            store.save(str(future.key).removeprefix(_MARK), future.result())
            future.release()
            next_one()
            tell(done)
