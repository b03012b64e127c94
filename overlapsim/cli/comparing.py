"""Compare ways to drive a field: on all cores, and on from where an earlier run was broken off."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from overlapsim.cli.saying import say
from overlapsim.cli.stopping import stoppable

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario


@contextmanager
def compared(
    scenario: Scenario,
    folder: Path,
    progress: Callable[[int, int, str], None],
    quiet: bool = False,
    headings: Sequence[str] = (),
    headings_step: str | None = None,
    laps: Sequence[int] = (),
    workers: int | None = None,
) -> Iterator[Any]:
    """Compare patterns; what is done is kept beside the results until these are written.

    Parameters
    ----------
    scenario : Scenario
        As it is driven today.
    folder : Path
        Folder of the results.
    progress : callable
        Called with patterns done, patterns in all and what is being done.
    quiet : bool
        Say nothing but what has to be known.
    headings : sequence of str
        Headings to try.
    headings_step : str or None
        Step of a sweep of headings.
    laps : sequence of int
        Numbers of headland laps; none = the default.
    workers : int or None
        Processes; None = one for each core.

    Yields
    ------
    PatternsResult
        The comparison. When the block ends well, what was kept is taken away.
    """
    import overlapsim
    from overlapsim.files.cases import CaseFolder, work_folder

    kept = CaseFolder(work_folder(folder))
    more: dict[str, Any] = {"laps": laps} if laps else {}
    first = True

    def step(done: int, total: int, what: str) -> None:
        nonlocal first
        if first and done and not quiet:
            say(f"{scenario.name}: {done} of {total} {what} were done before an earlier run was broken off.")
        first = False
        progress(done, total, what)

    try:
        with stoppable():
            result = overlapsim.patterns(
                scenario,
                headings,
                headings_step,
                workers=workers or cores(),
                store=kept,
                progress=step,
                **more,
            )
        yield result
    except KeyboardInterrupt:
        if len(kept):
            say(f"{scenario.name}: {len(kept)} patterns are done and kept. Run it again to go on from there.")
        raise
    kept.clear()


def cores() -> int:
    """Count the cores that this process may use.

    Returns
    -------
    int
        At least 1.
    """
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
