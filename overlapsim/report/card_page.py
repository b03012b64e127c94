"""The settings card as a PDF of one page: black on white, to be copied, folded and written on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from io import BytesIO

from overlapsim.basics.version import __version__
from overlapsim.report.card import BLANKS, HOW_TO_TAPE, HOW_TO_TAPE_MOUNTED, Card
from overlapsim.report.card_blocks import Cell, Measure, Table, Text
from overlapsim.report.card_lines import Row
from overlapsim.report.card_machine import MachineDrawing
from overlapsim.report.card_type import clean, load_typeface

Block = Text | Table | MachineDrawing
"""What takes the whole width of the page and knows its height."""

POINTS = 72.0
"""Points to an inch (PDF, ISO 32000-1, 8.3.2.3)."""

PAPERS = {"letter": (8.5 * POINTS, 11 * POINTS), "a4": (210 / 25.4 * POINTS, 297 / 25.4 * POINTS)}
"""Width and height in points (ANSI/ASME Y14.1 size A; ISO 216)."""

MARGIN = 0.4 * POINTS
"""Points on all four sides: most printers reach so far (common practice, no source)."""

LARGEST, SMALLEST = 9.4, 6.4
"""Letters of plain text, points; below the smaller one texts are cut instead."""

_STEP = 0.1
_LINES = (6, 4, 3, 2, 1)  # lines that one text may take, the more the better
_HAND = (5.0, 14.0)  # points that a line to write on gains: at least, unless texts are cut; at most
_NAMES = 0.26  # share of the width for the names of lines


def paper_for(units: str) -> str:
    """Choose the paper that goes with the reader's units.

    Parameters
    ----------
    units : {"us", "metric"}
        The reader's.

    Returns
    -------
    {"letter", "a4"}
        Name of a paper.
    """
    return "letter" if units == "us" else "a4"


def card_pdf(card: Card, paper: str | None = None) -> bytes:
    """Draw a card.

    Parameters
    ----------
    card : Card
        All that stands on it.
    paper : {"letter", "a4"}, optional
        Default: by the reader's units.

    Returns
    -------
    bytes
        PDF, one page: the same card, the same bytes. Letters get smaller until all fits; then texts are cut,
        and say so.

    Raises
    ------
    ValueError
        If there is no such paper.
    """
    from reportlab.pdfgen.canvas import Canvas

    name = paper or paper_for(card.units)
    if name not in PAPERS:
        raise ValueError(f"no such paper: {name}. Known: {', '.join(PAPERS)}.")
    page = PAPERS[name]
    width, high = page[0] - 2 * MARGIN, page[1] - 2 * MARGIN
    load_typeface()
    blocks = _blocks(card)
    how = _fitting(blocks, width, high, len(BLANKS) + len(card.digging))
    made = BytesIO()
    canvas = Canvas(made, pagesize=page, invariant=1, pageCompression=1)
    canvas.setTitle(clean(f"Settings card: {card.title}"))
    canvas.setCreator(f"overlapsim {__version__}")
    top = page[1] - MARGIN
    for block in blocks:
        block.draw(canvas, MARGIN, top, width, how)
        top -= block.height(width, how)
    canvas.showPage()
    canvas.save()
    return made.getvalue()


def _sizes() -> Iterator[Measure]:
    """From the best to what always fits."""
    steps = round((LARGEST - SMALLEST) / _STEP)
    for most in _LINES:
        for i in range(steps + 1):
            # Texts are cut only where letters are small already.
            if most == _LINES[0] or i == steps:
                yield Measure(LARGEST - i * _STEP, most, _HAND[0] if most == _LINES[0] else 0.0)
    size = SMALLEST
    while True:
        size *= 0.99
        yield Measure(size, 1)


def _fitting(blocks: Sequence[Block], width: float, high: float, by_hand: int) -> Measure:
    """Choose how large all is set; what height is left over goes to the lines to write on."""
    for how in _sizes():
        spare = high - sum(block.height(width, how) for block in blocks)
        if spare >= 0:
            break
    return Measure(how.size, how.most, min(how.spare + spare / by_hand, _HAND[1]))


def _blocks(card: Card) -> list[Block]:
    each = (1 - _NAMES) / len(card.setups)
    names = (_NAMES, *[each] * len(card.setups))
    about = "; ".join(f"{key}: {text}" for key, text in card.about)
    settings: list[list[Cell]] = []
    scale = 1.5 if sum(row.key == "reference_offset" for row in card.enter) == 1 else 1.2
    for title, rows in (
        (f"TYPE IN: {card.entry}", card.enter), ("ON THE MACHINE", card.machine), ("HOLDS FOR", card.check),
    ):  # fmt: skip
        settings += [[Cell(title, True, 0.95)], *(_row(row, scale) for row in rows)] if rows else []
    tape = HOW_TO_TAPE_MOUNTED if card.tape.mounted else HOW_TO_TAPE
    seen = [Cell("WHAT ONE SEES", True, 0.9), Cell("WHAT IT MEANS", True, 0.9)]
    blanks = [[Cell(name), *(Cell("") for _ in card.setups)] for name in BLANKS]
    return [
        Text([f"Settings card: {card.title}"], 1.45, True),
        Text([line for line in (about, *card.job) if line]),
        Text(card.notes, 1.0, True, "! ", gap=0.2),
        Table([Cell("row setup"), *(Cell(name, True, 1.15) for name in card.setups)], settings, names),
        Text(card.cautions, 0.95, box=True, gap=0.5, whole=True),
        MachineDrawing(card.tape, tape, _legend(card)),
        _digging(card, each),
        Text([card.where_dug, card.source], 0.9),
        Table(seen, [[Cell(text, whole=True) for text in pair] for pair in card.symptoms], (0.5, 0.5)),
        Table([Cell("BY HAND", True, 0.9), *(Cell(name, True) for name in card.setups)], blanks, names,
              by_hand=True),
    ]  # fmt: skip


def _digging(card: Card, each: float) -> Table:
    """What should be found at starts and stops; what is found is written beside it."""
    heads = [Cell("DIGGING SHOULD SHOW", True, 0.9)]
    for name in card.setups:
        heads += [Cell(f"{name}: starts", True, 0.9), Cell("stops", True, 0.9)]
    rows = [[Cell(row.name), *map(Cell, row.cells)] for row in card.digging]
    return Table(heads, rows, (_NAMES, *[each / 2] * (2 * len(card.setups))), by_hand=True)


def _legend(card: Card) -> str:
    """Say what the signs of the drawing mean."""
    tape = card.tape
    axle = f"; large wheel: rear axle, {tape.axle_text} ahead of it" if tape.from_axle else ""
    pin = "midway between the lower-link ends" if tape.mounted else "hitch pin"
    return (
        f"Along the way true to scale. Large dot: {pin}{axle}. A, B ...: where seed of that rank meets "
        "the ground. Diamond: reference offset; thick grey bar: just as good in area."
    )


def _row(row: Row, scale: float) -> list[Cell]:
    """What is typed in stands large, in `scale` of plain text, and is never cut."""
    size = scale if row.key == "reference_offset" else 1.15 if row.strong else 1.0
    return [Cell(row.name, row.strong), *(Cell(text, row.strong, size, row.strong) for text in row.cells)]
