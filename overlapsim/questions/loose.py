"""Directions of unknowns of which observations do not speak: what cannot be told apart."""

from __future__ import annotations

import numpy as np

from overlapsim.basics.frames import Floats

RANK_SHARE = 1e-9
"""Share of the largest singular value below which a direction counts as unknown: a million times rounding."""


def loose_directions(design: Floats) -> Floats:
    """Find the directions of the unknowns of which a design does not speak.

    Parameters
    ----------
    design : ndarray, shape (n, p)
        A row for each observation.

    Returns
    -------
    ndarray, shape (p, k)
        Orthonormal; k = 0 where everything can be told apart. No unit.

    Examples
    --------
    Two columns that always go together:

    >>> loose_directions(np.array([[1.0, 1.0], [2.0, 2.0]])).shape
    (2, 1)
    """
    count = design.shape[1]
    if not len(design):
        return np.eye(count)
    _, size, rows = np.linalg.svd(np.vstack([design, np.zeros((count, count))]), full_matrices=False)
    return np.asarray(rows[size <= RANK_SHARE * max(float(size[0]), 1.0)].T)


def settled(combination: Floats, loose: Floats) -> bool:
    """Tell whether a combination stays the same along loose directions.

    Parameters
    ----------
    combination : ndarray, shape (p,)
        Its coefficients.
    loose : ndarray, shape (p, k)
        As `loose_directions` gives them.

    Returns
    -------
    bool
        True if it does.
    """
    moved = np.abs(combination @ loose).max(initial=0.0)
    return bool(moved <= 1e-6 * max(float(np.abs(combination).max()), 1.0))
