"""The gallery is current: what it keeps is what the commands make today."""

from __future__ import annotations

import pytest

from overlapsim.report.page.grower import grower_page
from overlapsim.report.page.pages import report_page
from tests.architecture.gallery import GALLERY, KEPT, MOST, ROOT, said, scenario


def alike(made: str, kept: str) -> None:
    """Words the same, numbers to the last digit that is printed: other libraries round otherwise."""
    (words, numbers), (before, old) = said(made), said(kept)
    assert words == before, "out of date: python -m tests.architecture.readme"
    assert numbers == pytest.approx(old, rel=2e-3, abs=0.11)


SLOW = ("patterns", "all-on-one-page")


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.slow) if name in SLOW else name for name in GALLERY]
)
def test_the_page_is_as_it_would_be_made_now(name: str) -> None:
    alike(report_page(GALLERY[name]()), (KEPT / f"{name}.html").read_text("utf-8"))


def test_the_demo_s_own_pages_too() -> None:
    import overlapsim

    demo, kept = overlapsim.tune(scenario("demo")), ROOT / "reports" / "demo"
    alike(report_page(demo), (kept / "report.html").read_text("utf-8"))
    alike(grower_page(demo), (kept / "grower.html").read_text("utf-8"))


def test_a_page_that_is_out_of_date_would_be_found() -> None:
    page = (KEPT / "simulate.html").read_text("utf-8")
    with pytest.raises(AssertionError):
        alike(page, page.replace("84 in", "85 in"))
    with pytest.raises(AssertionError):
        alike(page, page.replace("Longest gap", "Largest gap"))


def test_nothing_else_is_kept_and_all_of_it_is_small() -> None:
    assert {path.name for path in KEPT.iterdir()} == {f"{name}.html" for name in GALLERY}
    assert sum(path.stat().st_size for path in (ROOT / "reports").rglob("*") if path.is_file()) < MOST
