"""Files of studies: fields read piece by piece, the table in both formats, the page, the archive."""

from __future__ import annotations

import csv
import json
import pickle
import re
import zipfile
from pathlib import Path

import numpy as np
import pytest
import shapely

from overlapsim import load_study, run_study
from overlapsim.files import study_fields
from overlapsim.files.study_chunks import ChunkFolder, _packed, _unpacked
from overlapsim.files.study_fields import FieldFile
from overlapsim.report import study_write
from overlapsim.report.study_write import write_study as write_results
from tests.cli.small import write


def box(west: float, south: float, east: float, north: float) -> shapely.Polygon:
    """A rectangle in the middle of a zone of transverse Mercator, where metres are metres to 0.04 %."""
    return shapely.box(500_000 + west, 5_000_000 + south, 500_000 + east, 5_000_000 + north)


def fields(folder: Path, many: int, kind: str = "gpkg") -> Path:
    """So many rectangles in a file, names as people give them."""
    import geopandas

    shapes = [box(1000 * i, 0, 1000 * i + 40 + i, 60) for i in range(many)]
    table = geopandas.GeoDataFrame({"name": [f"F<{i}>" for i in range(many)]}, geometry=shapes, crs=32633)
    path = folder / f"fields.{kind}"
    table.to_file(path)
    return path


def study(folder: Path, factors: str, title: str = "Small") -> Path:
    write(folder, "small")
    path = folder / "study.toml"
    path.write_text(f"title = '{title}'\nbase = 'small.toml'\n[factors]\n{factors}\n", encoding="utf-8")
    return path


@pytest.mark.parametrize("kind", ["gpkg", "geojson"])
def test_fields_come_one_by_one_and_are_those_of_the_file(
    tmp_path: Path, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(study_fields, "AT_ONCE", 3)
    source = FieldFile(fields(tmp_path, 8, kind))
    assert source.piecewise is (kind == "gpkg")
    assert list(source.names) == [f"F<{i}>" for i in range(8)]
    assert len({source.fingerprint(i) for i in range(8)}) == 8
    for i in (7, 0, 5):
        assert source.get(i).plantable_m2 == pytest.approx((40 + i) * 60, rel=1e-3)
    if kind == "gpkg":
        assert source._rows is not None
        assert len(source._rows[1]) == 3
    # Other processes get the way to the file, not what was read of it.
    assert len(pickle.dumps(source)) < 10_000
    assert pickle.loads(pickle.dumps(source)).get(5) == source.get(5)


def test_all_fields_of_a_file_some_of_them_and_one(tmp_path: Path) -> None:
    fields(tmp_path, 9)
    every = load_study(study(tmp_path, 'field = [{file = "fields.gpkg", all = true}]'))
    assert len(every) == 9
    some = load_study(study(tmp_path, 'field = [{file = "fields.gpkg", all = true, sample = 4, seed = 2}]'))
    assert len(some) == 4
    one = load_study(
        study(
            tmp_path,
            'field = [{file = "fields.gpkg", where = {name = "F<3>"}}, {rectangle = ["50 m", "60 m"]}]',
        )
    )
    assert one.fields is not None
    assert one.fields.names == ("F<3>", "field 1")
    table = run_study(every).table
    assert table["field"].tolist() == [f"F<{i}>" for i in range(9)]
    assert table["plantable_m2"] == pytest.approx((40 + np.arange(9)) * 60, rel=1e-3)


def test_a_field_that_cannot_be_read_is_a_case_with_an_error(tmp_path: Path) -> None:
    import geopandas

    nothing = shapely.Polygon([(500_000, 5e6), (500_010, 5e6), (500_020, 5e6)])
    shapes = [box(0, 0, 40, 60), nothing, box(100, 0, 140, 60)]
    table = geopandas.GeoDataFrame({"name": ["a", "b", "c"]}, geometry=shapes, crs=32633)
    table.to_file(tmp_path / "fields.geojson")
    done = run_study(load_study(study(tmp_path, 'field = [{file = "fields.geojson", all = true}]')))
    assert [number for number, _ in done.errors] == [1]
    assert "fields.geojson, b" in done.errors[0][1]
    assert "fault of overlapsim" not in done.errors[0][1]


def test_machines(tmp_path: Path) -> None:
    write(tmp_path, "small")
    for name, behind in (("near", "100 in"), ("far", "140 in")):
        (tmp_path / f"{name}.toml").write_text(
            f"""title = "{name}"
[ranks.front]\nrows = 4\nspacing = "30 in"\nbehind_pin = "84 in"
[ranks.rear]\nrows = 4\nspacing = "30 in"\nbehind_pin = "{behind}"\nright = "-15 in"
[setups.narrow]\nranks = ["front", "rear"]\nhitch_shift = "7.5 in"\n[setups.wide]\nranks = ["front"]\n"""
        )
    machines = '["near.toml", {file = "far.toml", setup = "wide"}]'
    path = study(tmp_path, f'machine = {machines}\n"speed.working" = ["3 mph"]')
    with pytest.raises(Exception, match="setup"):
        load_study(path)
    machines = '[{file = "near.toml", setup = "narrow"}, {file = "far.toml", setup = "narrow"}]'
    table = run_study(load_study(study(tmp_path, f"machine = {machines}"))).table
    assert table["machine"].tolist() == ["near", "far"]
    # On square ends stagger costs in proportion to the distance between the ranks: 16 to 56 in.
    near, far = table["stagger_combined_m2"]
    assert far / near == pytest.approx(56 / 16)


def test_the_table_is_the_same_in_both_formats(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    offsets = '"switching.reference_offset" = ["84 in", "90 in"]'
    path = study(tmp_path, f'{offsets}\n"plan.heading" = ["0 deg", "9 deg"]')
    done = run_study(load_study(path))
    write_results(done, tmp_path / "one")
    monkeypatch.setattr("overlapsim.files.study_table.has_parquet", lambda: False)
    write_results(done, tmp_path / "other")
    read = parquet.read_table(tmp_path / "one" / "cases.parquet")
    with open(tmp_path / "other" / "cases.csv", newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [column.name for column in done.study.columns] == read.column_names == list(rows[0])
    for column in done.study.columns:
        theirs = read[column.name].to_pylist()
        for i, row in enumerate(rows):
            text = row[column.name]
            if column.kind == "number":
                same = float(text) == theirs[i] if text else theirs[i] != theirs[i]
                assert same, column.name
            else:
                assert text == str(theirs[i])
    assert read.schema.field("as_set_skip_m2").metadata[b"unit"] == b"m2"


def test_the_page_stands_alone(tmp_path: Path) -> None:
    fields(tmp_path, 4)
    title = 'A <b>"study"</b> & more'
    factors = 'field = [{file = "fields.gpkg", all = true}]\n"speed.working" = ["3 mph", "8 mph"]'
    path = study(tmp_path, factors, title)
    write_results(run_study(load_study(path)), tmp_path / "out")
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert "A &lt;b&gt;&quot;study&quot;&lt;/b&gt; &amp; more" in page
    assert "<b>" not in page
    assert "img-src data:" in page
    # Nothing to choose: figures are SI throughout.
    assert 'name="units"' not in page.replace('input[name="units"]', "")
    # Nothing is fetched: all that is named is in the page itself.
    named = re.findall(r'(?:src|href)="([^"]*)', page)
    assert all(one.startswith(("data:image/png;base64,", "#")) for one in named)
    assert {one[1:] for one in named if one[0] == "#"} <= set(re.findall(r'id="([^"]*)"', page))
    assert page.count("<img") >= 3
    assert "shape.csv" in {one.name for one in (tmp_path / "out").iterdir()}


def test_an_archive_holds_inputs_versions_results_and_how_to_cite(tmp_path: Path) -> None:
    fields(tmp_path, 2)
    path = study(tmp_path, 'field = [{file = "fields.gpkg", all = true}]')
    write_results(run_study(load_study(path)), tmp_path / "out", bundle=True)
    with zipfile.ZipFile(tmp_path / "out" / "bundle.zip") as archive:
        names = set(archive.namelist())
        about = json.loads(archive.read("about.json"))
        assert archive.read("inputs/fields.gpkg") == (tmp_path / "fields.gpkg").read_bytes()
        assert "numpy==" in archive.read("versions.txt").decode()
        assert archive.read("CITATION.cff").decode().startswith("cff-version: 1.2.0")
    assert {"inputs/study.toml", "inputs/small.toml", "results/report.html", "__main__.py"} <= names
    assert about["study"] == "study.toml"


def test_chunks_are_read_back_to_the_last_bit(tmp_path: Path) -> None:
    columns = {
        "x": np.array([0.1, np.nan, -0.0, 1e-300]),
        "n": np.array([1, 2, 3, 2**62]),
        "same": ["<f8"] * 4,
        "text": ["", "ä\n", '"', "<i8"],
    }
    back = _unpacked(_packed(columns))
    assert list(back) == list(columns)
    for name, values in columns.items():
        if isinstance(values, list):
            assert back[name] == values
        else:
            assert np.asarray(back[name]).tobytes() == values.tobytes()
    plan = load_study(study(tmp_path, '"speed.working" = ["3 mph"]'))
    kept = ChunkFolder(tmp_path / "chunks", plan)
    assert not kept.has("k")
    kept.save("k", columns)
    assert kept.has("k")
    assert kept.load("k")["text"] == columns["text"]


def test_csv_writes_the_names_once(tmp_path: Path) -> None:
    path = study(tmp_path, '"speed.working" = ["3 mph", "4 mph", "5 mph"]\n[sample]\nchunk = 1')
    study_write._write_csv(tmp_path / "cases.csv", run_study(load_study(path)))
    lines = (tmp_path / "cases.csv").read_text().splitlines()
    assert len(lines) == 4
    assert [line.split(",")[0] for line in lines] == ["case", "0", "1", "2"]
