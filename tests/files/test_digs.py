"""Sheets of digs as spreadsheets write them and as people fill them in; all that is wrong, at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from overlapsim import InputError, load_digs
from overlapsim.files.digs import MOST_FAULTS, read_sheet
from tests.dig_helpers import two_ranks
from tests.helpers import INCH, MPH

HEAD = "end,rank,row,direction,speed (mph),past line (in),from\n"
ONE = "on,front,3,out,5,4 1/2,line\n"
TWO = "off,rear,,back,5,-3,headland row\n"
KMH = 1 / 3.6


def read(folder: Path, text: str | bytes, name: str = "digs.csv") -> list[tuple[object, ...]]:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return [
        (d.end, d.rank, d.row, d.direction, round(d.speed, 9), round(d.past, 9), d.origin)
        for d in load_digs(path, two_ranks())
    ]


def refused(folder: Path, text: str | bytes, name: str = "digs.csv") -> list[str]:
    with pytest.raises(InputError) as caught:
        read(folder, text, name)
    return [str(fault).replace(str(folder), "") for fault in caught.value.faults]


PLAIN = [
    ("on", "front", 3, "out", round(5 * MPH, 9), round(4.5 * INCH, 9), "line"),
    ("off", "rear", 0, "back", round(5 * MPH, 9), round(-3 * INCH, 9), "headland row"),
]


def test_a_plain_sheet(tmp_path: Path) -> None:
    assert read(tmp_path, HEAD + ONE + TWO) == PLAIN


def test_an_apostrophe_that_keeps_a_formula_text_is_no_part_of_a_name(tmp_path: Path) -> None:
    assert read(tmp_path, HEAD + ONE.replace("front", "'front") + TWO) == PLAIN


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_what_spreadsheets_save(tmp_path: Path, encoding: str) -> None:
    assert read(tmp_path, (HEAD + ONE + TWO).encode(encoding)) == PLAIN


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n\n\n"])
def test_line_ends_and_empty_lines(tmp_path: Path, end: str) -> None:
    text = "# dug on Monday\n\n" + HEAD + "#\n,,,,,,\n" + ONE + "# a comment, with commas\n" + TWO
    assert read(tmp_path, text.replace("\n", end)) == PLAIN


@pytest.mark.parametrize("mark", [";", "\t"])
def test_decimal_commas_where_something_else_parts_cells(tmp_path: Path, mark: str) -> None:
    head = "end,rank,row,direction,speed (km/h),past line (cm),from\n".replace(",", mark)
    lines = (
        ["on", "front", "3", "out", "8,5", "12,5", "line"],
        ["off", "rear", "", "back", "8", "-0,5", "flag"],
    )
    found = read(tmp_path, head + "".join(mark.join(line) + "\n" for line in lines))
    assert [line[4:6] for line in found] == [(round(8.5 * KMH, 9), 0.125), (round(8 * KMH, 9), -0.005)]


def test_a_line_that_says_what_parts_cells(tmp_path: Path) -> None:
    text = "sep=;\n" + (HEAD + ONE + TWO).replace(",", ";")
    assert read(tmp_path, text) == PLAIN


@pytest.mark.parametrize(
    ("cell", "inches"),
    [
        ("4 1/2", 4.5), ("4-1/2", 4.5), ("4½", 4.5), ('4 1/2"', 4.5), ("4.5", 4.5), ('"4,5"', 4.5), ("1/2",
        0.5),
        ("-1/2", -0.5), ("−3", -3), ("+3", 3), ("0", 0), ("on the line", 0), ("1 ft 2 in", 14), ("10 cm",
        10 / 2.54),
        ("3 late", 3), ("3 early", -3), ("4 1/2 in early", -4.5), ("3 past", 3), ("3 before", -3), (".5",
        0.5),
    ],
)  # fmt: skip
def test_distances(tmp_path: Path, cell: str, inches: float) -> None:
    found = read(tmp_path, HEAD + ONE.replace("4 1/2", cell) + TWO)
    assert found[0][5] == pytest.approx(inches * INCH, abs=1e-9)


def test_stops_are_over_or_short(tmp_path: Path) -> None:
    found = read(tmp_path, HEAD + TWO.replace("-3", "3 short") + TWO.replace("-3", "2 over"))
    assert [line[5] for line in found] == pytest.approx([-3 * INCH, 2 * INCH])


def test_names_of_columns_in_any_order_and_case(tmp_path: Path) -> None:
    text = "From,PAST_LINE [mm],Speed (m/s),Direction,Rank,End,note\nline,100,2,OUT,Front,Start,soft\n"
    found = read(tmp_path, text + "flag,-20,2,back,front,stop,\n")
    assert found == [
        ("on", "front", 0, "out", 2.0, 0.1, "line"),
        ("off", "front", 0, "back", 2.0, -0.02, "flag"),
    ]


def test_lines_not_dug_yet_are_left_out_and_told(tmp_path: Path) -> None:
    path = tmp_path / "digs.csv"
    path.write_text(HEAD.strip() + ",weather\n" + ONE + TWO + "on,front,2,out,7,,line\n", encoding="utf-8")
    sheet = read_sheet(path, two_ranks())
    assert [dig.line for dig in sheet.digs] == [2, 3]
    assert sheet.notes == ["1 line without a distance left out.", "Columns that are not read: weather."]


def test_all_faults_at_once(tmp_path: Path) -> None:
    text = (
        HEAD
        + "no,front,3,out,5,4,line\n"
        + "on,middle,3,out,5,4,line\n"
        + "on,front,9,sideways,5,4,line\n"
        + "on,front,3,out,0,4,line\n"
        + "on,front,3,out,5,4O,fence\n"
        + "on,front,3,out,5,3 over,line\n"
        + "on,front,3,out,5,-3 late,line\n"
        + "on,front,3,out,5,--3,line\n"
        + "on,front,3,out,five,3,line\n"
        + "on,front,3,out,5,3,line,,soft ground\n"
        + "on,front,3,out,50,3,line\n"
        + "on,front,3,out,5,900,line\n"
    )
    assert refused(tmp_path, text) == [
        "/digs.csv:2  end = no  is none of these. Write on or off.",
        '/digs.csv:3  rank = middle  no such rank. This machine has: front, rear.',
        "/digs.csv:4  row = 9  rank front has rows 1 to 4. Count from the left, from 1, or leave it empty.",
        "/digs.csv:4  direction = sideways  is none of these. Write out or back.",
        "/digs.csv:5  speed = 0  nobody plants standing still. Write the speed at which the row"
        " started or stopped.",
        "/digs.csv:6  past line = 4O  no such unit of length: O. Known: m, cm, mm, km, in, ft, yd, mi.",
        "/digs.csv:6  from = fence  is none of these. Write line or headland row or flag.",
        "/digs.csv:7  past line = 3 over  over contradicts a start. At a start write late or"
        " early, or a sign alone.",
        "/digs.csv:8  past line = -3 late  holds a sign and a word for it. Write one of the two: -3 or late.",
        "/digs.csv:9  past line = --3  holds two signs. Positive = farther along the way of travel"
        " than the line.",
        '/digs.csv:10  speed = five  is not a number with a unit. Write it as in "5 mph".',
        '/digs.csv:11  has 9 cells, 7 columns have names. Write decimals with a point, or put the'
        ' cell in quotes: "4,5".',
        '/digs.csv:12  speed = 50  more than 20 mph (32 km/h). Did you mean "5 mph"?',
        '/digs.csv:13  past line = 900  more than 10 m (33 ft). Did you mean "900 mm" or "9 in"?',
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ("end,rank,row,direction,speed (mph),from\n",
        'past line  this column is missing. Add "past line (in)".'),
        ("end,end,rank,row,direction,speed (mph),past line (in),from\n",
        "end  there are two columns of this name."),
        ("end,rnk,row,direction,speed (mph),past line (in),from\n",
        'rank  this column is missing. Instead of rnk? Add "rank".'),
        ("end,rank,row,direction,speed (furlongs),past line (in),from\n",
        "speed  no such unit of speed: furlongs."),
    ],
)  # fmt: skip
def test_columns(tmp_path: Path, head: str, said: str) -> None:
    faults = refused(tmp_path, "# a comment above\n" + head + ONE)
    assert faults[0].startswith(f"/digs.csv:2  {said}")


def test_a_missing_and_a_doubled_column_hide_no_other_faults(tmp_path: Path) -> None:
    """No `rank`, two of `end`, a unit that is none: said together with what is wrong in the other columns."""
    text = (
        "end,end,direction,speed (furlongs),past line (in),from\n"
        "no,on,sideways,5,4,line\n"
        "on,on,out,nought,4O,fence\n"
        "on,on,out,5,,line\n"
    )
    assert [fault.split("  ")[:2] for fault in refused(tmp_path, text)] == [
        ["/digs.csv:1", "end"],
        ["/digs.csv:1", "speed"],
        ["/digs.csv:1", "rank"],
        ["/digs.csv:2", "direction = sideways"],
        ["/digs.csv:3", "past line = 4O"],
        ["/digs.csv:3", "from = fence"],
    ]


def test_without_the_distance_all_else_is_looked_at(tmp_path: Path) -> None:
    text = "end,rank,direction,speed (mph),from\non,middle,out,0,line\n"
    assert [fault.split("  ")[:2] for fault in refused(tmp_path, text)] == [
        ["/digs.csv:1", "past line"], ["/digs.csv:2", "rank = middle"], ["/digs.csv:2", "speed = 0"],
    ]  # fmt: skip


def test_a_sheet_without_names_is_said_once(tmp_path: Path) -> None:
    """A first line that is a dig: all names are missing, and nothing is made of the lines below."""
    faults = refused(tmp_path, ONE + TWO + "no,no,no,no,no,no,no\n")
    assert {fault.split("  ")[0] for fault in faults} == {"/digs.csv:1"}


def test_a_number_needs_a_unit_somewhere(tmp_path: Path) -> None:
    faults = refused(tmp_path, HEAD.replace(" (in)", "") + ONE + TWO)
    assert faults == [
        '/digs.csv:2  past line = 4 1/2  needs a unit. Write it into the name of the column: "past'
        ' line (in)".',
        '/digs.csv:3  past line = -3  needs a unit. Write it into the name of the column: "past line (in)".',
    ]


def test_a_comma_that_may_part_thousands(tmp_path: Path) -> None:
    head = "end;rank;row;direction;speed (mph);past line (mm);from\n"
    faults = refused(tmp_path, head + "on;front;3;out;5;1,250;line\n")
    assert "may be a decimal one or part thousands. Write 1.250 or 1250." in faults[0]


def test_a_rank_that_does_not_work(tmp_path: Path) -> None:
    path = tmp_path / "digs.csv"
    path.write_text(HEAD + ONE + TWO, encoding="utf-8")
    with pytest.raises(InputError, match=r"rank = rear  does not work in row setup wide. Working: front"):
        load_digs(path, two_ranks(machine={"setup": "wide"}))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"), ("\n\n# nothing\n", "is empty"), (HEAD, "holds no dig"), (HEAD + ONE,
        "holds one dig"),
        (HEAD + ",,,,,,\n" + ONE.replace("4 1/2", ""), "holds no dig; 1 line without a distance"),
    ],
)  # fmt: skip
def test_too_few_digs(tmp_path: Path, text: str, said: str) -> None:
    faults = refused(tmp_path, text)
    assert len(faults) == 1
    assert faults[0].startswith(f"/digs.csv  {said}")


def test_a_workbook_is_no_sheet(tmp_path: Path) -> None:
    assert refused(tmp_path, b"PK\x03\x04\x14\x00") == [
        "/digs.csv  is a workbook, not a CSV file. Save the sheet as CSV."
    ]


def test_no_such_file(tmp_path: Path) -> None:
    (tmp_path / "digs.csv").write_text(HEAD, encoding="utf-8")
    with pytest.raises(InputError, match=r"no such file. Did you mean digs.csv\?"):
        load_digs(tmp_path / "dig.csv", two_ranks())


def test_a_mark_that_opens_a_quotation_does_not_swallow_what_follows(tmp_path: Path) -> None:
    faults = refused(tmp_path, HEAD + ONE.replace("4 1/2", '"4 1/2') + TWO)
    assert [fault.split("  ")[0] for fault in faults] == ["/digs.csv:2", "/digs.csv:2"]


def test_a_hundred_thousand_lines(tmp_path: Path) -> None:
    assert len(read(tmp_path, HEAD + ONE * 50_000 + TWO * 50_000)) == 100_000


def test_a_hundred_thousand_faults_are_not_all_said(tmp_path: Path) -> None:
    faults = refused(tmp_path, HEAD + ONE.replace("5", "0") * 100_000)
    assert len(faults) == MOST_FAULTS + 1
    assert f"and {100_000 - MOST_FAULTS:,} more of the kind" in faults[-1]


def test_the_sheet_in_the_gallery_is_read() -> None:
    from overlapsim import load_scenario

    home = Path(__file__).parents[2] / "scenarios"
    digs = load_digs(home / "demo-digs.csv", load_scenario(home / "demo.toml"))
    assert len(digs) == 24
    assert {dig.origin for dig in digs} == {"headland row"}
