"""Pages by keyboard alone: every stop is reached in order, both ways, and is seen; every control answers."""

from __future__ import annotations

from typing import Any

import pytest

from overlapsim.report.pass_end_page import pass_end_page
from tests.architecture.gallery import KEPT
from tests.browser.conftest import PROFILES, Open

STOP = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const box = one.getBoundingClientRect(), style = getComputedStyle(one);
  const places = [0.02, 0.25, 0.5, 0.75, 0.98].flatMap((u) => [0.1, 0.5, 0.9].map((v) =>
    [box.left + u * box.width, box.top + v * box.height]));
  const seen = places.filter(([x, y]) => {
    const top = document.elementFromPoint(x, y);
    return top && (one.contains(top) || top.contains(one));
  });
  window.stops ??= [];
  window.stops.push(one);
  return {
    name: one.id || one.getAttribute("aria-label") || one.textContent.trim(),
    seen: seen.length / places.length,
    fits: box.width <= innerWidth && box.height <= innerHeight / 2,
    ring: style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth),
  };
}"""
# Of boxes to choose from one is a stop for all of them.
MISSED = """() => {
  const all = [...document.querySelectorAll("a[href], button, input, textarea, summary, [tabindex='0']")];
  const group = (one) => (one.type === "radio" ? one.name : one);
  const reached = new Set(window.stops.map(group));
  const missed = all.filter((one) => one.getClientRects().length && !reached.has(group(one)));
  return missed.map((one) => one.outerHTML);
}"""
IN_ORDER = """() => window.stops.every((one, n) => !n ||
  window.stops[n - 1].compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING)"""

PAGES = {
    "report": lambda: (KEPT / "all-on-one-page.html").read_text("utf-8"),
    "pass-end": pass_end_page,
}


def walk(page: Any, key: str, most: int = 100) -> list[dict[str, Any]]:
    """Stop after stop until the page lets go of the focus, or so many."""
    found: list[dict[str, Any]] = []
    while len(found) < most:
        page.keyboard.press(key)
        stop = page.evaluate(STOP)
        if not stop:
            return found
        found.append(stop)
    assert most < 100, f"no way out: {found[-3:]}"
    return found


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("name", PAGES)
def test_every_stop_is_reached_in_order_and_seen(opened: Open, name: str, profile: str) -> None:
    """Web Content Accessibility Guidelines 2.2, criteria 2.1.1, 2.1.2, 2.4.3, 2.4.7 and 2.4.11."""
    page = opened(PAGES[name](), profile, reduced_motion="reduce")
    there = walk(page, "Tab")
    assert page.evaluate(MISSED) == []
    assert page.evaluate(IN_ORDER)
    back = walk(page, "Shift+Tab", len(there))
    assert [stop["name"] for stop in back] == [stop["name"] for stop in reversed(there)]
    for stop in there + back:
        assert stop["ring"] >= 2, stop
        assert stop["seen"] > (0.6 if stop["fits"] else 0.1), stop


def test_what_covers_a_stop_is_noticed(opened: Open) -> None:
    """Negative control."""
    page = opened(PAGES["pass-end"](), reduced_motion="reduce")
    page.evaluate("""() => {
        const lid = document.body.appendChild(document.createElement("div"));
        Object.assign(lid.style, { position: "fixed", inset: "0 0 60% 0", background: "red" });
    }""")
    assert min(stop["seen"] for stop in walk(page, "Tab")) == 0


@pytest.mark.parametrize("profile", PROFILES)
def test_every_control_of_a_report_answers(opened: Open, profile: str) -> None:
    page = opened(PAGES["report"](), profile, reduced_motion="reduce")

    def press(*keys: str) -> None:
        for key in keys:
            page.keyboard.press(key)

    def said(key: str) -> str:
        return str(page.locator(f'output[for="pe-{key}"]').inner_text())

    press("Tab", "Enter", "Tab")
    assert page.evaluate("document.activeElement.id") == "pe-offset0"  # past the list of sections
    page.locator("#units-us").focus()
    press("ArrowRight")
    assert page.locator("#answer .offset dd b").inner_text().endswith(" cm")
    press("ArrowLeft")
    assert page.locator("#answer .offset dd b").inner_text().endswith(" in")
    for key, low, high in (("on", "0.00 s", "1.50 s"), ("speed", "1 mph", "12 mph")):
        page.locator(f"#pe-{key}").focus()
        press("End")
        assert said(key) == high
        press("PageDown")
        assert said(key) != high
        press("Home")
        assert said(key) == low
    page.get_by_role("button", name="As it is now").focus()
    press("Enter")
    assert said("offset0") == "84 in"
    press("Tab", "Space")
    assert said("offset0") != "84 in"
    page.get_by_role("button", name="Next row end").focus()
    press("Enter")
    box = page.locator("#rows h3").bounding_box()
    assert box["y"] >= 0
    assert box["y"] + box["height"] <= PROFILES[profile]["viewport"]["height"]
    first = page.locator("#rows h3").inner_text()
    press("Tab")
    assert "Escape" in page.evaluate("document.activeElement.getAttribute('aria-label')")
    press("n", "p")
    assert page.locator("#rows h3").inner_text() == first
    press("Escape")
    assert page.locator("#rows h3").count() == 0
    press("Shift+Tab")
    assert page.evaluate("document.activeElement.textContent") == "Next row end"


def test_the_scenario_is_copied_by_keys(opened: Open) -> None:
    page = opened(PAGES["pass-end"]())
    page.locator("[data-copy]").focus()
    page.keyboard.press("Enter")
    page.locator("[data-copied]:not(:empty)").wait_for()
    assert page.evaluate("document.activeElement.id") == "toml"
