"""What TOML can not read but people write: each slip in our own words, and mended to read on.

A mended line is only a guess, good enough to look for faults further down; nothing is ever run with it.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from typing import Any

from overlapsim.basics.errors import Fault

__all__ = ["read_toml"]

_MOST = 100
_LINE = re.compile(r"\(at line (\d+)")
_PAIR = re.compile(r"^(?P<key>\s*(?:[\w.-]+|\"[^\"]*\"|'[^']*')\s*)(?P<mark>[=:])\s*(?P<value>.*?)\s*$")
_CURLY = str.maketrans({"“": '"', "”": '"', "„": '"', "«": '"', "»": '"', "‘": "'", "’": "'", "‚": "'"})
_INCHES = re.compile(r"\"([\d.][\d\s./'ft-]*)\"\"|'([\d.][\d\s./ft-]*)'([\d\s./-]*)(\"?)'")

Mended = tuple[str, str, str, str]
"""Rule, remedy, value as written, and the line mended."""


def read_toml(text: str, name: str) -> tuple[dict[str, Any] | None, list[Fault], set[int], str]:
    """Read TOML, and say what is wrong in words of the trade.

    Parameters
    ----------
    text : str
        With plain line ends.
    name : str
        How people call the file.

    Returns
    -------
    tuple
        Tables (None where nothing can be read), faults, the lines that were mended, and the mended text.
    """
    lines = text.split("\n")
    faults: list[Fault] = []
    mended: set[int] = set()
    for _ in range(_MOST):
        try:
            return tomllib.loads("\n".join(lines)), faults, mended, "\n".join(lines)
        except tomllib.TOMLDecodeError as error:
            message = str(error)
        except RecursionError:
            return None, [Fault("brackets nested too deep", "Check the brackets.", file=name)], mended, text
        found = _LINE.search(message)
        number = int(found[1]) if found else len(lines)
        line = lines[number - 1] if number <= len(lines) else ""
        slip = None if number in mended else _slip(line, message, lines[: number - 1])
        if slip is None:
            faults.append(Fault(*_words(message), value=line.strip()[:60], file=name, line=number))
            return None, faults, mended, text
        rule, remedy, value, lines[number - 1] = slip
        mended.add(number)
        faults.append(Fault(rule, remedy, value=value, file=name, line=number))
    return None, faults, mended, text


def _words(message: str) -> tuple[str, str]:
    """Say in plain words what the standard reader says."""
    known = {
        "Unclosed array": ("a list is not closed", "Write ] at its end."),
        "Unclosed inline table": ("a table in braces is not closed", "Write } at its end, on the same line."),
        "Unterminated string": ("a text is not closed", "Write the closing quotes."),
        "Expected ']'": ("the name of a table is not closed", "Write it as in [switching]."),
        "twice": ("this table stands here twice", "Keep one, and move its keys together."),
        "Cannot": ("this key or table stands here twice", "Keep one of the two."),
        "Unescaped": ("a backslash in double quotes", "Use single quotes, or / instead."),
        "Invalid hex value": ("a backslash in double quotes", "Use single quotes, or / instead."),
    }
    for start, words in known.items():
        if start in message:
            return words
    return "can not be read", 'Write key = "value", one on a line.'


def _slip(line: str, message: str, before: list[str]) -> Mended | None:
    """Recognise one of the slips that people make, and mend the line."""
    for look in (_blanks, _header, _twice, _pair):
        found: Mended | None = look(line, message, before)
        if found:
            return found
    return None


def _blanks(line: str, message: str, before: list[str]) -> Mended | None:
    """Hard blanks, as web pages and letters have them."""
    plain = re.sub("[\u00a0\u2007\u2009\u202f\u200b\ufeff]", " ", line)
    if plain == line:
        return None
    return "a hard blank, as web pages have it", "Type the line again.", line.strip()[:60], plain


def _header(line: str, message: str, before: list[str]) -> Mended | None:
    """A table's name without its bracket."""
    found = re.fullmatch(r"\s*\[\s*([\w.-]+)\s*(#.*)?", line)
    if found:
        return "the bracket is not closed", f"Write [{found[1]}].", line.strip(), f"[{found[1]}]"
    found = re.fullmatch(r"\s*([\w.-]+)\s*\]\s*(#.*)?", line)
    if found:
        return "the bracket is not opened", f"Write [{found[1]}].", line.strip(), f"[{found[1]}]"
    return None


def _twice(line: str, message: str, before: list[str]) -> Mended | None:
    """One key twice in a table."""
    found = _PAIR.match(line)
    if "Cannot overwrite" not in message or not found:
        return None
    key = found["key"].strip()
    for number in range(len(before), 0, -1):
        if before[number - 1].lstrip().startswith("["):
            break
        if re.match(rf"\s*{re.escape(key)}\s*=", before[number - 1]):
            return f"stands in line {number} already", "Keep one of the two.", line.strip()[:60], ""
    return None


def _pair(line: str, message: str, before: list[str]) -> Mended | None:
    """A key whose value can not be read."""
    found = _PAIR.match(line)
    if not found:
        return None
    start, value = f"{found['key'].rstrip()} = ", found["value"]
    if found["mark"] == ":":
        plain = value if re.match(r"[\"'\[{\d]", value) else _quote(value)
        return "a colon between key and value", f"Write {start.strip()} {plain}.", line.strip(), start + plain
    looks: tuple[Callable[[str], tuple[str, str, str] | None], ...] = (
        _curly,
        _inch_mark,
        _backslash,
        _unquoted,
    )
    for look in looks:
        slip = look(value)
        if slip:
            rule, shown, plain = slip
            wanted = f"Write {plain}." if rule != _BACKSLASH else f"Write {plain}, or use /."
            if rule == _INCH:
                wanted = f"Write {plain} or '{shown[1:-1]}'." if "'" not in shown else f"Write {plain}."
            return rule, wanted, shown, start + value.replace(shown, plain, 1)
    return None


_BACKSLASH = "a backslash in double quotes"
_INCH = "an inch mark ends the text"


def _curly(value: str) -> tuple[str, str, str] | None:
    """Curly quotes round a text."""
    found = re.search(r"[“”„«»‘’‚][^“”„«»‘’‚\"]*[“”„«»‘’‚\"]?|\"[^\"“”]*[“”]", re.sub(r'"[^"]*"', "", value))
    if not found:
        return None
    inner = found.group().strip("“”„«»‘’‚\"'").strip()
    return "curly quotes", found.group(), f'"{inner}"'


def _inch_mark(value: str) -> tuple[str, str, str] | None:
    """Inch and foot marks that end the text too early."""
    found = _INCHES.search(value)
    if not found:
        return None
    if found[1] is not None:
        plain = re.sub(r"\s*'\s*", " ft ", found[1]).strip() + " in"
    else:
        plain = (
            f"{found[2].strip()} ft {found[3].strip()} in" if found[3].strip() else f"{found[2].strip()} ft"
        )
    rule = _INCH if found[1] is not None else "a foot mark ends the text"
    return rule, found.group(), f'"{plain}"'


def _backslash(value: str) -> tuple[str, str, str] | None:
    """Paths with backslashes in double quotes."""
    found = re.search(r'"([^"]*\\[^"]*)"?', value)
    if not found:
        return None
    return _BACKSLASH, found.group(), f"'{found[1]}'"


def _unquoted(value: str) -> tuple[str, str, str] | None:
    """Texts without quotes, with one of them, or with something after them."""
    bare = re.sub(r"\s+#.*$", "", value).rstrip(",;")
    if not bare:
        return None
    if bare.lower() in ("true", "false", "yes", "no"):
        return "is neither true nor false", bare, "true" if bare.lower() in ("true", "yes") else "false"
    number = re.fullmatch(r"([+-]?)(\d*)\.(\d*)", bare)
    if number:
        plain = f"{number[1]}{number[2] or 0}.{number[3] or 0}"
        return "a number needs figures on both sides of its point", bare, plain
    if bare[0] in "[{":
        return None
    marks = bare.count('"')
    if bare.startswith('"') and marks == 1:
        return "the quotes are not closed", bare, _quote(bare.strip('"'))
    if bare.startswith("'") and bare.count("'") == 1:
        return "the quotes are not closed", bare, _quote(bare.strip("'"))
    after = re.fullmatch(r"([\"'])(.*)\1\s*([^\"']+)", bare)
    if after:
        return "text after the closing quotes", bare, _quote(f"{after[2]} {after[3]}".strip())
    if bare[0] in "\"'":
        return None
    return "a text needs quotes", bare, _quote(bare)


def _quote(text: str) -> str:
    """Put a text into quotes that hold it; inch and foot marks become words."""
    if re.match(r"[\d.]", text):
        text = re.sub(r"\s*[\"”″]", " in", re.sub(r"\s*['’′]\s*", " ft ", text)).strip()
    quote = "'" if '"' in text or "\\" in text else '"'
    return f"{quote}{text}{quote}"
