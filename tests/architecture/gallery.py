"""The gallery: a page of each command on scenarios that are in the tree, in `reports/gallery`.

`python -m tests.architecture.readme` makes it anew.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import overlapsim
from overlapsim.report.page.pages import report_page
from tests.report.pages import Reader

ROOT = Path(__file__).resolve().parents[2]
KEPT = ROOT / "reports" / "gallery"
MOST = 3_000_000
"""Bytes that all reports may take in the tree."""


def scenario(name: str, **chosen: Any) -> Any:
    """Read a scenario of the gallery."""
    return overlapsim.load_scenario(ROOT / "scenarios" / f"{name}.toml", **chosen)


def dug() -> Any:
    """Correct the demo by its digs."""
    demo = scenario("demo")
    return overlapsim.correct(demo, overlapsim.load_digs(ROOT / "scenarios" / "demo-digs.csv", demo))


def changed() -> Any:
    """Change over from wide to narrow rows."""
    wide, narrow = (scenario("changeover", setup=name) for name in ("wide", "narrow"))
    return overlapsim.changeover(wide, narrow)


@cache
def ways() -> Any:
    """Compare ways to drive the demo."""
    return overlapsim.patterns(scenario("demo"))


def all_on_one_page() -> Any:
    """Tune the demo with everything else beside it."""
    wide, narrow = (scenario("demo", setup=name) for name in ("wide", "narrow"))
    return overlapsim.together(
        overlapsim.tune(narrow), overlapsim.causes(narrow), ways(), overlapsim.changeover(wide, narrow), dug()
    )


GALLERY: dict[str, Callable[[], Any]] = {
    "two-laps": lambda: overlapsim.tune(scenario("two-laps")),
    "latencies": lambda: overlapsim.tune(scenario("latencies")),
    "simulate": lambda: overlapsim.simulate(scenario("demo")),
    "causes": lambda: overlapsim.causes(scenario("demo")),
    "patterns": ways,
    "digplan": lambda: overlapsim.digplan(scenario("demo")),
    "correct": dug,
    "changeover": changed,
    "all-on-one-page": all_on_one_page,
}


def fill() -> None:
    """Make every page of the gallery anew."""
    KEPT.mkdir(exist_ok=True)
    for old in KEPT.glob("*.html"):
        old.unlink()
    for name, make in GALLERY.items():
        (KEPT / f"{name}.html").write_text(report_page(make()), encoding="utf-8", newline="\n")


def said(page: str) -> tuple[str, list[float]]:
    """Take a page's words without its numbers, and its numbers.

    How well ways of counting agree, and which versions made the page, is rounding and the libraries'
    business: left out.
    """
    text = Reader(page).text("us")
    text = re.sub(r"How it was computed .*?What the model does not know", "", text)
    numbers = [float(found.replace(",", "")) for found in re.findall(r"\d[\d,]*\.?\d*", text)]
    return re.sub(r"\d[\d,]*\.?\d*", "#", text), numbers
