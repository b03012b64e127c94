"""Machines that cannot be, each refused in one line that names key, value, rule and remedy."""

from __future__ import annotations

from tests.scenario.files import data, said

RANK = {"rows": 16, "spacing": "30 in", "behind_pin": "84 in"}


def test_ranks_swapped() -> None:
    made = data(machine__ranks__front__behind_pin="119 in", machine__ranks__rear__behind_pin="84 in")
    assert said(made) == [
        'machine.ranks.rear.behind_pin = "84 in"  not behind ranks.front at 119 in. Swapped?'
    ]


def test_a_rank_ahead_of_the_foremost() -> None:
    made = data(machine__ranks__rear__behind_pin=None, machine__ranks__rear__behind_front="-35 in")
    assert said(made) == [
        'machine.ranks.rear.behind_front = "-35 in"  may not be negative. Did you mean "35 in"?'
    ]


def test_a_rank_placed_twice() -> None:
    assert said(data(machine__ranks__rear__behind_front="35 in")) == [
        'machine.ranks.rear.behind_pin = "119 in"  says the same as behind_front. Keep one of the two.'
    ]


def test_no_rank_placed_behind_the_pin() -> None:
    made = data(
        machine__ranks__front__behind_pin=None,
        machine__ranks__front__behind_front="0 in",
        machine__ranks__rear__behind_pin=None,
        machine__ranks__rear__behind_front="35 in",
    )
    assert said(made) == [
        "machine.ranks.front  no rank says how far it is behind the pin. "
        'Write behind_pin = "84 in" for the foremost rank.'
    ]


def test_rows_in_one_furrow() -> None:
    assert said(data(machine__ranks__rear__right="0 in")) == [
        'machine.setups.narrow.ranks = ["front", "rear"]  rows "front 1" and "rear 1" overlap: 0.0 in apart, '
        "and 15 more pairs. Check rows, spacing and right of its ranks."
    ]


def test_ranks_that_never_work_together_may_share_their_lines() -> None:
    made = data(machine__ranks__rear__right="0 in", machine__setup="wide", switching__sections=8)
    made["machine"]["setups"] = {"wide": {"ranks": ["front"]}, "back": {"ranks": ["rear"]}}
    assert said(made) == []


def test_too_many_rows_and_ranks() -> None:
    ranks = {f"r{k}": {**RANK, "rows": 20, "spacing": "40 in", "right": f"{8 * k} in"} for k in range(4)}
    made = data(machine__ranks=ranks, machine__setups=None, machine__setup=None, switching__sections=None)
    assert said(made) == ["machine.setups.all.ranks  80 rows, more than 72. Leave rows or ranks out."]
    five = {f"r{k}": {**RANK, "rows": 2, "right": f"{2 * k} in"} for k in range(5)}
    made = data(machine__ranks=five, machine__setups=None, machine__setup=None, switching__sections=None)
    assert said(made) == ["machine.ranks  5 ranks, more than 4. Leave the others out."]


def test_working_width_narrower_than_the_rows_own_lines() -> None:
    assert said(data(machine__setups__narrow__working_width="38 ft")) == [
        'machine.setups.narrow.working_width = "38 ft"  narrower than the outermost rows\' own lines, '
        "38 ft 9 in apart. Give the full width or leave it out."
    ]
    assert said(data(machine__setups__narrow__working_width="38 ft 9 in")) == []
    assert said(data(machine__setups__narrow__working_width="80 ft")) == []
    assert said(data(machine__setups__narrow__working_width="81 ft")) == [
        'machine.setups.narrow.working_width = "81 ft"  more than twice what the row strips add up to, '
        "40 ft. Give the full width or leave it out."
    ]


def test_a_setup_of_unknown_ranks() -> None:
    made = data(machine__setups__narrow={"ranks": ["front", "reer"]})
    assert said(made) == [
        'machine.setups.narrow.ranks = ["front", "reer"]  no such rank: reer. Did you mean rear?'
    ]
    assert said(data(machine__setups__narrow={"ranks": []})) == [
        "machine.setups.narrow.ranks = []  no rank works. This machine has: front, rear."
    ]


def test_every_row_off() -> None:
    off = [f"front {k}" for k in range(1, 17)]
    made = data(machine__setup="wide", machine__rows_off=off)
    assert said(made)[0].endswith("no row of the setup is left to plant. Leave at least one on.")


def test_a_setup_with_the_name_of_a_key() -> None:
    made = data(machine__setups__working={"ranks": ["front"]})
    assert said(made) == [
        "machine.setups.working  is the name of a key in [speed]. Give the row setup another name."
    ]


def test_names_with_blanks() -> None:
    made = data(machine__setups={"narrow rows": {"ranks": ["front", "rear"]}}, machine__setup="narrow rows")
    assert said(made) == [
        'machine.setups."narrow rows"  is a name with blanks or points. Use letters, figures, - and _.'
    ]
