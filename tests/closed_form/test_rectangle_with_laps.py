"""A rectangle with headland laps, redone on paper: every row end, and the spots where two of them meet.

k laps of width W round A by B, driven clockwise from the north-east corner with the boundary on the left
(south, west, north, east), and n passes of width W northward and back on the rest. The corners are square,
so a lap is four straight legs: the first over its whole side, the others from the ground of the leg before,
the last up to the first one's. A leg is a rectangle then, and passes fill what is left: 4 k + n rectangles
that tile the field, whatever the order of laps and passes. With one rank and times equal to latencies
nothing at all is lost, corners included.

A row that errs by e (positive: late) leaves w e at its start when late and w |e| at its stop when early; at
the other end it drops as much on other ground: beyond the boundary at the start of the outer lap's first leg
and at the stops of its first three, else on ground of another leg. With P the sum of w e over late and M that
of w |e| over early rows

    skip = (4 k + n) (P + M) - spots        off-field = 3 P + M
    overlap = (4 k + n) (P + M) - off-field - spots

A spot is ground that one leg leaves and another one's row end happens to cover: neither skip nor overlap. Let
all rows that are late be late by one h and all that are early early by the same h. A leg that ends at the
side of another one covers a spot where its own late rows meet late rows of the other one's start: both within
h of the corner that they share, one counted from the machine's left end (the leg whose left flank lies on the
line where the other one begins), one from its right end. With G_L, G_R (E_L, E_R) the width of late (early)
rows within h of the left and right end, g = G_L G_R and m = E_L E_R:

- at the four corners of a lap: north-east g (late stop of the fourth leg, late start of the first), the
  three others m each (early start of a leg on the early stop of the one before): g + 3 m;
- where the next lap inwards begins and ends on this one: its first leg m at its start, its first three
  legs g at their stops: 3 g + m;
- where passes begin and end on the innermost lap: north-west g (the first pass stops on the late start of the
  fourth leg); in the south-east the last pass meets the late start of the second leg, in the north-east the
  early stop of the fourth. Southward (n even) that is g + m; northward its right flank lies there: 2 E_R G_R.

    spots = k (g + 3 m) + (k - 1) (3 g + m) + (2 g + m, or for odd n: g + 2 E_R G_R)
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest

import overlapsim
from tests.helpers import EXACT, INCH, block, check, inches, one_rank, scenario, two_ranks
from tests.reference.count import count

ROW = 15 * INCH
LENGTH = 61.0


def machine(ranks: int) -> dict[str, Any]:
    """Eight rows at 15 in: of one rank, or alternately of the rear (leftmost) and the front one."""
    if ranks == 1:
        return one_rank(8, "15 in")
    return two_ranks(4, 4, ranks={"rear": {"behind_pin": "144 in"}})


WIDTH = 8 * ROW


def errors(ranks: int, offset: float) -> list[float]:
    """How late each row is, from the left; metres, times matched."""
    behind = [84.0] * 8 if ranks == 1 else [144.0, 84.0] * 4
    return [(offset - each) * INCH for each in behind]


def field(laps: int, passes: float, order: str, ranks: int, offset: float) -> overlapsim.Scenario:
    """The rectangle with its south-west corner at (0, 0)."""
    east = (2 * laps + passes) * WIDTH
    return scenario(
        machine(ranks),
        {"polygon": block(0, 0, east, LENGTH)},
        plan={"headland_laps": laps, "headland_order": order},
        switching={"reference_offset": inches(offset)},
    )


def near_end(late: list[bool], h: float) -> float:
    """Width of the marked rows within h of the first one's outer side."""
    return sum(min(max(h - i * ROW, 0.0), ROW) for i, marked in enumerate(late) if marked)


def by_hand(laps: int, passes: int, late: list[float]) -> dict[str, float]:
    """The formulas of the module's docstring."""
    h = max(abs(e) for e in late)
    is_late, is_early = [e > 0 for e in late], [e < 0 for e in late]
    assert all(abs(e) in (0.0, pytest.approx(h)) for e in late)
    p, m = sum(ROW * e for e in late if e > 0), sum(-ROW * e for e in late if e < 0)
    g_l, g_r = near_end(is_late, h), near_end(is_late[::-1], h)
    e_l, e_r = near_end(is_early, h), near_end(is_early[::-1], h)
    gg, mm = g_l * g_r, e_l * e_r
    inner = gg + 2 * e_r * g_r if passes % 2 else 2 * gg + mm
    spots = laps * (gg + 3 * mm) + (laps - 1) * (3 * gg + mm) + inner
    row_ends, off = (4 * laps + passes) * (p + m), 3 * p + m
    return {
        "skip_m2": row_ends - spots,
        "overlap_m2": row_ends - off - spots,
        "off_field_m2": off,
        "planted_m2": (2 * laps + passes) * WIDTH * LENGTH,
    }


OFFSETS = {1: [84.0, 96.0, 66.0], 2: [114.0, 84.0, 144.0]}
CASES = [
    *((laps, passes, ranks, r) for laps in (1, 2) for ranks in (1, 2)
      for passes, r in zip((3, 4, 3), OFFSETS[ranks], strict=True)),
    (3, 2, 2, 114.0), (1, 1, 2, 114.0), (2, 3, 2, 84.0),
]  # fmt: skip
ANY = [*itertools.product((1, 2), (2.0, 2.375, 3.625), (2,), (114.0, 90.0, 132.5)), (1, 2.5, 1, 97.0)]


@pytest.mark.parametrize("order", ["first", "last"])
@pytest.mark.parametrize(("laps", "passes", "ranks", "offset"), CASES)
def test_rectangle_by_formula(laps: int, passes: int, ranks: int, offset: float, order: str) -> None:
    run = overlapsim.simulate(field(laps, passes, order, ranks, offset))
    ground = (2 * laps + passes) * WIDTH * LENGTH
    assert run.plantable_m2 == pytest.approx(ground, rel=EXACT)
    assert (run.lap_count, run.pass_count) == (laps, passes)
    assert [leg.kind for leg in run.drive.legs].count("lap") == 4 * laps
    check(run.areas, ground, **by_hand(laps, passes, errors(ranks, offset)))
    if offset == 84.0 and ranks == 1:
        assert run.areas["combined_m2"] == pytest.approx(0.0, abs=EXACT * ground)
    assert run.witness.largest_relative_difference < 1e-9


def test_corner_spots_are_there() -> None:
    """Midway at D = 60 in: h = 30 in, two rows; rear (early) outermost on the left, front on the right.

    So of two rows one is late and one early at either end: g = m = E_R G_R = (15 in)^2. Two laps and three
    passes: 2 (1 + 3) + (3 + 1) + (1 + 2) = 15 squares of 15 in that are neither skip nor overlap.
    """
    late = errors(2, 114.0)
    without = (4 * 2 + 3) * 8 * ROW * 30 * INCH
    assert by_hand(2, 3, late)["skip_m2"] == pytest.approx(without - 15 * ROW**2, rel=EXACT)


def strips(laps: int, passes: float, late: list[float]) -> list[tuple[float, float, float, float]]:
    """Every row's rectangle, leg by leg as the module's docstring lays them: west, east, south, north."""
    east, north, w = (2 * laps + passes) * WIDTH, LENGTH, WIDTH
    legs = []  # heading, where its left flank lies, where it begins and ends
    for u in (lap * w for lap in range(laps)):
        legs += [
            ("S", east - u, north - u, u),
            ("W", u, east - u - w, u),
            ("N", u, u + w, north - u),
            ("E", north - u, u + w, east - u - w),
        ]
    inside, on_laps = east - laps * w, len(legs)
    for number, west in enumerate(laps * w + i * w for i in range(math.ceil(passes))):
        span = (laps * w, north - laps * w)
        legs.append(("S", west + w, *span[::-1]) if number % 2 else ("N", west, *span))
    found = []
    for leg, (heading, flank, begin, end) in enumerate(legs):
        ahead = 1 if heading in "NE" else -1
        right = 1 if heading in "NW" else -1
        for i, e in enumerate(late):
            sides = sorted((flank + right * i * ROW, flank + right * (i + 1) * ROW))
            ends = sorted((begin + ahead * e, end + ahead * e))
            if leg < on_laps or sides[1] < inside + ROW / 2:
                found.append((*sides, *ends) if heading in "NS" else (*ends, *sides))
    return found


@pytest.mark.parametrize("order", ["first", "last"])
@pytest.mark.parametrize(("laps", "passes", "ranks", "offset"), ANY)
def test_rectangle_row_by_row(laps: int, passes: float, ranks: int, offset: float, order: str) -> None:
    """Any offset, and a last pass that is a few rows wide: rectangles counted column by column.

    A last pass reaches beyond the interior by whole rows: those stay off, on ground held as planted with the
    headland first, on ground that is not the passes' with the headland last.
    """
    run = overlapsim.simulate(field(laps, passes, order, ranks, offset))
    east = (2 * laps + passes) * WIDTH
    ring = [(float(x), float(y)) for x, y in block(0, 0, east, LENGTH)]
    counted = count([ring], strips(laps, passes, errors(ranks, offset)))
    for key in ("planted_m2", "skip_m2", "overlap_m2", "off_field_m2"):
        assert run.areas[key] == pytest.approx(counted[key], abs=EXACT * east * LENGTH), key
