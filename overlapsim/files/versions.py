"""Versions of this program and of the libraries that its results depend on."""

from __future__ import annotations

import sys
from importlib.metadata import PackageNotFoundError, version

from overlapsim.basics.version import __version__
from overlapsim.control.libraries import library_versions

__all__ = ["pinned", "under_results", "versions"]

_PACKAGES = ("numpy", "scipy", "shapely", "pyproj", "pydantic", "pyogrio", "geopandas", "pyarrow")
"""What somebody installs to come to the same digits; the last two only where they are installed."""


def versions() -> dict[str, str]:
    """Name the versions that a report of a fault should name.

    Returns
    -------
    dict of str
        By name, this program first.

    Examples
    --------
    >>> list(versions())
    ['overlapsim', 'shapely', 'GEOS', 'PROJ', 'GDAL', 'Python']
    """
    import pyogrio

    under = under_results()
    return {
        "overlapsim": __version__,
        **{name: under[name] for name in ("shapely", "GEOS", "PROJ")},
        "GDAL": pyogrio.__gdal_version_string__,
        "Python": sys.version.split()[0],
    }


def under_results() -> dict[str, str]:
    """Name the versions of all libraries on which digits of a study depend.

    Returns
    -------
    dict of str
        By name.
    """
    import pyproj

    return {**library_versions(), "scipy": version("scipy"), "PROJ": pyproj.proj_version_str}


def pinned() -> list[str]:
    """Name what to install so that a study comes out the same again.

    Returns
    -------
    list of str
        Lines that an installer reads, this program first.

    Examples
    --------
    >>> [line.split("==")[0] for line in pinned()][:4]
    ['overlapsim', 'numpy', 'scipy', 'shapely']
    """
    lines = [f"overlapsim=={__version__}"]
    for name in _PACKAGES:
        try:
            lines.append(f"{name}=={version(name)}")
        except PackageNotFoundError:
            continue
    return lines
