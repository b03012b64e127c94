"""The settings card: what stands on it, and that it stays on one page, whatever a scenario says."""

from __future__ import annotations

import dataclasses
import json
from functools import lru_cache
from typing import Any

import pytest

import overlapsim
from overlapsim import InputError, Scenario
from overlapsim.questions.tuned import as_it_should_be
from overlapsim.report.card import MOST_SETUPS, Card, card_of
from overlapsim.report.card_page import MARGIN, SMALLEST, card_pdf
from overlapsim.report.symptoms import SYMPTOMS
from tests.report.pdf_marks import marks_of, overlapping, pages, text_of

PAPERS = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}  # points: 8.5 x 11 in, 210 x 297 mm
LONG = "A title that goes on and on because somebody wanted to say everything about the field in it, " * 4
SIGNS = "Žluťoučký kůň; Поле № 5; Αγρός; Łąka ½ ″"


def scenario_of(setup: str, **tables: Any) -> Scenario:
    """Two ranks of four rows, 35 in apart: wide, narrow and rear alone."""
    data = {
        "title": "Small field",
        "machine": {
            "setup": setup,
            "ranks": {
                "front": {"rows": 4, "spacing": "30 in", "behind_pin": "84 in"},
                "rear": {"rows": 4, "spacing": "30 in", "behind_pin": "119 in", "right": "-15 in"},
            },
            "setups": {
                "wide": {"ranks": ["front"]},
                "narrow": {"ranks": ["front", "rear"], "hitch_shift": "7.5 in"},
            },
            "axle_to_pin": "1.1 m",
        },
        "field": {"rectangle": ["30 m", "40 m"]},
        "speed": {"working": "5 mph"},
        "switching": {"reference_offset": "84 in", "turn_on_time": "0.40 s", "turn_off_time": "0.25 s"},
        "response": {"on_latency": "0.45 s", "off_latency": "0.30 s"},
    }
    for key, value in tables.items():
        data[key] = value if isinstance(value, str) else {**data.get(key, {}), **value}
    return Scenario.from_dict(data)


@lru_cache
def changed() -> Any:
    """From wide to narrow."""
    return overlapsim.changeover(scenario_of("wide"), scenario_of("narrow"))


@lru_cache
def crowded() -> Card:
    """Four ranks, three row setups, one offset for each rank, long texts in many letters."""
    ranks = {
        f"rank-with-a-rather-long-name-{i}": {
            "rows": 6, "spacing": "30 in", "behind_pin": f"{70 + 14 * i} in", "right": f"{7.5 * i} in",
        }
        for i in range(4)
    }  # fmt: skip
    names = list(ranks)
    setups = {
        "every-rank-at-once": {"ranks": names}, "two-of-them": {"ranks": names[:2]},
        "Einzelkornsägerätschaftsaufstellungsname": {"ranks": names[:1]},
    }  # fmt: skip
    made = []
    for setup, spec in setups.items():
        offset = dict.fromkeys(spec["ranks"], "80 in")
        made.append(as_it_should_be(scenario_of(
            "narrow",
            title=LONG + SIGNS,
            about={"customer": SIGNS, "farm": "farm " * 30, "by": "somebody", "date": "2026-04-01",
                   "notes": "a note about everything, " * 60},
            machine={"ranks": ranks, "setups": setups, "setup": setup, "axle_to_pin": "1.1 m",
                     "title": "machine " * 40},
            switching={"reference_offset": offset, "turn_on_time": "0.4 s", "turn_off_time": "0.3 s"},
            controller={"measured_from": "rear axle"},
            seed={"crop": "corn", "plate": "plate " * 12, "spacing": "6 in"},
        )))  # fmt: skip
    one = overlapsim.tune(made[0].scenario)
    return card_of(one, made[1:], "metric")


def assert_sound(content: bytes, paper: str) -> None:
    """One page of that size; all within the margins; nothing but greys; no text over another."""
    (page,) = pages(content)
    width, high = PAPERS[paper]
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx((width, high), abs=0.01)
    marks = marks_of(content)
    assert len(marks.texts) > 50
    points = [*marks.corners, *(corner for box, _ in marks.texts for corner in (box[:2], box[2:]))]
    # Half of the thickest rule, and what letters reach below their line.
    edge = MARGIN - 1.0
    outside = [(x, y) for x, y in points if not (edge <= x <= width - edge and edge <= y <= high - edge)]
    assert not outside
    assert all(len(set(colour)) == 1 and len(colour) != 4 for colour in marks.colours)
    assert not overlapping(marks.texts)
    # Headings are a tenth smaller than plain text.
    assert min(size for _, size in marks.texts) >= 0.9 * SMALLEST - 1e-6


def test_the_card_says_what_the_result_says() -> None:
    result = changed()
    told = json.loads(json.dumps(result.to_dict()))
    text = text_of(card_pdf(card_of(result)))
    typed = told["reference_offset_as_typed"]
    assert (typed["from"], typed["to"]) == ("79.5 in", "97.0 in")
    for number in typed.values():
        assert f" {number} " in text
    for words in ("turn-on time 0.40 s 0.40 s", "turn-off time 0.25 s 0.25 s",
                  "hitch shift 0 in 7.5 in to the right", "rows that work 4 8", "84 in",
                  "119 in", "entered by", "date", "found", "corrected to",
                  "operator's manual", "behind the hitch pin, in steps of 0.5 in"):  # fmt: skip
        assert words in text
    for symptom in SYMPTOMS:
        assert symptom.seen in text
        assert symptom.means in text


def test_digging_is_what_can_be_reckoned_on_paper() -> None:
    """Narrow at 97 in, 5 mph = 88 in/s: on latency 0.05 s longer than the time makes 4.4 in, off likewise.
    Front: 97 - 84 + 4.4 = 17.4; rear: 97 - 119 + 4.4 = -17.6. Wide at 79.5: 79.5 - 84 + 4.4 = -0.1."""
    rows = {row.key: row.cells for row in card_of(changed()).digging}
    assert rows == {
        "front": ("0.1 in early", "0.1 in short", "17.4 in late", "17.4 in over"),
        "rear": ("-", "-", "17.6 in early", "17.6 in short"),
    }


def test_tune_recommends_what_stands_on_its_card() -> None:
    result = overlapsim.tune(scenario_of("narrow"))
    card = card_of(result, [as_it_should_be(scenario_of("wide"))])
    assert card.setups == ("wide", "narrow")
    assert card.enter[0].cells == ("79.5 in", result.to_dict()["recommended"]["as_typed"])
    low, high = (end / 0.0254 for end in result.as_good_m)
    first, _, last, _ = card.enter[2].cells[1].split()
    assert low - 1e-6 <= float(first) < low + 0.1
    assert high - 0.1 < float(last) <= high + 1e-6
    assert card_of(result).setups == ("narrow",)


def test_another_reader_gets_his_units_beside_the_controllers_own() -> None:
    card = card_of(changed(), units="metric")
    assert card.enter[0].cells == ("79.5 in", "97.0 in")
    assert "246.4 cm" in card.enter[1].cells[1]
    rows = {row.key: row.cells for row in card.enter}
    assert rows["row_spacing"] == ("30 in (76.2 cm)", "15 in (38.1 cm)")
    assert [rank.text for rank in card.tape.ranks] == ["213.4 cm", "302.3 cm"]
    assert card.digging[0].cells[2] == "44.2 cm late"


def test_from_the_rear_axle_the_tape_reads_less_than_what_is_typed_in() -> None:
    """1.1 m = 43.307 in. Typed on half inches: 122.5 + 17.5 = 140 in lies nearest to midway (101.5 - 4.4)
    + 43.307 = 140.407: 140.5 in, so 97.19 in on the tape."""
    scenario = scenario_of("narrow", controller={"measured_from": "rear axle"})
    card = card_of(overlapsim.tune(scenario))
    assert card.enter[0].cells == ("140.5 in",)
    assert "behind the rear axle" in card.entry
    assert card.tape.settings[0].text == "140.5 in (tape: 97.2 in)"
    assert card.tape.from_axle == 1.1
    assert "rear axle, 43.3 in ahead" in text_of(card_pdf(card))


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_one_sound_page(paper: str, units: str) -> None:
    card = card_of(changed(), units=units)
    content = card_pdf(card, paper)
    assert_sound(content, paper)
    assert content == card_pdf(card, paper)
    assert content != card_pdf(dataclasses.replace(card, title="Another"), paper)


def test_paper_goes_with_units() -> None:
    for units, paper in (("us", "letter"), ("metric", "a4")):
        (page,) = pages(card_pdf(card_of(changed(), units=units)))
        assert float(page.mediabox.height) == pytest.approx(PAPERS[paper][1], abs=0.01)
    with pytest.raises(ValueError, match="no such paper: legal"):
        card_pdf(card_of(changed()), "legal")


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_crowded_card_stays_on_its_page(paper: str) -> None:
    card = crowded()
    content = card_pdf(card, paper)
    assert_sound(content, paper)
    text = text_of(content)
    assert "(cut)" in text
    # What is to be typed in is never cut.
    offsets = [row for row in card.enter if row.key == "reference_offset"]
    assert len(offsets) == 4
    for row in offsets:
        assert f" {' '.join(row.cells)} " in text
    # Nor what keeps people safe, nor the table of symptoms.
    for words in (*card.cautions, *(part for pair in card.symptoms for part in pair)):
        assert words in text


def test_letters_that_latin_1_lacks_are_there() -> None:
    text = text_of(card_pdf(dataclasses.replace(card_of(changed()), title=SIGNS)))
    assert SIGNS in text


@pytest.mark.parametrize("title", ["", "\n\t\x00", "x" * 5000, "农场 🚜", "\ud800", "\u202eabc"])
def test_odd_titles_break_nothing(title: str) -> None:
    assert_sound(card_pdf(dataclasses.replace(card_of(changed()), title=title)), "letter")


def test_more_row_setups_than_fit_are_named() -> None:
    ranks = {"front": {"rows": 4, "spacing": "30 in", "behind_pin": "84 in"}}
    setups = {f"s{i}": {"ranks": ["front"], "hitch_shift": f"{i} in"} for i in range(MOST_SETUPS + 2)}
    tuned = [
        as_it_should_be(scenario_of("narrow", machine={"ranks": ranks, "setups": setups, "setup": name}))
        for name in setups
    ]
    card = card_of(overlapsim.tune(tuned[0].scenario), tuned[1:])
    assert card.setups == tuple(setups)[:MOST_SETUPS]
    assert card.notes[-1] == "Not on this card: row setups s4 and s5."
    assert_sound(card_pdf(card), "letter")


def test_what_is_amiss_stands_on_the_card() -> None:
    scenario = scenario_of("narrow", switching={"lateral_offset": "-7.5 in", "entered_setup": "wide"})
    notes = " ".join(card_of(overlapsim.tune(scenario)).notes)
    assert "set up for wide while the machine runs narrow" in notes
    assert "to the right of the planned line" in notes
    assert not card_of(changed()).notes


def test_digs_that_tell_nothing_make_no_card() -> None:
    from types import SimpleNamespace

    dug = SimpleNamespace(scenario=scenario_of("narrow"), estimates={}, after=None)
    with pytest.raises(InputError, match="no card: these digs do not tell"):
        card_of(dug)


def test_the_reader_of_pages_sees_faults() -> None:
    """Negative controls: text over text, a line outside, a colour, are found by what looks for them."""
    from io import BytesIO

    from reportlab.pdfgen.canvas import Canvas

    from overlapsim.report.card_type import load_typeface, write

    def page(draw: Any) -> bytes:
        made = BytesIO()
        load_typeface()
        canvas = Canvas(made, pagesize=PAPERS["letter"], invariant=1)
        for i in range(60):
            write(canvas, 50 + 250 * (i % 2), 700 - 10 * i, f"line {i}", 8)
        draw(canvas)
        canvas.save()
        return made.getvalue()

    assert_sound(page(lambda canvas: None), "letter")
    faults = (
        lambda canvas: write(canvas, 60, 703, "over it", 8),
        lambda canvas: write(canvas, 50, 50, "too long " * 20, 8),
        lambda canvas: write(canvas, 400, 50, "tiny", 4),
        lambda canvas: canvas.line(50, 50, 50, 20),
        lambda canvas: canvas.setFillColorRGB(1, 0, 0),
        lambda canvas: canvas.showPage() or write(canvas, 50, 50, "page two", 8),
    )
    for fault in faults:
        with pytest.raises((AssertionError, ValueError)):
            assert_sound(page(fault), "letter")
    with pytest.raises(AssertionError):
        assert_sound(page(lambda canvas: None), "a4")
