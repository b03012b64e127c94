"""The map of the page: ground as paths, rows gathered by pass end, sizes that are bounded."""

from __future__ import annotations

import json
import re
from typing import Any

import numpy as np
import pytest
import shapely

import overlapsim
from overlapsim.report.page import map_ends, paths
from overlapsim.report.page.field_map import map_section
from overlapsim.report.page.paths import CM, Corner, for_drawing, path_of
from tests.architecture.readme import ROOT
from tests.report.fake import scenario_of
from tests.report.pages import Reader


def read_path(commands: str) -> list[np.ndarray]:
    """Rings of a path in whole centimetres, read by the rules of the form: M absolute, l relative."""
    rings = []
    for ring in filter(None, commands.split("M")):
        start, _, rest = ring.rstrip("z").partition("l")
        points = [np.array([int(v) for v in start.split()])]
        steps = [int(v) for v in rest.split()]
        for step in np.array(steps).reshape(-1, 2):
            points.append(points[-1] + step)
        rings.append(np.array(points))
    return rings


@pytest.fixture(scope="module")
def run() -> Any:
    return overlapsim.simulate(
        scenario_of(field={"rectangle": ["60 m", "80 m"], "end_angle": "20 deg"}, plan={"headland_laps": 1})
    )


def test_a_square_with_a_hole_by_hand() -> None:
    """One metre square with a hole of 20 cm, seen from 2 m up: corners by hand."""
    hole = [(0.4, 0.4), (0.6, 0.4), (0.6, 0.6), (0.4, 0.6)]
    square = shapely.Polygon([(0, 0), (1, 0), (1, 1), (0, 1)], [hole])
    rings = read_path(path_of([square], Corner(0.0, 2.0)))
    assert rings[0].tolist() == [[0, 200], [100, 200], [100, 100], [0, 100]]
    assert rings[1].tolist() == [[40, 160], [60, 160], [60, 140], [40, 140]]
    assert path_of([], Corner(0.0, 0.0)) == ""


def test_ground_keeps_its_area(run: Any) -> None:
    """Corners move by half a centimetre each way: a ring's area by no more than its length times 0.71 cm."""
    corner = Corner(-100.0, 100.0)
    for name in ("skip", "overlap", "off_field"):
        ground = np.asarray(run.layers[name].geometry, dtype=object)
        rings = [ring for ring in read_path(path_of(ground, corner)) if len(ring) > 2]
        drawn = sum(float(shapely.area(shapely.Polygon(ring))) for ring in rings)
        assert len(ground)
        assert drawn / CM**2 == pytest.approx(
            shapely.area(ground).sum(), abs=0.0071 * float(shapely.length(ground).sum())
        )


def test_the_headland_is_what_lies_round_the_interior(run: Any) -> None:
    """Without laps there is none; with one lap what is left is drawn one width inside the boundary."""
    text = map_section(run)
    inside = re.search(r'id="g-interior"[^>]* d="([^"]*)"', text)
    assert inside
    drawn = shapely.union_all([shapely.Polygon(ring) for ring in read_path(inside[1])])
    left = run.scenario.field.parts[0].buffer(-run.drive.width, join_style="mitre")
    # Corners of the drawing may lie 10 cm beside themselves, half a centimetre of rounding besides.
    assert float(drawn.area) / CM**2 == pytest.approx(left.area, abs=0.105 * left.length)
    assert "headland</li>" in text
    none = map_section(overlapsim.simulate(scenario_of(field={"rectangle": ["60 m", "80 m"]})))
    assert "headland" not in none
    assert "exclusion</li>" not in none


def test_an_exclusion_stands_in_the_key() -> None:
    demo = overlapsim.simulate(overlapsim.load_scenario(ROOT / "scenarios" / "demo.toml"))
    assert '<span class="dot outside"></span>exclusion</li>' in map_section(demo)


def test_every_row_end_is_in_the_data_once(run: Any) -> None:
    data = map_ends.ends_data(run, Corner(0.0, 0.0))
    assert data is not None
    ends = run.layers["row_ends"].columns
    told = sorted(
        (leg + 1, ["on", "off"][off], data["ranks"][rank], number, error)
        for _, _, leg, off, _, first, errors in data["ends"]
        for (rank, number), error in zip(data["rows"][first : first + len(errors)], errors, strict=True)
        if error is not None
    )
    known = np.isfinite(ends["error_m"])
    columns = (ends[key][known] for key in ("leg", "event", "rank", "row", "error_m"))
    expected = sorted(
        (int(leg), str(event), str(rank), int(row), round(float(error) * 1000))
        for leg, event, rank, row, error in zip(*columns, strict=True)
    )
    assert told == expected


def test_a_pass_has_one_start_and_one_stop() -> None:
    """Square ends without laps: each pass starts once and stops once, all its rows together."""
    run = overlapsim.simulate(scenario_of(field={"rectangle": ["48.768 m", "100 m"]}))
    data = map_ends.ends_data(run, Corner(0.0, 0.0))
    assert data is not None
    assert [(leg, off, len(errors)) for _, _, leg, off, _, _, errors in data["ends"]] == [
        (leg, off, 32) for leg in range(4) for off in (0, 1)
    ]
    assert data["legs"] == ["pass 1", "pass 2", "pass 3", "pass 4"]


def test_large_fields_are_simplified_for_the_drawing_only(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    ground = np.asarray(run.layers["skip"].geometry, dtype=object)
    most = int(shapely.get_num_coordinates(ground).sum()) // 2
    drawn, left_out = for_drawing(ground, most)
    assert shapely.get_num_coordinates(drawn).sum() <= most
    assert left_out == len(ground) - len(drawn) > 0
    whole = map_section(run)
    monkeypatch.setattr("overlapsim.report.page.field_map.MOST_CORNERS", 300)
    monkeypatch.setattr(map_ends, "MOST_ENDS", 10)
    small = map_section(run)
    assert len(small) < len(whole) / 2
    assert "of the smallest pieces are left out of the drawing, none of the figures" in small
    assert "they stand in layers.gpkg" in small
    assert "left out" not in whole


def test_the_section_is_whole(run: Any) -> None:
    page = Reader(map_section(run))
    names = {str(attrs.get("id")) for _, attrs in page.elements}
    used = {str(attrs["href"]).lstrip("#") for tag, attrs in page.elements if tag == "use"}
    assert used <= names
    assert set(json.loads(page.data[0])) == {"rows", "ranks", "legs", "edges", "ends"}
    assert re.search(r"Together [\d.,]+ of [\d.,]+ sq ft", page.text("us"))
    assert paths.MOST_CORNERS * 10 < 1_000_000
