"""The frame of every page: head, policy, switch of units, list of sections, foot."""

from __future__ import annotations

import base64
import hashlib
import re
from functools import cache
from html import escape
from itertools import chain, count
from pathlib import Path

from overlapsim.basics.version import __version__
from overlapsim.report.page.markup import Section

_TABLE = re.compile(r'(role="region" tabindex="0" aria-label=")([^"]*)"')
_ASSETS = Path(__file__).parents[1] / "page_assets"


@cache
def asset(name: str) -> str:
    """Read one of the page's own files.

    Parameters
    ----------
    name : str
        As in ``"frame.css"``.

    Returns
    -------
    str
        Its text.
    """
    return (_ASSETS / name).read_text(encoding="utf-8").strip()


def document(
    title: str, under: str, first: str, sections: list[Section], units: str, scripts: tuple[str, ...] = (),
    styles: tuple[str, ...] = (), kind: str = "", pictures: bool = False,
) -> str:  # fmt: skip
    """Put a page together.

    Parameters
    ----------
    title : str
        Plain text.
    under : str
        What stands below the title, HTML.
    first : str
        The first screen, HTML.
    sections : list of Section
        All else, in order of importance.
    units : {"us", "metric", ""}
        What a reader sees who has not chosen; empty where there is nothing to choose.
    scripts : tuple of str
        Names of scripts beside the frame's own.
    styles : tuple of str
        Names of style sheets beside the frame's own.
    kind : {"", "sheet"}
        A sheet is set smaller in print, to be one page.
    pictures : bool
        Whether pictures stand in it that are no drawings, as data of its own.

    Returns
    -------
    str
        HTML that needs nothing else and reaches for nothing: its policy allows its own style and scripts
        by their digests, and no address at all.
    """
    style = "\n".join(asset(name) for name in ("frame.css", *styles))
    code = [asset(name) for name in ("frame.js", *scripts)]
    menu = "".join(
        f'<li><a href="#{one.key}">{escape(one.menu)}</a></li>' for one in sections if one.menu
    )
    name = _Names(sections)
    first = name.given("First", first)
    body = "\n".join(
        f'<section id="{one.key}" aria-labelledby="{one.key}-title">'
        f'<h2 id="{one.key}-title">{escape(one.title)}</h2>\n{name.given(one.title, one.body)}\n</section>'
        for one in sections
    )
    of_kind = f' class="{kind}"' if kind else ""
    early, *late = (f"<script>{text}</script>" for text in code)
    return "\n".join([
        "<!DOCTYPE html>",
        f'<html lang="en" data-units="{units}"{of_kind}>', "<head>", '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy(style, code, pictures)}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="color-scheme" content="light dark">',
        f"<title>{escape(title)}</title>", f"<style>{style}</style>", "</head>", "<body>",
        '<a class="to-main" href="#main">To the numbers</a>',
        "<header>", f"<div><h1>{escape(title)}</h1>{under}</div>", _switch(units) if units else "",
        "</header>", early,
        f'<nav aria-label="Sections"><ul>{menu}</ul></nav>' if menu else "",
        '<main id="main">', first, body, "</main>",
        f"<footer><p>overlapsim {escape(__version__)}. This page needs no network and sends nothing.</p>"
        "</footer>",
        *late, "</body>", "</html>", "",
    ])  # fmt: skip


class _Names:
    """Gives every table a name of its own, so that who hears the page can tell where he is."""

    def __init__(self, sections: list[Section]) -> None:
        self.used = {escape(one.title, quote=True) for one in sections}

    def given(self, title: str, body: str) -> str:
        """Name the tables of one section, which has a title."""
        heading = escape(title, quote=True)

        def new(found: re.Match[str]) -> str:
            own = found[2]
            offers = [own, f"Table: {own}" if own == heading else f"{heading}: {own}"]
            numbered = (f"{own} {number}" for number in count(2))
            label = next(one for one in chain(offers, numbered) if one not in self.used)
            self.used.add(label)
            return f'{found[1]}{label}"'

        return _TABLE.sub(new, body)


def policy(style: str, code: list[str], pictures: bool = False) -> str:
    """Say what the page may do: nothing but its own style and scripts, known by their digests.

    Parameters
    ----------
    style : str
        Text of its style sheet.
    code : list of str
        Texts of its scripts.
    pictures : bool
        Whether it may show pictures that stand in it as data.

    Returns
    -------
    str
        Value for the policy's element.

    References
    ----------
    Content Security Policy Level 3, W3C working draft, section 6.1 (fetch directives) (from memory).
    """
    scripts = " ".join(dict.fromkeys(_digest(text) for text in code))
    return (
        f"default-src 'none'; style-src {_digest(style)}; script-src {scripts}; base-uri 'none'; "
        f"form-action 'none'{'; img-src data:' * pictures}"
    )


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _switch(units: str) -> str:
    choice = (("us", "inches, acres"), ("metric", "cm, hectares"))
    boxes = "".join(
        f'<label><input type="radio" name="units" id="units-{key}" value="{key}"'
        f"{' checked' if key == units else ''}> {name}</label>"
        for key, name in choice
    )
    return f'<fieldset class="units"><legend>Units</legend>{boxes}</fieldset>'
