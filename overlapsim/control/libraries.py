"""Versions of the libraries that areas come from."""

from __future__ import annotations

from functools import cache
from importlib.metadata import version

import numpy as np
import shapely

__all__ = ["library_versions"]


_installed = cache(version)
"""Reading it takes a millisecond, and one command asks for it several times."""


def library_versions() -> dict[str, str]:
    """Name the versions that stand in every result.

    Returns
    -------
    dict of str
        By name.
    """
    return {
        "shapely": shapely.__version__,
        "GEOS": shapely.geos_version_string,
        "numpy": np.__version__,
        "pyproj": _installed("pyproj"),
    }
