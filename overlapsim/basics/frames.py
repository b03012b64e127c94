"""The one statement of axes and signs; everything else refers to this page.

Frames
------
ground
    ``x`` east, ``y`` north, metres, on a plane laid through the field itself.
plan
    The ground frame turned so that its second axis points along a heading: ``across`` grows to the
    right, ``along`` grows forward, both in metres, about the same origin. Straight passes are
    parallel to ``along``, so every row strip is an upright rectangle there.
way
    A position along one leg in its own direction of travel, metres: ``along`` on a leg that runs
    with the heading, ``-along`` on one that runs against it.
machine
    ``behind_pin`` grows backwards from the hitch pin, ``right`` grows to the right, looking forward.

Signs
-----
A heading is radians clockwise from north. A signed error along the way is positive when the event
comes LATE, farther along the way of travel: a late start leaves a gap, a late stop plants too far.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

# Named for the reader: what an array holds. NumPy's own stubs widen dtypes with every operation.
Floats = NDArray[Any]
Ints = NDArray[Any]
Bools = NDArray[Any]


def to_plan(xy: Floats, heading: float) -> Floats:
    """Turn ground coordinates into the plan frame of a heading.

    Parameters
    ----------
    xy : ndarray, shape (..., 2)
        East and north, metres, ground frame.
    heading : float
        Radians clockwise from north.

    Returns
    -------
    ndarray, shape (..., 2)
        Across (right of the heading) and along (with the heading), metres, plan frame.

    Examples
    --------
    Heading east, a point to the north lies to the left:

    >>> to_plan(np.array([0.0, 1.0]), np.pi / 2).round(9) + 0.0
    array([-1.,  0.])
    """
    c, s = np.cos(heading), np.sin(heading)
    x, y = xy[..., 0], xy[..., 1]
    return np.stack([x * c - y * s, x * s + y * c], axis=-1)


def to_ground(plan: Floats, heading: float) -> Floats:
    """Turn plan coordinates back into the ground frame.

    Parameters
    ----------
    plan : ndarray, shape (..., 2)
        Across and along, metres, plan frame of `heading`.
    heading : float
        Radians clockwise from north.

    Returns
    -------
    ndarray, shape (..., 2)
        East and north, metres, ground frame.

    Examples
    --------
    >>> to_ground(np.array([0.0, 1.0]), np.pi / 2).round(9) + 0.0
    array([1., 0.])
    """
    return to_plan(plan, -heading)
