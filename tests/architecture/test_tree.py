"""What may not be in the tree: long files, leftovers, places of one machine."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TEXT = {".py", ".toml", ".md", ".cff", ".geojson", ".json", ".txt", ".csv", ".svg", ".html", ""}
LONGEST = 300

#: Said in pieces, so that this file does not hold what it looks for.
FORBIDDEN = {
    "a path of one machine": r"(?<![\w.])/(?:wo" r"rk|ro" r"ot|ho" r"me|Us" r"ers)/\w",
    "a path of one Windows machine": r"[A-Z]:\\Us" r"ers\\",
    "a temporary folder": r"(?<![\w.])/tm" r"p/\w",
    "a registry's host": r"py" r"pi\.org|python" r"hosted|npm" r"js\.(?:org|com)|deb" r"ian\.org",
    "a paper that is not in the tree": r"\b(?:physics|contract|architecture|geometry|check-values)\.m" r"d\b",
    "a folder that is not in the tree": r"\.\./sha" r"red",
    "work unfinished": r"\b(?:TO" r"DO|FIX" r"ME|X" r"XX|HA" r"CK)\b",
    "how the work was split": r"\b(?:(?:later|this|next) iss" r"ues?|iss" r"ue #?\d|hel" r"per H\d)\b",
}


def name_of(path: Path) -> str:
    """Give a path as it stands in the tree."""
    return path.relative_to(ROOT).as_posix()


def tracked() -> list[Path]:
    """Give the files of the tree: what git tracks, or all but hidden and built ones where there is no git."""
    done = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=False)
    if done.returncode == 0 and done.stdout:
        paths = [ROOT / name for name in done.stdout.decode().split("\0") if name]
        return [path for path in paths if path.is_file()]
    skip = re.compile(r"/(?:\.[^c/][^/]*|__pycache__|build|dist|[^/]*\.egg-info)/")
    return [p for p in ROOT.rglob("*") if p.is_file() and not skip.search(f"/{name_of(p)}")]


FILES = tracked()
TEXTS = [path for path in FILES if path.suffix in TEXT]


def test_the_tree_is_read() -> None:
    wanted = {"pyproject.toml", "README.md", "overlapsim/__init__.py", "scenarios/demo.toml", ".ci/run"}
    assert wanted <= {name_of(path) for path in FILES}


def test_files_are_short() -> None:
    lines = {name_of(p): len(p.read_text("utf-8").splitlines()) for p in FILES if p.suffix == ".py"}
    assert not {name: n for name, n in lines.items() if n >= LONGEST}


@pytest.mark.parametrize("what", FORBIDDEN)
def test_forbidden_words_are_absent(what: str) -> None:
    pattern = re.compile(FORBIDDEN[what])
    found = []
    for path in TEXTS:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if match := pattern.search(line):
                found.append(f"{name_of(path)}:{number}: {match[0]}")
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    ("what", "line"),
    [
        ("a path of one machine", "cd /" + "root/x"),
        ("a registry's host", "https://py" + "pi.org/simple"),
        ("work unfinished", "# TO" + "DO: later"),
        ("a paper that is not in the tree", "see physics.m" + "d"),
    ],
)
def test_forbidden_words_would_be_found(what: str, line: str) -> None:
    assert re.search(FORBIDDEN[what], line)


def test_no_stubs() -> None:
    code = [path for path in FILES if path.suffix == ".py" and path.is_relative_to(ROOT / "overlapsim")]
    assert not [name_of(path) for path in code if "raise NotImplemented" in path.read_text("utf-8")]


def test_the_folders_at_the_top_are_the_agreed_ones() -> None:
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "CHANGELOG.md",
        "CITATION.cff",
        "LICENSE",
        "pyproject.toml",
        ".gitignore",
        ".gitattributes",
        ".ci",
        "overlapsim",
        "scenarios",
        "tests",
        "reports",
    }
    assert {path.relative_to(ROOT).parts[0] for path in FILES} <= allowed
