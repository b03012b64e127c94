"""The field from above."""

from __future__ import annotations

import numpy as np
import pytest

from overlapsim.report.overview import draw_overview
from overlapsim.report.pictures import overview_png
from overlapsim.report.style import look
from overlapsim.report.words import Words
from tests.report.fake import FakeRun, example, scenario_of
from tests.report.looking import by_gid, overlapping_words, words_cut_off

HOLE = [[[-20, -20], [20, -20], [20, 20], [-20, 20]]]
FIELDS = {
    "long": {"rectangle": ["400 m", "800 m"]},
    "wide": {"rectangle": ["3000 m", "40 m"]},
    "narrow": {"rectangle": ["20 m", "3000 m"]},
    "small": {"rectangle": ["5 m", "8 m"]},
    "hole": {"rectangle": ["300 m", "200 m"], "exclusions": HOLE},
}


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_field_of_any_shape(name: str, units: str) -> None:
    title = "A field with a name that goes on and on " * (6 if name in ("narrow", "hole") else 1)
    run = FakeRun(scenario_of(field=FIELDS[name], title=title))
    with look():
        figure = draw_overview(run, Words(units))
        figure.canvas.draw()
    (axes,) = figure.axes
    (x0, y0), (x1, y1) = axes.transData.transform([(0.0, 0.0), (1.0, 1.0)])
    assert x1 - x0 == pytest.approx(y1 - y0, rel=1e-6)
    (boundary,) = by_gid(axes, "boundary")
    points = np.concatenate([path.vertices for path in boundary.get_paths()])
    west, south, east, north = run.scenario.field.parts[0].bounds
    assert (points[:, 0].min(), points[:, 0].max()) == (west, east)
    assert axes.get_xlim()[0] < west < east < axes.get_xlim()[1]
    assert axes.get_ylim()[0] < south < north < axes.get_ylim()[1]
    assert overlapping_words(figure) == []
    assert words_cut_off(figure) == []


def test_holes_stay_open() -> None:
    run = FakeRun(scenario_of(field=FIELDS["hole"]))
    with look():
        figure = draw_overview(run, Words("us"))
    (boundary,) = by_gid(figure, "boundary")
    (path,) = boundary.get_paths()
    assert len(path.to_polygons()) == 2


def test_of_a_search_the_run_as_entered_is_drawn() -> None:
    result = example()
    assert overview_png(result) == overview_png(result.as_set)
