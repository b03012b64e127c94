"""What must hold of any text at all: it is read, or refused in words with its file and a line of it."""

from __future__ import annotations

import math
import re
import tempfile
from collections.abc import Iterable
from pathlib import Path

from overlapsim import Scenario
from overlapsim.basics.errors import Fault, InputError, ScenarioError
from overlapsim.basics.unit_text import (
    format_angle,
    format_length,
    format_number,
    format_speed,
    format_time,
)
from overlapsim.basics.units import UNITS, UnitError, exact, is_metric, parse, si_text
from overlapsim.files.digs import sheet_of
from overlapsim.files.toml import load_scenario
from tests.dig_helpers import two_ranks

DIMENSIONS = tuple(UNITS)
#: A fault about the whole file stands in no line of it.
WHOLE = re.compile(r"is missing|is empty|holds (no|one) dig|and [\d,]+ more")
#: Half the last digit that is written, in SI: the most that text and number can differ by.
WRITTEN = {
    "length": {"in": 0.05 * 0.0254, "ft": 0.005 * 0.3048, "m": 0.0005, "cm": 0.0005, "ft-in": 0.0254 / 16},
}


def unit_text(text: str) -> None:
    """Read a text as each dimension; what is read comes back from its SI text to the last bit."""
    assert is_metric(text) in (True, False)
    for dimension in DIMENSIONS:
        try:
            value = parse(text, dimension)
        except UnitError as refused:
            assert refused.rule  # noqa: PT017
            continue
        assert math.isfinite(value)
        # Rounded once: the nearest double to the fraction.
        assert value == float(exact(text, dimension))
        assert parse(si_text(value, dimension), dimension) == value


def unit_number(value: float) -> None:
    """Write a number in every form there is; what it reads back as differs by half the last digit."""
    for style, half in WRITTEN["length"].items():
        text = format_length(value, style)
        if "," not in text:
            assert abs(parse(text, "length") - value) <= half * (1 + 1e-9) + abs(value) * 1e-15, text
    for text, dimension in (
        (format_speed(value), "speed"),
        (format_speed(value, "metric"), "speed"),
        (format_time(value), "time"),
        (format_angle(value), "angle"),
    ):
        if "," not in text:
            assert math.isfinite(parse(text, dimension)), text
    assert "e" not in format_number(value, 2)


def _told(faults: Iterable[Fault], name: str, text: str) -> None:
    """Every fault is one line with its file, and a line that the file has."""
    faults = list(faults)
    assert faults
    lines = text.count("\n") + 1
    for fault in faults:
        said = str(fault)
        assert said.splitlines() == [said]
        assert fault.rule
        assert Path(fault.file).name == Path(name).name, said
        if fault.line is None:
            assert WHOLE.search(said), said
        else:
            assert 1 <= fault.line <= lines, said


def scenario_bytes(content: bytes, folder: Path) -> None:
    """Read a scenario file: it is a scenario, or every fault is said with its file and line."""
    path = folder / "fuzzed.toml"
    path.write_bytes(content)
    text = content.decode("latin-1").replace("\r\n", "\n").replace("\r", "\n")
    try:
        read = load_scenario(path)
    except ScenarioError as error:
        _told([f for f in error.faults if "fuzzed" in f.file or not f.file], str(path), text or "\n")
        return
    assert isinstance(read, Scenario)
    # What is read can be written down and read again: the same scenario.
    assert Scenario.from_dict(read.to_inputs()).to_inputs() == read.to_inputs()


def machine_bytes(content: bytes, folder: Path) -> None:
    """Read a machine file through a scenario that is sound."""
    (folder / "fuzzed-machine.toml").write_bytes(content)
    path = folder / "sound.toml"
    path.write_text(SOUND, "utf-8")
    try:
        assert isinstance(load_scenario(path), Scenario)
    except ScenarioError as error:
        for fault in error.faults:
            assert str(fault).splitlines() == [str(fault)]
            assert Path(fault.file).name in ("fuzzed-machine.toml", "sound.toml"), str(fault)


SOUND = """machine.file = "fuzzed-machine.toml"
machine.setup = "narrow"
speed.working = "5 mph"
switching = {reference_offset = "97 in", turn_on_time = "0.40 s", turn_off_time = "0.25 s"}
"""


def sheet_text(text: str) -> None:
    """Read a sheet of digs: distances are numbers, or every fault is said with its line."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")  # As files are read.
    try:
        sheet = sheet_of(text, "digs.csv", DUG)
    except InputError as error:
        _told(error.faults, "digs.csv", text)
        return
    for dig in sheet.digs:
        assert dig.speed > 0
        assert abs(dig.past) <= 10
    assert all("\n" not in note for note in sheet.notes)


DUG = two_ranks()


def new_folder() -> Path:
    """Give a folder of its own."""
    return Path(tempfile.mkdtemp(prefix="overlapsim-fuzz-"))
