"""What stands on a page of a PDF, read back from its drawing operators: where, how large, in which grey.

Leans on the operators of ISO 32000-1, 8 and 9, not on the code that wrote them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from io import BytesIO
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ContentStream

Box = tuple[float, float, float, float]

#: Of letters above and below the line on which they stand, as a share of their size: capitals of DejaVu Sans
#: reach to 0.73, its p and g to -0.24 (read off its outlines); a little less, as lines may stand close.
ABOVE, BELOW = 0.7, 0.18


@dataclass
class Marks:
    """All marks of one page.

    Attributes
    ----------
    texts : list of (box, size)
        Left, bottom, right, top of each line of text, and the size of its letters, points.
    corners : list of (x, y)
        All corners and handles of lines and shapes, points.
    colours : list of tuple
        Components of each colour that is set, 0 to 1.
    """

    texts: list[tuple[Box, float]] = field(default_factory=list)
    corners: list[tuple[float, float]] = field(default_factory=list)
    colours: list[tuple[float, ...]] = field(default_factory=list)


def pages(content: bytes) -> list[Any]:
    """Pages of a PDF."""
    return list(PdfReader(BytesIO(content)).pages)


def text_of(content: bytes) -> str:
    """All text of the only page, a space for each break."""
    (page,) = pages(content)
    return " ".join(page.extract_text().split())


def marks_of(content: bytes) -> Marks:
    """Read the only page."""
    (page,) = pages(content)
    found, fonts = Marks(), page["/Resources"]["/Font"]
    shift, kept, font, size, place = (0.0, 0.0), [], None, 0.0, (0.0, 0.0)
    for operands, operator in ContentStream(page.get_contents(), page.pdf).operations:
        name, numbers = operator.decode(), [float(x) for x in operands if isinstance(x, (int, float))]
        if name == "q":
            kept.append(shift)
        elif name == "Q":
            shift = kept.pop()
        elif name == "cm":
            assert numbers[:4] == [1, 0, 0, 1], "only shifts are read here"
            shift = (shift[0] + numbers[4], shift[1] + numbers[5])
        elif name == "Tf":
            font, size = fonts[operands[0]].get_object(), numbers[-1]
        elif name == "Tm":
            assert numbers[:4] == [1, 0, 0, 1], "only upright text is read here"
            place = (numbers[4] + shift[0], numbers[5] + shift[1])
        elif name == "Tj":
            assert font is not None
            codes, first = operands[0].original_bytes, int(font["/FirstChar"])
            wide = sum(float(font["/Widths"][code - first]) for code in codes) / 1000 * size
            x, y = place
            found.texts.append(((x, y - BELOW * size, x + wide, y + ABOVE * size), size))
            place = (x + wide, y)
        elif name in ("m", "l", "c"):
            for x, y in zip(numbers[::2], numbers[1::2], strict=True):
                found.corners.append((x + shift[0], y + shift[1]))
        elif name == "re":
            x, y, wide, high = numbers
            found.corners += [(x + shift[0], y + shift[1]), (x + wide + shift[0], y + high + shift[1])]
        elif name in ("g", "G", "rg", "RG", "k", "K"):
            found.colours.append(tuple(numbers))
        else:
            assert name in KNOWN, f"operator {name} is not read here"
    return found


#: Operators that place nothing by themselves: line styles, painting, text blocks without a place.
KNOWN = {"w", "d", "J", "j", "M", "n", "h", "S", "s", "f", "f*", "B", "B*", "b", "b*", "BT", "ET", "TL", "T*"}


def overlapping(texts: list[tuple[Box, float]]) -> list[tuple[Box, Box]]:
    """Pairs of lines of text that lie over one another."""
    boxes = [box for box, _ in texts]
    return [
        (one, other)
        for i, one in enumerate(boxes)
        for other in boxes[:i]
        if one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
    ]
