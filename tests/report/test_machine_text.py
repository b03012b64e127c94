"""A machine drawn in text: every row in its place, on consoles of any width and with any signs."""

from __future__ import annotations

import pytest

from overlapsim.files.asked_reading import scenario_of, take_all
from overlapsim.report.machine_text import machine_lines


def drawn(width: int = 100, encoding: str | None = "utf-8", **change: str) -> list[str]:
    """Draw the machine of some answers."""
    given = {"front": "84", "rear": "119", **{key.replace("_", "-"): text for key, text in change.items()}}
    scenario, faults = scenario_of(take_all(given).answers)
    assert scenario is not None
    assert not faults
    taped = [rank for rank in ("front", "rear") if given[rank]]
    return machine_lines(scenario.machine, given.get("units") != "metric", width, encoding, taped)


def columns(line: str, sign: str) -> list[int]:
    """Tell where a sign stands."""
    return [i for i, one in enumerate(line) if one == sign]


@pytest.mark.parametrize("side", ["left", "right"])
def test_rear_rows_stand_between_front_rows_and_reach_farther_on_their_side(side: str) -> None:
    lines = drawn(extra_row=side, rows="8")
    front, rear = columns(lines[2], "▼"), columns(lines[3], "▼")
    assert (len(front), len(rear)) == (8, 8)
    step = (front[1] - front[0]) // 2
    assert [column + (-step if side == "left" else step) for column in front] == rear
    assert lines[2].startswith("front rank 84 in")
    assert lines[3].startswith("rear rank 119 in")
    # The hitch centres them: the pin stands in the middle of the outermost rows.
    (pin,) = columns(lines[1], "|")
    assert pin * 2 == pytest.approx(min(front + rear) + max(front + rear), abs=1)
    assert lines[-1].endswith(
        f"their middle on the pin, hitch moved 7.5 in {'right' if side == 'left' else 'left'}"
    )


def test_rows_off_the_pin_are_seen_and_said() -> None:
    lines = drawn(hitch_shift="0", rows="8")
    rows = columns(lines[2], "▼") + columns(lines[3], "▼")
    (pin,) = columns(lines[1], "|")
    assert pin * 2 > min(rows) + max(rows)
    assert lines[-1].strip() == "their middle 7.5 in left of the pin"
    assert lines[-2].endswith("16 rows, 15 in apart, 20 ft wide")


def test_ranks_at_rest_and_one_rank_alone() -> None:
    lines = drawn(setup="wide", rows="8")
    assert (len(columns(lines[2], "▼")), len(columns(lines[3], "▽"))) == (8, 8)
    assert lines[-2].endswith("8 rows, 30 in apart, 20 ft wide")
    lines = drawn(rear_rows="0", rear="", rows="6")
    assert len(lines) == 5
    assert len(columns(lines[2], "▼")) == 6


def test_distances_that_nobody_has_taped_are_left_open_and_centimetres_are_written() -> None:
    scenario, _ = scenario_of(take_all({"units": "metric", "spacing": "75", "rows": "4"}).answers)
    assert scenario is not None
    lines = machine_lines(scenario.machine, False, 80, "utf-8", ["front"])
    assert lines[2].startswith("front rank 210 cm")
    assert lines[3].startswith("rear rank ? ")
    assert "37.5 cm apart, 300 cm wide" in lines[-2]
    lines = machine_lines(scenario.machine, False, 80, "utf-8", ["front"], moved=False)
    assert lines[-1].endswith("on the pin if the hitch moves it 18.75 cm right")


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", None, "no-such-encoding"])
def test_consoles_without_triangles_get_letters(encoding: str | None) -> None:
    lines = drawn(encoding=encoding, rows="8")
    assert "\n".join(lines).isascii()
    assert len(columns(lines[2], "V")) == 8


@pytest.mark.parametrize("width", [40, 60, 80, 100])
@pytest.mark.parametrize("rows", ["1", "8", "16", "24", "36"])
def test_lines_keep_within_the_width(rows: str, width: int) -> None:
    lines = drawn(width, rows=rows)[:4]
    assert max(map(len, lines)) <= width
    full = len(columns(lines[2], "▼")) == int(rows)
    assert full != ("~" in lines[2])
