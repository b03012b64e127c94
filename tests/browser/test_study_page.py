"""The page of a study in a real browser: desk and phone, light and dark, pictures and tables."""

from __future__ import annotations

from pathlib import Path

import pytest

import overlapsim
from overlapsim.report.study_write import write_study
from tests.browser.conftest import PROFILES, Open
from tests.cli.study_files import write_study as write_study_file


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("study")
    study = overlapsim.load_study(write_study_file(folder))
    write_study(overlapsim.run_study(study), folder / "out")
    return Path(folder, "out", "report.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("profile", PROFILES)
def test_it_fits_the_screen_and_shows_its_pictures(
    opened: Open, text: str, profile: str, scheme: str
) -> None:
    """Nothing is asked for besides: pictures stand in the page, and its policy lets them be seen."""
    page = opened(text, profile, color_scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") == PROFILES[profile]["viewport"]["width"]
    wide = page.evaluate("[...document.images].map((one) => one.naturalWidth)")
    assert len(wide) == 4
    assert min(wide) > 500
    paper, ink = page.evaluate(
        "['backgroundColor', 'color'].map((one) => getComputedStyle(document.body)[one].match(/\\d+/)[0] | 0)"
    )
    assert (paper > ink) == (scheme == "light")


def test_tables_open_and_sections_are_found(opened: Open, text: str) -> None:
    page = opened(text)
    for link in page.locator("nav a").all():
        assert page.locator(str(link.get_attribute("href"))).count() == 1
    table = page.locator("details").first
    assert not table.locator("table").is_visible()
    table.locator("summary").click()
    assert table.locator("table").is_visible()
    assert "switching sections = each-row" in table.inner_text()
    # Figures stand in the units in which studies are laid out: there is nothing to switch.
    assert page.locator("fieldset").count() == 0
