"""Shapefiles, KML and archives as people mail them: read, and what was done to them said, or refused."""

from __future__ import annotations

import shutil
import struct
import zipfile
from pathlib import Path

import pytest
import shapely

from overlapsim.files.fields import read_field
from tests.files.mailed import (
    AREA,
    CLOSED,
    CREEK,
    HOME,
    HOME_M2,
    LEFT_OUT,
    PAIRS,
    RING,
    SAME,
    is_home,
    kml,
    line,
    packed,
    shapefile,
    words,
)


@pytest.mark.parametrize("inner", ["", "farm/2024/", "./", "farm\\2024\\", "Äcker 畑/"])
def test_a_zipped_shapefile_with_any_folder_in_it(tmp_path: Path, inner: str) -> None:
    path = packed(tmp_path / "home field.zip", shapefile(tmp_path / "loose", HOME), inner)
    field = read_field(path)
    is_home(field)
    assert (field.name, field.origin["file"]) == ("Home 80", "home field.zip")


def test_a_zipped_shapefile_by_capital_names(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "HOME.ZIP", "w") as archive:
        for one in shapefile(tmp_path / "loose", HOME):
            archive.write(one, one.name.upper())
    is_home(read_field(tmp_path / "HOME.ZIP"))


@pytest.mark.parametrize("zipped", [False, True])
def test_parts_of_a_shapefile_that_are_missing(tmp_path: Path, zipped: bool) -> None:
    def without(ending: str) -> Path:
        folder = tmp_path / ending
        files = [f for f in shapefile(folder, HOME) if f.suffix != ending]
        (folder / f"home{ending}").unlink()
        return packed(folder / "home.zip", files) if zipped else folder / "home.shp"

    is_home(read_field(without(".cpg")))
    is_home(read_field(without(".dbf")), "no sound .dbf beside it: names and other attributes are lost")
    there = "home.shp" if zipped else "it"
    assert f'no .prj beside {there}. Ask for all parts or the .zip, or state crs = "EPSG:4326".' in words(
        without(".prj")
    )
    is_home(read_field(without(".prj"), crs="EPSG:4326"))
    assert "no .shx beside " in words(without(".shx"))
    assert "Ask for all parts" in words(without(".shx"))


@pytest.mark.parametrize("content", [b"", b"nonsense", b"\xff\xfe\x00"])
def test_a_projection_file_that_says_nothing(tmp_path: Path, content: bytes) -> None:
    shapefile(tmp_path, HOME)
    (tmp_path / "home.prj").write_bytes(content)
    assert words(tmp_path / "home.shp") == (
        'home.shp  the .prj beside it cannot be understood. Ask for all parts again, or '
        'state crs = "EPSG:4326".'
    )
    is_home(read_field(tmp_path / "home.shp", crs="EPSG:4326"))


@pytest.mark.parametrize("content", [b"", b"\3", b"\3\0\0\0\1\0\0\0\x41\0"])
def test_attributes_that_are_broken_are_said(tmp_path: Path, content: bytes) -> None:
    shapefile(tmp_path, HOME)
    (tmp_path / "home.dbf").write_bytes(content)
    is_home(read_field(tmp_path / "home.shp"), "no sound .dbf beside it: names and other attributes are lost")


@pytest.mark.parametrize(("kind", "extras"), [(15, 2), (25, 1)])
def test_heights_and_measures_are_dropped(tmp_path: Path, kind: int, extras: int) -> None:
    """Types 15 (PolygonZ: heights, then measures) and 25 (PolygonM), written byte by byte.

    Environmental Systems Research Institute (1998), ESRI shapefile technical description, pages 4 to 20.
    """
    ring = RING[::-1]  # Clockwise.
    body = struct.pack("<i4d2ii", kind, 12, 48, 12.011, 48.008, 1, len(ring), 0)
    body += b"".join(struct.pack("<2d", *point) for point in ring)
    for number in range(extras):
        body += struct.pack(f"<2d{len(ring)}d", 0.0, 500.0, *([300.0 + number] * len(ring)))
    record = struct.pack(">2i", 1, len(body) // 2) + body

    def header(length: int) -> bytes:
        bounds = struct.pack("<2i8d", 1000, kind, 12, 48, 12.011, 48.008, 0, 0, 0, 0)
        return struct.pack(">7i", 9994, 0, 0, 0, 0, 0, length // 2) + bounds

    (tmp_path / "home.shp").write_bytes(header(100 + len(record)) + record)
    (tmp_path / "home.shx").write_bytes(header(108) + struct.pack(">2i", 50, len(body) // 2))
    field = read_field(tmp_path / "home.shp", crs="EPSG:4326")
    assert field.plantable_m2 == pytest.approx(HOME_M2, rel=SAME)
    assert not any(part.has_z or part.has_m for part in field.parts)


def test_a_shapefile_without_some_shapes(tmp_path: Path) -> None:
    shapefile(tmp_path, HOME, None)
    is_home(read_field(tmp_path / "home.shp"))
    is_home(
        read_field(tmp_path / "home.shp", all=True),
        "1 without a shape left out: ask whether a field is missing",
    )


def test_two_shapefiles_in_one_archive_are_named(tmp_path: Path) -> None:
    files = shapefile(tmp_path / "x", HOME) + shapefile(tmp_path / "x", CREEK, name="creek")
    path = packed(tmp_path / "farm.zip", files, "farm/")
    assert words(path).startswith(
        'farm.zip  holds 2 layers. Choose layer = "home" or another of: home, creek.'
    )
    is_home(read_field(path, layer="home"))


def test_kml_and_kmz(tmp_path: Path) -> None:
    is_home(read_field(kml(tmp_path / "home.kml", ("Home 80", AREA))))
    packed(tmp_path / "home.kmz", [tmp_path / "home.kml"])
    (tmp_path / "icon.png").write_bytes(b"\x89PNG")
    both = packed(tmp_path / "icons.kmz", [tmp_path / "home.kml", tmp_path / "icon.png"], "files/")
    for path in (tmp_path / "home.kmz", both):
        assert read_field(path).name == "Home 80"
        is_home(read_field(path))
    shutil.copy(tmp_path / "home.kmz", tmp_path / "packed.kml")
    is_home(read_field(tmp_path / "packed.kml"))
    shutil.copy(tmp_path / "home.kml", tmp_path / "plain.kmz")
    assert words(tmp_path / "plain.kmz") == (
        "plain.kmz  a plain KML file by the name of a packed one. Rename it to .kml."
    )


def test_a_line_in_kml_is_a_boundary_where_it_closes(tmp_path: Path) -> None:
    is_home(read_field(kml(tmp_path / "home.kml", ("Home 80", line(PAIRS)))), CLOSED)
    assert words(kml(tmp_path / "open.kml", ("Home 80", line(PAIRS[:3])))).startswith(
        "open.kml  holds a line, not an area: its ends lie "
    )
    halves = f"<MultiGeometry>{line(PAIRS[:3])}{line(PAIRS[2:])}</MultiGeometry>"
    is_home(read_field(kml(tmp_path / "halves.kml", ("Home 80", halves))), CLOSED)


def test_lines_and_points_beside_an_area_are_no_fields(tmp_path: Path) -> None:
    point = "<Point><coordinates>12,48</coordinates></Point>"
    path = kml(tmp_path / "home.kml", ("AB 1", line(PAIRS[:2])), ("Home 80", AREA), ("gate", point))
    field = read_field(path)
    is_home(field, LEFT_OUT)
    assert field.name == "Home 80"
    is_home(read_field(path, all=True), LEFT_OUT)
    assert words(path, where={"Name": "gate"}) == (
        "home.kml  holds a point, not an area. Ask for the boundary as a polygon."
    )


def test_two_lines_that_close_have_two_readings(tmp_path: Path) -> None:
    pond = [f"{x},{y}" for x, y in shapely.box(12.002, 48.002, 12.004, 48.004).exterior.coords]
    two = f"<MultiGeometry>{line(PAIRS)}{line(pond)}</MultiGeometry>"
    assert words(kml(tmp_path / "home.kml", ("Home 80", two))) == (
        "home.kml  holds 2 closed lines in one: two fields, or a field and what is left out of it? "
        "Ask for the boundary as a polygon."
    )
    # As features of their own they are two fields, and named.
    apart = kml(tmp_path / "two.kml", ("Home 80", line(PAIRS)), ("Pond", line(pond)))
    assert "holds 2 fields. Choose where = {Name = " in words(apart)
    is_home(read_field(apart, where={"Name": "Home 80"}), CLOSED)


def test_lines_that_do_not_close(tmp_path: Path) -> None:
    path = kml(tmp_path / "home.kml", ("AB 1", line(PAIRS[:2])), ("AB 2", line(PAIRS[1:3])))
    assert words(path) == (
        "home.kml  holds 2 lines that do not close, not an area. Ask for the boundary as a polygon."
    )


def test_a_line_that_crosses_itself_is_no_boundary(tmp_path: Path) -> None:
    bow = [PAIRS[0], PAIRS[2], PAIRS[1], PAIRS[3], PAIRS[0]]
    assert "crosses or covers itself at longitude" in words(
        kml(tmp_path / "home.kml", ("Home 80", line(bow)))
    )
