"""``overlapsim new``: the schemas beside its files, and windows that are narrow."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import jsonschema
import pytest

from overlapsim.cli import main
from tests.cli.new_helpers import SESSION, as_options, type_in

LINES = list(SESSION.values())


def test_the_schemas_that_files_name_lie_where_they_say(here: Path) -> None:
    """As an editor finds them: from the file's own folder. What stands in the files fits them."""
    assert main(["new", "home", *as_options(SESSION), "--out", "there"]) == 0
    for path in (Path("there", "home.toml"), Path("there", "machines", "home.toml")):
        text = path.read_text()
        named = text.splitlines()[0].removeprefix("#:schema ")
        schema = json.loads((path.parent / named).read_text(encoding="utf-8"))
        jsonschema.Draft4Validator.check_schema(schema)
        jsonschema.Draft4Validator(schema).validate(tomllib.loads(text))
    first = {path: path.read_bytes() for path in Path("there").glob("*.json")}
    assert main(["schemas", "of-its-own"]) == 0
    assert {path.name: path.read_bytes() for path in Path("of-its-own").iterdir()} == {
        path.name: content for path, content in first.items()
    }
    # Those of an earlier version are replaced; all scenarios of a folder share one pair.
    Path("there", "machine.schema.json").write_text('{"title": "overlapsim: a machine"}')
    assert main(["new", "creek", *as_options(SESSION), "--out", "there"]) == 0
    assert {path: path.read_bytes() for path in Path("there").glob("*.json")} == first


def test_somebody_elses_schema_is_kept_and_nothing_is_written(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    own = Path("scenario.schema.json")
    own.write_text('{"title": "mine"}')
    assert type_in(monkeypatch, LINES) == 2  # said before anything is asked
    assert main(["new", "home", *as_options(SESSION)]) == 2
    assert capsys.readouterr().err.count(f"{own}  is there already, and is no schema of overlapsim") == 2
    assert [path.name for path in here.iterdir() if path.suffix in (".toml", ".json")] == [own.name]
    assert own.read_text() == '{"title": "mine"}'
    assert not Path("machines").exists()


def test_a_narrow_window_breaks_no_word(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """All that is asked, drawn and answered fits into 60 columns; an answer stands behind its question."""
    monkeypatch.setenv("COLUMNS", "60")
    assert type_in(monkeypatch, LINES, "a") == 0
    out, err = capsys.readouterr()
    # Answers typed are not echoed here, so what follows a question stands on its line.
    told = re.split(r"\n|[\])]: ", out + err)
    assert [line for line in told if len(line) > 60] == []
    assert "On which side does the rear rank reach one row farther out?\n[left]: " in err
