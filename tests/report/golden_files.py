"""Texts that are held against files; what differs is saved beside them as ``<name>.tmp``."""

from __future__ import annotations

from pathlib import Path

FOLDER = Path(__file__).with_name("golden")


def compare(name: str, text: str) -> None:
    """Hold a text against its golden file; a text that is meant to differ is moved there by hand."""
    golden, aside = FOLDER / name, FOLDER / f"{name}.tmp"
    wanted = golden.read_text(encoding="utf-8") if golden.exists() else ""
    if text == wanted:
        aside.unlink(missing_ok=True)
        return
    aside.write_text(text, encoding="utf-8", newline="\n")
    raise AssertionError(f"{golden.name} differs; what came out is in {aside.name}:\n{text}")
