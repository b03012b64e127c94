"""Many things of one kind, told as arrays of equal length side by side."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Self

import numpy as np

from overlapsim.basics.frames import Bools, Ints

__all__ = ["Records"]


class Records:
    """Base of frozen dataclasses all of whose attributes are arrays with a row for each thing.

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> import numpy as np
    >>> @dataclass(frozen=True)
    ... class Steps(Records):
    ...     leg: Ints
    ...     row: Ints
    >>> Steps(np.array([0, 0, 1]), np.array([5, 6, 7])).take(np.array([2, 0])).row.tolist()
    [7, 5]
    """

    def take(self, chosen: Ints | Bools) -> Self:
        """Pick some of them.

        Parameters
        ----------
        chosen : ndarray
            Indices, or a mask of shape (n,).

        Returns
        -------
        Records
            The picked ones, in the order of the indices.
        """
        return type(self)(**{name: values[chosen] for name, values in vars(self).items()})

    @classmethod
    def joined(cls, parts: Iterable[Self]) -> Self:
        """Put several lots one behind the other.

        Parameters
        ----------
        parts : iterable of Records
            At least one.

        Returns
        -------
        Records
            All of them.
        """
        lots = [vars(part) for part in parts]
        return cls(**{name: np.concatenate([lot[name] for lot in lots]) for name in lots[0]})
