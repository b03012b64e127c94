"""What TOML cannot read but people write: each slip in our own words, and mended to read on.

A mended line is only a guess, good enough to look for faults further down; nothing is ever run with it.
"""

from __future__ import annotations

import math
import re
import tomllib
from typing import Any, NamedTuple

from overlapsim.basics.errors import Fault
from overlapsim.files.toml_values import mend_value

__all__ = ["read_toml"]

_MOST = 200
_MOST_PER_LINE = 8
_BITS = 63  # And a sign.
_DIGITS = re.compile(r"[\d_]+")
_LINE = re.compile(r"\(at line (\d+)")
_KEY = r"(?:[\w.-]+|\"[^\"]*\"|'[^']*')"
_PAIR = re.compile(rf"^(?P<key>\s*{_KEY})\s*(?P<mark>=+|:=?)\s*(?P<value>.*?)\s*$")
_BLANK_IN_KEY = re.compile(r"^\s*([\w.-]+(?:[ \t]+[\w.-]+)+)\s*=\s*(.*)$")
_BROKEN_HEADER = re.compile(r"\s*(?:\[+\s*([\w.-]+)\s*\]*|([\w.-]+)\s*\]+)\s*(?:#.*)?")
_WORDS = {
    "Unclosed array": ("a list is not closed", "Write ] at its end."),
    "Unclosed inline table": ("a table in braces is not closed", "Write } at its end, on the same line."),
    "Unterminated string": ("a text is not closed", "Write the closing quotes."),
    "twice": ("this table stands here twice", "Keep one, and move its keys together."),
    "Cannot": ("this key or table stands here twice", "Keep one of the two."),
    "Unescaped": ("a backslash in double quotes", "Use single quotes, or / instead."),
    "hex value": ("a backslash in double quotes", "Use single quotes, or / instead."),
}


class _Mend(NamedTuple):
    """A slip: what is wrong, what to write, the value as written, the mended line and its number."""

    rule: str
    remedy: str
    value: str
    line: str
    number: int


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
    tries: dict[int, int] = {}
    for _ in range(_MOST):
        try:
            return _in_range(tomllib.loads("\n".join(lines))), faults, set(tries), "\n".join(lines)
        except tomllib.TOMLDecodeError as error:
            message = str(error)
        except ValueError:
            # Python turns no text of more than some thousand digits into a whole number.
            digits = [max(map(len, _DIGITS.findall(line)), default=0) for line in lines]
            number, rule = digits.index(max(digits)) + 1, "a number of more digits than anything has"
            faults.append(Fault(rule, "Write it shorter.", file=name, line=number))
            break
        except RecursionError:
            faults.append(Fault("brackets nested too deep", "Check the brackets.", file=name))
            break
        found = _LINE.search(message)
        number = min(int(found[1]) if found else len(lines), len(lines))
        slip = _slip(lines, number, message)
        if slip is None or slip.line == lines[slip.number - 1] or tries.get(slip.number, 0) >= _MOST_PER_LINE:
            if number not in tries:
                rule, remedy = _words(message)
                value = lines[number - 1].strip()[:60]
                faults.append(Fault(rule, remedy, value=value, file=name, line=number))
            break
        lines[slip.number - 1] = slip.line
        tries[slip.number] = tries.get(slip.number, 0) + 1
        faults.append(Fault(slip.rule, slip.remedy, value=slip.value, file=name, line=slip.number))
    return None, faults, set(tries), text


def _in_range(value: Any) -> Any:
    """Make whole numbers beyond 64 bits infinite, so that whoever reads them refuses them.

    TOML 1.0.0, section Integer: those of 64 bits are to be taken; what cannot be held must be an error.
    """
    if isinstance(value, dict):
        return {key: _in_range(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_in_range(inner) for inner in value]
    return math.inf if isinstance(value, int) and value.bit_length() > _BITS else value


def _words(message: str) -> tuple[str, str]:
    """Say in plain words what the standard reader says."""
    for part, words in _WORDS.items():
        if part in message:
            return words
    return "cannot be read", 'Write key = "value", one on a line.'


def _slip(lines: list[str], number: int, message: str) -> _Mend | None:
    """Recognise one of the slips that people make, and mend the line."""
    line = lines[number - 1]
    for look in (_blanks, _header, _twice, _pair, _blank_in_key, _open_list):
        found = look(line, number, message, lines)
        if found is not None:
            return found
    return None


def _blanks(line: str, number: int, message: str, lines: list[str]) -> _Mend | None:
    """Hard blanks, as web pages and letters have them."""
    plain = re.sub("[\u00a0\u2007\u2009\u202f\u200b\ufeff]", " ", line)
    if plain == line:
        return None
    rule = "a hard blank, as web pages have it"
    return _Mend(rule, "Type the line again.", line.strip()[:60], plain, number)


def _header(line: str, number: int, message: str, lines: list[str]) -> _Mend | None:
    """A table's name without its bracket, or with too many."""
    found = _BROKEN_HEADER.fullmatch(line)
    if not found or "twice" in message or "=" in line:
        return None
    wanted = f"[{found[1] or found[2]}]"
    return _Mend("the brackets do not match", f"Write {wanted}.", line.strip(), wanted, number)


def _twice(line: str, number: int, message: str, lines: list[str]) -> _Mend | None:
    """One key twice in a table."""
    found = _PAIR.match(line)
    if "Cannot overwrite" not in message or not found:
        return None
    key = re.escape(found["key"].strip())
    for earlier in range(number - 1, 0, -1):
        if lines[earlier - 1].lstrip().startswith("["):
            break
        if re.match(rf"\s*{key}\s*=", lines[earlier - 1]):
            rule = f"stands in line {earlier} already"
            return _Mend(rule, "Keep one of the two.", line.strip()[:60], "", number)
    return None


def _pair(line: str, number: int, message: str, lines: list[str]) -> _Mend | None:
    """A key whose value cannot be read."""
    found = _PAIR.match(line)
    if not found:
        return None
    key, value = found["key"].strip(), found["value"]
    if found["mark"] != "=":
        plain = value
        if not re.match(r"[\"'\[{\d“”‘’]", value):
            slip = mend_value(value)
            plain = slip[3] if slip else value
        rule = "two equal signs" if found["mark"][0] == "=" else "a colon between key and value"
        return _Mend(rule, f"Write {key} = {plain}.", line.strip()[:60], f"{key} = {plain}", number)
    if not value or value.startswith("#"):
        return _Mend("has no value", "Write one, or take the line out.", key, "", number)
    slip = mend_value(value)
    if slip is None:
        return None
    rule, remedy, shown, plain = slip
    return _Mend(rule, remedy, shown, f"{key} = {plain}", number)


def _blank_in_key(line: str, number: int, message: str, lines: list[str]) -> _Mend | None:
    """A key of two words."""
    found = _BLANK_IN_KEY.match(line)
    if not found:
        return None
    key = re.sub(r"[ \t]+", "_", found[1])
    return _Mend("a blank in a key", f"Write {key}.", found[1], f"{key} = {found[2]}", number)


def _open_list(line: str, number: int, message: str, lines: list[str]) -> _Mend | None:
    """A list that was opened further up and never closed."""
    if "Unclosed array" not in message and "Expected" not in message and "Invalid" not in message:
        return None
    for earlier in range(number, 0, -1):
        text = re.sub(r"\"[^\"]*\"|'[^']*'|#.*", "", lines[earlier - 1])
        if "=" in text and text.count("[") > text.count("]"):
            closed = re.sub(r"[\s,]*$", "", lines[earlier - 1]) + "]"
            return _Mend(*_WORDS["Unclosed array"], lines[earlier - 1].strip()[:60], closed, earlier)
    return None
