"""Pages in a real browser: opened from a file, without a network, every complaint of theirs gathered.

Needs the package playwright and Chromium (``OVERLAPSIM_BROWSER`` names another program file). Without them
the tests are skipped and say so; in continuous integration that is a failure.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

PROFILES: dict[str, dict[str, Any]] = {
    "desktop": {"viewport": {"width": 1280, "height": 900}},
    "phone": {
        "viewport": {"width": 390, "height": 844}, "device_scale_factor": 3, "is_mobile": True,
        "has_touch": True,
    },
}  # fmt: skip


def missing(what: str) -> None:
    if os.environ.get("CI"):
        pytest.fail(what)
    pytest.skip(what)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("no playwright at hand")
    names = ("chromium", "chromium-browser")
    program = os.environ.get("OVERLAPSIM_BROWSER") or next(filter(None, map(shutil.which, names)), None)
    if not program:
        missing("no Chromium at hand")
    # Chromium's own sandbox refuses to run as root.
    alone = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=program, args=alone)
        yield found
        found.close()


Open = Callable[..., Any]


@pytest.fixture
def opened(browser: Any, tmp_path: Path) -> Iterator[Open]:
    """Opens a page's text from a file; at the end no page has complained or asked for anything else."""
    contexts, complaints = [], []

    def open_(text: str, profile: str = "desktop", **more: Any) -> Any:
        file = tmp_path / f"page{len(contexts)}.html"
        file.write_text(text, encoding="utf-8")
        context = browser.new_context(**PROFILES[profile], **more)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(20_000)
        page.on("console", lambda said: complaints.append(f"{said.type}: {said.text}"))
        page.on("pageerror", lambda fault: complaints.append(str(fault)))
        page.on(
            "request", lambda asked: complaints.append(asked.url) if asked.url != file.as_uri() else None
        )
        page.goto(file.as_uri())
        return page

    yield open_
    for context in contexts:
        context.close()
    assert not complaints
