"""An empty folder to work in, and one small scenario."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.small import write


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that is the current one, without anybody's settings in the environment."""
    monkeypatch.chdir(tmp_path)
    for name in ("OVERLAPSIM_DEBUG", "NO_COLOR", "FORCE_COLOR", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    return tmp_path


@pytest.fixture
def small(here: Path) -> Path:
    """One scenario, ``small.toml``."""
    return write(here, "small")
