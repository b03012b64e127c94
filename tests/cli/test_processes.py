"""The program as a process of its own: pipes, terminals, consoles of the past, Ctrl-C."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from overlapsim.cli.waiting import PATIENCE_S
from tests.cli.small import write

ROOT = Path(__file__).resolve().parents[2]
ESCAPE = "\x1b"

# Some 20,000 combinations: far longer than anybody waits for a test.
LONG = '[sweep]\n"switching.turn_on_time" = {from = "0.1 s", to = "0.9 s", step = "0.0001 s"}\n'


def environment(**more: str) -> dict[str, str]:
    """The environment without anybody's own settings, with the package found from any folder."""
    own = ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "OVERLAPSIM_DEBUG", "PYTHONIOENCODING", "TERM")
    kept = {key: value for key, value in os.environ.items() if key not in own}
    return {**kept, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "0", "PYTHONIOENCODING": "utf-8", **more}


def hears() -> None:
    """Let a process hear Ctrl-C, even where the tests themselves run in the background and do not."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def run(*arguments: str, **more: str) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "overlapsim", *arguments]
    return subprocess.run(command, capture_output=True, env=environment(**more), timeout=120, check=False)


def in_a_terminal(*arguments: str, columns: int, **more: str) -> str:
    """Run in a terminal of so many columns and return what it shows."""
    pty = pytest.importorskip("pty", reason="no terminals to be had on this system")
    import fcntl
    import struct
    import termios

    ours, its = pty.openpty()
    fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    command = [sys.executable, "-m", "overlapsim", *arguments]
    process = subprocess.Popen(
        command,
        stdout=its,
        stderr=subprocess.DEVNULL,
        stdin=its,
        env=environment(TERM="xterm-256color", **more),
    )
    os.close(its)
    seen = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:
            break
        if not piece:
            break
        seen += piece
    os.close(ours)
    assert process.wait(timeout=120) == 0
    return seen.decode()


def test_a_pipe_gets_plain_text_of_80_columns(small: Path) -> None:
    done = run("tune", "small.toml")
    text = done.stdout.decode()
    assert done.returncode == 0
    assert ESCAPE not in text
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "TYPE IN" in text
    summary = (small.parent / "reports" / "small" / "summary.txt").read_text("utf-8")
    assert text.startswith(summary)


def test_a_terminal_gets_bold_type(small: Path) -> None:
    seen = in_a_terminal("tune", "small.toml", columns=80)
    assert f"{ESCAPE}[1m" in seen
    assert f"{ESCAPE}[33m" in seen


def test_no_color_is_respected(small: Path) -> None:
    seen = in_a_terminal("tune", "small.toml", columns=80, NO_COLOR="1")
    assert not re.search(rf"{ESCAPE}\[[\d;]*3\dm", seen)


@pytest.mark.parametrize("columns", [60, 40])
def test_a_narrow_terminal_breaks_no_line(columns: int, small: Path) -> None:
    seen = re.sub(rf"{ESCAPE}\[[\d;]*m", "", in_a_terminal("tune", "small.toml", columns=columns))
    lines = seen.replace("\r", "").splitlines()
    assert max(len(line) for line in lines) <= columns
    assert any(line.startswith("  reference offset 84 in") for line in lines)


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii"])
def test_consoles_that_know_few_signs(encoding: str, here: Path) -> None:
    write(here, "pole", ("title = ", 'about.farm = "Čtyřicet 畑"\ntitle = '))
    for command in ("tune", "simulate"):
        done = run(command, "pole.toml", "--units", "metric", PYTHONIOENCODING=encoding)
        assert done.returncode == 0, done.stderr
        assert "farm: " in done.stdout.decode(encoding)
    write(here, "bad", ("5 mph", "č"))
    assert run("tune", "bad.toml", PYTHONIOENCODING=encoding).returncode == 2


def test_json_is_utf_8_whatever_the_console_is(here: Path) -> None:
    write(here, "pole", ("title = ", 'about.farm = "Čtyřicet"\ntitle = '))
    done = run("simulate", "pole.toml", "--json", PYTHONIOENCODING="cp1252")
    assert done.stdout == (here / "reports" / "pole" / "result.json").read_bytes()
    assert "Čtyřicet" in done.stdout.decode("utf-8")


def test_a_reader_that_has_had_enough_is_no_fault(small: Path) -> None:
    command = f'"{sys.executable}" -m overlapsim simulate small.toml'
    process = subprocess.Popen(
        command, shell=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment()
    )
    assert process.stdout is not None
    process.stdout.close()
    assert process.stderr is not None
    assert process.stderr.read() == b""
    assert process.wait(timeout=120) == 0
    assert (small.parent / "reports" / "small" / "result.json").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is sent another way there")
@pytest.mark.parametrize("before", [False, True])
def test_ctrl_c_is_said_and_leaves_everything_as_it_was(before: bool, here: Path) -> None:
    write(here, "long")
    if before:
        assert run("simulate", "long.toml", "--quiet").returncode == 0
    old = {path: path.read_bytes() for path in here.rglob("*") if path.is_file() and path.suffix != ".toml"}
    text = (here / "long.toml").read_text()
    (here / "long.toml").write_text(text + LONG)
    process = subprocess.Popen(
        [sys.executable, "-m", "overlapsim", "tune", "long.toml"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment(), text=True, preexec_fn=hears,
    )  # fmt: skip
    assert process.stderr is not None
    started = time.monotonic()
    told, waited = "", 0.0
    # What is to come is told when it is known; how far it is, once it takes longer than two seconds.
    while "8,001 combinations" not in told or not waited:
        line = process.stderr.readline()
        assert line.startswith("long: ")
        told += line
        if line.endswith(")\n") and not waited:
            waited = time.monotonic() - started
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert waited >= PATIENCE_S
    assert process.returncode == 130
    assert not out
    assert err.strip() == "Stopped. What was not finished is not written."
    left = {path: path.read_bytes() for path in here.rglob("*") if path.is_file() and path.suffix != ".toml"}
    assert left == old
    assert (here / "reports").exists() is before


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys\nfrom overlapsim.cli import main\nmain(['--help'])\n"
        "heavy = {'numpy', 'shapely', 'rich', 'matplotlib', 'pydantic', 'pyproj', 'geopandas', 'scipy'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, env=environment(), check=True)
    assert done.stdout.decode().splitlines()[-1] == "[]"
