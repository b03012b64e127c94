"""The page: closed in itself, escaped, in both systems of units, its numbers those of the result."""

from __future__ import annotations

import re
from typing import Any

import pytest

import overlapsim
from overlapsim import Scenario
from overlapsim.report.limits import LIMITS
from overlapsim.report.page.pages import report_page
from tests.architecture.readme import ROOT
from tests.report.fake import MACHINE, scenario_of
from tests.report.pages import Reader, digest, policy_of

INCH = 0.0254


def small(**changes: Any) -> Scenario:
    """A small field, so that the search takes no time."""
    ranks = {name: {**rank, "rows": 4} for name, rank in MACHINE["ranks"].items()}
    return scenario_of(
        machine={"ranks": ranks}, field={"rectangle": ["40 m", "60 m"], "end_angle": "10 deg"}, **changes
    )


@pytest.fixture(scope="module")
def result() -> Any:
    return overlapsim.tune(small())


@pytest.fixture(scope="module")
def page(result: Any) -> Reader:
    return Reader(report_page(result))


def test_the_number_stands_first_in_both_units_and_as_it_is_typed(result: Any, page: Reader) -> None:
    told = result.to_dict()
    inches = told["recommended"]["reference_offset_m"] / INCH
    for units, number in (("us", f"{inches:g} in"), ("metric", f"{inches * 2.54:.1f} cm")):
        text = page.text(units)
        number = number.replace(".0 ", " ")
        assert number in text
        assert text.index(number) < text.index("now")
    gaps = [told[part]["longest_gap_m"] / INCH for part in ("best", "recommended")]
    gaps[0] = told["longest_gap_m"] / INCH
    for gap in gaps:
        assert f" {gap:.1f}".removesuffix(".0") in page.text("us")


def test_every_area_of_the_table_is_in_the_page(result: Any, page: Reader) -> None:
    text = page.text("metric")
    for run in (result.as_set, result.recommended, result.floor):
        total = sum(run.areas[key] for key in ("skip_m2", "overlap_m2", "off_field_m2"))
        assert re.search(rf"\b{total:.1f}\b|\b{total:.0f}\b|\b{total:.2f}\b", text), total


def test_it_reaches_for_nothing_outside(result: Any, page: Reader) -> None:
    text = report_page(result)
    assert not re.search(r"https?:|//[a-z]|@import|url\((?!#)", text)
    for _, attrs in page.elements:
        assert not {"src", "srcset", "onload", "onclick", "style"} & set(attrs)
        assert str(attrs.get("href", "#")).startswith("#")


def test_the_policy_allows_its_own_code_and_nothing_else(page: Reader) -> None:
    policy = policy_of(page)
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    allowed = set(re.findall(r"'sha256-[^']+'", policy))
    assert allowed == {digest(code) for code in page.code}
    assert digest(page.code[0] + " ") not in allowed


def test_text_from_files_stays_text(tmp_path: Any) -> None:
    evil = "<script>alert(1)</script><b title='\"&"
    result = overlapsim.tune(small(title=evil, about={"farm": evil}, basis={"response.on_latency": evil}))
    page = Reader(report_page(result))
    assert evil in page.text("us")
    scripts = [code for code in page.code if "alert" in code]
    assert not scripts


def test_same_input_same_bytes(result: Any) -> None:
    assert report_page(result) == report_page(overlapsim.tune(small()))


def test_units_that_are_asked_for_are_shown_first(result: Any) -> None:
    for units in ("us", "metric"):
        page = Reader(report_page(result, units))
        assert dict(page.elements)["html"]["data-units"] == units
        chosen = [a["value"] for tag, a in page.elements if tag == "input" and "checked" in a]
        assert chosen == [units]


def test_headings_and_addresses_within_the_page_fit(page: Reader) -> None:
    names = [attrs["id"] for _, attrs in page.elements if "id" in attrs]
    assert len(names) == len(set(names))
    for _, attrs in page.elements:
        for key in ("href", "aria-labelledby"):
            if key in attrs:
                assert str(attrs[key]).lstrip("#") in names
    assert [tag for tag, _ in page.elements].count("h1") == 1
    for tag, attrs in page.elements:
        if tag == "svg":
            assert attrs.get("aria-label") or attrs.get("aria-hidden") == "true"


def test_what_is_assumed_is_said_aloud() -> None:
    page = Reader(report_page(overlapsim.tune(small(response=None))))
    assert "ASSUMED: on latency, off latency." in page.text("us")
    assert any(attrs.get("class") == "from assumed" for _, attrs in page.elements)


@pytest.mark.parametrize("offset", ["84 in", {"front": "84 in", "rear": "119 in"}])
def test_one_simulation_has_a_page_too(offset: Any) -> None:
    run = overlapsim.simulate(small(switching={"reference_offset": offset}))
    text = Reader(report_page(run)).text("us")
    assert "Entered" in text
    assert "Type in" not in text
    assert f"{run.areas['combined_m2'] / run.plantable_m2 * 100:.2f} %" in text


def test_one_number_per_rank_and_both_times() -> None:
    scenario = small(switching={"reference_offset": {"front": "84 in", "rear": "119 in"}})
    text = Reader(report_page(overlapsim.tune(scenario))).text("us")
    assert "reference offset, front rank" in text
    joint = Reader(report_page(overlapsim.tune(small(), with_times=True))).text("us")
    assert "turn-on time 0.45 s now 0.40 s" in joint


def test_limits_are_the_same_in_the_readme() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    assert all(f"\n- {line}\n" in readme for line in LIMITS)
