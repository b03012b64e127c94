"""A machine file and a scenario file written as a pair, and the draft that keeps answers until then."""

from __future__ import annotations

import json
import os
from pathlib import Path

from overlapsim.basics.errors import Fault, FolderError, InputError
from overlapsim.files.asked import BY_KEY
from overlapsim.files.asked_answers import Answers
from overlapsim.files.asked_texts import machine_text, scenario_text
from overlapsim.files.schemas import others_schemas, schema_files, write_schemas

__all__ = ["Draft", "must_be_new", "pair_of", "pair_texts", "write_new", "write_pair"]

_MACHINES = "machines"
_DRAFT = "overlapsim draft"


def pair_of(scenario: Path) -> tuple[Path, Path]:
    """Name the two files.

    Parameters
    ----------
    scenario : Path
        The scenario file.

    Returns
    -------
    tuple of Path
        Scenario and machine; the machine in a folder of its own, so that ``*.toml`` means scenarios.
    """
    return scenario, scenario.parent / _MACHINES / scenario.name


def pair_texts(answers: Answers, scenario: Path) -> dict[Path, str]:
    """Write the two files as text.

    Parameters
    ----------
    answers : Answers
        Sound ones.
    scenario : Path
        Where the scenario will be.

    Returns
    -------
    dict of Path to str
        The machine first: a scenario without its machine is of no use.
    """
    at, machine = pair_of(scenario)
    return {
        machine: machine_text(answers),
        at: scenario_text(answers, f"{_MACHINES}/{machine.name}", at.parent),
    }


def must_be_new(scenario: Path) -> None:
    """See that nobody's files are in the way, before anything is asked.

    Parameters
    ----------
    scenario : Path
        Where the scenario is to be.

    Raises
    ------
    FolderError
        If one of the two files is there, or somebody else's by the name of a schema.
    """
    faults = [_taken(path) for path in pair_of(scenario) if os.path.lexists(path)]
    faults += others_schemas(scenario.parent)
    if faults:
        raise FolderError(faults)


def _taken(path: Path) -> Fault:
    return Fault("is there already, and is kept", "Take another name or another --out.", file=str(path))


def write_pair(answers: Answers, scenario: Path) -> bool:
    """Write the two files and the schemas that they name, all or none, and over nobody's.

    Parameters
    ----------
    answers : Answers
        Sound ones.
    scenario : Path
        Where the scenario is to be.

    Returns
    -------
    bool
        False where all are there already, letter for letter.

    Raises
    ------
    FolderError
        If one of them is there and says something else.
    """
    if faults := others_schemas(scenario.parent):
        raise FolderError(faults)
    schemas = schema_files(scenario.parent)
    absent = {path: content for path, content in schemas.items() if not os.path.lexists(path)}
    fresh = write_new(
        {path: text.encode() for path, text in pair_texts(answers, scenario).items()} | absent
    )
    if any(path.read_bytes() != content for path, content in schemas.items()):
        # Those of an earlier version.
        write_schemas(scenario.parent)
    return fresh


def write_new(files: dict[Path, bytes]) -> bool:
    """Write some files, all or none, and over nobody's.

    Parameters
    ----------
    files : dict of Path to bytes
        What is to stand where.

    Returns
    -------
    bool
        False where all are there already, byte for byte.

    Raises
    ------
    FolderError
        If one of them is there and says something else.
    """
    missing = {path: content for path, content in files.items() if not os.path.lexists(path)}
    faults = [
        _taken(path)
        for path, content in files.items()
        if path not in missing and not (path.is_file() and path.read_bytes() == content)
    ]
    if faults:
        raise FolderError(faults)
    placed: list[Path] = []
    try:
        for path, content in missing.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            _whole(path, content)
            placed.append(path)
    except BaseException:
        for path in placed:
            path.unlink(missing_ok=True)
        raise
    return bool(missing)


def _whole(path: Path, content: bytes) -> None:
    """Write one file so that it is there whole or not at all."""
    beside = path.with_name(f".{path.name}.new")
    try:
        beside.write_bytes(content)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


class Draft:
    """Answers kept beside the files that will be made of them.

    Parameters
    ----------
    scenario : Path
        Where the scenario will be.
    """

    def __init__(self, scenario: Path) -> None:
        self.path = scenario.with_suffix(".draft")

    def read(self) -> tuple[dict[str, str], str]:
        """Read what an earlier round has left.

        Returns
        -------
        tuple
            Answers by key, and the key of the question that is next; both empty where there is no draft.

        Raises
        ------
        InputError
            If it is no draft of ours.
        """
        if not os.path.lexists(self.path):
            return {}, ""
        try:
            kept = json.loads(self.path.read_text(encoding="utf-8"))
            given, place = kept[_DRAFT]["answers"], kept[_DRAFT]["next"]
            texts = all(key in BY_KEY and isinstance(text, str) for key, text in given.items())
            if not texts or (place and place not in BY_KEY):
                raise ValueError
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            rule, remedy = "is no draft that can be read", "Move it away, or take another name."
            raise InputError(Fault(rule, remedy, file=str(self.path))) from None
        return dict(given), place

    def keep(self, answers: Answers, place: str) -> None:
        """Keep answers.

        Parameters
        ----------
        answers : Answers
            All that were given.
        place : str
            Key of the question that is next.
        """
        self.path.parent.mkdir(parents=True, exist_ok=True)
        kept = {_DRAFT: {"answers": answers.given, "next": place}}
        _whole(self.path, (json.dumps(kept, ensure_ascii=False, indent=1) + "\n").encode())

    def remove(self) -> None:
        """Take it away: its answers stand in the files."""
        self.path.unlink(missing_ok=True)
