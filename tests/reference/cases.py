"""Random small fields and machines for Hypothesis.

Fields are stars around the origin: 5 to 8 corners at uneven angles, with radii that make them convex,
concave or ragged, with up to two holes. Numbers are drawn as whole steps, so that failures shrink to short
ones, and headings are never round: on upright edges rounding decides which rows lie on a boundary, and the
closed forms have those.
"""

from __future__ import annotations

import math

from hypothesis import strategies as st

from tests.reference.case import Case, Rank, Setup

# One plain case for checks that change one thing at a time: a crooked field with a hole, 4 + 4 rows.
PLAIN = Case(
    ranks={"front": Rank(4, 0.76, 2.1, 0.0), "rear": Rank(4, 0.76, 3.0, -0.38)},
    setups={"wide": Setup(("front",)), "narrow": Setup(("front", "rear"), 0.19)},
    setup="narrow",
    shell=((0.0, 0.0), (40.0, 3.0), (45.0, 50.0), (20.0, 30.0), (-3.0, 45.0)),
    holes=(((10.0, 10.0), (15.0, 11.0), (13.0, 20.0)),),
    heading_deg=13.7,
    offset=2.55,
    lat_on={"front": 0.45, "rear": 0.4},
    lat_off={"front": 0.3, "rear": 0.35},
)


@st.composite
def star(
    draw: st.DrawFn, corners: tuple[int, int], radius: tuple[int, int], middle: tuple[float, float]
) -> tuple:
    """A ring around `middle`: corners at uneven angles, radii in decimetres."""
    count = draw(st.integers(*corners))
    ring = []
    for corner in range(count):
        turn = corner + draw(st.integers(-30, 30)) / 100
        angle = 2 * math.pi * turn / count + 0.0123
        reach = draw(st.integers(*radius)) / 10
        ring.append((middle[0] + reach * math.cos(angle), middle[1] + reach * math.sin(angle)))
    return tuple(ring)


@st.composite
def fields(draw: st.DrawFn) -> tuple[tuple, tuple]:
    """A shell and its holes. The shell keeps 8 m from the origin, the holes stay within 7 m of it."""
    shell = draw(star((5, 8), (150, 300), (0.0, 0.0)))
    holes = [draw(star((3, 5), (5, 30), (side * 3.7, side * 1.1))) for side in (-1, 1) if draw(st.booleans())]
    return shell, tuple(holes)


@st.composite
def machines(draw: st.DrawFn) -> tuple[dict[str, Rank], dict[str, Setup]]:
    """One to three ranks, rows of different ranks on a common grid of lines, never on the same line."""
    count = draw(st.integers(1, 3))
    spacing = draw(st.integers(40, 80)) / 100
    ranks: dict[str, Rank] = {}
    behind = draw(st.integers(100, 300)) / 100
    middle = 0.0
    for index, name in enumerate(("front", "middle", "rear")[:count]):
        rows = draw(st.integers(2, 5))
        first = spacing * (draw(st.integers(0, 1)) + index / count)
        right = first + (rows - 1) / 2 * spacing
        if index == 0:
            middle = right
        ranks[name] = Rank(rows, spacing, behind, right - middle)
        behind += draw(st.integers(30, 120)) / 100
    names = tuple(ranks)
    shift = draw(st.sampled_from([0.0, 0.19, -0.11]))
    width = None
    setups = {"wide": Setup(names[:1]), "narrow": Setup(names, shift)}
    if draw(st.booleans()):
        rows = Case(ranks=ranks, setups=setups, setup="narrow", shell=()).rows_of("narrow")
        width = math.ceil(100 * (rows[-1].right_edge - rows[0].left_edge) + 5) / 100
        setups["narrow"] = Setup(names, shift, width)
    return ranks, setups


def groups(count: int) -> st.SearchStrategy:
    """Sections of a setup of `count` rows: each row, equal groups, or a list."""
    equal = [n for n in range(1, count + 1) if count % n == 0]
    uneven = st.integers(1, count - 1).map(lambda first: (first, count - first))
    return st.one_of(st.just("each-row"), st.sampled_from(equal), uneven)


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """A whole case: field, machine, settings and the machine's response."""
    shell, holes = draw(fields())
    ranks, setups = draw(machines())
    setup, entered = draw(
        st.sampled_from([("narrow", None), ("narrow", "wide"), ("wide", None), ("wide", "narrow")])
    )
    believed = setups[entered or setup].ranks
    rows = sum(ranks[name].rows for name in believed)

    def seconds(most: float) -> st.SearchStrategy[float]:
        return st.integers(0, int(most * 100)).map(lambda n: n / 100)

    def per_rank(values: st.SearchStrategy[float]) -> dict[str, float]:
        return {name: draw(values) for name in ranks}

    offset: float | dict[str, float] = draw(st.integers(50, 500)) / 100
    if entered is None and draw(st.booleans()):
        offset = {name: ranks[name].behind + draw(st.integers(-40, 40)) / 100 for name in ranks}
    working = setups[setup].ranks
    off = (working[-1], draw(st.integers(1, ranks[working[-1]].rows - 1)))
    return Case(
        ranks=ranks,
        setups=setups,
        setup=setup,
        entered=entered,
        shell=shell,
        holes=holes,
        rows_off=draw(st.sampled_from([(), (off,)])),
        heading_deg=draw(st.integers(-180, 179)) + 0.3717,
        v_on=draw(st.integers(10, 35)) / 10,
        v_off=draw(st.integers(10, 35)) / 10,
        offset=offset,
        t_on=draw(seconds(1.2)),
        t_off=draw(seconds(1.2)),
        q=draw(st.sampled_from([0.5, 0.0, 1.0, 0.3])),
        q_boundary=draw(st.sampled_from([None, None, 1.0, 0.4])),
        least_on=draw(st.sampled_from([0.0, 0.0, 1.3, 4.0])),
        least_off=draw(st.sampled_from([0.0, 0.0, 0.9, 3.0])),
        sections=draw(groups(rows)),
        lateral=draw(st.sampled_from([0.0, 0.07, -0.19])),
        overlap=draw(st.sampled_from([0.0, 0.15, 0.4])),
        period=draw(st.sampled_from([0.0, 0.1, 0.2, 0.5])),
        delay=draw(st.sampled_from([0.0, 0.13, 0.4])),
        tolerance=draw(st.sampled_from([0.0254, 0.005, 0.05])),
        drift=draw(st.sampled_from([(0.0, 0.0), (0.21, -0.13)])),
        lat_on=per_rank(seconds(1.2)),
        lat_off=per_rank(seconds(1.2)),
    )
