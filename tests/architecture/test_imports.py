"""Floors, weight of imports, names of modules and of what they give away."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from importlinter.cli import lint_imports

import overlapsim
from tests.architecture.docstrings import public_modules

ROOT = Path(__file__).resolve().parents[2]
MODULES = public_modules(overlapsim)
#: Too slow to load before they are needed: seconds together, where NumPy and shapely take a third of one.
HEAVY = (
    "matplotlib",
    "geopandas",
    "pandas",
    "pyogrio",
    "pyarrow",
    "pyproj",
    "scipy",
    "click",
    "rich",
    "reportlab",
    "distributed",
)


def run(code: str) -> str:
    """Run a few lines in a fresh interpreter, in the checkout."""
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def loaded(code: str) -> set[str]:
    """Which top-level modules are loaded after a few lines in a fresh interpreter."""
    tail = "\nimport sys\nprint(*sorted({name.partition('.')[0] for name in sys.modules}))"
    return set(run(code + tail).splitlines()[-1].split())


def test_floors(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    assert lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True) == 0


def test_importing_the_package_is_light() -> None:
    assert loaded("import overlapsim").isdisjoint(HEAVY)


@pytest.mark.parametrize("question", ["simulate", "tune"])
def test_a_textbook_field_loads_nothing_heavy(question: str) -> None:
    code = f"question = {question!r}" + """
import overlapsim
machine = {"setup": "only", "hitch": "drawn", "setups": {"only": {"ranks": ["front"]}},
           "ranks": {"front": {"rows": 8, "spacing": "30 in", "behind_pin": "84 in"}}}
scenario = overlapsim.Scenario.from_dict({"title": "t", "machine": machine, "speed": {"working": "5 mph"},
    "switching": {"reference_offset": "84 in", "turn_on_time": "0 s", "turn_off_time": "0 s"}})
assert getattr(overlapsim, question)(scenario).layers
"""
    assert loaded(code).isdisjoint(HEAVY)


def test_every_module_imports_alone() -> None:
    code = f"""
import importlib, sys
for name in {MODULES!r}:
    for old in [m for m in sys.modules if m.partition('.')[0] == 'overlapsim']:
        del sys.modules[old]
    importlib.import_module(name)
    print(name)
"""
    assert run(code).split() == MODULES


def test_public_names_are_there_and_listed() -> None:
    assert overlapsim.__all__
    for name in overlapsim.__all__:
        assert getattr(overlapsim, name) is not None
        assert name in dir(overlapsim)
    with pytest.raises(AttributeError, match="no_such_name"):
        overlapsim.no_such_name  # noqa: B018


def test_no_module_bears_a_public_name() -> None:
    """A module `tune` would take the place of the function `overlapsim.tune` as soon as it is imported."""
    taken = {name.rpartition(".")[2] for name in MODULES} & set(overlapsim.__all__)
    assert not taken
    assert callable(overlapsim.tune)
    assert callable(overlapsim.simulate)


def test_version_is_said_once() -> None:
    """The package says it; the build reads it there; citation and change log follow."""
    assert tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dynamic"] == ["version"]
    citation = (ROOT / "CITATION.cff").read_text(encoding="utf-8")
    assert f"\nversion: {overlapsim.__version__}\n" in citation
    changes = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert f"\n## {overlapsim.__version__}" in changes


def test_type_information_is_shipped() -> None:
    assert (ROOT / "overlapsim" / "py.typed").is_file()
