"""Versions of this program and of the libraries that its results depend on."""

from __future__ import annotations

import sys

import pyogrio
import pyproj
import shapely

from overlapsim.basics.version import __version__

__all__ = ["versions"]


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
    return {
        "overlapsim": __version__,
        "shapely": shapely.__version__,
        "GEOS": shapely.geos_version_string,
        "PROJ": pyproj.proj_version_str,
        "GDAL": pyogrio.__gdal_version_string__,
        "Python": sys.version.split()[0],
    }
