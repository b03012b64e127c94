"""Ctrl-C ends the program also where something in between makes another error of it, or forgets it."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator

import pytest

from overlapsim.cli.statuses import Statuses
from overlapsim.cli.stopping import listen, stop_if_asked, stoppable
from overlapsim.cli.waiting import Waiting


@pytest.fixture(autouse=True)
def listening() -> Iterator[None]:
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    listen()
    yield
    signal.signal(signal.SIGINT, before)


def lost(error: Exception | None) -> None:
    """Do what NumPy does now and then in the middle of a comparison."""
    try:
        signal.raise_signal(signal.SIGINT)
    except KeyboardInterrupt:
        if error:
            raise error from None


def test_another_error_ends_the_program_as_ctrl_c() -> None:
    with pytest.raises(KeyboardInterrupt), Statuses().watch("home.toml"):
        lost(TypeError("cannot compare"))


def test_what_is_forgotten_is_noticed_at_the_next_step() -> None:
    with Waiting("home", sys.stderr, quiet=True) as waiting:
        lost(None)
        with pytest.raises(KeyboardInterrupt):
            waiting.say("searching")


def test_what_is_forgotten_is_noticed_at_the_end() -> None:
    with pytest.raises(KeyboardInterrupt), stoppable():
        lost(None)
    stop_if_asked()  # once is enough


def test_without_ctrl_c_an_error_stays_what_it_is() -> None:
    with pytest.raises(TypeError, match="cannot compare"), stoppable():
        raise TypeError("cannot compare")


def test_who_asked_not_to_be_stopped_is_left_alone() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    listen()
    assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
