"""The marked blocks of the README.

`python -m tests.architecture.readme` runs the demo, fills what it prints into the README and puts what it
writes into `reports/demo`, and makes the gallery anew.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.architecture import gallery

ROOT = Path(__file__).resolve().parents[2]
CLI = "import sys; from overlapsim.cli import main; sys.exit(main())"


def _pattern(mark: str) -> re.Pattern[str]:
    return re.compile(rf"(<!-- {re.escape(mark)} -->\n```\w*\n)(.*?)(\n```)", re.DOTALL)


def block(mark: str) -> str:
    """Give the text of the fenced block after a mark."""
    match = _pattern(mark).search((ROOT / "README.md").read_text(encoding="utf-8"))
    assert match, mark
    return match[2]


def demo_output(folder: Path) -> str:
    """Run the demo in a folder of its own and give what it prints, without blanks at the ends of lines."""
    shutil.copytree(ROOT / "scenarios", folder / "scenarios")
    command = [sys.executable, "-c", CLI, "tune", "scenarios/demo.toml"]
    paths = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, cwd=folder, env=paths, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    return "\n".join(line.rstrip() for line in done.stdout.strip().splitlines())


def fill() -> None:
    """Write the demo's output into the README, and its results beside it."""
    readme, reports = ROOT / "README.md", ROOT / "reports" / "demo"
    with tempfile.TemporaryDirectory() as folder:
        said = demo_output(Path(folder))
        shutil.rmtree(reports, ignore_errors=True)
        shutil.copytree(Path(folder) / "reports" / "demo", reports)
    text = readme.read_text(encoding="utf-8")
    readme.write_text(
        _pattern("output: demo").sub(lambda match: match[1] + said + match[3], text), encoding="utf-8"
    )


if __name__ == "__main__":
    fill()
    gallery.fill()
