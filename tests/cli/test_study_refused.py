"""Study files and folders that are at fault: file, line, key, value, rule and remedy; exit status 2."""

from __future__ import annotations

import errno
import json
import os
from pathlib import Path

import pytest

import overlapsim
from overlapsim.cli import main
from overlapsim.files import study_chunks
from tests.cli.study_files import STUDY, contents, write_study

CHUNKS = Path("reports", "study-chunks")
SPEEDS = '["3 mph", "5 mph", "8 mph"]'


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            ('"speed.working"', '"speed.wroking"'),
            'study.toml:6  factors."speed.wroking"  no such key. Did you mean working?',
        ),
        (
            (SPEEDS, "[]"),
            'study.toml:6  factors."speed.working"  is an empty list. Write at least one value.',
        ),
        (
            ('to = "130 in"', 'to = "60 in"'),
            'study.toml:5  factors."switching.reference_offset".step = "10 in"  does not lead from 70 in '
            "to 60 in. Check the step and its sign.",
        ),
        (
            ('"3 mph", ', '"3", '),
            'study.toml:6  factors."speed.working" = "3"  needs a unit.',
        ),
        (
            ('[1, 2, "each-row"]', "[1, 3]"),
            'study.toml:8  factors."switching.sections" = 3  does not divide the 8 rows of row setup narrow.',
        ),
        (('"-35 deg"', '"85 deg"'), 'study.toml:7  factors."field.end_angle"'),
        (
            ("chunk = 1", "chunks = 1"),
            "study.toml:10  sample.chunks = 1  no such key. Did you mean chunk?",
        ),
        (
            ("chunk = 1", 'method = "sobol"\nsize = 100'),
            "study.toml:11  sample.size = 100  is no power of two, which the balance of Sobol' points needs. "
            "Write 64 or 128.",
        ),
        (("chunk = 1", 'method = "sobel"'), 'sample.method = "sobel"  is no method. Did you mean sobol?'),
        (("chunk = 1", 'method = "latin"'), "study.toml:9  sample.size  is missing. Write size = 1024."),
        (
            (SPEEDS, '{from = "3 mph", to = "8 mph"}'),
            "has no step, which a grid needs. Write a step, or take a sample.",
        ),
        (('base = "small.toml"', 'base = "smal.toml"'), 'study.toml:3  base = "smal.toml"  no such file.'),
        (("[factors]", 'titel = "x"\n[factors]'), "study.toml:4  titel"),
        (("[factors]", '[factors]\nfield = [{file = "no.geojson"}]'), "factors.field"),
        (("[factors]", "[factors]\nfield = [3]"), "factors.field = 3  is not a field."),
        (("[factors]", '[factors]\nmachine = ["no.toml"]'), 'factors.machine = "no.toml"  no such file.'),
    ],
)
def test_words(here: Path, change: tuple[str, str], words: str, capsys: pytest.CaptureFixture[str]) -> None:
    write_study(here, change)
    assert main(["study", "study.toml"]) == 2
    out, err = capsys.readouterr()
    assert words in err
    assert out == ""
    assert "Traceback" not in err
    assert not Path("reports").exists()


def test_all_faults_are_said_at_once(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write_study(here)
    path.write_text(STUDY.replace("speed.working", "speed.x").replace("chunk", "chnk"), encoding="utf-8")
    assert main(["study", "study.toml"]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 2


def test_a_base_that_is_at_fault_is_named(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_study(here)
    base = Path("small.toml")
    base.write_text(base.read_text().replace('"5 mph"', '"500 mph"'))
    assert main(["study", "study.toml"]) == 2
    assert 'small.toml:11  speed.working = "500 mph"' in capsys.readouterr().err


def test_no_file(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["study", "none.toml"]) == 2
    assert "none.toml" in capsys.readouterr().err


def test_a_folder_of_another_study_is_left_as_it_is(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_study(here)
    assert main(["study", "study.toml", "--workers", "1", "--part", "1/9"]) == 0
    before = contents(CHUNKS)
    write_study(here, (SPEEDS, '["4 mph"]'))
    assert main(["study", "study.toml", "--workers", "1"]) == 2
    err = capsys.readouterr().err
    assert 'study-chunks  holds chunks of another study, "Small study": nothing was changed.' in err
    assert "Take another --out" in err
    assert contents(CHUNKS) == before


def test_a_folder_of_something_else_is_left_as_it_is(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_study(here)
    CHUNKS.mkdir(parents=True)
    (CHUNKS / "thesis.txt").write_text("mine")
    assert main(["study", "study.toml", "--workers", "1"]) == 2
    assert "not a folder of chunks, nothing was changed" in capsys.readouterr().err
    assert contents(CHUNKS) == {"thesis.txt": b"mine"}


def test_damaged_and_foreign_files_are_said_and_not_used(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    write_study(here)
    assert main(["study", "study.toml", "--workers", "1", "--quiet"]) == 0
    good = contents(Path("reports", "study"))
    first, second, *_ = sorted(CHUNKS.glob("*.chunk"))
    raw = bytearray(first.read_bytes())
    # One bit of one number: the case would still read well.
    raw[-3] ^= 1
    first.write_bytes(bytes(raw))
    second.write_bytes(second.read_bytes()[:100])
    (CHUNKS / "notes.txt").write_text("mine")
    assert main(["study", "study.toml", "--workers", "1", "--quiet"]) == 0
    err = capsys.readouterr().err
    assert "2 damaged: set aside as *.damaged and worked out again" in err
    assert "1 files of somebody else's (notes.txt): left alone." in err
    assert contents(Path("reports", "study")) == good
    assert (CHUNKS / "notes.txt").read_text() == "mine"
    assert len(list(CHUNKS.glob("*.damaged"))) == 2
    # Another version of a library: nothing of the old chunks is used, nothing of them is lost.
    monkeypatch.setattr(study_chunks, "_program", lambda: "another version")
    assert main(["study", "study.toml", "--workers", "1", "--quiet"]) == 0
    assert "27 of another version of overlapsim or its libraries" in capsys.readouterr().err
    assert len(list(CHUNKS.glob("*.chunk"))) == 54


def test_a_full_disk_loses_nothing(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Simulated: the fifth file finds no space, and half of it is written."""
    write_study(here)
    real, count = Path.write_bytes, [0]

    def full(self: Path, data: bytes) -> int:
        count[0] += self.name.endswith(".tmp")
        if count[0] > 5 and self.name.endswith(".tmp"):
            real(self, data[: len(data) // 2])
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(self))
        return real(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    assert main(["study", "study.toml", "--workers", "1"]) == 2
    err = capsys.readouterr().err
    assert "study-chunks  cannot be written: no space left on device. What is done is kept." in err
    assert "Free some space, then run the same again: it goes on from there." in err
    assert not list(CHUNKS.glob("*.tmp"))
    assert len(list(CHUNKS.glob("*.chunk"))) == 4
    monkeypatch.setattr(Path, "write_bytes", real)
    assert main(["study", "study.toml", "--workers", "1"]) == 0
    assert "4 of 27 chunks of cases were done before" in capsys.readouterr().err


def test_a_case_that_fails_stops_no_other(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two times four rows fit eight, not four: each value goes with the base, one of four pairs does not."""
    change = (
        STUDY[STUDY.index('"switching.ref') : STUDY.index("[sample]")],
        '"switching.sections" = ["each-row", [4, 4]]\n"machine.setup" = ["narrow", "wide"]\n',
    )
    write_study(here, change)
    base = Path("small.toml")
    text = base.read_text().replace("setups.narrow", 'setups.wide = {ranks = ["front"]}\nsetups.narrow')
    base.write_text(text.replace("turn_on_time", 'sections = "each-row"\nturn_on_time'))
    assert main(["study", "study.toml", "--workers", "1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["case"] for one in told["failed"]] == [3]
    assert "switching.sections" in told["failed"][0]["error"]
    assert told["indices"] == []
    assert "1 of 4 cases have no result" in Path("reports", "study", "summary.txt").read_text()
    table = overlapsim.run_study(overlapsim.load_study("study.toml")).table
    assert [bool(why) for why in table["error"]] == [False, False, False, True]
    assert (table["as_set_skip_m2"][:3] > 0).all()
    assert table["as_set_skip_m2"][3] != table["as_set_skip_m2"][3]
