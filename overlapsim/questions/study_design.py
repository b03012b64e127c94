"""What a study varies: factors with their values, and which combinations of them are worked out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from overlapsim.basics.frames import Floats, Ints
from overlapsim.questions.swept import OFFSET

FIELD, MACHINE, END_ANGLE = "field", "machine", "field.end_angle"
"""Factors that are no keys of a scenario: which field, which machine, and how far a rectangle's ends tilt."""

METHODS = ("grid", "latin", "sobol", "saltelli")
"""Ways to combine values: all with all; Latin hypercube; Sobol' sequence; Saltelli's pairs of them."""

_FIRST, _LAST = (FIELD, END_ANGLE, MACHINE), (OFFSET,)


@dataclass(frozen=True)
class Factor:
    """One thing that a study varies.

    Attributes
    ----------
    key : str
        Dotted key of the scenario, SI values; or `field`, `machine` (values are then places in a list).
    values : tuple
        Its values; empty where it takes any between two ends.
    span : tuple of float, or None
        Both ends, SI, where it takes any between them.

    Examples
    --------
    >>> Factor("plan.headland_laps", (0, 2)).at(0.5), Factor("speed.working", span=(1.0, 3.0)).at(0.5)
    (1, 2.0)
    """

    key: str
    values: tuple[Any, ...] = ()
    span: tuple[float, float] | None = None

    def at(self, share: float) -> float | int:
        """Say what a place between 0 and 1 stands for.

        Parameters
        ----------
        share : float
            From 0 to below 1, no unit.

        Returns
        -------
        float or int
            The value, SI, of a factor with two ends; else the place in `values`, from 0.
        """
        if self.span is not None:
            return self.span[0] + share * (self.span[1] - self.span[0])
        return min(int(share * len(self.values)), len(self.values) - 1)

    def value(self, at: float | int) -> Any:
        """Say what `at` stands for.

        Parameters
        ----------
        at : float or int
            As `at` gives it, SI.

        Returns
        -------
        Any
            The value, SI.
        """
        return at if self.span is not None else self.values[int(at)]


def in_order(factors: Sequence[Factor]) -> tuple[Factor, ...]:
    """Put factors in the order in which cases share most: the field first, the reference offset last.

    Parameters
    ----------
    factors : sequence of Factor
        As they were named.

    Returns
    -------
    tuple of Factor
        The last one runs fastest.
    """
    first = [one for key in _FIRST for one in factors if one.key == key]
    last = [one for one in factors if one.key in _LAST]
    return (*first, *(one for one in factors if one not in first and one not in last), *last)


@dataclass(frozen=True)
class Design:
    """Which combinations are worked out.

    Attributes
    ----------
    factors : tuple of Factor
        In the order of `in_order`.
    method : str
        One of :data:`METHODS`.
    size : int
        Combinations of a sample (of a Saltelli sample: of each of its parts); no unit. 0 for a grid.
    seed : int
        Of a sample; the same seed gives the same sample.

    Examples
    --------
    >>> grid = Design((Factor("a", (1, 2)), Factor("b", (5, 6, 7))), "grid")
    >>> len(grid), grid.at(4), grid.number(4)
    (6, (1, 1), 4)
    """

    factors: tuple[Factor, ...]
    method: str = "grid"
    size: int = 0
    seed: int = 0

    def __len__(self) -> int:
        if self.method == "grid":
            return math.prod(len(one.values) for one in self.factors)
        return self.size * (len(self.factors) + 2 if self.method == "saltelli" else 1)

    def at(self, position: int) -> tuple[float | int, ...]:
        """Say which combination is worked out at a place in the study.

        Parameters
        ----------
        position : int
            From 0; fields and machines follow one another in that order.

        Returns
        -------
        tuple of float or int
            For each factor what `Factor.at` gives.
        """
        if self.method != "grid":
            row = self.shares[self._order[position]]
            return tuple(one.at(float(share)) for one, share in zip(self.factors, row, strict=True))
        found: list[float | int] = []
        for one in reversed(self.factors):
            position, place = divmod(position, len(one.values))
            found.append(place)
        return tuple(reversed(found))

    def rows(self, positions: range) -> list[tuple[float | int, ...]]:
        """Say which combinations are worked out at places that follow one another.

        Parameters
        ----------
        positions : range
            From 0.

        Returns
        -------
        list of tuple
            What `at` gives, place by place; of a grid the last factor is simply counted.
        """
        last = len(self.factors[-1].values)
        if self.method != "grid" or positions.start % last:
            return [self.at(position) for position in positions]
        found: list[tuple[float | int, ...]] = []
        for first in range(positions.start, positions.stop, last):
            start = self.at(first)[:-1]
            found += [(*start, place) for place in range(min(last, positions.stop - first))]
        return found

    def number(self, position: int) -> int:
        """Say which combination of the sample that is, counted as it was drawn.

        Parameters
        ----------
        position : int
            Place in the study, from 0.

        Returns
        -------
        int
            From 0; of a grid the place itself.
        """
        return position if self.method == "grid" else int(self._order[position])

    @cached_property
    def shares(self) -> Floats:
        """The sample on the unit cube, shape (combinations, factors), no unit; rows as they were drawn.

        Of a Saltelli sample with matrices A and B: A, then B, then for each factor A with that factor's
        column taken from B (Saltelli et al. 2010, Computer Physics Communications 181:259-270).
        """
        from scipy.stats import qmc

        many = len(self.factors)
        if self.method == "latin":
            return np.asarray(qmc.LatinHypercube(many, seed=self.seed).random(self.size))
        if self.method == "sobol":
            return _sobol(many, self.size, self.seed)
        both = _sobol(2 * many, self.size, self.seed)
        a, b = both[:, :many], both[:, many:]
        mixed = []
        for j in range(many):
            one = a.copy()
            one[:, j] = b[:, j]
            mixed.append(one)
        return np.concatenate([a, b, *mixed])

    @cached_property
    def _order(self) -> Ints:
        """Places of rows so that what shares a field and a machine stands together; else as drawn."""
        sorted_by = [
            np.array([one.at(float(share)) for share in self.shares[:, j]])
            for j, one in enumerate(self.factors)
            if one.key in _FIRST
        ]
        if not sorted_by:
            return np.arange(len(self.shares))
        return np.lexsort((np.arange(len(self.shares)), *reversed(sorted_by)))


def _sobol(dimensions: int, size: int, seed: int) -> Floats:
    import warnings

    from scipy.stats import qmc

    with warnings.catch_warnings():
        # The balance of a size that is no power of two is the user's business; reading a study says it.
        warnings.simplefilter("ignore", UserWarning)
        return np.asarray(qmc.Sobol(dimensions, scramble=True, seed=seed).random(size))
