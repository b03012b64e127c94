"""The picture of the best offset over both latencies, and the words about a sweep."""

from __future__ import annotations

import itertools
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from overlapsim.report.data import report_of
from overlapsim.report.latency_map import draw_latency_map, latency_keys
from overlapsim.report.pictures import picture
from overlapsim.report.style import look
from overlapsim.report.terminal import text_of
from overlapsim.report.words import Words
from tests.report.fake import INCH, example
from tests.report.looking import by_gid, overlapping_words, texts, words_cut_off

MPH = 0.44704


def swept(
    on: tuple[float, ...], off: tuple[float, ...], speeds: tuple[float, ...] = (), ranks: tuple[str, ...] = ()
) -> Any:
    """A result whose best offset is 2.5 m - on latency x 1 m/s - off latency x 0.1 m/s - speed x 0.01 s."""
    keys = ["response.off_latency", "response.on_latency", *["speed.working"] * bool(speeds)]
    cases = [
        dict(zip(keys, case, strict=True)) for case in itertools.product(off, on, *[speeds] * bool(speeds))
    ]

    def best(case: dict[str, float]) -> Any:
        offset = 2.5 - case["response.on_latency"] - case["response.off_latency"] / 10
        offset -= case.get("speed.working", 0) / 100
        return {rank: offset + i for i, rank in enumerate(ranks)} if ranks else offset

    result = example()
    result.sweep = SimpleNamespace(
        cases=cases,
        conditions=[{"best_reference_offset_m": best(case)} for case in cases],
        columns={"a": np.zeros(len(cases))},
        moves={
            "response.on_latency": {
                "from": on[0],
                "to": on[-1],
                "mean": -1.0,
                "least": -1.0,
                "largest": -1.0,
            },
            "speed.working": {"from": 2.0, "to": 3.0, "mean": 0.1, "least": -0.05, "largest": 0.2},
        },
    )
    return result


def drawn(result: Any, units: str = "us") -> Any:
    with look():
        figure = draw_latency_map(result, Words(units))
        figure.canvas.draw()
    return figure


@pytest.mark.parametrize(("units", "size"), [("us", INCH), ("metric", 0.01)])
def test_each_cell_shows_and_says_its_best_offset(units: str, size: float) -> None:
    """On latency to the right and off latency upward, rising, in whatever order they were swept."""
    figure = drawn(swept((0.5, 0.3, 0.4), (0.2, 0.4)), units)
    (image,) = by_gid(figure, "map:0")
    wanted = np.array([[2.5 - on - off / 10 for on in (0.3, 0.4, 0.5)] for off in (0.2, 0.4)]) / size
    assert np.asarray(image.get_array()) == pytest.approx(wanted)
    assert image.origin == "lower"
    said = [text.get_text() for text in image.axes.texts]
    assert said == [f"{value:.1f}" for value in wanted.ravel()]
    assert [t.get_text() for t in image.axes.get_xticklabels()] == ["0.30", "0.40", "0.50"]


@pytest.mark.parametrize(
    "result",
    [
        swept((0.3, 0.4), (0.2, 0.4)),
        swept(tuple(n / 20 for n in range(12)), tuple(n / 20 for n in range(9)), (2.0, 3.0, 3.5)),
        swept((0.3, 0.4, 0.5), (0.2, 0.4), (2.0, 2.5, 3.0, 3.5), ("front", "rear")),
        swept(tuple(n / 100 for n in range(80)), tuple(n / 100 for n in range(60))),
    ],
    ids=["four cells", "three speeds", "more than fit", "five thousand cells"],
)
def test_words_neither_overlap_nor_stick_out(result: Any) -> None:
    figure = drawn(result)
    assert overlapping_words(figure) == []
    assert words_cut_off(figure) == []
    assert min(text.get_fontsize() for text in texts(figure)) >= 6.5


def test_without_room_no_figures_stand_in_the_cells() -> None:
    many = tuple(n / 100 for n in range(60))
    (image,) = by_gid(drawn(swept(many, many)), "map:0")
    assert not image.axes.texts


def test_maps_that_are_left_out_are_counted() -> None:
    figure = drawn(swept((0.3, 0.4), (0.2, 0.4), (2.0, 2.5, 3.0, 3.5, 4.0)))
    assert any(text.get_text().startswith("2 more in result.json") for text in texts(figure))
    assert [bool(by_gid(figure, f"map:{n}")) for n in range(4)] == [True, True, True, False]


def test_figures_stand_out_from_their_cells_in_print() -> None:
    """Contrast of letters and cells at least 3 to 1 (WCAG 2.1, 1.4.3, large print), the same in grey."""

    def light(colour: Any) -> float:
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour[:3]]
        return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))

    from matplotlib.colors import to_rgb

    (image,) = by_gid(
        drawn(swept(tuple(n / 10 for n in range(10)), tuple(n / 10 for n in range(10)))), "map:0"
    )
    lightness = []
    for text in image.axes.texts:
        x, y = (int(v) for v in text.get_position())
        cell, ink = (
            light(c) for c in (image.cmap(image.norm(image.get_array()[y, x])), to_rgb(text.get_color()))
        )
        assert (max(cell, ink) + 0.05) / (min(cell, ink) + 0.05) >= 3
        lightness.append((image.get_array()[y, x], cell))
    rising = [cell for _, cell in sorted(lightness)]
    assert all(b >= a - 1e-9 for a, b in itertools.pairwise(rising))


def test_the_same_bytes_each_time() -> None:
    result = swept((0.3, 0.4), (0.2, 0.4))
    assert picture("best-offset.png", result) == picture("best-offset.png", result)


def test_both_latencies_must_have_been_swept() -> None:
    assert latency_keys([]) is None
    assert latency_keys([{}]) is None
    assert latency_keys([{"response.on_latency": 0.3}, {"response.on_latency": 0.4}]) is None
    assert latency_keys(swept((0.3, 0.4), (0.2, 0.2)).sweep.cases) is None
    assert latency_keys(swept((0.3, 0.4), (0.2, 0.3)).sweep.cases) == (
        "response.on_latency", "response.off_latency",
    )  # fmt: skip
    one_rank = [
        {"response.on_latency.rear": on, "response.off_latency": off}
        for on, off in itertools.product((0.1, 0.2), (0.3, 0.4))
    ]
    assert latency_keys(one_rank) == ("response.on_latency.rear", "response.off_latency")
    by_rank = [case | {"response.off_latency": {"front": 0.1}} for case in one_rank]
    assert latency_keys(by_rank) is None


def test_words_about_a_sweep() -> None:
    """1 m per s: 0.1 m or 3.9 in per 0.1 s. 0.1 s: 0.0447 m or 1.76 in per mph, from -0.88 to 3.52 in."""
    said = " ".join(text_of(report_of(swept((0.3, 0.5), (0.2, 0.4)))).split())
    assert "SWEPT 4 combinations of conditions, 4 rows in sweep.csv" in said
    assert "on latency 0.30 s to 0.50 s: the best number goes down 3.9 in per 0.1 s more" in said
    assert "the best number goes up 1.8 in on average (down 0.9 in to up 3.5 in) per mph faster" in said
    assert "SWEPT" not in text_of(report_of(example()))
