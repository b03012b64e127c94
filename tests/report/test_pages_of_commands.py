"""Every command's page: whole, closed in itself, in both systems of units, with what the command has."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from html import unescape
from typing import Any

import pytest

import overlapsim
from overlapsim.questions.digs import Dig
from overlapsim.report.page.notebook import shown
from overlapsim.report.page.pages import report_page
from overlapsim.report.page.told import told
from tests.architecture.readme import ROOT
from tests.report.fake import MACHINE, scenario_of
from tests.report.pages import Reader, digest, policy_of


def small(setup: str = "narrow", **changes: Any) -> Any:
    """Four rows in each rank on a small field."""
    ranks = {name: {**rank, "rows": 4} for name, rank in MACHINE["ranks"].items()}
    field = {"rectangle": ["40 m", "60 m"], "end_angle": "10 deg"}
    return scenario_of(**{"machine": {"ranks": ranks, "setup": setup}, "field": field, **changes})


@cache
def causes() -> Any:
    return overlapsim.causes(small())


@cache
def patterns() -> Any:
    return overlapsim.patterns(small())


@cache
def digplan() -> Any:
    return overlapsim.digplan(small())


@cache
def correct() -> Any:
    scenario = overlapsim.load_scenario(ROOT / "scenarios" / "demo.toml")
    return overlapsim.correct(scenario, overlapsim.load_digs(ROOT / "scenarios" / "demo-digs.csv", scenario))


@cache
def changeover() -> Any:
    return overlapsim.changeover(small("wide"), small(), back=True)


@cache
def swept() -> Any:
    on, off = ["0.35 s", "0.45 s"], ["0.25 s", "0.35 s"]
    return overlapsim.tune(small(sweep={"response.on_latency": on, "response.off_latency": off}))


@cache
def beside() -> Any:
    """A search with everything else beside it, the machine come from either of two other row setups."""
    setups = {**MACHINE["setups"], "back": {"ranks": ["rear"]}}
    machine = {
        "ranks": {name: {**rank, "rows": 4} for name, rank in MACHINE["ranks"].items()}, "setups": setups,
    }  # fmt: skip
    narrow, *others = (small(machine={**machine, "setup": name}) for name in ("narrow", "wide", "back"))
    digs = [
        Dig("on" if start else "off", rank, "out", v, past, line=2 + 4 * i + 2 * j + start)
        for i, v in enumerate((1.6, 2.9))
        for j, rank in enumerate(("front", "rear"))
        for start, past in ((False, -0.2 - 0.4 * j), (True, 0.1 * v - 0.7 * j))
    ]
    return overlapsim.together(
        overlapsim.tune(narrow),
        overlapsim.digplan(narrow),
        overlapsim.correct(narrow, digs),
        *(overlapsim.changeover(other, narrow) for other in others),
        overlapsim.patterns(narrow, laps=[0, 1]),
        overlapsim.causes(narrow),
    )


ALL = [causes, patterns, digplan, correct, changeover, swept, beside]
SAYS = {
    causes: ["Where it comes from", "stagger", "The field"],
    patterns: ["Against now", "The ways side by side", "driven with the machine down"],
    digplan: ["Before the first step", "Plus and minus", "How to measure", "It will tell"],
    correct: ["Type in", "What the digs say", "Each dig", "OUTLIER", "ringed: outlier"],
    changeover: ["From wide to narrow, and back", "The steps", "What a forgotten step costs", "☐"],
    swept: ["The best number over both latencies", "0.35 s", "Side joints"],
    beside: [
        "The 8 digs say otherwise: ", "Where the error comes from", "From the top down",
        "Ways to drive the field", "From wide to narrow: what a forgotten step costs",
        "From back to narrow: the steps", "What the digs say", "Where to dig next: plus and minus",
        "Changing over: full simulations",
    ],
}


@pytest.mark.parametrize("make", ALL)
def test_the_page_is_whole(make: Callable[[], Any]) -> None:
    text = report_page(make())
    page = Reader(text)
    names = [attrs["id"] for _, attrs in page.elements if "id" in attrs]
    assert len(names) == len(set(names))
    regions = [attrs["aria-label"] for _, attrs in page.elements if attrs.get("role") == "region"]
    titles = re.findall(r"<h2[^>]*>(.*?)</h2>", text)
    assert len({*regions, *map(unescape, titles)}) == len(regions) + len(titles)
    for _, attrs in page.elements:
        assert not {"src", "srcset", "style", "onclick"} & set(attrs)
        if "href" in attrs:
            assert str(attrs["href"]).lstrip("#") in names
    assert not re.search(r"https?:|//[a-z]|@import|url\((?!#)", text)
    assert set(re.findall(r"'sha256-[^']+'", policy_of(page))) == {digest(code) for code in page.code}
    assert text == report_page(make())


@pytest.mark.parametrize("make", ALL)
def test_it_says_what_the_command_has(make: Callable[[], Any]) -> None:
    page = Reader(report_page(make()))
    for words in SAYS[make]:
        assert words in page.text("us"), words
    for words in ("What the model does not know", "What went in", "Before anybody digs"):
        assert words in page.text("metric")


@pytest.mark.parametrize("make", ALL)
def test_nothing_of_the_other_units_is_left(make: Callable[[], Any]) -> None:
    """A reader of metres finds no inch but among other ways to type a number in, and the other way round.

    The cell "= 2.464 m = 97 in = 8 ft 1 in = 8.08 ft" is meant; limits and a scenario's own text aside.
    """
    page = Reader(report_page(make()))
    ways = r"= [\d.]+ m = [^=]+= [^=]+= [\d.]+ ft|= [\d.]+ m = .*? ft\b(?! )"
    metric = re.sub(ways, "", page.text("metric"))
    metric = re.sub(r"1 [\d/]+ in of tape", "", metric)
    assert not re.findall(r"\d in\b(?! the)| \d+ sq ft\b| mph\b", metric)
    us = re.sub(r"= [\d.]+ m\b", "", page.text("us"))
    assert not re.findall(r"\d cm\b| km/h\b|\d m²(?! of)", us.split("How it was computed")[0])


def test_answers_stand_in_the_order_of_the_page_whatever_they_were_given_in() -> None:
    page = Reader(report_page(beside()))
    keys = [str(attrs["id"]) for tag, attrs in page.elements if tag == "section"]
    heads = [
        "map", "joints", "causes", "patterns", "changeover", "changeover-2", "correct", "digplan", "computed",
    ]  # fmt: skip
    assert [key for key in keys if key in heads] == heads
    menu = [str(attrs["href"]) for tag, attrs in page.elements if tag == "a"]
    assert menu.count("#causes") == 1
    assert "#patterns-ways" not in menu


def test_each_answer_is_what_its_own_page_says() -> None:
    """Each table of a question's own page stands, digit for digit, on the page of all."""
    whole = Reader(report_page(beside())).text("us")
    for _, answer in beside().also:
        own = told(answer)
        for one in own.us:
            for row in one.get("rows", ()):
                assert squeezed([row["label"], *row["cells"]]) in squeezed([whole]), (one["label"], row)


def squeezed(texts: list[str]) -> str:
    """Text without any blanks."""
    return "".join("".join(texts).split())


def test_the_dearest_cause_has_the_longest_bar() -> None:
    page = Reader(report_page(causes()))
    bars = [float(a["width"] or 0) for t, a in page.elements if t == "rect" and "step" in str(a.get("class"))]
    lines = [abs(line["combined_m2"]) for line in causes().lines.values()]
    assert len(bars) == len(lines) + 1
    largest = max(lines)
    for bar, line in zip(bars, lines, strict=False):
        # Half of the last digit of a length that is written.
        assert bar / max(bars[:-1]) == pytest.approx(max(line / largest, 0.6 / max(bars[:-1])), abs=1e-3)


def test_latencies_are_laid_out_as_they_were_swept() -> None:
    page = Reader(report_page(swept()))
    shades = [str(attrs.get("class")) for tag, attrs in page.elements if tag == "td"]
    assert sum(one.startswith("shade") for one in shades) == 4
    text = page.text("metric")
    for one in swept().sweep.conditions:
        best = one["best_reference_offset_m"] * 100
        assert f" {best:.1f}".removesuffix(".0") in text


@pytest.mark.parametrize("make", ALL)
def test_a_notebook_shows_it(make: Callable[[], Any]) -> None:
    told = make()._repr_html_()
    assert told == shown(make())
    assert told.startswith("<iframe ")
    assert "&lt;h1&gt;" in told
    assert "<h1>" not in told
