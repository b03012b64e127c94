"""``overlapsim new --page``: one file, over nobody's, alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from overlapsim.cli import main
from overlapsim.report.pass_end_page import pass_end_page
from tests.report.pages import Reader, digest, policy_of


def test_it_writes_one_page_that_needs_nothing(tmp_path: Path) -> None:
    assert main(["new", "--page", str(tmp_path / "page.html")]) == 0
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]
    text = (tmp_path / "page.html").read_text("utf-8")
    assert text == pass_end_page()
    page = Reader(text)
    assert {digest(code) for code in page.code} == set(re.findall(r"'sha256-[^']+'", policy_of(page)))
    assert "http" not in text.replace("http-equiv", "")


def test_a_file_that_is_there_is_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "page.html"
    file.write_text("mine", encoding="utf-8")
    assert main(["new", "--page", str(file)]) == 2
    assert file.read_text("utf-8") == "mine"
    assert "page.html" in capsys.readouterr().err


def test_it_goes_with_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "--page", "a.html", "--rows", "16"]) == 2
    assert "do not go together" in capsys.readouterr().err
