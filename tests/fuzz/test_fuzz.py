"""Any text at all, into whatever reads text: no traceback, and faults with their place.

OVERLAPSIM_FUZZ multiplies the number of examples (1 takes about half a minute in all) and makes them new
every time.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from tests.fuzz import targets, texts

TIMES = int(os.environ.get("OVERLAPSIM_FUZZ") or 1)


def effort(examples: int) -> Callable[[Any], Any]:
    """So many examples, times what is asked for."""
    new = {"derandomize": False} if TIMES > 1 else {}
    return settings(
        max_examples=examples * TIMES, deadline=None, suppress_health_check=list(HealthCheck), **new
    )


@pytest.fixture(scope="module")
def gallery(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The gallery's machines and fields, with room for a scenario beside them."""
    folder = tmp_path_factory.mktemp("fuzz")
    for name in ("machines", "fields"):
        shutil.copytree(texts.GALLERY / name, folder / name)
    return folder


@effort(2000)
@given(texts.units())
@example("9" * 5000 + " in")
@example("1e" + "9" * 5000 + " in")
@example("1/" + "9" * 5000 + " m")
@example("9" * 190 + "e300 in")
def test_texts_as_quantities(text: str) -> None:
    targets.unit_text(text)


@effort(500)
@given(st.floats(-1e4, 1e4))
def test_numbers_as_texts(value: float) -> None:
    targets.unit_number(value)


@effort(400)
@given(content=texts.scenarios())
def test_scenario_files(content: bytes, gallery: Path) -> None:
    targets.scenario_bytes(content, gallery)


@effort(200)
@given(content=texts.machines())
def test_machine_files(content: bytes, gallery: Path) -> None:
    targets.machine_bytes(content, gallery)


@effort(1000)
@given(texts.sheets())
@example(texts.SHEET + "on,front,3,out,5," + "9" * 200_000 + ",line\n")
def test_sheets_of_digs(text: str) -> None:
    targets.sheet_text(text)
