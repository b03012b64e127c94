"""What `digplan` prints, and its page: nothing from elsewhere, cautions first, signs drawn as they are
reckoned."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from functools import cache
from html import unescape
from typing import Any

import pytest

from overlapsim import digplan
from overlapsim.report.cautions import DIG_CAUTIONS
from overlapsim.report.data import report_of
from overlapsim.report.page.pages import report_page
from overlapsim.report.terminal import NARROWEST, WIDEST, text_of
from tests.dig_helpers import two_ranks
from tests.helpers import INCH
from tests.report.pages import Reader


@cache
def full() -> Any:
    return digplan(two_ranks(title="Here & <there>"), drift=True, rank_distance=True)


@cache
def quick() -> Any:
    return digplan(two_ranks(plan={"headland_laps": 1}), minutes=10, tape_error=INCH / 2)


@cache
def too_quick() -> Any:
    return digplan(two_ranks(), minutes=10)


@cache
def endless() -> Any:
    return digplan(two_ranks(), offset_within=0.1 * INCH)


MAKERS = [full, quick, too_quick, endless]


@pytest.mark.parametrize("make", MAKERS)
@pytest.mark.parametrize("width", [10, NARROWEST, 40, 60, 80, 100])
def test_no_line_is_wider_than_the_terminal(make: Any, width: int) -> None:
    for line in text_of(report_of(make()), width).splitlines():
        assert len(line) <= max(min(width, WIDEST), NARROWEST)


def text(make: Any, units: str = "us") -> str:
    return " ".join(text_of(report_of(make(), units)).split())


def test_cautions_come_before_the_first_step() -> None:
    said = text(full)
    assert said.index("engine off") < said.index("DIG ")
    page = unescape(report_page(full()))
    assert all(page.index(one[:20]) < page.index("How to measure") for one in DIG_CAUTIONS)


def test_what_is_told_and_what_not() -> None:
    assert "8 row ends at 1 turn, 5 mph, about 10 minutes" in text(quick)
    assert "one speed settles both times" in text(quick)
    assert "cannot be told" in text(too_quick)
    assert "starts at another speed" in text(too_quick)
    assert "Less sure than wanted" in text(endless)
    assert "turns more: see the sheet" in text(endless)
    assert " cm" in text(full, "metric")


@pytest.mark.parametrize("make", MAKERS)
def test_the_page_holds_every_dig_in_both_units(make: Any) -> None:
    told = report_page(make())
    Reader(told)
    assert "@page" in told
    assert told.count('<tr class="turn">') == 2 * len(make().turns)
    assert told.count('<td class="fill">') == 2 * 2 * len(make().digs)


def test_a_title_does_no_harm() -> None:
    assert "Here &amp; &lt;there&gt;" in report_page(full())
    assert "<there>" not in report_page(full())


@pytest.mark.parametrize("make", [full, quick])
def test_signs_are_drawn_as_they_are_reckoned(make: Any) -> None:
    """The machine runs to the right: plus lies to the right of the line. Seed lies ahead of a start's first
    seed and behind a stop's last one; the headland row lies before the line at starts and beyond it at
    stops.
    """
    drawn = re.findall(r'<svg class="signs".*?</svg>', report_page(make()), re.DOTALL)
    svg = ElementTree.fromstring(f"<div>{''.join(drawn[:2])}</div>")  # inches; centimetres follow
    texts = [(node.text or "", float(node.get("x", "nan"))) for node in svg.iter("text")]
    lines = sorted(x for text, x in texts if text == "line")
    rings = [
        (float(n.get("cx", "nan")), float(n.get("cy", "nan")))
        for n in svg.iter("circle")
        if n.get("r") == "7"
    ]
    seeds = [
        (float(n.get("cx", "nan")), float(n.get("cy", "nan")))
        for n in svg.iter("circle")
        if n.get("r") != "7"
    ]
    assert len(lines) == 2
    assert len(rings) == 4
    middle = sum(lines) / 2
    for x, y in rings:
        start = x < middle
        own = [a for a, b in seeds if b == y and (a < middle) == start]
        assert x == (min(own) if start else max(own))
    place = dict(texts)
    for line, plus, minus in (
        (lines[0], "plus: late", "minus: early"),
        (lines[1], "plus: over", "minus: short"),
    ):
        assert place[minus] < line < place[plus]
    rows = sorted(x for text, x in texts if text == "headland row")
    if make is quick:
        assert rows[0] < lines[0]
        assert rows[1] > lines[1]
        assert "from the headland row, perfect is +7.5 in" in place
        assert "from the headland row, perfect is -7.5 in" in place
    else:
        assert not rows
