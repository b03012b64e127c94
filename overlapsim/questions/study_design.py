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
    >>> half = np.array([0.5])
    >>> Factor("plan.headland_laps", (0, 2)).at(half), Factor("speed.working", span=(1.0, 3.0)).at(half)
    (array([1.]), array([2.]))
    """

    key: str
    values: tuple[Any, ...] = ()
    span: tuple[float, float] | None = None

    def at(self, shares: Floats) -> Floats:
        """Say what places between 0 and 1 stand for.

        Parameters
        ----------
        shares : ndarray, shape (n,)
            From 0 to below 1, no unit.

        Returns
        -------
        ndarray, shape (n,)
            Values, SI, of a factor with two ends; else places in `values`, from 0.
        """
        if self.span is not None:
            return self.span[0] + shares * (self.span[1] - self.span[0])
        return np.minimum(np.floor(shares * len(self.values)), len(self.values) - 1)

    def value(self, at: float) -> Any:
        """Say what one of them stands for.

        Parameters
        ----------
        at : float
            As `at` gives it, SI.

        Returns
        -------
        Any
            The value, SI.
        """
        return float(at) if self.span is not None else self.values[int(at)]


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
    >>> len(grid), grid.rows(range(3, 5)).tolist(), grid.numbers(range(3, 5)).tolist()
    (6, [[1.0, 0.0], [1.0, 1.0]], [3, 4])
    """

    factors: tuple[Factor, ...]
    method: str = "grid"
    size: int = 0
    seed: int = 0

    def __len__(self) -> int:
        if self.method == "grid":
            return math.prod(len(one.values) for one in self.factors)
        return self.size * (len(self.factors) + 2 if self.method == "saltelli" else 1)

    def rows(self, positions: range) -> Floats:
        """Say which combinations are worked out at places in the study that follow one another.

        Parameters
        ----------
        positions : range
            From 0; fields and machines follow one another in that order.

        Returns
        -------
        ndarray, shape (n, factors)
            What `Factor.at` gives, SI or places: whole numbers as floating point, exactly.
        """
        found = np.empty((len(positions), len(self.factors)))
        if self.method != "grid":
            drawn = self.shares[self._order[positions.start : positions.stop]]
            for j, one in enumerate(self.factors):
                found[:, j] = one.at(drawn[:, j])
            return found
        left = np.arange(positions.start, positions.stop)
        for j in reversed(range(len(self.factors))):
            left, found[:, j] = np.divmod(left, len(self.factors[j].values))
        return found

    def numbers(self, positions: range) -> Ints:
        """Say which combinations of the sample those are, counted as they were drawn.

        Parameters
        ----------
        positions : range
            Places in the study, from 0.

        Returns
        -------
        ndarray of int, shape (n,)
            From 0; of a grid the places themselves.
        """
        if self.method == "grid":
            return np.arange(positions.start, positions.stop)
        return self._order[positions.start : positions.stop]

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
        sorted_by = [one.at(self.shares[:, j]) for j, one in enumerate(self.factors) if one.key in _FIRST]
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
