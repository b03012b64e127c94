"""The row-ends picture: true scale, seeds where they lie, ranks told apart, words that do not collide."""

from __future__ import annotations

from typing import Any

import matplotlib
import numpy as np
import pytest

from overlapsim.report.pictures import picture
from overlapsim.report.row_ends import draw_row_ends, settings_of
from overlapsim.report.row_ends_panel import SEED_SPACING, seeds_of
from overlapsim.report.style import RANKS, look
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout
from tests.report.fake import INCH, FakeRun, FakeTune, example, scenario_of
from tests.report.looking import by_gid, by_gid_start, overlapping_words, words_cut_off


def drawn(result: Any, units: str = "us") -> Any:
    words = Words(units)
    with look():
        figure = draw_row_ends(settings_of(result, words), result.scenario, words)
        figure.canvas.draw()
    return figure


def many_ranks(names: tuple[str, ...], rows: int, spacing: float) -> FakeTune:
    ranks = {
        name: {
            "rows": rows, "spacing": f"{spacing} m", "behind_pin": f"{2 + 0.6 * i} m",
            "right": f"{spacing / len(names) * i} m",
        }
        for i, name in enumerate(names)
    }  # fmt: skip
    machine = {"ranks": ranks, "setups": {"all": {"ranks": list(names)}}, "setup": "all"}
    scenario = scenario_of(machine=machine, switching={"reference_offset": "2 m"})
    return FakeTune(scenario, 2.9, 2.9, (2.8, 3.0))


FOUR = ("vorderste_Reihe", "zweite", "dritte", "hinterste_Reihe")
CASES = {
    "two ranks": example,
    "as entered": lambda: example().as_set,
    "to be left": lambda: example(switching={"reference_offset": "97 in"}),
    "one row": lambda: many_ranks(("bar",), 1, 0.75),
    "four ranks, 72 rows": lambda: many_ranks(FOUR, 18, 1.0),
    "24 rows, 60 ft": lambda: many_ranks(("front",), 24, 30 * INCH),
    "48 rows, 120 ft": lambda: many_ranks(("front", "rear"), 24, 60 * INCH),
    "far off": lambda: example(switching={"reference_offset": "4 in"}),
    "long title": lambda: example(title="A field with a name that goes on and on " * 6),
    "soybeans": lambda: example(seed={"population": "140,000 /ac"}),
    "squash": lambda: example(seed={"spacing": "24 in"}),
    "rows off": lambda: example(machine={"rows_off": ["rear 3"]}),
}


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_true_scale_in_every_panel_and_no_words_in_each_others_way(name: str, units: str) -> None:
    figure = drawn(CASES[name](), units)
    assert overlapping_words(figure) == []
    assert words_cut_off(figure) == []
    scales = []
    for axes in figure.axes:
        (x0, y0), (x1, y1) = axes.transData.transform([(0.0, 0.0), (1.0, 1.0)])
        scales += [abs(x1 - x0), abs(y1 - y0)]
        # The frame is filled: nothing was shrunk to keep the scale true.
        box, wanted = axes.get_position(), axes.get_position(original=True)
        assert box.bounds == pytest.approx(wanted.bounds, rel=1e-6)
    assert scales == pytest.approx([scales[0]] * len(scales), rel=1e-6)


def _rows_of(axes: Any, rank: str) -> dict[float, np.ndarray]:
    (line,) = by_gid(axes, f"seeds:{rank}")
    along, across = np.asarray(line.get_xdata()), np.asarray(line.get_ydata())
    return {float(y): along[across == y] for y in np.unique(across)}


@pytest.mark.parametrize("which", ["as_set", "recommended"])
@pytest.mark.parametrize("end", ["on", "off"])
def test_the_first_and_the_last_seed_lie_at_the_rows_error(which: str, end: str) -> None:
    result = example()
    axes = drawn(result).axes[2 * (which == "recommended") + (end == "off")]
    ends = getattr(result, which).square_ends
    errors, layout = (ends.on_m if end == "on" else ends.off_m), ends.layout
    seen = 0
    for rank in layout.working_ranks:
        for across, seeds in _rows_of(axes, rank).items():
            row = int(np.argmin(np.abs(layout.right - across)))
            assert layout.rank[row] == rank
            edge = seeds.min() if end == "on" else seeds.max()
            assert edge == pytest.approx(errors[row], abs=1e-12)
            assert np.abs(np.diff(np.sort(seeds))) == pytest.approx(SEED_SPACING, abs=1e-12)
            seen += 1
    assert seen == len(layout.rank)


def test_seeds_lie_as_far_apart_as_the_scenario_says() -> None:
    """140,000 per acre in 15 in rows: 6,272,640 / (15 x 140,000) = 2.987 in."""
    figure = drawn(example(seed={"population": "140,000 /ac"}))
    for seeds in _rows_of(figure.axes[0], "front").values():
        assert np.diff(np.sort(seeds)) == pytest.approx(6_272_640 / (15 * 140_000) * INCH, abs=1e-12)
    assert "seeds 3 in apart" in figure.texts[-1].get_text()
    assert "seeds drawn 6 in apart" in drawn(example()).texts[-1].get_text()


def test_seeds_follow_ahead_of_a_start_and_lie_behind_a_stop() -> None:
    assert seeds_of(-0.2, "on", 0.75).min() == -0.2
    assert seeds_of(0.3, "off", 0.75).max() == 0.3
    assert len(seeds_of(1.0, "on", 0.75)) == 0
    assert len(seeds_of(-1.0, "off", 0.75)) == 0


def test_gaps_and_seed_beyond_the_line_are_shaded_from_the_line_to_the_row_end() -> None:
    """84 in: the front rank starts 4.4 in late (a gap), the rear rank 30.6 in early (outside)."""
    axes = drawn(example()).axes[0]
    layout = row_layout(example().scenario)
    (gap,), (beyond,) = by_gid(axes, "gap"), by_gid(axes, "beyond")
    for shaded, rank, far in ((gap, "front", 4.4 * INCH), (beyond, "rear", -30.6 * INCH)):
        rows = np.flatnonzero(layout.rank == rank)
        pieces = [path.get_extents() for path in shaded.get_paths()]
        assert len(pieces) == len(rows) == 16
        for piece, row in zip(pieces, rows, strict=True):
            assert (piece.x0, piece.x1) == pytest.approx((min(far, 0.0), max(far, 0.0)), abs=1e-9)
            assert piece.height == pytest.approx(15 * INCH)
            assert (piece.y0 + piece.y1) / 2 == pytest.approx(layout.right[row])
    assert tuple(gap.get_facecolor()[0]) != tuple(beyond.get_facecolor()[0])
    assert beyond.get_hatch()
    assert not gap.get_hatch()


def test_a_row_that_is_off_has_no_seed_and_is_bare_as_far_as_one_sees() -> None:
    result = example(machine={"rows_off": ["rear 3"]})
    layout = row_layout(result.scenario)
    row = int(np.flatnonzero(layout.off)[0])
    for axes, side in zip(drawn(result).axes[:2], (1, -1), strict=True):
        (gaps,) = by_gid(axes, "gap")
        pieces = [path.get_extents() for path in gaps.get_paths()]
        (bare,) = [piece for piece in pieces if piece.y0 < layout.right[row] < piece.y1]
        reach = (0.0, axes.get_xlim()[1]) if side > 0 else (axes.get_xlim()[0], 0.0)
        assert (bare.x0, bare.x1) == pytest.approx(reach)
        assert layout.right[row] not in _rows_of(axes, "rear")


def test_ranks_differ_in_colour_and_in_shape() -> None:
    axes = drawn(example()).axes[0]
    lines = by_gid_start(axes, "seeds:")
    assert [line.get_gid() for line in lines] == ["seeds:front", "seeds:rear"]
    assert len({line.get_markerfacecolor() for line in lines}) == 2
    assert len({line.get_marker() for line in lines}) == 2
    assert len({colour for colour, _ in RANKS}) == len({marker for _, marker in RANKS}) == 4


def test_the_leftmost_row_stands_on_top() -> None:
    """The machine drives to the right: its left is up."""
    axes = drawn(example()).axes[0]
    layout = row_layout(example().scenario)
    first, last = (axes.transData.transform((0.0, layout.right[i]))[1] for i in (0, -1))
    assert first > last


def test_only_part_of_a_very_wide_machine_is_drawn_and_that_is_said() -> None:
    result = many_ranks(("front", "rear"), 24, 60 * INCH)
    figure = drawn(result)
    said = " ".join(text.get_text() for text in figure.texts)
    assert "Rows 1 to 24 of 48 from the left, the others stand alike" in said


def test_same_bytes_each_time_whatever_the_users_own_settings_are() -> None:
    first = picture("row-ends.png", example())
    with matplotlib.rc_context({"font.size": 20, "axes.facecolor": "black", "lines.marker": "x"}):
        assert picture("row-ends.png", example()) == first
    for chunk in (b"tEXt", b"iTXt", b"tIME"):
        assert chunk not in first


def test_the_users_own_settings_are_left_as_they_were() -> None:
    with matplotlib.rc_context({"font.size": 20}):
        picture("row-ends.png", FakeRun(scenario_of()))
        assert matplotlib.rcParams["font.size"] == 20


def test_a_title_is_no_formula_and_any_letters_do() -> None:
    title = "Pays $5 a_1 {x} ^2 畑"
    assert picture("row-ends.png", FakeRun(scenario_of(title=title))).startswith(b"\x89PNG")
