"""The demo's files: one copy, in scenarios/ of the source tree and in the package once it is installed."""

from __future__ import annotations

from pathlib import Path

from overlapsim.files.asked_files import write_new

__all__ = ["DEMO_FILES", "demo_bytes", "write_demo"]

DEMO_FILES = (
    "fields/crooked-eighty.geojson",
    "machines/drawn-16-32.toml",
    "demo-digs.csv",
    "demo.toml",
)
"""What the demo consists of, as seen from its folder; pyproject.toml puts the same into a wheel."""

_PACKAGE = Path(__file__).resolve().parents[1]
_HOMES = (_PACKAGE / "demo", _PACKAGE.parent / "scenarios")


def demo_bytes() -> dict[str, bytes]:
    """Read the demo's files.

    Returns
    -------
    dict of str to bytes
        By name.

    Raises
    ------
    FileNotFoundError
        If the installation is not whole.
    """
    home = next((one for one in _HOMES if (one / DEMO_FILES[-1]).is_file()), _HOMES[0])
    return {name: (home / name).read_bytes() for name in DEMO_FILES}


def write_demo(folder: Path) -> tuple[Path, bool]:
    """Write the demo, so that it runs where it stands.

    Parameters
    ----------
    folder : Path
        Made where it is missing.

    Returns
    -------
    tuple
        The scenario, and whether anything had to be written.

    Raises
    ------
    FolderError
        If a file of such a name is there and says something else.
    """
    fresh = write_new({folder / name: content for name, content in demo_bytes().items()})
    return folder / DEMO_FILES[-1], fresh
