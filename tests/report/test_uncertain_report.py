"""Draws in words, tables and the picture."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from overlapsim import Scenario, TuneResult, tune
from overlapsim.report.data import report_of
from overlapsim.report.style import look
from overlapsim.report.terminal import text_of
from overlapsim.report.uncertain_picture import draw_uncertain
from overlapsim.report.words import Words
from tests.helpers import scenario, square, two_ranks

SPREADS = {
    "response.on_latency": "0.05 s",
    "response.off_latency.rear": "0.02 s",
    "speed.working": {"spread": "0.5 mph", "shape": "even"},
    "machine.ranks.front.behind_pin": "1/2 in",
    "switching.reference_offset": "1/4 in",
    "controller.position_delay": "0 s",
    "controller.drift": ["0 in", "1 in"],
}
VALUE = {"currency": "EUR", "seed": "110 /ac", "lost_stand": "900 /ac"}


@cache
def done(value: bool = False, rear_axle: bool = False) -> TuneResult:
    more = {"value": VALUE} if value else {}
    machine = two_ranks() | ({"axle_to_pin": "1 m"} if rear_axle else {})
    controller = {"controller": {"measured_from": "rear axle"}} if rear_axle else {}
    one: Scenario = scenario(machine, square("48.768 m", "200 m"), uncertain=SPREADS, **more, **controller)
    return tune(one, uncertain=True, draws=100)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_words(units: str) -> None:
    said = " ".join(text_of(report_of(done(), units)).split())
    assert "on latency 0.05 s; off latency of the rear rank 0.02 s; speed within" in said
    assert ("speed within 0.5 mph" if units == "us" else "speed within 0.8 km/h") in said
    assert "tape to the front rank" in said
    assert "drift east, north 0" in said
    assert "truly more, truly less" in said
    assert "EUR" not in said


def test_money_in_both_tables() -> None:
    text = text_of(report_of(done(value=True), "us"))
    after = text[text.index("HOW SURE") :]
    assert after.count("EUR") >= 3


@pytest.mark.parametrize("width", [40, 60, 80, 100])
def test_no_line_is_wider_than_the_page(width: int) -> None:
    assert max(map(len, text_of(report_of(done(value=True), "us"), width).splitlines())) <= width


def test_offsets_are_told_as_they_are_typed() -> None:
    """From the rear axle all are 1 m more: 84 in entered are told as 123.4 in."""
    text = text_of(report_of(done(rear_axle=True), "us"))
    row = next(line for line in text.splitlines() if line.startswith("now") and "%" in line)
    assert "123.4" in row


def test_the_picture_shows_what_was_drawn() -> None:
    result = done()
    sure = result.uncertain
    assert sure is not None
    with look():
        figure = draw_uncertain(result, Words("us"))
    above, below = figure.axes[:2]
    mean = next(line for line in above.lines if line.get_gid() == "mean")
    assert np.asarray(mean.get_xdata()) * 0.0254 == pytest.approx(sure.offset_m)
    assert sum(patch.get_height() for patch in below.patches if patch.get_gid() != "good") <= 100
    marks = {str(line.get_gid()): line for line in above.lines if str(line.get_gid()).startswith("mark:")}
    assert set(marks) == {"mark:now", "mark:type_in", "mark:on_average"}
    assert float(np.asarray(marks["mark:now"].get_xdata())[0]) == pytest.approx(84.0)
