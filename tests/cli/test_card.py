"""``card.pdf``: which commands leave it, on which paper, with which row setups."""

from __future__ import annotations

import json
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from overlapsim.cli import main
from tests.cli.small import write

NARROW = 'setups.narrow = {ranks = ["front", "rear"]'
SETUPS = (NARROW, f'setups.wide = {{ranks = ["front"]}}\n{NARROW}')
A4 = 297 / 25.4 * 72  # points


def card(folder: Path) -> tuple[str, float]:
    """Text of a folder's card, and the height of its one page."""
    (page,) = PdfReader(BytesIO((folder / "card.pdf").read_bytes())).pages
    return " ".join(page.extract_text().split()), float(page.mediabox.height)


def test_a_changeover_leaves_both_row_setups_on_one_card(here: Path) -> None:
    write(here, "both", SETUPS)
    ways = ["--from", "wide", "--to", "narrow"]
    assert main(["changeover", "both.toml", *ways, "--quiet"]) == 0
    text, high = card(here / "reports" / "both")
    told = json.loads((here / "reports" / "both" / "result.json").read_text("utf-8"))
    typed = told["reference_offset_as_typed"]
    assert f"reference offset {typed['from']} {typed['to']} " in text
    assert high == 792
    first = (here / "reports" / "both" / "card.pdf").read_bytes()
    assert main(["changeover", "both.toml", *ways, "--quiet"]) == 0
    assert (here / "reports" / "both" / "card.pdf").read_bytes() == first
    assert main(["changeover", "both.toml", *ways, "--quiet", "--paper", "a4"]) == 0
    assert card(here / "reports" / "both")[1] == pytest.approx(A4, abs=0.01)


def test_tune_leaves_one_when_asked_with_all_row_setups(here: Path) -> None:
    write(here, "both", SETUPS)
    assert main(["tune", "both.toml", "--quiet"]) == 0
    folder = here / "reports" / "both"
    assert not (folder / "card.pdf").exists()
    assert main(["tune", "both.toml", "--quiet", "--card", "--units", "metric"]) == 0
    text, high = card(folder)
    recommended = json.loads((folder / "result.json").read_text("utf-8"))["recommended"]
    assert f"reference offset 79.5 in {recommended['as_typed']} " in text
    assert high == pytest.approx(A4, abs=0.01)


def test_a_row_setup_that_cannot_run_is_left_out_and_said(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Eight sections do not divide the four rows of the wide setup."""
    path = write(here, "both", SETUPS)
    text = path.read_text("utf-8").replace("[switching]", "[switching]\nsections = 8")
    path.write_text(text, encoding="utf-8")
    assert main(["tune", "both.toml", "--quiet", "--card"]) == 0
    err = capsys.readouterr().err
    assert "row setup wide is not on the card" in err
    assert "switching.sections" in err
    assert "reference offset 97.0 in " in card(here / "reports" / "both")[0]


def test_correct_leaves_the_corrected_settings_or_says_why_not(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Digs 2 in farther along than described, at two speeds: 2 in too much, both times as they should be."""
    write(here, "one", ("reference_offset", 'lateral_offset = "0 in"\nreference_offset'))
    head = "end,rank,row,direction,speed (mph),past line (in),from\n"
    lines = ""
    for speed in (4, 6):
        for end, time, half in (("on", 0.05, 3.0), ("off", 0.05, -3.0)):
            for rank, behind in (("front", 84), ("rear", 119)):
                past = 84 - behind + time * speed * 17.6 + half + 2
                lines += f"{end},{rank},,out,{speed},{past:.2f},line\n"
    (here / "digs.csv").write_text(head + lines, encoding="utf-8")
    sure = ["correct", "digs.csv", "one.toml", "--quiet", "--seed-spacing", "6 in"]
    assert main([*sure, "--card"]) == 0
    folder = here / "reports" / "one"
    text, _ = card(folder)
    told = json.loads((folder / "result.json").read_text("utf-8"))["recommended"]
    assert f"reference offset {told['reference_offset_m'] / 0.0254:.1f} in " in text
    assert f"turn-on time {told['turn_on_time_s']:.2f} s" in text
    assert "Corrected by 8 digs. Entered before: reference offset 84 in behind the hitch pin" in text
    # Starts and stops at another speed than the field's, without a tape, tell nothing that could be typed in.
    slow = [line for line in lines.splitlines() if ",4," in line]
    (here / "digs.csv").write_text(head + "\n".join(slow), encoding="utf-8")
    assert main([*sure, "--card", "--tape-error", "none"]) == 0
    assert "no card: these digs do not tell" in capsys.readouterr().err
    assert not (folder / "card.pdf").exists()


def test_loading_and_tuning_without_a_card_do_not_load_the_pdf_library(here: Path) -> None:
    import subprocess
    import sys

    write(here, "one")
    code = (
        "import sys; from overlapsim.cli import main; main(['tune', 'one.toml', '--quiet']); "
        "print('reportlab' in sys.modules); main(['tune', 'one.toml', '--quiet', '--card']); "
        "print('reportlab' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "True"]
