"""A study in one archive: inputs, versions, results and how to cite it; the archive reruns itself."""

from __future__ import annotations

import json
import os
import zipfile
from pathlib import Path

from overlapsim.basics.errors import Fault, InputError
from overlapsim.basics.version import __version__
from overlapsim.files.manifest import digest_of, names_below
from overlapsim.files.versions import pinned
from overlapsim.questions.study_plan import Study

BUNDLE = "bundle.zip"

_DATE = (1980, 1, 1, 0, 0, 0)  # the first that the format knows: no wall clock in results
#: Files that belong to one of another ending, of the same name beside it.
_COMPANIONS = (".dbf", ".shx", ".prj", ".cpg")

_MAIN = '''"""Rerun this study and compare: python bundle.zip [FOLDER]. Needs overlapsim, see versions.txt."""

import json
import sys
import tempfile
import zipfile
from pathlib import Path

import overlapsim
from overlapsim.files.manifest import digest_of
from overlapsim.report.study_write import write_study

archive = Path(sys.argv[0]).resolve()
about = json.loads(zipfile.ZipFile(archive).read("about.json"))
with tempfile.TemporaryDirectory() as home:
    zipfile.ZipFile(archive).extractall(home)
    study = overlapsim.load_study(Path(home, "inputs", about["study"]))
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else Path(home, "again"))
    write_study(overlapsim.run_study(study), folder)
    other = [name for name, was in about["results"].items()
             if not (folder / name).is_file() or digest_of(folder / name) != was]
print("Same bytes as in the archive." if not other else "Different from the archive: " + ", ".join(other))
sys.exit(1 if other else 0)
'''


def write_bundle(folder: Path, study: Study) -> None:
    """Write the archive beside the results.

    Parameters
    ----------
    folder : Path
        Results, all of them written.
    study : Study
        Read from files.

    Raises
    ------
    InputError
        The study was not read from files, or one of them names another by its full path.
    """
    if not study.files:
        remedy = "Write it down as a study file."
        raise InputError(Fault("was not read from a file, so there is nothing to pack", remedy, "bundle"))
    files = [Path(os.path.abspath(name)) for name in study.files]
    files += [
        beside
        for path in list(files)
        if path.suffix.lower() == ".shp"
        for beside in (path.with_suffix(end) for end in _COMPANIONS)
        if beside.is_file()
    ]
    top = Path(os.path.commonpath([path.parent for path in files]))
    results = {name: digest_of(folder / name) for name in names_below(folder)}
    about = {
        "overlapsim": __version__,
        "study": files[0].relative_to(top).as_posix(),
        "sha256": study.sha256,
        "results": results,
    }
    with zipfile.ZipFile(folder / BUNDLE, "w", zipfile.ZIP_DEFLATED) as archive:
        _put(archive, "__main__.py", _MAIN.encode())
        _put(archive, "about.json", (json.dumps(about, indent=1, sort_keys=True) + "\n").encode())
        _put(archive, "versions.txt", "".join(f"{line}\n" for line in pinned()).encode())
        _put(archive, "CITATION.cff", _citation(study.title).encode())
        for path in dict.fromkeys(files):
            _put(archive, f"inputs/{path.relative_to(top).as_posix()}", path.read_bytes())
        for name in results:
            _put(archive, f"results/{name}", (folder / name).read_bytes())


def _put(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    entry = zipfile.ZipInfo(name, _DATE)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    archive.writestr(entry, content)


def _citation(title: str) -> str:
    """How to cite a study: the program, and the study's own name."""
    lines = (
        "cff-version: 1.2.0",
        'message: "If you use this study, please cite it and the software that made it."',
        "type: dataset",
        f"title: {json.dumps(title, ensure_ascii=False)}",
        "authors:",
        '  - name: "whoever ran the study: write yourself in here"',
        "references:",
        "  - type: software",
        '    title: "overlapsim"',
        f"    version: {__version__}",
        "    license: Apache-2.0",
        "    authors:",
        '      - name: "overlapsim developers"',
    )
    return "\n".join(lines) + "\n"
