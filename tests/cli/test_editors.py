"""What editors and shells are given: schemas, completion, versions, an example in every command's help."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import jsonschema
import pyogrio
import pyproj
import pytest
import shapely

from overlapsim import __version__
from overlapsim.cli import main, program
from overlapsim.cli.editors import SHELLS
from overlapsim.files.schemas import SCHEMAS


def test_the_version_names_the_libraries_that_results_depend_on(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    said = dict(line.rsplit(" ", 1) for line in capsys.readouterr().out.splitlines())
    assert said == {
        "overlapsim": __version__,
        "shapely": shapely.__version__,
        "GEOS": shapely.geos_version_string,
        "PROJ": pyproj.proj_version_str,
        "GDAL": pyogrio.__gdal_version_string__,
        "Python": ".".join(map(str, sys.version_info[:3])),
    }


@pytest.mark.parametrize("command", sorted(program.commands))
def test_every_help_ends_with_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command, "--help"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert re.search(rf"Example: overlapsim {command}\b.*$", said)


def test_schemas_are_written_beside_the_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "home"
    assert main(["schemas", str(folder)]) == 0
    first = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert sorted(first) == sorted(f"{kind}.schema.json" for kind in SCHEMAS)
    for text in first.values():
        jsonschema.Draft4Validator.check_schema(json.loads(text))
    said = capsys.readouterr().out
    assert all(f"#:schema ./{name}" in said for name in first)
    # Those of an earlier version are replaced, the same bytes each time.
    (folder / "machine.schema.json").write_text('{"title": "overlapsim: a machine"}')
    assert main(["schemas", str(folder)]) == 0
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == first


def test_somebody_elses_schema_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = tmp_path / "scenario.schema.json"
    own.write_text('{"title": "mine"}')
    assert main(["schemas", str(tmp_path)]) == 2
    said = f"{own}  is there already, and is no schema of overlapsim. Move it away."
    assert said in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == [own.name]
    assert own.read_text() == '{"title": "mine"}'


def test_a_scenario_that_names_its_schema_is_read(tmp_path: Path) -> None:
    text = (Path(__file__).resolve().parents[2] / "scenarios" / "textbook-square.toml").read_text("utf-8")
    machine = text.replace('file = "', f'file = "{Path(__file__).resolve().parents[2].as_posix()}/scenarios/')
    scenario = tmp_path / "home.toml"
    scenario.write_text("#:schema ./scenario.schema.json\n" + machine, encoding="utf-8")
    assert main(["simulate", str(scenario), "--out", str(tmp_path / "out"), "--quiet"]) == 0


@pytest.mark.parametrize("shell", SHELLS)
def test_completion_is_printed_for_each_shell(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", shell]) == 0
    assert f"{shell}_complete" in capsys.readouterr().out


def test_the_tab_key_completes_commands_and_options() -> None:
    def offered(words: str, place: int) -> list[str]:
        code = "import sys; from overlapsim.cli import main; sys.argv[0] = 'overlapsim'; sys.exit(main())"
        told = {"_OVERLAPSIM_COMPLETE": "bash_complete", "COMP_WORDS": words, "COMP_CWORD": str(place)}
        command, told = [sys.executable, "-c", code], {**os.environ, **told}
        done = subprocess.run(command, env=told, capture_output=True, text=True, check=False)
        return [line.split(",", 1)[1] for line in done.stdout.splitlines()]

    assert offered("overlapsim tu", 1) == ["tune"]
    assert offered("overlapsim tune --uni", 2) == ["--units"]
    assert offered("overlapsim tune --units m", 3) == ["metric"]


def test_an_unknown_shell_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", "cmd"]) == 2
    assert "'cmd' is not one of" in capsys.readouterr().err
