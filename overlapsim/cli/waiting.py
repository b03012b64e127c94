"""What is going on, for whatever takes longer than two seconds; on standard error only."""

from __future__ import annotations

import threading
from types import TracebackType
from typing import IO, TYPE_CHECKING

from overlapsim.cli.stopping import stop_if_asked

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

PATIENCE_S = 2.0
"""Seconds without a word that nobody minds."""

AGAIN_S = 10.0
"""Seconds between lines where there is no terminal to draw a bar on."""


class Waiting:
    """Tells how far a task is, once it takes longer than two seconds.

    Parameters
    ----------
    name : str
        What is being worked on.
    stream : text stream
        Where to tell it: a bar on a terminal, else a line now and then.
    quiet : bool
        Tell nothing at all.
    """

    def __init__(self, name: str, stream: IO[str], quiet: bool = False) -> None:
        self.name, self.stream, self.quiet = name, stream, quiet
        self.done, self.total, self.what = 0, 0, "reading"
        self._lock = threading.Lock()
        self._timer: threading.Timer | None = None
        self._bar: Progress | None = None
        self._task: TaskID | None = None
        self._ended = False

    def __enter__(self) -> Waiting:
        if not self.quiet:
            self._arm(PATIENCE_S)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        with self._lock:
            self._ended = True
            if self._timer:
                self._timer.cancel()
            bar, self._bar = self._bar, None
        if bar:
            bar.stop()

    def step(self, done: int, total: int, what: str) -> None:
        """Take note of how far it is.

        Parameters
        ----------
        done, total : int
            Steps done and in all; total 0 = nobody knows.
        what : str
            What is being done.
        """
        stop_if_asked()
        with self._lock:
            self.done, self.total, self.what = done, total, what
            if self._bar and self._task is not None:
                self._bar.update(self._task, description=self._line(), completed=done, total=total or None)

    def say(self, what: str) -> None:
        """Take note of what is being done, the steps staying as they are.

        Parameters
        ----------
        what : str
            In a word or two.
        """
        self.step(self.done, self.total, what)

    def _line(self) -> str:
        return f"{self.name}: {self.what}"

    def _arm(self, seconds: float) -> None:
        self._timer = threading.Timer(seconds, self._show)
        self._timer.daemon = True
        self._timer.start()

    def _show(self) -> None:
        with self._lock:
            if self._ended:
                return
            if self.stream.isatty():
                self._start_bar()
            else:
                steps = f" ({self.done} of {self.total})" if self.total else ""
                print(f"{self._line()}{steps}", file=self.stream, flush=True)
                self._arm(AGAIN_S)

    def _start_bar(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        columns = (
            TextColumn("{task.description}", markup=False),
            BarColumn(bar_width=20),
            TimeElapsedColumn(),
        )
        self._bar = Progress(*columns, console=Console(file=self.stream), transient=True)
        self._task = self._bar.add_task(self._line(), total=self.total or None, completed=self.done)
        self._bar.start()
