"""The picture of the cost over the reference offset: parts that add up, marks that lie where they belong."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from overlapsim.report.offset_curve import draw_offset_curve
from overlapsim.report.pictures import picture
from overlapsim.report.style import look
from overlapsim.report.words import Words
from tests.report.fake import INCH, FakeTune, example, scenario_of
from tests.report.looking import by_gid, overlapping_words, words_cut_off
from tests.report.test_row_ends_picture import FOUR, many_ranks
from tests.report.test_text import from_the_axle, one_rank, per_rank

SQ_FT = 0.3048**2


def drawn(result: Any, units: str = "us") -> Any:
    with look():
        figure = draw_offset_curve(result, Words(units))
        figure.canvas.draw()
    return figure


def _top(figure: Any, gid: str) -> np.ndarray:
    """Upper border of a filled part at the curve's own offsets."""
    (area,) = by_gid(figure, gid)
    points = area.get_paths()[0].vertices
    places = np.unique(points[:, 0])
    return np.array([points[points[:, 0] == x, 1].max() for x in places])


@pytest.mark.parametrize("weights", [None, {"skip": 2, "overlap": 1, "off_field": 0.5}])
def test_the_parts_are_stacked_up_to_the_combined_error(weights: dict[str, float] | None) -> None:
    result = example(weights=weights) if weights else example()
    figure = drawn(result)
    (combined,) = by_gid(figure, "combined")
    assert np.asarray(combined.get_ydata()) == pytest.approx(result.curve.combined_m2 / SQ_FT)
    assert _top(figure, "off_field_m2") == pytest.approx(result.curve.combined_m2 / SQ_FT)
    assert _top(figure, "skip_m2") == pytest.approx(
        (weights or {"skip": 1})["skip"] * result.curve.skip_m2 / SQ_FT
    )


@pytest.mark.parametrize(("units", "size"), [("us", INCH), ("metric", 0.01)])
@pytest.mark.parametrize(("make", "more"), [(example, 0.0), (from_the_axle, 1.1)])
def test_marks_and_stretches_lie_where_they_belong(make: Any, more: float, units: str, size: float) -> None:
    result = make()
    figure = drawn(result, units)
    area = SQ_FT if units == "us" else 1.0
    for name, run in (("now", result.as_set), ("type in", result.recommended)):
        (mark,) = by_gid(figure, f"mark:{name}")
        place = (run.scenario.switching.reference_offset + more) / size
        assert mark.get_xdata()[0] == pytest.approx(place)
        assert mark.get_ydata()[0] == pytest.approx(run.areas["combined_m2"] / area)
    for rank, behind in (("front", 84 * INCH), ("rear", 119 * INCH)):
        (line,) = by_gid(figure, f"rank:{rank}")
        assert line.get_xdata()[0] == pytest.approx((behind + more) / size)
    (stretch,) = by_gid(figure, "just as good")
    points = stretch.get_paths()[0].vertices[:, 0]
    assert (points.min(), points.max()) == pytest.approx(
        tuple((end + more) / size for end in result.as_good_m)
    )


@pytest.mark.parametrize(
    "make",
    [
        example,
        one_rank,
        per_rank,
        from_the_axle,
        lambda: example(title="A field with a name that goes on and on " * 6),
        lambda: many_ranks(FOUR, 18, 1.0),
        lambda: example(switching={"reference_offset": "4 in"}),
    ],
)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_no_words_cover_each_other_or_stick_out(make: Any, units: str) -> None:
    figure = drawn(make(), units)
    assert overlapping_words(figure) == []
    assert words_cut_off(figure) == []


def test_an_offset_per_rank_is_no_point_on_the_curve_of_one_offset() -> None:
    figure = drawn(per_rank())
    assert by_gid(figure, "mark:now") == []
    assert len(by_gid(figure, "just as good")) == 2


def test_a_field_without_any_error_can_be_drawn() -> None:
    nothing = FakeTune(scenario_of(), 2.4664, 97 * INCH, (2.0, 2.9))
    for key in ("skip_m2", "overlap_m2", "off_field_m2", "combined_m2"):
        getattr(nothing.curve, key)[:] = 0.0
    assert picture("offset-curve.png", nothing).startswith(b"\x89PNG")


def test_same_bytes_each_time() -> None:
    assert picture("offset-curve.png", example()) == picture("offset-curve.png", example())
