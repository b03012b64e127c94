"""The report in a real browser: its numbers, its switch, its map, its paper, and that it needs no script."""

from __future__ import annotations

import io
import json
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

import overlapsim
from overlapsim import load_scenario
from overlapsim.report.page.grower import grower_page
from overlapsim.report.page.pages import report_page
from tests.architecture.gallery import GALLERY, KEPT
from tests.architecture.readme import ROOT
from tests.browser.conftest import PROFILES, Open, missing

INCH = 0.0254


@pytest.fixture(scope="module")
def result() -> Any:
    return overlapsim.tune(load_scenario(ROOT / "scenarios" / "demo.toml"))


@pytest.fixture(scope="module")
def text(result: Any) -> str:
    return report_page(result)


@pytest.mark.parametrize("profile", PROFILES)
def test_numbers_on_the_page_are_those_of_the_result(
    opened: Open, result: Any, text: str, profile: str
) -> None:
    page, told = opened(text, profile), json.loads(json.dumps(result.to_dict()))
    for units, size, unit in (("us", INCH, "in"), ("metric", 0.01, "cm")):
        page.check(f"#units-{units}")
        wanted = round(told["recommended"]["reference_offset_m"] / size, 1)
        assert page.locator("#answer .offset dd b").inner_text() == f"{wanted:g} {unit}"
        before = round(told["longest_gap_m"] / size, 1)
        after = round(told["recommended"]["longest_gap_m"] / size, 1)
        gaps = [row.inner_text().split() for row in page.locator("#answer .gaps tr").all()]
        assert [(float(number), its) for _, number, its in gaps] == [(before, unit), (after, unit)]
    row = page.locator("#curve tr.strong td").all_inner_texts()
    # Square metres, whole: half of the last digit, and up to one more so that the parts add up.
    for shown, key in zip(row[3:6], ("skip_m2", "overlap_m2", "off_field_m2"), strict=True):
        assert float(shown.replace(",", "")) == pytest.approx(told["recommended"][key], abs=1.0)


@pytest.mark.parametrize("profile", PROFILES)
def test_nothing_is_wider_than_the_screen(opened: Open, text: str, profile: str) -> None:
    page = opened(text, profile)
    assert page.evaluate("document.documentElement.scrollWidth") == PROFILES[profile]["viewport"]["width"]


def test_the_first_screen_says_what_to_type_in(opened: Open, text: str) -> None:
    """On a phone the number, and on a desk the picture besides, are seen before anybody scrolls."""
    seen = {"phone": ["#answer .offset dd b"], "desktop": ["#answer .gaps", "#answer .strip >> nth=0"]}
    for profile, places in seen.items():
        page = opened(text, profile)
        high = PROFILES[profile]["viewport"]["height"]
        for place in places:
            box = page.locator(place).bounding_box()
            assert box["y"] + box["height"] <= high, place


def test_the_switch_is_remembered(opened: Open, text: str) -> None:
    page = opened(text)
    assert page.locator("#answer .offset dd b").inner_text().endswith(" in")
    page.check("#units-metric")
    page.reload()
    assert page.locator("#answer .offset dd b").inner_text().endswith(" cm")


@pytest.mark.parametrize("profile", PROFILES)
def test_without_a_script_numbers_pictures_tables_and_the_switch_stay(
    opened: Open, result: Any, text: str, profile: str
) -> None:
    page = opened(text, profile, java_script_enabled=False)
    assert page.locator("#answer .offset dd b").inner_text() == "103.5 in"
    drawn = ("#answer .strip >> nth=0", "#curve svg", "#field-map", ".spot-view >> nth=0")
    for place in (*drawn, "#curve table"):
        assert page.locator(place).bounding_box()["height"] > 20, place
    page.check("#units-metric")
    assert page.locator("#answer .offset dd b").inner_text() == "262.9 cm"


def test_the_map_by_mouse_and_keyboard(opened: Open, result: Any, text: str) -> None:
    page = opened(text)
    chart = page.locator("#field-map")
    chart.scroll_into_view_if_needed()

    def view() -> list[float]:
        page.wait_for_timeout(100)
        return [float(v) for v in chart.get_attribute("viewBox").split()]

    whole = view()
    page.get_by_role("button", name="Nearer").click()
    near = view()
    assert near[2] == pytest.approx(whole[2] / 2, rel=1e-3)
    page.locator(".map").focus()
    page.keyboard.press("ArrowRight")
    assert view()[0] == pytest.approx(near[0] + near[2] / 8, rel=1e-3)
    page.keyboard.press("0")
    assert view() == pytest.approx(whole, rel=1e-3)
    # The first row end in driving order: its rows, as the layer of row ends tells them.
    page.keyboard.press("n")
    page.wait_for_timeout(100)
    lines = page.locator("#rows .row-list li").all_inner_texts()
    ends = result.row_ends.columns
    own = (ends["leg"] == 1) & (ends["event"] == "on")
    told = {
        f"{rank} {row}": round(abs(error) / INCH, 1)
        for rank, row, error in zip(ends["rank"][own], ends["row"][own], ends["error_m"][own], strict=True)
    }
    for line in lines:
        name, said = line.split(": ")
        if said[0].isdigit():
            # Held in whole millimetres, shown to a tenth of an inch.
            assert float(said.split()[0]) == pytest.approx(told[name], abs=0.1)
    # Rows that start more than a working width farther on, along a slanting side, are a place of their own.
    assert len(told) / 2 < len(lines) <= len(told)


def test_a_tap_shows_the_rows(opened: Open, text: str) -> None:
    page = opened(text, "phone")
    page.get_by_role("button", name="Next row end").click()
    title = page.locator("#rows h3").inner_text()
    page.locator("#field-map").scroll_into_view_if_needed()
    box = page.locator("#field-map .chosen").bounding_box()
    page.evaluate("document.getElementById('rows').replaceChildren()")
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.wait_for_timeout(100)
    assert page.locator("#rows h3").inner_text() == title
    assert page.locator("#rows svg rect").count() > 5


def test_on_paper_no_picture_is_cut(opened: Open, text: str, tmp_path: Path) -> None:
    """In print no picture is higher than a page: then it stands whole on one, since none may be parted."""
    from pypdf import PdfReader

    page = opened(text)
    page.emulate_media(media="print")
    # A4 less 12 mm on every side, at 96 dots to the inch.
    page.set_viewport_size({"width": 703, "height": 1032})
    for one in page.locator("figure, svg.strip, #field-map").all():
        box = one.bounding_box()
        assert box is None or box["height"] < 1032
        parted = one.evaluate("node => getComputedStyle(node).breakInside")
        assert parted == "avoid"
    paper = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True)))
    assert 3 <= len(paper.pages) <= 12
    words = [sheet.extract_text() for sheet in paper.pages]
    assert all(one.strip() for one in words)
    assert "Whole field" not in "".join(words)


@pytest.mark.parametrize("scenario", ["demo", "two-laps", "three-ranks"])
def test_the_growers_sheet_is_one_page(opened: Open, scenario: str) -> None:
    from pypdf import PdfReader

    page = opened(grower_page(overlapsim.tune(load_scenario(ROOT / "scenarios" / f"{scenario}.toml"))))
    paper = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True)))
    assert len(paper.pages) == 1
    letter = PdfReader(io.BytesIO(page.pdf(format="Letter", prefer_css_page_size=True)))
    assert len(letter.pages) == 1


LUMINANCE = """
() => {
  const bright = (c) => {
    const [r, g, b] = c.match(/[\\d.]+/g).slice(0, 3).map((v) => {
      v /= 255;
      return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const paper = (node) => {
    for (let one = node; one; one = one.parentElement) {
      const c = getComputedStyle(one).backgroundColor;
      if (!c.endsWith(", 0)") && c !== "transparent") return c;
    }
    return "rgb(255, 255, 255)";
  };
  const bad = [];
  for (const node of document.querySelectorAll("main *, header *, nav *, footer *")) {
    const own = [...node.childNodes].some((one) => one.nodeType === 3 && one.textContent.trim());
    if (!own || !node.getClientRects().length || node.closest("svg")) continue;
    const [a, b] = [bright(getComputedStyle(node).color), bright(paper(node))].sort((x, y) => y - x);
    const ratio = (a + 0.05) / (b + 0.05);
    const name = `${node.tagName} ${node.className} ${node.textContent.trim().slice(0, 40)}`;
    if (ratio < 4.5) bad.push(`${ratio.toFixed(2)} ${name}`);
  }
  return bad;
}
"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_stand_out_from_their_paper(opened: Open, text: str, scheme: str) -> None:
    """Web Content Accessibility Guidelines 2.2, criterion 1.4.3: 4.5 to 1 (relative luminance, section 8)."""
    page = opened(text, color_scheme=scheme)
    assert page.evaluate(LUMINANCE) == []
    page.evaluate("document.querySelector('main p').style.color = 'rgb(200, 200, 200)'")
    if scheme == "light":
        assert page.evaluate(LUMINANCE)


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The script of axe-core, an open checker of accessible pages, fetched for the test."""
    kept = os.environ.get("OVERLAPSIM_AXE")
    if kept:
        return Path(kept).read_text("utf-8")
    npm = shutil.which("npm") or ""
    if not npm:
        missing("no npm at hand to fetch axe-core")
    home = tmp_path_factory.mktemp("axe")
    done = subprocess.run(
        [npm, "install", "--no-save", "--no-audit", "--no-fund", "axe-core@4"], cwd=home, capture_output=True,
        timeout=120, check=False,
    )  # fmt: skip
    script = home / "node_modules" / "axe-core" / "axe.min.js"
    if done.returncode or not script.exists():
        missing("axe-core could not be fetched")
    return script.read_text("utf-8")


@pytest.mark.registry
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("profile", PROFILES)
def test_axe_finds_no_fault(opened: Open, axe: str, text: str, profile: str, scheme: str) -> None:
    # The page's policy lets no other script in: it is put in by the browser itself.
    page = opened(text, profile, color_scheme=scheme, bypass_csp=True)
    page.evaluate(axe)
    found = page.evaluate("axe.run().then((told) => told.violations)")
    assert not [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found]


@pytest.mark.registry
@pytest.mark.parametrize("name", GALLERY)
def test_axe_finds_no_fault_in_any_command_s_page(opened: Open, axe: str, name: str) -> None:
    page = opened((KEPT / f"{name}.html").read_text("utf-8"), "phone", color_scheme="dark", bypass_csp=True)
    page.evaluate(axe)
    found = page.evaluate("axe.run().then((told) => told.violations)")
    assert not [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found]


def test_the_policy_keeps_other_code_out(browser: Any, text: str, tmp_path: Path) -> None:
    """Negative control: a page into which somebody has put a script and an address runs neither."""
    evil = '<script>document.title = "taken"</script><img src="https://example.invalid/x.png">'
    file = tmp_path / "evil.html"
    file.write_text(re.sub(r"</main>", f"{evil}</main>", text, count=1), encoding="utf-8")
    context = browser.new_context()
    page, said = context.new_page(), []
    page.on("console", lambda message: said.append(message.text))
    page.goto(file.as_uri())
    assert page.title() != "taken"
    assert any("Content Security Policy" in one for one in said)
    context.close()
