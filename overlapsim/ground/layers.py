"""Map layers as plain arrays: geometry in the ground frame with a column of values for each attribute."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Layer:
    """One layer of a map.

    Attributes
    ----------
    geometry : ndarray of shapely geometries, shape (n,)
        In the ground frame (x east, y north, metres).
    columns : dict of str to ndarray, shape (n,)
        Attributes by name.
    kind : str
        ``"Polygon"``, ``"LineString"`` or ``"Point"``.
    """

    geometry: np.ndarray
    columns: dict[str, np.ndarray]
    kind: str
