"""Ctrl-C: heard also where libraries make another error of it, or none."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

_heard: list[int] = []
"""Signals that came and have not ended anything yet."""


def listen() -> None:
    """Take note of every Ctrl-C from here on, besides what Python makes of it."""
    # Who has asked not to be stopped (a job in the background), or has an own way, is left alone.
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _hear)


def _hear(number: int, _: FrameType | None) -> None:
    _heard.append(number)
    raise KeyboardInterrupt


def stop_if_asked() -> None:
    """Stop where Ctrl-C came and was lost on the way.

    Raises
    ------
    KeyboardInterrupt
        As if it came now.
    """
    if _heard:
        _heard.clear()
        raise KeyboardInterrupt


@contextmanager
def stoppable() -> Iterator[None]:
    """Let Ctrl-C end what is inside, whatever became of it there.

    Yields
    ------
    None
        What comes in the middle of a comparison in NumPy, say, is a `TypeError` there.
    """
    try:
        yield
    except Exception:
        stop_if_asked()
        raise
    stop_if_asked()
