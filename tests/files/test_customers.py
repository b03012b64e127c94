"""A sheet of customers: thirty lines with one bad one, habits of spreadsheets, nothing overwritten."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

import overlapsim
from overlapsim.basics.errors import InputError
from overlapsim.cli import main
from overlapsim.files.asked import QUESTIONS
from overlapsim.files.customers import read_customers, template

ROOT = Path(__file__).resolve().parents[2]
HEAD = "customer,field,rows,spacing (in),front (in),rear (in),sections,speed (mph),on time (s),off time (s)"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty current folder with a field in ``maps/``."""
    monkeypatch.chdir(tmp_path)
    Path("maps").mkdir()
    shutil.copy(ROOT / "scenarios" / "fields" / "crooked-eighty.geojson", "maps/eighty.geojson")
    return tmp_path


def sheet(lines: list[str], name: str = "customers.csv", encoding: str = "utf-8") -> Path:
    """Write a sheet."""
    path = Path(name)
    path.write_bytes(("\n".join(lines) + "\n").encode(encoding))
    return path


def thirty(bad: str = "") -> list[str]:
    """Thirty made-up customers; the eighteenth stands in line 19."""
    made = [
        f"Farm {n},{'maps/eighty.geojson' if n % 3 == 0 else ''},{8 + 4 * (n % 3)},30,{80 + n / 4},{115 + n},"
        f"{4 if n % 2 else ''},{4 + n % 3},0.4,0.{25 + n}"
        for n in range(1, 31)
    ]
    made[17] = bad or made[17]
    return [HEAD, *made]


def test_one_bad_line_of_thirty_is_named_and_the_others_are_written(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet(thirty('Farm 18,,16,30,84",35,5,50,0.4,'))
    assert main(["new", "--from", "customers.csv", "--out", "all"]) == 2
    out, err = capsys.readouterr()
    faults = [line for line in err.splitlines() if line.startswith("customers.csv:19")]
    # What speaks of the rear rank is said together with the speed and the sections, each with its remedy.
    assert [re.split("  | = ", line)[1] for line in faults] == ["rear", "speed", "sections"]
    assert "rear = 35 in  not behind ranks.front at 84 in. Swapped? Or taped from the front" in faults[0]
    assert 'Did you mean "5 mph"?' in faults[1]
    assert "29 scenarios in all; 1 line not, as said above" in err
    assert len(list(Path("all").glob("*.toml"))) == len(out.split()) == 29
    # Schemas once for all of them.
    assert sorted(path.name for path in Path("all").rglob("*.json")) == [
        "machine.schema.json",
        "scenario.schema.json",
    ]
    for path in Path("all").glob("*.toml"):
        scenario = overlapsim.load_scenario(path)
        n = int(scenario.about["customer"].split()[1])
        assert path.name == (f"farm-{n}-eighty.toml" if n % 3 == 0 else f"farm-{n}.toml")
        assert scenario.machine.ranks["front"].behind_pin == pytest.approx((80 + n / 4) * 0.0254, rel=1e-12)
        assert scenario.machine.ranks["front"].rows == 8 + 4 * (n % 3)
        assert (scenario.field.textbook, n % 3) in ((False, 0), (True, 1), (True, 2))
    before = {path: path.read_bytes() for path in Path("all").rglob("*.toml")}
    # The line is mended: it alone is written now.
    sheet(thirty())
    assert main(["new", "--from", "customers.csv", "--out", "all"]) == 0
    after = {path: path.read_bytes() for path in Path("all").rglob("*.toml")}
    assert {path.name for path in after.keys() - before.keys()} == {"farm-18-eighty.toml"}
    assert all(after[path] == content for path, content in before.items())


def test_a_file_that_is_there_is_kept_and_its_line_named(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet(thirty())
    Path("all").mkdir()
    Path("all", "farm-2.toml").write_text("mine")
    assert main(["new", "--from", "customers.csv", "--out", "all"]) == 2
    err = capsys.readouterr().err
    assert f"customers.csv:3  name = {Path('all', 'farm-2.toml')}  is there already, and is kept." in err
    assert Path("all", "farm-2.toml").read_text() == "mine"
    assert not Path("all", "machines", "farm-2.toml").exists()
    assert len(list(Path("all", "machines").iterdir())) == 29


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
@pytest.mark.parametrize("mark", [";", "\t", ","])
def test_habits_of_spreadsheets_are_read(mark: str, encoding: str, here: Path) -> None:
    lines = [
        f"sep={mark}",
        "# seen in spring",
        mark.join(
            (
                "Customer",
                "units",
                "Rows",
                "spacing [cm]",
                "front (m)",
                "REAR_(cm)",
                "on latency (s)",
                "phone",
                "notes",
            )
        ),
        mark.join(("Hof Größe", "metric", "8", "75", '"2,13"', '"302,5"', '"0,45"', "none", "wet")),
        mark * 7,
        "",
    ]
    found = read_customers(sheet(lines, encoding=encoding))
    assert not found.faults
    assert found.not_read == ("phone",)
    (one,) = found.sound
    assert (one.name, one.line) == ("hof-groe", 4)
    assert [one.answers.text(key) for key in ("spacing", "front", "rear", "on-latency")] == [
        "75 cm", "2.13 m", "302.5 cm", "0.45 s",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ("customer,rows,rear", 'front  this column is missing. Add "front (in)".'),
        ("customer,rowz,front,rear", "rowz  no such column. Did you mean rows?"),
        ("rows,front,rear,rows", "rows  there are two columns of this name."),
        ("rows,front (mph),rear", 'front  no such unit of length: mph. Write "front (in)".'),
        ("rows (in),front,rear", 'rows  has no unit: in. Write "rows".'),
    ],
)
def test_wrong_names_of_columns_are_said(head: str, said: str, here: Path) -> None:
    with pytest.raises(InputError) as error:
        read_customers(sheet([head, "A,16,84,119"]))
    assert f"customers.csv:1  {said}" in str(error.value)


def test_lines_that_share_a_name_and_cells_too_many_are_said(here: Path) -> None:
    head = "name,customer,front (in),rear (in)"
    found = read_customers(
        sheet([head, ",Twin,84,119", ",twin,85,119", "../x,Up,84,119", "ok,Fine,84,119", "a,Many,84,119,2,1"])
    )
    assert [one.name for one in found.sound] == ["ok"]
    assert [(fault.line, fault.rule.split(",")[0]) for fault in found.faults] == [
        (2, "the same name as line 3"), (3, "the same name as line 2"), (4, "is no name of a file"),
        (6, "has 6 cells"),
    ]  # fmt: skip


def test_names_that_no_file_can_have_do_not_stop_the_others(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A device's name, one longer than file systems take (255 bytes), and a sound one behind them."""
    long = "x" * 300
    sheet(["name,front (in),rear (in)", "Con,84,119", f"{long},84,119", "ok,84,119"])
    assert main(["new", "--from", "customers.csv", "--out", "all"]) == 2
    out, err = capsys.readouterr()
    assert out.split() == [str(Path("all", "ok.toml"))]
    assert "customers.csv:2  name = Con  is a device's name" in err
    assert "customers.csv:3  name = xxx" in err
    assert "2 lines not, as said above" in err
    assert sorted(path.name for path in Path("all").rglob("*.toml")) == ["ok.toml", "ok.toml"]


@pytest.mark.parametrize("rows", ["16", "16.0", "16,0", "+16"])
def test_tables_write_whole_numbers_with_a_point(rows: str, here: Path) -> None:
    (one,) = read_customers(sheet(["rows;front (in);rear (in)", f"{rows};84;119"])).sound
    assert one.answers.rows == 16


def test_what_is_odd_in_a_line_is_said_and_taken(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet([HEAD, "Slow,,16,30,84,119,,1,0.4,0.3"])
    assert main(["new", "--from", "customers.csv"]) == 0
    assert "customers.csv:2  speed = 1 mph  1 mph is unusual for planting." in capsys.readouterr().err


@pytest.mark.parametrize(
    "content", [b"", b"\n\n", b"PK\x03\x04zip", b"customer,front,rear\n", b"\xff\xfe\x00"]
)
def test_sheets_that_are_none_are_refused(
    content: bytes, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("customers.csv").write_bytes(content)
    assert main(["new", "--from", "customers.csv", "--out", "all"]) == 2
    assert capsys.readouterr().err.startswith("customers.csv")
    assert not Path("all").exists()


def test_the_template_is_read_once_it_is_filled_in(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "--template"]) == 0
    text = Path("customers.csv").read_text("utf-8")
    assert text == template()
    assert all(f"# {question.key.replace('-', ' ')}: {question.words}" in text for question in QUESTIONS)
    assert main(["new", "--from", "customers.csv"]) == 2
    assert "holds no line below its names" in capsys.readouterr().err
    names = text.splitlines()[-1].split(",")
    cells = {"front (in)": "84", "rear (in)": "119", "name": "first"}
    Path("customers.csv").write_text(text + ",".join(cells.get(name, "") for name in names) + "\n")
    assert main(["new", "--from", "customers.csv"]) == 0
    assert overlapsim.load_scenario("first.toml").machine.ranks["rear"].behind_pin == 3.0226
    assert main(["new", "--template"]) == 2  # the one filled in is kept
    assert "customers.csv  is there already" in capsys.readouterr().err
