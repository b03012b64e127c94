"""What `correct` prints and draws: no line too wide, figures that can be checked, words apart."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from overlapsim import correct
from overlapsim.report.data import report_of
from overlapsim.report.dig_tables import MOST_DIGS
from overlapsim.report.digs_picture import draw_digs
from overlapsim.report.style import look
from overlapsim.report.terminal import NARROWEST, WIDEST, text_of
from overlapsim.report.words import Words
from tests.dig_helpers import SPACING, dug, plan_of, two_ranks
from tests.helpers import INCH
from tests.report.looking import by_gid, overlapping_words, words_cut_off


@cache
def all_told() -> Any:
    """Two dozen digs, one of them wrong."""
    digs = dug(plan_of((3, 5, 7)), 2)
    digs[7] = replace(digs[7], past=digs[7].past + 0.5)
    return correct(two_ranks(), digs, seed_spacing=SPACING, rank_distance=True, drift=True)


@cache
def one_speed() -> Any:
    return correct(two_ranks(), dug(plan_of((5,)), 2))


@cache
def starts_only() -> Any:
    return correct(two_ranks(), [d for d in dug(plan_of((3, 5)), 2) if d.end == "on"], tape_error=INCH / 2)


@cache
def very_many() -> Any:
    return correct(two_ranks(), dug(plan_of((3, 5, 7), 20), 2), seed_spacing=SPACING)


MAKERS = [all_told, one_speed, starts_only, very_many]


@pytest.mark.parametrize("make", MAKERS)
@pytest.mark.parametrize("width", [10, NARROWEST, 40, 60, 80, 100])
def test_no_line_is_wider_than_the_terminal(make: Any, width: int) -> None:
    for line in text_of(report_of(make()), width).splitlines():
        assert len(line) <= max(min(width, WIDEST), NARROWEST)


def text(make: Any, units: str = "us") -> str:
    return " ".join(text_of(report_of(make(), units)).split())


def test_what_is_wrong_is_named_by_line() -> None:
    said = text(all_told)
    assert "OUTLIERS line 9: " in said
    assert "line 9 OUTLIER" in said
    assert "rear rank farther back" in said
    assert "late on the way out" in said


def test_latencies_say_what_they_hold() -> None:
    assert "the controller's position delay and half an update period" in text(all_told)


def test_what_is_not_told_has_no_number() -> None:
    said = text(one_speed)
    assert "offset has too much not told" in said
    assert "known only together: offset has too much + 5 mph x on latency = " in said
    assert "right at 5 mph only" in said
    only = text(starts_only)
    assert "TYPE IN turn-on time" in only
    assert "the rest cannot be told" in only
    assert "DIGGING SHOULD SHOW" not in only


def test_many_digs_are_not_all_printed() -> None:
    assert f"THE {MOST_DIGS} FARTHEST OFF OF 480" in text(very_many)
    assert sum(line.startswith("line ") for line in text_of(report_of(very_many())).splitlines()) == MOST_DIGS


def test_metric_words() -> None:
    said = text(all_told, "metric")
    assert " cm" in said
    assert " mph" not in said
    assert (
        " in "
        not in said.replace("type in", "").replace("TYPE IN", "").split("FOUND")[1].split("Latencies")[0]
    )


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("make", MAKERS)
def test_the_picture_can_be_read(make: Any, units: str) -> None:
    with look():
        figure = draw_digs(make(), Words(units))
        assert not overlapping_words(figure)
        assert not words_cut_off(figure)


def test_the_picture_shows_every_dig_where_it_was() -> None:
    """A front-rank start stands at speed and past line less (97 - 84) in less half a spacing."""
    done = all_told()
    with look():
        figure = draw_digs(done, Words("us"))
    (drawn,) = by_gid(figure, "digs:on:front")
    own = [(i, dig) for i, dig in enumerate(done.digs) if dig.end == "on" and dig.rank == "front"]
    assert len(drawn.get_xdata()) == len(own)
    for x, y, (_, dig) in zip(drawn.get_xdata(), drawn.get_ydata(), own, strict=True):
        assert x == pytest.approx(dig.speed / 0.44704)
        assert y == pytest.approx(dig.past / INCH - 13 - 3)
    assert len(by_gid(figure, "outliers:off")) == (done.digs[7].end == "off")
    assert not by_gid(figure, "outliers:on")


def test_where_nothing_is_known_no_line_is_drawn() -> None:
    import numpy as np

    with look():
        figure = draw_digs(starts_only(), Words("us"))
    assert np.isnan(by_gid(figure, "fitted:off")[0].get_ydata()).all()
    assert not np.isnan(by_gid(figure, "fitted:on")[0].get_ydata()).any()
