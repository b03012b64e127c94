"""Texts to be read: sound ones with a few slips in them, as people and broken discs make them."""

from __future__ import annotations

from pathlib import Path

from hypothesis import strategies as st

GALLERY = Path(__file__).resolve().parents[2] / "scenarios"

UNIT_PIECES = (
    "0", "7", "84", "1/2", "3/0", "½", "⅞", ".", ",", "e", "E", "e5", "1e400", "1e-400", "-", "−", "+",
    " ", "\u00a0",
    "ft", "'", "′", "foot", "in", '"', "″", "''", "inches", "m", "cm", "mm", "km", "mi", "yd", "mph",
    "km/h", "m/s",
    "s", "ms", "deg", "°", "rad", "Hz", "/ac", "/ha", "ac", "and", "nan", "inf", "٣", "²", "①", "k",
    "thousand", "\n",
    "\0", "1_000", "0x10", "９", "ı", "ß", "Å",
)  # fmt: skip
TOML_PIECES = (
    '"', "'", '"""', "'''", "\\", "\\u00e9", "\\x", "“", "”", "″", "[", "]", "[[", "]]", "{", "}", "=",
    "==", ".", ",",
    "#", "\n", "\r", "\r\n", "\t", "\0", "\ufeff", "\u2028", "\x85", "true", "True", "yes", "nan", "-inf",
    "1e999",
    "0x1f", "1_000", "07:32:00", "1979-05-27", "9" * 400, '"84""', "84 in", '"84 in"', '"0,4 s"', "[]",
    "{}",
    "[[[1, 2]]]", "machine", "ranks", "setups", "switching", "field", "sweep", "basis", "about", "value",
    "seed",
    "weights", "tune", "front", "rear", "narrow", "wide", "x" * 300, "é", "畑", "\U0001f33d", "\x1b[31m",
    '{from = "1 in", to = "9 in", step = "0 in"}', '{from = "1 in", to = "1e9 in", step = "1e-9 in"}',
    "file = 'x'", "'" + "x" * 5000 + "'", '"\\u0000"',
    '"C:\\fields\\x.zip"', "[" * 60, '"' + "9" * 190 + 'e300 in"', '"1e-320 in"', "a." * 60, "-",
    "1e-320", "9" * 5000, "0x" + "f" * 5000,
)  # fmt: skip
SHEET_PIECES = (
    ",", ";", "\t", '"', "'", "\n", "\r\n", "#", "sep=;", "on", "off", "front", "rear", "out", "back",
    "line", "flag",
    "headland row", "5", "12 1/2", "12,5", "1,250", "-3", "+-3", "late", "early 3", "short", "over", "nan",
    "inf",
    "1e400", "9" * 5000, "½", "(in)", "[cm]", "(furlong)", "past line (", "speed", "row", "0", "-1", "17",
    "1.5", "\0",
    "\ufeff", "é", "\x85", "mph", '4"', "4'", "4 ft 2 in", "(", ")",
)  # fmt: skip


def slips(text: str, pieces: tuple[str, ...]) -> st.SearchStrategy[str]:
    """Texts with one to six slips: a piece put in, a stretch lost, doubled or moved, the end cut off."""
    place = st.integers(0, len(text))
    slip = st.one_of(
        st.tuples(st.just("put"), place, st.sampled_from(pieces) | st.text(max_size=4)),
        st.tuples(st.just("lose"), place, st.integers(1, 30)),
        st.tuples(st.just("double"), place, st.integers(1, 120)),
        st.tuples(st.just("cut"), place, st.just(0)),
        st.tuples(st.just("value"), place, st.sampled_from(pieces) | st.text(max_size=6)),
    )
    return st.lists(slip, min_size=1, max_size=6).map(lambda found: _slipped(text, found))


def _slipped(text: str, found: list[tuple[str, int, object]]) -> str:
    for kind, at, what in found:
        if kind == "put":
            text = text[:at] + str(what) + text[at:]
        elif kind == "lose":
            text = text[:at] + text[at + int(str(what)) :]
        elif kind == "double":
            text = text[:at] + text[at : at + int(str(what))] + text[at:]
        elif kind == "cut":
            text = text[:at]
        else:
            # The value of the line at that place is another one.
            begin = text.rfind("\n", 0, at) + 1
            end = len(text) if (found_end := text.find("\n", at)) < 0 else found_end
            name, mark, _ = text[begin:end].partition("=")
            if mark:
                text = f"{text[:begin]}{name}= {what}{text[end:]}"
    return text


def units() -> st.SearchStrategy[str]:
    """Texts made of what quantities are made of, and any text."""
    return st.lists(st.sampled_from(UNIT_PIECES), min_size=1, max_size=8).map("".join) | st.text(max_size=20)


def scenarios() -> st.SearchStrategy[bytes]:
    """Scenario files of the gallery with slips, in any encoding; and any bytes."""
    sound = [path.read_text("utf-8") for path in sorted(GALLERY.glob("*.toml"))]
    text = st.sampled_from(sound).flatmap(lambda one: slips(one, TOML_PIECES))
    encoded = st.tuples(text, st.sampled_from(["utf-8", "utf-8", "utf-8", "utf-16", "utf-8-sig", "cp1252"]))
    return encoded.map(lambda one: one[0].encode(one[1], "replace")) | st.binary(max_size=80)


def machines() -> st.SearchStrategy[bytes]:
    """Machine files of the gallery with slips."""
    sound = [path.read_text("utf-8") for path in sorted(GALLERY.glob("machines/*.toml"))]
    text = st.sampled_from(sound).flatmap(lambda one: slips(one, TOML_PIECES))
    return text.map(lambda one: one.encode("utf-8", "replace"))


SHEET = """end,rank,row,direction,speed (mph),past line (in),from
on,front,3,out,5,12 1/2,line
off,rear,2,back,6.5,-3,headland row
on,rear,,out,5,4 late,line
off,front,1,back,5,2 short,line
# a word
"""


def sheets() -> st.SearchStrategy[str]:
    """Sheets of digs with slips, and any text below a sound line of names."""
    return slips(SHEET, SHEET_PIECES) | st.lists(st.sampled_from(SHEET_PIECES), max_size=24).map(
        lambda pieces: SHEET.splitlines()[0] + "\n" + "".join(pieces)
    )
