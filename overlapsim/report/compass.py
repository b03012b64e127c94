"""Sides by the compass, in words."""

from __future__ import annotations

import math

from overlapsim.basics.frames import Floats

_SIDES = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def side_of(way: Floats) -> str:
    """Name the side on which a place lies.

    Parameters
    ----------
    way : ndarray, shape (2,)
        From where one stands to the place: east, north, metres.

    Returns
    -------
    str
        The nearest of eight.

    Examples
    --------
    >>> import numpy as np
    >>> side_of(np.array([5.0, 0.2])), side_of(np.array([-3.0, -3.0]))
    ('east', 'south-west')
    """
    return _SIDES[round(math.degrees(math.atan2(way[0], way[1])) / 45) % 8]
