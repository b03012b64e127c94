"""Scenario and machine files: joined, decoded, and each fault with its file and line."""

from __future__ import annotations

from pathlib import Path

import pytest

from overlapsim import load_scenario
from overlapsim.basics.errors import ScenarioError
from tests.scenario.files import MACHINE, SCENARIO, faults, write


def lines(path: Path) -> list[str]:
    """The faults of a file, without the folder in front of names."""
    return [line.replace(f"{path.parent.as_posix()}/", "") for line in faults(lambda: load_scenario(path))]


def test_a_scenario_with_its_machine(tmp_path: Path) -> None:
    scenario = load_scenario(write(tmp_path))
    assert (scenario.name, scenario.title) == ("home", "Narrow rows")
    assert scenario.machine.title == "16-row wide / 32-row narrow drawn planter"
    assert scenario.machine.setup == "narrow"
    assert scenario.field.textbook


def test_the_machine_inline(tmp_path: Path) -> None:
    inline = MACHINE.replace("[ranks", "[machine.ranks").replace("[setups", "[machine.setups")
    inline = inline.replace("title =", '[machine]\nsetup = "narrow"\ntitle =')
    text = SCENARIO.replace('[machine]\nfile = "machines/x.toml"\nsetup = "narrow"\n', "") + inline
    assert load_scenario(write(tmp_path, text, None)).machine == load_scenario(write(tmp_path)).machine


def test_field_files_are_read_beside_the_scenario(tmp_path: Path) -> None:
    ring = "[[12.0, 48.0], [12.004, 48.0], [12.004, 48.003], [12.0, 48.003], [12.0, 48.0]]"
    (tmp_path / "fields").mkdir()
    (tmp_path / "fields" / "home.geojson").write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"name": "Home"}, '
        f'"geometry": {{"type": "Polygon", "coordinates": [{ring}]}}}}]}}'
    )
    for written in ('"fields/home.geojson"', r"'fields\home.geojson'"):
        scenario = load_scenario(write(tmp_path, f"{SCENARIO}\n[field]\nfile = {written}\n"))
        assert scenario.field.plantable_m2 == pytest.approx(298.3 * 333.6, rel=0.01)
        assert not scenario.field.textbook


def test_every_fault_has_its_file_and_line(tmp_path: Path) -> None:
    scenario = """\
titel = "x"

[machine]
file = "machines/x.toml"
setup = "15s"

[speed]
working = "60 mph"

[switching]
reference_offset = "101.5 in"
turn_on_tme = "0.40 s"
turn_off_time = 0.25

[switching.wdie]
turn_on_time = "0.4 s"

[response]
on_latency = {front = "45 s", rear = "0,45 s"}

[basis]
"machine.ranks.reer.spacing" = "taped"

[sweep]
"speed.working" = [
    "4 mph",
    "60 mph",
]
"speed.workin" = ["4 mph"]
"""
    machine = """\
hitch = "towed"

[ranks.front]
rows = 16
spacing = "30 in"
behind_pin = "119 in"

[ranks.rear]
rows = -4
behind_pin = "84 in"
right = "-15"

[setups]
wide = {ranks = ["front"]}
narrow.ranks = ["front", "reer"]
"""
    assert lines(write(tmp_path, scenario, machine)) == [
        'home.toml:1  titel = "x"  no such key. Did you mean title?',
        'home.toml:5  machine.setup = "15s"  this machine has: wide, narrow.',
        'home.toml:8  speed.working = "60 mph"  more than 20 mph (32 km/h). Did you mean "6 mph"?',
        'home.toml:10  switching.turn_on_time  is missing. Write turn_on_time = "0.40 s".',
        'home.toml:12  switching.turn_on_tme = "0.40 s"  no such key. Did you mean turn_on_time?',
        'home.toml:13  switching.turn_off_time = 0.25  needs a unit. Write "0.25 s".',
        "home.toml:15  switching.wdie  no such row setup. This machine has: wide, narrow.",
        'home.toml:19  response.on_latency.front = "45 s"  more than 3 s. Did you mean "0.45 s"? '
        '("450 ms" works too)',
        'home.toml:19  response.on_latency.rear = "0,45 s"  a comma is not read in a number. Write "0.45 s".',
        'home.toml:22  basis."machine.ranks.reer.spacing" = "taped"  no such key. '
        "Write machine.ranks.front.…; this machine has: front, rear.",
        'home.toml:25  sweep."speed.working" = "60 mph"  more than 20 mph (32 km/h). Did you mean "6 mph"?',
        'home.toml:29  sweep."speed.workin"  no such key. Did you mean working?',
        'machines/x.toml:1  hitch = "towed"  is not one of the choices. Write "drawn" or "mounted".',
        'machines/x.toml:8  ranks.rear.spacing  is missing. Write spacing = "30 in".',
        "machines/x.toml:9  ranks.rear.rows = -4  less than 1. Write a whole number from 1 to 72.",
        'machines/x.toml:10  ranks.rear.behind_pin = "84 in"  not behind ranks.front at 119 in. Swapped?',
        'machines/x.toml:11  ranks.rear.right = "-15"  needs a unit. Write "-15 in".',
        'machines/x.toml:15  setups.narrow.ranks = ["front", "reer"]  no such rank: reer. Did you mean rear?',
    ]


def test_overridden_values_are_found_where_they_stand(tmp_path: Path) -> None:
    text = SCENARIO + '\n[switching.narrow]\nsections = 5\nlateral_offset = "7.5"\n'
    assert lines(write(tmp_path, text))[-1] == (
        'home.toml:22  switching.narrow.lateral_offset = "7.5"  needs a unit. Write "7.5 in".'
    )


def test_unquoted_dotted_keys_in_a_sweep_have_lines_too(tmp_path: Path) -> None:
    text = SCENARIO + '\n[sweep]\nspeed.working = ["4 mph"]\nspeed.at_on = ["60 mph"]\n'
    assert [line[:13] for line in lines(write(tmp_path, text))] == ["home.toml:22 "]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            '[machine]\nfile = "machines/y.toml"\n',
            'home.toml:2  machine.file = "machines/y.toml"  no such file. Did you mean x.toml?',
        ),
        (
            '[machine]\nfile = "machines"\n',
            'home.toml:2  machine.file = "machines"  is a folder, not a file. Name a file in it: x.toml.',
        ),
        (
            "[machine]\nfile = 7\n",
            "home.toml:2  machine.file = 7  is not the name of a file. Write file = 'machines/x.toml'.",
        ),
        (
            '[machine]\nfile = "machines/x.toml"\nsetup = "narrow"\nhitch = "drawn"\n',
            "home.toml:4  machine.hitch  stands inline beside a machine file. Keep one of the two.",
        ),
        (
            '[machine]\nfile = "machines/x.toml"\nsetup = "narrow"\n[field]\nfile = "f.geojson"\nlayer = 3\n',
            'home.toml:6  field.layer = 3  cannot be read. Write layer = "boundary".',
        ),
        (
            '[machine]\nfile = "machines/x.toml"\nsetup = "narrow"\n[field]\nfile = "f.geojson"\nwher = 3\n',
            "home.toml:6  field.wher  no such key. Did you mean where?",
        ),
    ],
)
def test_slips_in_naming_files(tmp_path: Path, text: str, said: str) -> None:
    assert said in lines(write(tmp_path, text))


def test_a_missing_machine_file_hides_no_other_fault_and_makes_none_up(tmp_path: Path) -> None:
    text = (
        SCENARIO.replace("x.toml", "none.toml")
        .replace('"5 mph"', "5")
        .replace("sections = 16", "sections = 7")
    )
    found = lines(write(tmp_path, text))
    assert [line.split("  ")[0] for line in found] == ["home.toml:4", "home.toml:8"]


def test_a_field_file_that_is_missing(tmp_path: Path) -> None:
    (tmp_path / "north.geojson").touch()
    text = SCENARIO.replace('"5 mph"', "5") + "\n[field]\nfile = 'nort.geojson'\n"
    assert lines(write(tmp_path, text)) == [
        'home.toml:8  speed.working = 5  needs a unit. Write "5 mph".',
        'home.toml:21  field.file = "nort.geojson"  no such file. Did you mean north.geojson?',
    ]


def test_choices_stand_in_the_scenario_not_in_the_machine(tmp_path: Path) -> None:
    assert lines(write(tmp_path, SCENARIO, f'setup = "wide"\n{MACHINE}')) == [
        'machines/x.toml:1  setup = "wide"  belongs in the scenario\'s [machine]. Write it there.'
    ]


# ---------------------------------------------------------------------------- bytes


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32"])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(tmp_path: Path, encoding: str, ends: str) -> None:
    path = write(tmp_path)
    text = SCENARIO.replace("Narrow rows", "Schmale Reihen, 7½″")
    path.write_bytes(text.replace("\n", ends).encode(encoding))
    assert load_scenario(path).title == "Schmale Reihen, 7½″"


def test_bytes_of_another_encoding_name_their_line(tmp_path: Path) -> None:
    path = write(tmp_path)
    path.write_bytes(SCENARIO.replace("Narrow", "Größer").encode("cp1252"))
    assert lines(path) == ["home.toml:1  is not UTF-8 text: byte 0xf6 cannot be read. Save it as UTF-8."]


def test_no_such_file_names_the_nearest(tmp_path: Path) -> None:
    write(tmp_path)
    assert lines(tmp_path / "hom.toml") == ["hom.toml  no such file. Did you mean home.toml?"]


def test_a_folder(tmp_path: Path) -> None:
    write(tmp_path)
    (found,) = faults(lambda: load_scenario(tmp_path))
    assert found == f"{tmp_path}  is a folder, not a file. Name a file in it: home.toml."


def test_the_field_instead_of_the_scenario(tmp_path: Path) -> None:
    assert lines(tmp_path / "home.geojson") == [
        "home.geojson  is the file of a field, not of a scenario. "
        "Name it in a scenario file: [field] and file = 'home.geojson' below."
    ]


@pytest.mark.parametrize(
    "raw", [b"\x00\x01\x02", b"\xff\xfe\x00", b"\xef\xbb\xbf\xff", b"PK\x03\x04\x00\x00"]
)
def test_bytes_that_are_no_text(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "home.toml"
    path.write_bytes(raw)
    with pytest.raises(ScenarioError, match=r"home\.toml:1"):
        load_scenario(path)


def test_an_empty_file_says_what_is_missing(tmp_path: Path) -> None:
    path = tmp_path / "home.toml"
    path.write_bytes(b"")
    found = lines(path)
    assert [line.split("  ")[1] for line in found] == [
        "machine", "speed.working", "switching.reference_offset", "switching.turn_on_time",
        "switching.turn_off_time",
    ]  # fmt: skip
