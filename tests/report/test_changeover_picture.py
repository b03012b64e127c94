"""The picture of forgotten steps: bars as long as what they stand for, told without colour."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from matplotlib.colors import to_rgba
from matplotlib.patches import Rectangle

from overlapsim.report.changeover_picture import draw_forgotten
from overlapsim.report.pictures import picture
from overlapsim.report.style import look
from overlapsim.report.words import Words
from tests.report.test_card import changed


def way(old: str, new: str, metres: dict[str, float], **more: Any) -> SimpleNamespace:
    """One way with what its forgotten steps cost; the longest gap grows by a tenth of a metre each."""
    field = SimpleNamespace(plantable_m2=10_000.0)
    scenarios = [
        SimpleNamespace(machine=SimpleNamespace(setup=name), field=field, title="A title")
        for name in (old, new)
    ]
    rank = {"rank_left_up": "rear", "row_locked_up": "rear"}
    told = {
        "old": SimpleNamespace(scenario=scenarios[0]), "scenario": scenarios[1], "way_back": None,
        "unpriced": {},
        "forgotten": [
            {"key": key, "extra": {"unplanted_row_m": m, "longest_gap_m": 0.1}}
            | ({"rank": rank[key]} if key in rank else {})
            for key, m in metres.items()
        ],
    }  # fmt: skip
    return SimpleNamespace(**told | more)


def bars(figure: Any) -> list[dict[str, Rectangle]]:
    """Bars of each panel by the key of their step."""
    return [
        {patch.get_gid()[4:]: patch for patch in axes.patches if (patch.get_gid() or "").startswith("bar:")}
        for axes in figure.axes
    ]


def test_bars_are_as_long_as_the_row_that_is_missing() -> None:
    """30.48 m = 100 ft; 3.048 m less = 10 ft to the left, empty and hatched."""
    back = way("narrow", "wide", {"times_left": -3.048}, unpriced={"rank_left_down:rear": "why"})
    there = way("wide", "narrow", {"rank_left_up": 30.48, "recentring_left": 0.0}, way_back=back)
    with look():
        figure = draw_forgotten(there, Words("us"))
        figure.canvas.draw()
        first, second = bars(figure)
        assert first["rank_left_up"].get_width() == pytest.approx(100.0)
        assert first["recentring_left"].get_width() == 0.0
        assert second["times_left"].get_width() == pytest.approx(-10.0)
        assert second["times_left"].get_hatch()
        assert not first["rank_left_up"].get_hatch()
        assert to_rgba(second["times_left"].get_facecolor()) == (1.0, 1.0, 1.0, 1.0)
        assert max(first["rank_left_up"].get_facecolor()[:3]) < 0.2
        names = [label.get_text() for label in figure.axes[0].get_yticklabels()]
        assert names == ["rear rank left up", "re-centring left out"]
        said = [text.get_text() for text in figure.axes[0].texts]
        assert said == ["100 ft; longest gap 3.9 in longer", "0 ft; longest gap 3.9 in longer"]
        assert "rear rank left down" in figure.axes[1].get_title(loc="left")


def test_nothing_runs_off_the_page() -> None:
    steps = {"rank_left_up": 1e7, "row_locked_up": 9.9e6, "entered_setup_left": 0.0}
    there = way("a-setup-with-a-long-name-" * 4, "n", steps, unpriced={f"rank_left_down:{'r' * 60}": "why"})
    for one in there.forgotten:
        one |= {"rank": "rank-with-a-name-that-is-much-too-long-for-a-picture"} if "rank" in one else {}
    with look():
        figure = draw_forgotten(there, Words("metric"))
        figure.canvas.draw()
        page = figure.bbox
        axes = figure.axes[0]
        for text in (*axes.texts, *axes.get_yticklabels(), axes.title, axes._left_title, *figure.texts):
            box = text.get_window_extent()
            if text.get_text():
                assert box.x0 >= 0, text.get_text()
                assert box.x1 <= page.x1, text.get_text()


def test_a_real_changeover_is_drawn_the_same_twice() -> None:
    made = picture("forgotten.png", changed())
    assert made == picture("forgotten.png", changed())
    assert made != picture("forgotten.png", changed(), "metric")
    with look():
        (drawn,) = bars(draw_forgotten(changed(), Words("metric")))
    told = {one["key"]: one["extra"]["unplanted_row_m"] for one in changed().forgotten}
    assert list(drawn) == list(told)
    for key, bar in drawn.items():
        assert bar.get_width() == pytest.approx(told[key])
