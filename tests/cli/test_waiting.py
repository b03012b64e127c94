"""Progress: nothing for two seconds, then a line now and then or a bar, and nothing at all if quiet."""

from __future__ import annotations

import io
import time

import pytest

from overlapsim.cli import waiting
from overlapsim.cli.waiting import Waiting


@pytest.fixture
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Patience of a twentieth of a second."""
    monkeypatch.setattr(waiting, "PATIENCE_S", 0.05)
    monkeypatch.setattr(waiting, "AGAIN_S", 0.05)


class Terminal(io.StringIO):
    """A stream that says that somebody is looking."""

    def isatty(self) -> bool:
        return True


def test_what_is_quick_says_nothing() -> None:
    stream = io.StringIO()
    with Waiting("home", stream) as told:
        told.step(1, 2, "searching")
    assert stream.getvalue() == ""


@pytest.mark.usefixtures("soon")
def test_without_a_terminal_a_line_now_and_then() -> None:
    stream = io.StringIO()
    with Waiting("home", stream) as told:
        told.step(3, 11, "searching")
        time.sleep(0.3)
        told.say("writing layers.gpkg")
        time.sleep(0.3)
    lines = stream.getvalue().splitlines()
    assert lines[0] == "home: searching (3 of 11)"
    assert lines[-1] == "home: writing layers.gpkg (3 of 11)"
    time.sleep(0.15)
    assert stream.getvalue().splitlines() == lines


@pytest.mark.usefixtures("soon")
def test_on_a_terminal_a_bar_that_goes_away() -> None:
    stream = Terminal()
    with Waiting("home [1/2]", stream) as told:
        told.step(3, 11, "searching")
        time.sleep(0.4)
        told.step(5, 11, "counting")
        time.sleep(0.3)
    seen = stream.getvalue()
    assert "home [1/2]: searching" in seen
    assert "home [1/2]: counting" in seen


@pytest.mark.usefixtures("soon")
@pytest.mark.parametrize("stream", [io.StringIO(), Terminal()])
def test_quiet_is_quiet(stream: io.StringIO) -> None:
    with Waiting("home", stream, quiet=True) as told:
        told.step(3, 11, "searching")
        time.sleep(0.3)
    assert stream.getvalue() == ""
