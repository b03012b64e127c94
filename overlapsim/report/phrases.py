"""Small pieces of sentences: ranks, lists, pairs of times, and signs that every console knows."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

from overlapsim.basics.units import format_time


def rank_words(name: str) -> str:
    """Name a rank in a sentence; the name is the user's own.

    Parameters
    ----------
    name : str
        As the machine file has it.

    Returns
    -------
    str
        As in ``"front rank"``.

    Examples
    --------
    >>> rank_words("front"), rank_words("2"), rank_words("rear rank")
    ('front rank', 'rank 2', 'rear rank')
    """
    if "rank" in name.lower().replace("_", " ").split():
        return name
    return f"rank {name}" if name.isdigit() else f"{name} rank"


def printable(text: str, encoding: str | None) -> str:
    """Write text with the signs that a console knows.

    Parameters
    ----------
    text : str
        Any text.
    encoding : str or None
        Name of the console's encoding; None stands for ASCII.

    Returns
    -------
    str
        The same text, with what the encoding lacks replaced by its nearest plain letters.

    Examples
    --------
    >>> printable("Nová pole: 10 m² – 2×", "cp1252"), printable("10 m² – 2×", "ascii")
    ('Nová pole: 10 m² – 2×', '10 m2 - 2x')
    """
    name = encoding or "ascii"
    try:
        text.encode(name)
    except LookupError:
        name = "ascii"
    except UnicodeEncodeError:
        pass
    else:
        return text
    return "".join(_nearest(sign, name) for sign in text)


_PLAIN_SIGNS = {
    "–": "-",
    "—": "-",
    "×": "x",
    "’": "'",
    "‘": "'",
    "“": '"',
    "”": '"',
    "″": '"',
    "′": "'",
    "…": "...",
}


def _nearest(sign: str, encoding: str) -> str:
    for tried in (sign, _PLAIN_SIGNS.get(sign, ""), unicodedata.normalize("NFKD", sign)):
        kept = tried.encode(encoding, "ignore").decode(encoding)
        if kept:
            return kept
    return "?"


def times_words(on: float, off: float) -> str:
    """Write a pair of times in one breath.

    Parameters
    ----------
    on, off : float
        Turn-on and turn-off time, s.

    Returns
    -------
    str
        As in ``"0.45/0.30 s"``.
    """
    return f"{format_time(on).removesuffix(' s')}/{format_time(off)}"


def and_words(parts: Sequence[str]) -> str:
    """Join parts of a sentence.

    Parameters
    ----------
    parts : sequence of str
        At least one.

    Returns
    -------
    str
        As in ``"a, b and c"``.

    Examples
    --------
    >>> and_words(["front", "rear"]), and_words(["a", "b", "c"])
    ('front and rear', 'a, b and c')
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
