"""On which line each key of a TOML text stands: what the standard reader does not tell."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from overlapsim.scenario.tables import dotted

__all__ = ["Lines", "Quoted", "find_lines"]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}\n#]*")
_BLANK = re.compile(r"(?:[ \t\r]|#[^\n]*)*")
_BLANKS = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
# Long quotes may end in up to two quotes of their own, which belong to the text.
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")' r"|'''.*?'{3,5}(?!')" r'|"(?:[^"\\\n]|\\.)*"' r"|'[^'\n]*'", re.DOTALL
)


@dataclass(frozen=True)
class Quoted:
    """A text in quotes, as it stands in the file.

    Attributes
    ----------
    key : str
        Dotted key that it belongs to.
    raw : str
        With its quotes and backslashes.
    line : int
        Counted from 1.
    """

    key: str
    raw: str
    line: int


@dataclass
class Lines:
    """Places in a TOML text.

    Attributes
    ----------
    keys : dict of int
        Line of each key and table, by dotted key.
    quoted : list of Quoted
        Every text in quotes that is a value.
    """

    keys: dict[str, int] = field(default_factory=dict)
    quoted: list[Quoted] = field(default_factory=list)

    def line_of(self, key: str) -> int | None:
        """Find the line of a key, or else of the table in which it should stand.

        Parameters
        ----------
        key : str
            Dotted key.

        Returns
        -------
        int or None
            Counted from 1.
        """
        while key:
            # Dotted keys without their quotes are tables below one another: read all the same.
            for way in (key, key.replace('"', "")):
                if way in self.keys:
                    return self.keys[way]
            key = re.sub(r'(?:\."[^"]*"|\.[^."]*|^[^.]*)$', "", key)
        return None


def find_lines(text: str) -> Lines:
    """Find the lines of all keys.

    Parameters
    ----------
    text : str
        TOML that the standard reader has read without complaint.

    Returns
    -------
    Lines
        Places by dotted key.

    Examples
    --------
    >>> find_lines('[ranks.rear]\\nrows = 16').keys
    {'ranks': 1, 'ranks.rear': 1, 'ranks.rear.rows': 2}
    """
    scanner = _Scanner(text)
    scanner.document()
    return scanner.found


class _Scanner:
    """Walks through sound TOML from left to right."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.found = Lines()
        self._line, self._counted = 1, 0
        self.counts: dict[tuple[str, ...], int] = {}

    def line(self) -> int:
        """Count lines up to here."""
        self._line += self.text.count("\n", self._counted, self.at)
        self._counted = self.at
        return self._line

    def skip(self, pattern: re.Pattern[str]) -> str:
        """Step over what a pattern matches here."""
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at
        return match.group() if match else ""

    def peek(self) -> str:
        """Look at the next sign."""
        return self.text[self.at : self.at + 1]

    def document(self) -> None:
        """Walk through tables and keys."""
        table: tuple[str, ...] = ()
        self.skip(_BLANKS)
        while self.at < len(self.text):
            before = self.at
            if self.peek() == "[":
                before_name = self.at
                while self.peek() == "[":
                    self.at += 1
                table = self.key(())
                if self.text[before_name : before_name + 2] == "[[":
                    # Tables of a list are numbered from 1.
                    self.counts[table] = self.counts.get(table, 0) + 1
                    table = (*table, str(self.counts[table]))
                    self.found.keys[dotted(table)] = self.line()
                while self.peek() == "]":
                    self.at += 1
            else:
                self.pair(table)
            self.skip(_BLANKS)
            if self.at == before:
                return

    def key(self, table: tuple[str, ...]) -> tuple[str, ...]:
        """Read a dotted key, and note where it stands."""
        path = table
        while True:
            self.skip(_BLANK)
            name = self.skip(_STRING)[1:-1] if self.peek() in ("'", '"') else self.skip(_BARE)
            path = (*path, name)
            self.found.keys.setdefault(dotted(path), self.line())
            self.skip(_BLANK)
            if self.peek() != ".":
                return path
            self.at += 1

    def pair(self, table: tuple[str, ...]) -> None:
        """Read a key and its value."""
        path = self.key(table)
        if self.peek() == "=":
            self.at += 1
            self.skip(_BLANK)
            self.value(path)

    def value(self, path: tuple[str, ...]) -> None:
        """Step over a value, and note keys and texts inside it."""
        sign = self.peek()
        if sign in ("'", '"'):
            line = self.line()
            self.found.quoted.append(Quoted(dotted(path), self.skip(_STRING), line))
        elif sign in ("[", "{"):
            close = "]" if sign == "[" else "}"
            self.at += 1
            self.skip(_BLANKS)
            while self.peek() not in (close, ""):
                before = self.at
                if sign == "[":
                    self.value(path)
                else:
                    self.pair(path)
                self.skip(_BLANKS)
                if self.peek() == ",":
                    self.at += 1
                    self.skip(_BLANKS)
                if self.at == before:
                    return
            self.at += 1
        else:
            self.skip(_SCALAR)
