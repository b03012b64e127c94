"""The field from above, with its worst spots at true scale."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import overlapsim
from overlapsim.report.map_ground import LOST, WIDER
from overlapsim.report.overview import draw_overview
from overlapsim.report.pictures import picture
from overlapsim.report.rounding import plain
from overlapsim.report.style import look
from overlapsim.report.words import Words
from tests.report.fake import FakeRun, example, scenario_of
from tests.report.looking import by_gid, by_gid_start, overlapping_words, texts, words_cut_off

HOLE = [[[-20, -20], [20, -20], [20, 20], [-20, 20]]]
FIELDS = {
    "long": {"rectangle": ["400 m", "800 m"]},
    "wide": {"rectangle": ["3000 m", "40 m"]},
    "narrow": {"rectangle": ["20 m", "3000 m"]},
    "small": {"rectangle": ["5 m", "8 m"]},
    "hole": {"rectangle": ["300 m", "200 m"], "exclusions": HOLE},
}


def drawn(run: Any, units: str = "us") -> tuple[Any, Any]:
    """The picture and its map."""
    with look():
        figure = draw_overview(run, Words(units))
        figure.canvas.draw()
    (axes,) = by_gid(figure, "map")
    return figure, axes


def unit_on_paper(axes: Any) -> tuple[float, float]:
    """Dots that a metre takes east and north."""
    (x0, y0), (x1, y1) = axes.transData.transform([(0.0, 0.0), (1.0, 1.0)])
    return x1 - x0, y1 - y0


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_field_of_any_shape(name: str, units: str) -> None:
    title = "A field with a name that goes on and on " * (6 if name in ("narrow", "hole") else 1)
    run = FakeRun(scenario_of(field=FIELDS[name], title=title))
    figure, axes = drawn(run, units)
    for one in figure.axes:
        east, north = unit_on_paper(one)
        assert east == pytest.approx(north, rel=1e-6)
    (boundary,) = by_gid(axes, "boundary")
    points = boundary.get_path().vertices
    west, south, east, north = run.scenario.field.parts[0].bounds
    assert (points[:, 0].min(), points[:, 0].max()) == (west, east)
    assert axes.get_xlim()[0] < west < east < axes.get_xlim()[1]
    assert axes.get_ylim()[0] < south < north < axes.get_ylim()[1]
    assert overlapping_words(figure) == []
    assert words_cut_off(figure) == []


@pytest.mark.parametrize("laps", [0, 2])
def test_a_real_run_with_everything_on_it(laps: int) -> None:
    hole = [[[-30, -60], [20, -60], [20, 30], [-30, 30]]]
    scenario = scenario_of(
        field={"rectangle": ["200 m", "300 m"], "end_angle": "30 deg", "exclusions": hole},
        plan={"headland_laps": laps},
    )
    figure, axes = drawn(overlapsim.simulate(scenario))
    assert len(by_gid_start(axes, "spot:")) == len(by_gid_start(figure, "panel:")) == 4
    assert [len(by_gid(axes, name)) for name in ("passes", "laps", "scale")] == [1, 1, 1]
    assert len(by_gid(axes, "laps")[0].get_paths()) == (0 if laps == 0 else 4 * laps + laps)
    assert overlapping_words(figure) == []
    assert words_cut_off(figure) == []


def test_it_says_by_how_much_lost_ground_is_drawn_wider() -> None:
    run = FakeRun(scenario_of(field={"rectangle": ["400 m", "800 m"]}))
    figure, axes = drawn(run, "metric")
    metre, _ = unit_on_paper(axes)
    (said,) = [t.get_text() for t in texts(figure) if t.get_text().startswith("drawn wider")]
    for name in ("skip", "off_field"):
        (piece,) = by_gid(axes, name)
        # A stroke lies half on either side of the edge, so a piece grows by one width of it.
        metres = piece.get_linewidth() / 72 * figure.dpi / metre
        assert piece.get_linewidth() == WIDER[name]
        assert f"{LOST[name][1]} by {plain(metres, 0 if metres > 3 else 1)} m" in said


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    figure, _ = drawn(FakeRun(scenario_of(field={"rectangle": ["400 m", "800 m"]})), "metric")
    for one in figure.axes:
        (bar,) = by_gid(one, "scale")
        (label,) = [t.get_text() for t in one.texts if t.get_text().endswith(" m")]
        assert np.ptp(bar.get_xdata()) == pytest.approx(float(label.split()[0]))


def test_lost_ground_stays_on_its_side_of_the_boundary() -> None:
    _, axes = drawn(FakeRun(scenario_of(field=FIELDS["hole"])))
    for name, inside in (("skip", True), ("off_field", False)):
        for piece in by_gid(axes, name):
            path, transform = piece.get_clip_path().get_transformed_path_and_affine()
            clip = transform.transform_path(path)
            for place, planted in (((100.0, 50.0), True), ((0.0, 0.0), False), ((155.0, 0.0), False)):
                spot = axes.transData.transform(place)
                assert (winding(clip, spot) != 0) is (planted is inside)


def winding(path: Any, spot: Any) -> int:
    """How often a path runs round a spot, by the sum of the angles of its edges."""
    total, rings = 0.0, np.flatnonzero(path.codes == path.MOVETO)
    for ring in np.split(path.vertices, rings[1:]):
        way = ring - spot
        angle = np.arctan2(way[:, 1], way[:, 0])
        total += ((np.diff(np.r_[angle, angle[:1]]) + np.pi) % (2 * np.pi) - np.pi).sum()
    return round(total / (2 * np.pi))


def test_holes_stay_open() -> None:
    _, axes = drawn(FakeRun(scenario_of(field=FIELDS["hole"])))
    (boundary,) = by_gid(axes, "boundary")
    assert len(boundary.get_path().to_polygons()) == 2


def test_of_a_search_the_run_as_entered_is_drawn() -> None:
    result = example()
    assert picture("field.png", result) == picture("field.png", result.as_set)


def test_a_field_without_losses_has_no_spots() -> None:
    run = FakeRun(scenario_of(field=FIELDS["long"]))
    for name in LOST:
        run.layers[name] = run.layers["overlap"]
    figure, _ = drawn(run)
    assert len(figure.axes) == 1
    assert "No ground is lost." in [t.get_text() for t in texts(figure)]
