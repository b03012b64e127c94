"""Broken and hostile files of fields, at the command line: status 2, one line of words, nothing written."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from overlapsim.basics.errors import FieldError
from overlapsim.cli import main
from overlapsim.files.fields import read_field
from tests.cli.small import write
from tests.robust.broken_files import BROKEN, LARGE, sound, table

#: What a process may take that reads all of those, MB: the libraries alone take 156 (measured).
MEMORY_MB, DISC_MB, PEAK_MB = 700, 50, 300


def everything(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))


@pytest.mark.parametrize("what", BROKEN)
def test_status_2_in_words_and_nothing_written(
    what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    if "Parquet" in what:
        pytest.importorskip("pyarrow")
    make, words = BROKEN[what]
    name = make(tmp_path)
    monkeypatch.chdir(tmp_path)
    write(tmp_path, "home", ('rectangle = ["30 m", "40 m"]', f"file = '{name}'"))
    before = everything(tmp_path)
    assert main(["tune", "home.toml"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert words in said.err
    assert name[:60] in said.err
    assert "Traceback" not in said.err
    assert len(said.err.strip().splitlines()) <= 2, "a line for the fault, and one at most for help"
    assert everything(tmp_path) == before


READ = """
import json, resource, sys
from pathlib import Path
from overlapsim.basics.errors import FieldError
from overlapsim.files.fields import read_field
memory, disc = (int(number) * 1_000_000 for number in sys.argv[1:3])
resource.setrlimit(resource.RLIMIT_FSIZE, (disc, disc))
resource.setrlimit(resource.RLIMIT_DATA, (memory, memory))
said = {}
for path in sys.argv[3:]:
    try:
        read_field(path)
    except FieldError as error:
        said[Path(path).name] = str(error)
# Not that of getrusage: it starts with what the process had that started this one.
peak = [line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM")]
print(json.dumps([said, int(peak[0])]))
"""


def read_with_little(paths: list[Path], temporary: Path) -> tuple[dict[str, str], float]:
    """What is said of each file, and the most memory that was taken, MB."""
    done = subprocess.run(
        [sys.executable, "-c", READ, str(MEMORY_MB), str(DISC_MB), *map(str, paths)],
        capture_output=True, text=True, env={**os.environ, "TMPDIR": str(temporary)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    said, kilobytes = json.loads(done.stdout)
    return said, kilobytes / 1000


@pytest.mark.skipif(sys.platform != "linux", reason="limits of memory and disc are this system's")
def test_memory_and_disc_stay_bounded(tmp_path: Path) -> None:
    pytest.importorskip("pyarrow")
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    names = {what: make(tmp_path) for what, (make, _) in LARGE.items()}
    said, memory = read_with_little([tmp_path / name for name in names.values()], temporary)
    for what, (_, words) in LARGE.items():
        assert words in said[names[what]], what
    assert memory < PEAK_MB
    assert everything(temporary) == []


def test_what_is_laid_out_of_an_archive_goes_with_the_program(tmp_path: Path) -> None:
    import shutil

    temporary = tmp_path / "temporary"
    temporary.mkdir()
    table().to_file(tmp_path / "home.gpkg")
    shutil.make_archive(str(tmp_path / "home"), "zip", tmp_path, "home.gpkg")
    assert read_with_little([tmp_path / "home.zip"], temporary)[0] == {}
    assert everything(temporary) == []


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="limits of memory are this system's")
def test_a_boundary_of_a_million_points(tmp_path: Path) -> None:
    """Some 41 MB of text; 581 MB were taken at most, 1.5 GB are allowed."""
    angle = np.linspace(0, 2 * np.pi, 1_000_000, endpoint=False)
    reach = 0.004 + 0.0002 * np.sin(50 * angle)
    ring = np.column_stack([12 + reach * np.cos(angle), 48 + reach * np.sin(angle)]).tolist()
    path = tmp_path / "home.geojson"
    path.write_text(json.dumps({"type": "Polygon", "coordinates": [[*ring, ring[0]]]}))
    code = READ.replace("read_field(path)", "print(read_field(path).plantable_m2)")
    done = subprocess.run(
        [sys.executable, "-c", code, "1500", "1", str(path)], capture_output=True, text=True
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    # In polar coordinates pi (R**2 + r**2 / 2) square degrees, of 111.2 by 74.6 km at latitude 48.
    degrees = np.pi * (0.004**2 + 0.0002**2 / 2)
    assert float(done.stdout.split()[0]) == pytest.approx(degrees * 111_200 * 74_600, rel=0.01)


FORMATS = ("shp", "gpkg", "fgb", "parquet", "kml", "zip")


@pytest.mark.parametrize("ending", FORMATS)
def test_bytes_turned_over_anywhere(ending: str, tmp_path: Path) -> None:
    """Forty files of each format, one to four bytes of each changed: read, or said in one line."""
    pytest.importorskip("pyarrow")
    path = tmp_path / f"home.{ending}"
    sound(path)
    whole, random = path.read_bytes(), np.random.default_rng(5)
    read, said = 0, []
    for _ in range(40):
        turned = bytearray(whole)
        # Half of them where formats keep their own affairs.
        for at in random.integers(0, len(whole) if random.integers(2) else 200, random.integers(1, 5)):
            turned[at] = random.integers(256)
        path.write_bytes(turned)
        try:
            read_field(path, crs="EPSG:4326")
        except FieldError as error:
            said.append(str(error))
        else:
            read += 1
    assert said, "nothing was broken at all"
    assert read + len(said) == 40
    assert all(line.startswith("home.") and "\n" not in line for line in said)
