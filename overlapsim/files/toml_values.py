"""Values that TOML cannot read: inch marks, curly quotes, backslashes, texts without quotes."""

from __future__ import annotations

import re

__all__ = ["mend_value"]

_CURLY = str.maketrans({"“": '"', "”": '"', "„": '"', "«": '"', "»": '"', "‘": "'", "’": "'", "‚": "'"})
_PLAIN_TEXT = re.compile(r"\"(?:[^\"\\]|\\.)*\"|'[^']*'")
_INCHES = re.compile(r"\"([\d.][\d\s./'ft-]*)\"\"")
_FEET = re.compile(r"'([\d.][\d\s./ft-]*)'([\d\s./-]*)(\"?)'")
# A word or a number with its unit, where a list or a table in braces wants a text in quotes.
_BARE = re.compile(r"(?<=[\[,=])\s*([^\s\[\]{}\"',=#][^\[\]{}\"',=#]*?)\s*(?=[\],}])")
_SOUND = re.compile(r"true|false|[+-]?(?:inf|nan|\d[\d_]*(?:\.\d+)?(?:[eE][+-]?\d+)?)")

Slip = tuple[str, str, str, str]
"""Rule, remedy, the faulty part as written, and the whole value mended."""


def mend_value(value: str) -> Slip | None:
    """Recognise a slip in a value, and mend it.

    Parameters
    ----------
    value : str
        All that stands after the equal sign.

    Returns
    -------
    tuple of str or None
        Rule, remedy, the faulty part as written, and the whole value mended; None where no slip is known.

    Examples
    --------
    >>> mend_value('"84""')
    ('an inch mark ends the text', 'Write "84 in" or \\'84"\\'.', '"84""', '"84 in"')
    """
    for look in (_curly, _inch_mark, _foot_mark, _backslash, _in_brackets, _unquoted):
        slip = look(value)
        if slip is not None:
            return slip
    return None


def _curly(value: str) -> Slip | None:
    """Curly quotes round a text."""
    outside = _PLAIN_TEXT.sub("", value)
    if outside.translate(_CURLY) == outside:
        return None
    # Curly quotes that stand inside plain ones are part of the text.
    pieces = _PLAIN_TEXT.split(value)
    kept = [*_PLAIN_TEXT.findall(value), ""]
    plain = "".join(a.translate(_CURLY) + b for a, b in zip(pieces, kept, strict=True))
    bare, wanted = (re.sub(r"\s+#.*$", "", text) for text in (value, plain))
    return "curly quotes", f"Write {wanted}.", bare[:60], plain


def _inch_mark(value: str) -> Slip | None:
    """An inch mark that ends a text in double quotes."""
    found = _INCHES.search(value)
    if not found:
        return None
    plain = f'"{_in_words(found[1] + chr(34))}"'
    other = "" if "'" in found[1] else f" or '{found[1]}\"'"
    return "an inch mark ends the text", f"Write {plain}{other}.", found.group(), _put(value, found, plain)


def _foot_mark(value: str) -> Slip | None:
    """A foot mark that ends a text in single quotes."""
    found = _FEET.search(value)
    if not found:
        return None
    plain = f'"{_in_words(found.group()[1:-1])}"'
    return "a foot mark ends the text", f"Write {plain}.", found.group(), _put(value, found, plain)


def _backslash(value: str) -> Slip | None:
    """A path with backslashes in double quotes."""
    found = re.search(r'"([^"]*\\[^"]*)"?', value)
    if not found:
        return None
    plain = f"'{found[1]}'"
    rule = "a backslash in double quotes"
    return rule, f"Write {plain}, or use /.", found.group(), _put(value, found, plain)


def _in_brackets(value: str) -> Slip | None:
    """Texts without quotes in a list or a table in braces."""
    if value[:1] not in "[{":
        return None
    for found in _BARE.finditer(value):
        if not _SOUND.fullmatch(found[1]):
            plain = _quoted(found[1])
            mended = value[: found.start(1)] + plain + value[found.end(1) :]
            return "a text needs quotes", f"Write {plain}.", found[1], mended
    return None


def _unquoted(value: str) -> Slip | None:
    """A text without quotes, with one of them, or with something after them."""
    bare = re.sub(r"\s+#.*$", "", value)
    if bare.endswith((",", ";")):
        return f"a {'comma' if bare[-1] == ',' else 'semicolon'} at the end", "Take it away.", bare, bare[:-1]
    if bare[0] in "[{" or bare.startswith(('"""', "'''")):
        return None
    number = re.fullmatch(r"([+-]?)0*(\d*)\.?(\d*)", bare)
    if number:
        plain = f"{number[1]}{number[2] or 0}" + (f".{number[3] or 0}" if "." in bare else "")
        rule = "a number begins and ends with a figure, and not with a needless 0"
        return rule, f"Write {plain}.", bare, plain
    comma = re.fullmatch(r"([+-]?\d+),(\d+)", bare)
    if comma:
        plain = f"{comma[1]}.{comma[2]}"
        return "a comma is not read in a number", f"Write {plain}.", bare, plain
    if bare.lower() in ("true", "false", "yes", "no", "on", "off"):
        plain = "true" if bare.lower() in ("true", "yes", "on") else "false"
        return "is neither true nor false", f"Write {plain}.", bare, plain
    after = re.fullmatch(r"([\"'])([^\"']*)\1\s*([^\"']+)", bare)
    if after:
        plain = _quoted(f"{after[2]} {after[3]}".strip())
        return "text after the closing quotes", f"Write {plain}.", bare, plain
    if _PLAIN_TEXT.match(bare):
        return None
    # A mark at one end only is a quote that lacks its fellow, unless it stands for inches.
    inner = bare if re.match(r"[+-]?[\d.]", bare) else bare.strip("\"'")
    rule = "the quotes do not match" if inner != bare else "a text needs quotes"
    plain = _quoted(inner)
    return rule, f"Write {plain}.", bare, plain


def _put(value: str, found: re.Match[str], plain: str) -> str:
    """Replace what was found by what should stand there."""
    return value[: found.start()] + plain + value[found.end() :]


def _in_words(text: str) -> str:
    """Write inch and foot marks as words."""
    text = re.sub(r"\s*(?:\"+|''|[”″])", " in", text)
    return re.sub(r"\s+", " ", re.sub(r"\s*['’′]\s*", " ft ", text)).strip()


def _quoted(text: str) -> str:
    """Put a text into quotes that hold it; inch and foot marks become words."""
    if re.match(r"[+-]?[\d.]", text):
        text = _in_words(text)
    quote = "'" if '"' in text or "\\" in text else '"'
    return f"{quote}{text}{quote}"
