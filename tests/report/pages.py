"""Reading a page as a browser would: its text, its elements, its policy."""

from __future__ import annotations

import base64
import hashlib
import re
from html.parser import HTMLParser

VOID = {"meta", "input", "br", "link", "img", "hr", "rect", "circle", "path", "use", "stop"}


class Reader(HTMLParser):
    """Reads a page and refuses one whose elements do not close in turn."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[tuple[str, dict[str, str | None]]] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[tuple[str, str]] = []
        self.code: list[str] = []
        self.data: list[str] = []
        self.feed(text)
        self.close()
        assert not self.open, self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID or (tag in ("rect", "circle", "path", "use") and not self._closed_at_once()):
            self.open.append((tag, dict(attrs)))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def _closed_at_once(self) -> bool:
        return (self.get_starttag_text() or "").endswith("/>")

    def handle_endtag(self, tag: str) -> None:
        assert self.open, tag
        assert self.open[-1][0] == tag, (tag, self.open[-1], self.getpos())
        self.open.pop()

    def handle_data(self, data: str) -> None:
        tags = [tag for tag, _ in self.open]
        if tags and tags[-1] in ("script", "style"):
            (self.data if "type" in self.open[-1][1] else self.code).append(data)
            return
        kinds = {str(attrs.get("class")) for _, attrs in self.open}
        self.words.append(("us" if "us" in kinds else "metric" if "metric" in kinds else "", data))

    def text(self, units: str) -> str:
        """What a reader sees who has chosen these units, blanks drawn together."""
        return re.sub(r"\s+", " ", " ".join(word for kind, word in self.words if kind in ("", units)))


def digest(text: str) -> str:
    """How a policy names a piece of code."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def policy_of(page: Reader) -> str:
    """The page's policy."""
    return next(
        str(attrs["content"])
        for tag, attrs in page.elements
        if tag == "meta" and attrs.get("http-equiv") == "Content-Security-Policy"
    )
